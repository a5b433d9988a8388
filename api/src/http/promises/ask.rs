use super::dto::{PromiseBody, PromiseDto, PromisedLineDto};
use crate::auth::op;
use crate::hours::Hours;
use crate::http::body::invalid;
use crate::http::plans::answer::{ground_of, within};
use crate::http::plans::asked_line::hypothetical;
use crate::http::plans::dto::due_times;
use crate::http::question::Question;
use crate::http::shown::Shown;
use crate::planning::{Planning, Watch};
use crate::problem::{FieldError, Place, Problem};
use actix_web::post;
use actix_web::web::Data;
use spindlebook_domain::plan::promise::{Sampling, promise};
use std::sync::Arc;

const SECONDS: u32 = 1;
const SAMPLES: usize = 200;

/// Ask when an order could be there
///
/// An order that nobody has entered, behind everything that was promised before it: nobody else pays for it. At planned
/// speed, at the speed of the shop's own past runs, and with chances of one half and nine tenths from how these spread.
/// Its lines are promised one after the other. Nothing is changed.
#[utoipa::path(
    operation_id = "askPromise",
    tag = "Plans",
    request_body = PromiseBody,
    responses((status = 200, description = "When each line could be there", body = PromiseDto))
)]
#[post("/v1/promises")]
pub async fn ask_promise(
    question: Question<op::AskPromise, PromiseBody>,
    planning: Data<Planning>,
    hours: Data<Hours>,
) -> Result<Shown, Problem> {
    let Question { ask, body } = question;
    if body.lines.is_empty() {
        let detail = "name at least one line: what is asked for?";
        return Err(invalid(FieldError::at(
            Place::pointer("/lines"),
            "missing",
            detail,
        )));
    }
    let due = due_times(&ask.shop, &body.due_times)?;
    let mut ground = ground_of(&ask, &due).await?;
    let read = body.lines.iter().enumerate();
    let lines = read.map(|(index, line)| hypothetical(&ask.shop, index, line));
    let lines: Vec<_> = lines.collect::<Result<_, _>>()?;
    let spread = hours.spread(&ask.hours_source()).await?;
    let search = body.search.unwrap_or_default().or(SECONDS);
    let sampling = Sampling {
        samples: body.samples.map_or(SAMPLES, crate::http::whole::Whole::to),
        seed: search.seed,
    };
    let answer = within(&planning, move || {
        let mut promised = Vec::with_capacity(lines.len());
        for line in &lines {
            let one = search.run(&Watch::default(), |effort| {
                promise(
                    &ground.shop,
                    &ground.site,
                    line,
                    &spread,
                    &ground.options,
                    ground.now,
                    (effort, sampling),
                )
            })?;
            promised.push(PromisedLineDto::of(line.pieces, &one));
            ground.shop = Arc::new(line.entered_into(&ground.shop, ground.now));
        }
        Ok(PromiseDto::of(&ground, &spread, sampling.samples, promised))
    });
    Shown::new(&answer.await?)
}

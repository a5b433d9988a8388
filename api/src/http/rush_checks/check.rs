use super::dto::{RushBody, RushCheckDto};
use crate::auth::op;
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
use spindlebook_domain::plan::rush::rush_check;

const SECONDS: u32 = 2;

/// Check what one more order would do
///
/// It is not entered: a copy of the shop is planned with it, for some places in the sequence, and every promised line is
/// shown before and after. Nothing is changed, and no run in progress is ever broken off. Who pays is a person's choice.
#[utoipa::path(
    operation_id = "checkRush",
    tag = "Plans",
    request_body = RushBody,
    responses((status = 200, description = "The choices", body = RushCheckDto))
)]
#[post("/v1/rush-checks")]
pub async fn check_rush(
    question: Question<op::CheckRush, RushBody>,
    planning: Data<Planning>,
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
    let lines = read.map(|(index, line)| hypothetical(&ask.shop, index, &line.line));
    let lines: Vec<_> = lines.collect::<Result<_, _>>()?;
    for (asked, line) in body.lines.iter().zip(&lines) {
        if let Some(due_at) = asked.due_at {
            ground.options.promised.insert((line.order, 1), due_at.0);
        }
    }
    let search = body.search.unwrap_or_default().or(SECONDS);
    let answer = within(&planning, move || {
        let checked = search.run_twice(&Watch::default(), |efforts| {
            rush_check(
                &ground.shop,
                &ground.site,
                &lines,
                &ground.options,
                ground.now,
                efforts,
            )
        });
        checked.map(|checked| RushCheckDto::of(&ground, &checked))
    });
    Shown::new(&answer.await?)
}

use super::night_dto::{NightFillDto, NightQuery};
use crate::auth::op;
use crate::http::ask::Ask;
use crate::http::find;
use crate::http::parameters::Parameters;
use crate::http::plans::answer::{ground_of, within};
use crate::http::shown::Shown;
use crate::planning::{Planning, Watch};
use crate::problem::Problem;
use actix_web::get;
use actix_web::web::{Data, Path};
use spindlebook_domain::ids::CellId;
use spindlebook_domain::plan::night::night_fill;
use uuid::Uuid;

/// Get what to clamp for the night
///
/// From when the last person leaves until somebody is back: what to clamp before, so that the spindles of the cell cut
/// longest, due dates breaking ties; and of every other load why it is not cut. Only what is cleared for it runs with
/// nobody there. It advises; whoever leaves looks first.
#[utoipa::path(
    operation_id = "getNightFill",
    tag = "Cells",
    params(("id" = Uuid, Path, description = "The cell"), NightQuery),
    responses((status = 200, description = "The night, or none", body = NightFillDto))
)]
#[get("/v1/cells/{id}/night-fill")]
pub async fn get_night_fill(
    ask: Ask<op::GetNightFill>,
    id: Path<Uuid>,
    query: Parameters<NightQuery>,
    planning: Data<Planning>,
) -> Result<Shown, Problem> {
    let cell = find::cell_at(&ask.shop, CellId(id.into_inner()))?.clone();
    let ground = ground_of(&ask, &[]).await?;
    let search = query.0.search();
    let answer = within(&planning, move || {
        let fill = search.run(&Watch::default(), |effort| {
            night_fill(
                &ground.shop,
                &ground.site,
                &cell,
                &ground.options,
                ground.now,
                effort,
            )
        });
        let fill = fill.transpose()?;
        Ok(NightFillDto::of(&ground, &cell, fill.as_ref()))
    });
    Shown::new(&answer.await?)
}

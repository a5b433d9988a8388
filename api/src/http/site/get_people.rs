use super::people_dto::PeopleDto;
use crate::auth::op;
use crate::http::ask::Ask;
use crate::http::shown::Shown;
use crate::problem::Problem;
use actix_web::get;

/// Get who is there to load and to inspect
#[utoipa::path(
    operation_id = "getSitePeople",
    tag = "Site",
    responses((status = 200, description = "Headcount by shift, and the inspectors' week", body = PeopleDto))
)]
#[get("/v1/site/people")]
pub async fn get_site_people(ask: Ask<op::GetSitePeople>) -> Result<Shown, Problem> {
    let site = ask.site()?;
    Ok(Shown::new(&PeopleDto::from(site))?.at(site.people_changed_seq))
}

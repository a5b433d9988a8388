use super::dto::SiteDto;
use crate::auth::op;
use crate::http::ask::Ask;
use crate::http::shown::Shown;
use crate::problem::Problem;
use actix_web::get;

/// Get the site
#[utoipa::path(
    operation_id = "getSite",
    tag = "Site",
    responses((status = 200, description = "The site that you are signed in to", body = SiteDto))
)]
#[get("/v1/site")]
pub async fn get_site(ask: Ask<op::GetSite>) -> Result<Shown, Problem> {
    let site = ask.site()?;
    Ok(Shown::new(&SiteDto::from(site))?.at(site.changed_seq))
}

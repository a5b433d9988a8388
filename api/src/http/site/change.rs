use super::dto::{SiteBody, SiteDto};
use crate::auth::op;
use crate::http::command::{Act, Outcome, Reply};
use actix_web::put;

/// Change the site's name and zone
///
/// Another zone moves every shift, day, week and month of every report, those of the past too. The code stays.
#[utoipa::path(
    operation_id = "changeSite",
    tag = "Site",
    request_body = SiteBody,
    responses((status = 200, description = "The site as it is now", body = SiteDto))
)]
#[put("/v1/site")]
pub async fn change_site(act: Act<op::ChangeSite, SiteBody>) -> Outcome {
    let command = act.body.into_command(act.draft.if_match()?);
    act.draft
        .submit(command, |accepted| {
            let site = accepted.shop.site.as_ref()?;
            Some(Reply::ok(&SiteDto::from(site)).at(site.changed_seq))
        })
        .await
}

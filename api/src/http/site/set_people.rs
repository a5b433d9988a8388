use super::people_dto::{PeopleBody, PeopleDto};
use crate::auth::op;
use crate::http::command::{Act, Outcome, Reply};
use actix_web::put;

/// Set who is there to load and to inspect
///
/// How many people a shift has, and the week of the inspectors where it differs from the site's.
#[utoipa::path(
    operation_id = "setSitePeople",
    tag = "Site",
    request_body = PeopleBody,
    responses((status = 200, description = "As it is now", body = PeopleDto))
)]
#[put("/v1/site/people")]
pub async fn set_site_people(act: Act<op::SetSitePeople, PeopleBody>) -> Outcome {
    let expected = act.draft.if_match()?;
    let command = act.body.into_command(expected)?;
    act.draft
        .submit(command, |accepted| {
            let site = accepted.shop.site.as_ref()?;
            Some(Reply::ok(&PeopleDto::from(site)).at(site.people_changed_seq))
        })
        .await
}

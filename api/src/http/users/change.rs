use super::dto::{ChangeUserBody, MemberDto, parse_roles};
use super::find;
use crate::auth::{Auth, op};
use crate::book::PrivateRows;
use crate::http::body::invalid;
use crate::http::command::{Accepted, Act, Outcome, Reply};
use crate::problem::{FieldError, Place, Problem};
use actix_web::patch;
use actix_web::web::{Data, Path};
use spindlebook_domain::access::{
    DisablePrincipal, EnablePrincipal, Principal, PrincipalKind, SetPrincipalRoles,
};
use spindlebook_domain::command::Command;
use spindlebook_domain::ids::{PrincipalId, Seq};
use spindlebook_store::private::AccountChange;

/// Change a user
///
/// Name and roles, or `disabled` alone. Holds at once, for sessions that are open too.
#[utoipa::path(
    operation_id = "changeUser", tag = "Users", request_body = ChangeUserBody,
    params(("id" = uuid::Uuid, Path, description = "The user's id")),
    responses((status = 200, description = "Changed", body = MemberDto))
)]
#[patch("/v1/users/{id}")]
pub async fn change_user(
    act: Act<op::ChangeUser, ChangeUserBody>,
    id: Path<PrincipalId>,
    auth: Data<Auth>,
) -> Outcome {
    let Act { caller, body, draft } = act;
    let expected = draft.if_match()?;
    let principal = find(&caller.shop, *id, PrincipalKind::Person)?;
    let is_disabling = body.disabled == Some(true);
    let command = command_of(&body, principal, expected)?;
    let account = match (body.display_name, is_disabling) {
        (Some(name), _) => Some(AccountChange::SetDisplayName {
            id: *id,
            display_name: name.into(),
        }),
        (None, true) => Some(AccountChange::SignOut {
            id: *id,
            at: auth.now(),
        }),
        (None, false) => None,
    };
    let id = *id;
    draft
        .with_private(PrivateRows {
            account,
            ..PrivateRows::default()
        })
        .submit(command, move |done| show(done, id))
        .await
}

/// A new name alone is kept with an entry that sets the roles as they were: so it has an author, a time and a version
/// like every other change.
fn command_of(
    body: &ChangeUserBody,
    principal: &Principal,
    expected: Option<Seq>,
) -> Result<Command, Problem> {
    let id = principal.id;
    let is_more = body.display_name.is_some() || body.roles.is_some();
    match (body.disabled, is_more) {
        (Some(_), true) => {
            let detail = "change it alone: name and roles in another request";
            Err(invalid(FieldError::at(
                Place::pointer("/disabled"),
                "not-alone",
                detail,
            )))
        }
        (Some(true), false) => Ok(DisablePrincipal {
            principal: id,
            expected,
        }
        .into()),
        (Some(false), false) => Ok(EnablePrincipal {
            principal: id,
            expected,
        }
        .into()),
        (None, true) => {
            let roles = match &body.roles {
                Some(names) => parse_roles(names)?,
                None => principal.roles.clone(),
            };
            Ok(SetPrincipalRoles {
                principal: id,
                roles,
                expected,
            }
            .into())
        }
        (None, false) => {
            let detail = "nothing is changed: send display_name, roles or disabled";
            Err(invalid(FieldError::at(Place::pointer(""), "missing", detail)))
        }
    }
}

fn show(done: &Accepted<'_>, id: PrincipalId) -> Option<Reply> {
    let principal = done.shop.principals.get(&id)?;
    Some(Reply::ok(&MemberDto::new(principal)).at(principal.changed_seq))
}

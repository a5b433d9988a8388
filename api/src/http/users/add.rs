use super::dto::{AddUserBody, MemberDto, parse_roles};
use super::password::check;
use crate::auth::{Auth, op};
use crate::book::PrivateRows;
use crate::http::command::{Act, Outcome, Reply, new_id};
use crate::problem::Problem;
use actix_web::post;
use actix_web::web::Data;
use spindlebook_domain::access::{AddPrincipal, PrincipalKind};
use spindlebook_domain::ids::PrincipalId;
use spindlebook_store::private::AccountChange;

/// Add a user
///
/// The answer holds no name: answers to commands are kept, and names can be forgotten.
#[utoipa::path(
    operation_id = "addUser", tag = "Users", request_body = AddUserBody,
    responses((status = 201, description = "Added", body = MemberDto))
)]
#[post("/v1/users")]
pub async fn add_user(act: Act<op::AddUser, AddUserBody>, auth: Data<Auth>) -> Outcome {
    let Act { caller, body, draft } = act;
    let id = PrincipalId(new_id());
    let roles = parse_roles(&body.roles)?;
    check(&body.password, &body.login, &caller.shop)?;
    let hash = auth
        .passwords
        .hash(body.password)
        .await
        .map_err(|error| Problem::fault(&error))?;
    let account = AccountChange::Add {
        id,
        kind: PrincipalKind::Person,
        login: body.login.into(),
        display_name: Some(body.display_name.into()),
        secret_hash: Some(hash),
    };
    draft
        .with_private(PrivateRows {
            account: Some(account),
            ..PrivateRows::default()
        })
        .submit(
            AddPrincipal {
                principal: id,
                kind: PrincipalKind::Person,
                roles,
            },
            move |done| {
                let principal = done.shop.principals.get(&id)?;
                let reply = Reply::created(format!("/v1/users/{id}"), &MemberDto::new(principal));
                Some(reply.at(principal.changed_seq))
            },
        )
        .await
}

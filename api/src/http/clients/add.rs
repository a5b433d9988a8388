use super::dto::{AddClientBody, AddedClientDto};
use crate::auth::{Secret, client_secret_hash, op};
use crate::book::PrivateRows;
use crate::http::command::{Act, Outcome, Reply, new_id};
use crate::http::users::{MemberDto, parse_roles};
use actix_web::post;
use spindlebook_domain::access::{AddPrincipal, PrincipalKind};
use spindlebook_domain::ids::PrincipalId;
use spindlebook_store::private::AccountChange;

/// Add a machine client
///
/// Gives its secret once. Whoever loses it disables the client and adds another.
#[utoipa::path(
    operation_id = "addClient", tag = "Clients", request_body = AddClientBody,
    responses((status = 201, description = "Added", body = AddedClientDto))
)]
#[post("/v1/clients")]
pub async fn add_client(act: Act<op::AddClient, AddClientBody>) -> Outcome {
    let Act { body, draft, .. } = act;
    let id = PrincipalId(new_id());
    let roles = parse_roles(&body.roles)?;
    let secret = Secret::random();
    let account = AccountChange::Add {
        id,
        kind: PrincipalKind::Client,
        login: id.to_string(),
        display_name: Some(body.name.into()),
        secret_hash: Some(client_secret_hash(&secret)),
    };
    let answered = draft
        .with_private(PrivateRows {
            account: Some(account),
            ..PrivateRows::default()
        })
        .submit(
            AddPrincipal {
                principal: id,
                kind: PrincipalKind::Client,
                roles,
            },
            move |done| {
                let principal = done.shop.principals.get(&id)?;
                let added = AddedClientDto {
                    member: MemberDto::new(principal),
                    client_secret: None,
                };
                Some(Reply::created(format!("/v1/clients/{id}"), &added).at(principal.changed_seq))
            },
        )
        .await?;
    Ok(answered.with_once("client_secret", secret.reveal()))
}

use super::dto::{AddDeviceBody, AddedDeviceDto};
use crate::auth::{Secret, client_secret_hash, op};
use crate::book::PrivateRows;
use crate::http::command::{Act, Outcome, Reply, new_id};
use crate::http::users::MemberDto;
use actix_web::post;
use spindlebook_domain::access::{AddPrincipal, PrincipalKind};
use spindlebook_domain::ids::PrincipalId;
use spindlebook_domain::role::Role;
use spindlebook_store::private::AccountChange;
use std::collections::BTreeSet;

/// Enrol a tablet
///
/// Gives its key once: enter it on the tablet, which gets its access tokens with it at `POST /oauth/token`. Whoever
/// loses the tablet or the key disables it and enrols another.
#[utoipa::path(
    operation_id = "addDevice", tag = "Tablets", request_body = AddDeviceBody,
    responses((status = 201, description = "Enrolled", body = AddedDeviceDto))
)]
#[post("/v1/devices")]
pub async fn add_device(act: Act<op::AddDevice, AddDeviceBody>) -> Outcome {
    let Act { body, draft, .. } = act;
    let id = PrincipalId(new_id());
    let key = Secret::random();
    let account = AccountChange::Add {
        id,
        kind: PrincipalKind::Client,
        login: id.to_string(),
        display_name: Some(body.name.into()),
        secret_hash: Some(client_secret_hash(&key)),
    };
    let command = AddPrincipal {
        principal: id,
        kind: PrincipalKind::Client,
        roles: BTreeSet::from([Role::Device]),
    };
    let answered = draft
        .with_private(PrivateRows {
            account: Some(account),
            ..PrivateRows::default()
        })
        .submit(command, move |done| {
            let principal = done.shop.principals.get(&id)?;
            let added = AddedDeviceDto {
                member: MemberDto::new(principal),
                device_key: None,
            };
            Some(Reply::created(format!("/v1/devices/{id}"), &added).at(principal.changed_seq))
        })
        .await?;
    Ok(answered.with_once("device_key", key.reveal()))
}

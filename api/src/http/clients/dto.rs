use crate::http::text;
use crate::http::users::MemberDto;
use serde::{Deserialize, Serialize};
use spindlebook_domain::access::Principal;
use spindlebook_domain::code::Name;
use spindlebook_store::account::AccountRow;
use utoipa::ToSchema;

#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"name": "Quoting tool", "roles": ["integration"]}))]
pub struct AddClientBody {
    #[schema(value_type = text::Name)]
    pub name: Name,
    #[schema(value_type = Vec<text::Role>, min_items = 1, max_items = 8)]
    pub roles: Vec<String>,
}

#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"id": "01936b5e-5c00-7000-8000-000000000009", "roles": ["integration"], "standing": "enabled",
    "name": "Quoting tool"}))]
pub struct ClientDto {
    #[serde(flatten)]
    pub member: MemberDto,
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub name: Option<String>,
}

/// The `id` is the `client_id` of OAuth 2.0.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"id": "01936b5e-5c00-7000-8000-000000000009", "roles": ["integration"], "standing": "enabled",
    "client_secret": "shown here once"}))]
pub struct AddedClientDto {
    #[serde(flatten)]
    pub member: MemberDto,
    /// Shown in the first answer only, and kept nowhere: a repeated answer comes without it.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub client_secret: Option<String>,
}

#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"items": [{"id": "01936b5e-5c00-7000-8000-000000000009", "roles": ["integration"],
    "standing": "enabled", "name": "Quoting tool"}], "next_cursor": "AAAA"}))]
pub struct ClientsDto {
    pub items: Vec<ClientDto>,
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub next_cursor: Option<String>,
}

impl ClientDto {
    pub fn new(principal: &Principal, account: Option<&AccountRow>) -> Self {
        Self {
            member: MemberDto::new(principal),
            name: account.and_then(|account| account.display_name.clone()),
        }
    }
}

use crate::auth::{Login, Secret};
use crate::http::text;
use crate::problem::{FieldError, Place, Problem};
use serde::{Deserialize, Serialize};
use spindlebook_domain::access::{Principal, Standing};
use spindlebook_domain::code::Name;
use spindlebook_domain::role::Role;
use spindlebook_store::account::AccountRow;
use std::collections::BTreeSet;
use utoipa::ToSchema;
use uuid::Uuid;

#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "login": "anna", "display_name": "Anna Berg", "roles": ["planner"], "password": "four words that stand apart"
}))]
pub struct AddUserBody {
    #[schema(value_type = text::Login)]
    pub login: Login,
    #[schema(value_type = text::Name)]
    pub display_name: Name,
    #[schema(value_type = Vec<text::Role>, min_items = 1, max_items = 8)]
    pub roles: Vec<String>,
    #[schema(inline)]
    pub password: Secret,
}

/// What is left out stays as it is. `disabled` is changed alone.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"roles": ["planner", "inspector"]}))]
pub struct ChangeUserBody {
    #[schema(value_type = Option<text::Name>, nullable = false)]
    pub display_name: Option<Name>,
    #[schema(value_type = Option<Vec<text::Role>>, nullable = false, min_items = 1, max_items = 8)]
    pub roles: Option<Vec<String>>,
    #[schema(nullable = false)]
    pub disabled: Option<bool>,
}

#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"password": "four words that stand apart"}))]
pub struct SetPasswordBody {
    #[schema(inline)]
    pub password: Secret,
}

/// A user with what identifies the person. A forgotten one has neither login nor name.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"id": "01936b5e-5c00-7000-8000-000000000009", "roles": ["planner"], "standing": "enabled",
    "login": "anna", "display_name": "Anna Berg"}))]
pub struct UserDto {
    #[serde(flatten)]
    pub member: MemberDto,
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub login: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub display_name: Option<String>,
}

#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"items": [{"id": "01936b5e-5c00-7000-8000-000000000009", "roles": ["planner"],
    "standing": "enabled", "login": "anna", "display_name": "Anna Berg"}], "next_cursor": "AAAA"}))]
pub struct UsersDto {
    pub items: Vec<UserDto>,
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub next_cursor: Option<String>,
}

/// A user or client without anything that identifies a person: answers to commands are stored.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"id": "01936b5e-5c00-7000-8000-000000000009", "roles": ["planner"], "standing": "enabled"}))]
pub struct MemberDto {
    pub id: Uuid,
    pub roles: Vec<&'static str>,
    /// `enabled`, `disabled` or `forgotten`.
    #[schema(value_type = String)]
    pub standing: Standing,
}

impl MemberDto {
    pub fn new(principal: &Principal) -> Self {
        Self {
            id: principal.id.0,
            roles: principal.roles.iter().map(|role| role.as_str()).collect(),
            standing: principal.standing,
        }
    }
}

impl UserDto {
    pub fn new(principal: &Principal, account: Option<&AccountRow>) -> Self {
        let known = account.filter(|account| account.forgotten_at.is_none());
        Self {
            member: MemberDto::new(principal),
            login: known.map(|account| account.login.clone()),
            display_name: known.and_then(|account| account.display_name.clone()),
        }
    }
}

/// Read one by one, so that a wrong one is named.
pub fn parse_roles(names: &[String]) -> Result<BTreeSet<Role>, Problem> {
    let parse = |(index, name): (usize, &String)| {
        name.parse::<Role>().map_err(|error| {
            crate::http::body::invalid(FieldError::at(
                Place::pointer(format!("/roles/{index}")),
                "unknown",
                error.to_string(),
            ))
        })
    };
    names.iter().enumerate().map(parse).collect()
}

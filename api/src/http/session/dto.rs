use crate::auth::{Secret, Session};
use crate::http::text;
use serde::{Deserialize, Serialize};
use spindlebook_domain::access::{Principal, PrincipalKind};
use spindlebook_domain::site::Site;
use spindlebook_store::account::AccountRow;
use utoipa::ToSchema;
use uuid::Uuid;

#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"login": "anna", "password": "four words that stand apart"}))]
pub struct SignInBody {
    /// The site's code; needed only where there are several.
    #[schema(value_type = Option<text::Code>, nullable = false)]
    pub site: Option<String>,
    #[schema(value_type = text::Login)]
    pub login: String,
    #[schema(inline)]
    pub password: Secret,
}

#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"refresh_token": "good-once"}))]
pub struct RefreshBody {
    #[schema(inline)]
    pub refresh_token: Secret,
}

#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"current_password": "four words that stand apart",
    "password": "four other words that stand apart"}))]
pub struct ChangeOwnPasswordBody {
    #[schema(inline)]
    pub current_password: Secret,
    #[schema(inline)]
    pub password: Secret,
}

#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"access_token": "eyJ0.eyJz.c2ln", "token_type": "Bearer", "expires_in_s": 900,
    "refresh_token": "good-once", "refresh_expires_in_s": 1_814_400,
    "principal": {"id": "01936b5e-5c00-7000-8000-000000000009", "kind": "person", "login": "anna",
    "display_name": "Anna Berg", "roles": ["planner"],
    "site": {"id": "01936b5e-5c00-7000-8000-000000000001", "code": "north",
    "name": "Invented shop"}}}))]
pub struct SessionDto {
    /// Goes into the header `Authorization: Bearer …`.
    #[schema(inline)]
    pub access_token: Secret,
    /// Always `Bearer`.
    pub token_type: &'static str,
    pub expires_in_s: i64,
    /// Good once, for `POST /v1/session/refresh`.
    #[schema(inline)]
    pub refresh_token: Secret,
    pub refresh_expires_in_s: i64,
    pub principal: WhoDto,
}

/// Somebody who is signed in.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"id": "01936b5e-5c00-7000-8000-000000000009", "kind": "person", "login": "anna",
    "display_name": "Anna Berg", "roles": ["planner"],
    "site": {"id": "01936b5e-5c00-7000-8000-000000000001", "code": "north",
    "name": "Invented shop"}}))]
pub struct WhoDto {
    pub id: Uuid,
    #[schema(value_type = String)]
    pub kind: PrincipalKind,
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub login: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub display_name: Option<String>,
    pub roles: Vec<&'static str>,
    pub site: SiteRefDto,
}

#[derive(Debug, Serialize, ToSchema)]
pub struct SiteRefDto {
    pub id: Uuid,
    pub code: String,
    pub name: String,
}

impl SessionDto {
    pub fn new(session: Session, principal: WhoDto) -> Self {
        Self {
            access_token: session.access_token,
            token_type: "Bearer",
            expires_in_s: session.expires_in_s,
            refresh_token: session.refresh_token,
            refresh_expires_in_s: session.refresh_expires_in_s,
            principal,
        }
    }
}

impl WhoDto {
    /// A machine client signs in by its id: it has no login.
    pub fn new(principal: &Principal, account: Option<AccountRow>, site: &Site) -> Self {
        let is_person = principal.kind == PrincipalKind::Person;
        let (login, display_name) = account
            .map(|account| (account.login, account.display_name))
            .unzip();
        Self {
            id: principal.id.0,
            kind: principal.kind,
            login: login.filter(|_| is_person),
            display_name: display_name.flatten(),
            roles: principal.roles.iter().map(|role| role.as_str()).collect(),
            site: SiteRefDto {
                id: site.id.0,
                code: site.code.to_string(),
                name: site.name.to_string(),
            },
        }
    }
}

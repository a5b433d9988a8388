use crate::auth::{PIN_WRONG_MAX, Pin, Secret};
use crate::http::instant::Instant;
use crate::http::text;
use serde::{Deserialize, Serialize};
use spindlebook_domain::device::Badge;
use spindlebook_domain::ids::{BadgeId, PrincipalId};
use spindlebook_store::pin::PinRow;
use utoipa::ToSchema;

#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"person": "01936b5e-5c00-7000-8000-000000000009", "pin": "730518"}))]
pub struct BeginBadgeBody {
    #[schema(value_type = uuid::Uuid)]
    pub person: PrincipalId,
    #[schema(value_type = text::Pin)]
    pub pin: Pin,
    /// The person took the tablet while it reached nobody; what was tapped since then is theirs.
    #[schema(nullable = false)]
    pub claimed: Option<ClaimedBody>,
}

/// Both by the tablet's own clock.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ClaimedBody {
    #[schema(value_type = text::Instant)]
    pub since: Instant,
    /// What it reads now.
    #[schema(value_type = text::Instant)]
    pub clock: Instant,
}

/// The person's access token is good for what the person may do on the floor, until the badge ends.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"id": "01936b5e-5c00-7000-8000-0000000000d7",
    "device": "01936b5e-5c00-7000-8000-0000000000d1", "person": "01936b5e-5c00-7000-8000-000000000009",
    "since": "2026-11-02T05:58:00Z", "until": "2026-11-02T06:13:00Z", "claimed": false,
    "access_token": "eyJ0.eyJz.c2ln"}))]
pub struct BegunBadgeDto {
    #[schema(value_type = uuid::Uuid)]
    pub id: BadgeId,
    #[schema(value_type = uuid::Uuid)]
    pub device: PrincipalId,
    #[schema(value_type = uuid::Uuid)]
    pub person: PrincipalId,
    #[schema(value_type = text::Instant)]
    pub since: Instant,
    #[schema(value_type = text::Instant)]
    pub until: Instant,
    pub claimed: bool,
    /// Made anew for each answer and kept nowhere; absent where the badge has ended meanwhile.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(inline, nullable = false)]
    pub access_token: Option<Secret>,
}

#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"pin": "730518"}))]
pub struct SetPinBody {
    #[schema(value_type = text::Pin)]
    pub pin: Pin,
}

#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"current_password": "four words that stand apart", "pin": "730518"}))]
pub struct SetOwnPinBody {
    #[schema(inline)]
    pub current_password: Secret,
    #[schema(value_type = text::Pin)]
    pub pin: Pin,
}

#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"set_at": "2026-11-02T05:58:00Z", "wrong": 3, "locked": false,
    "wait_until": "2026-11-02T05:58:04Z"}))]
pub struct PinDto {
    #[schema(value_type = text::Instant)]
    pub set_at: Instant,
    /// Wrong ones since the last right one.
    pub wrong: u32,
    /// An admin has to unlock it.
    pub locked: bool,
    /// Until then the next one is not looked at.
    #[schema(value_type = Option<text::Instant>)]
    pub wait_until: Option<Instant>,
}

impl From<&Badge> for BegunBadgeDto {
    fn from(badge: &Badge) -> Self {
        Self {
            id: badge.id,
            device: badge.device,
            person: badge.person,
            since: badge.since.into(),
            until: badge.until.into(),
            claimed: badge.claimed,
            access_token: None,
        }
    }
}

impl From<&PinRow> for PinDto {
    fn from(row: &PinRow) -> Self {
        Self {
            set_at: row.set_at.into(),
            wrong: row.wrong,
            locked: row.wrong >= PIN_WRONG_MAX,
            wait_until: row.wait_until.map(Instant),
        }
    }
}

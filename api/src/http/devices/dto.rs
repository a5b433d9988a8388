use crate::auth::Secret;
use crate::http::instant::Instant;
use crate::http::text;
use crate::http::users::MemberDto;
use serde::{Deserialize, Serialize};
use spindlebook_domain::access::Principal;
use spindlebook_domain::code::Name;
use spindlebook_domain::device::Device;
use spindlebook_domain::ids::{BadgeId, PrincipalId};
use spindlebook_domain::shop::Shop;
use spindlebook_domain::time::Timestamp;
use spindlebook_store::account::AccountRow;
use utoipa::ToSchema;

#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"name": "Load station 1"}))]
pub struct AddDeviceBody {
    #[schema(value_type = text::Name)]
    pub name: Name,
}

/// The `id` is the `client_id`, the key the `client_secret` of OAuth 2.0.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"id": "01936b5e-5c00-7000-8000-0000000000d1", "roles": ["device"], "standing": "enabled",
    "device_key": "shown here once"}))]
pub struct AddedDeviceDto {
    #[serde(flatten)]
    pub member: MemberDto,
    /// Shown in the first answer only, and kept nowhere: a repeated answer comes without it.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(inline, nullable = false)]
    pub device_key: Option<Secret>,
}

#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"id": "01936b5e-5c00-7000-8000-0000000000d1", "roles": ["device"], "standing": "enabled",
    "name": "Load station 1", "deliveries": 12,
    "last_contact": {"received_at": "2026-11-02T06:00:00Z", "clock": "2026-11-02T06:07:00Z", "ahead_ms": 420_000},
    "badge": {"id": "01936b5e-5c00-7000-8000-0000000000d7", "person": "01936b5e-5c00-7000-8000-000000000009",
    "since": "2026-11-02T05:58:00Z", "until": "2026-11-02T06:13:00Z", "claimed": false}}))]
pub struct DeviceDto {
    #[serde(flatten)]
    pub member: MemberDto,
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub name: Option<String>,
    pub deliveries: u64,
    pub last_contact: Option<ContactDto>,
    /// Who holds it now.
    pub badge: Option<BadgeDto>,
}

/// What its clock read when it delivered last; what it delivered then was moved by the difference.
#[derive(Debug, Serialize, ToSchema)]
pub struct ContactDto {
    #[schema(value_type = text::Instant)]
    pub received_at: Instant,
    #[schema(value_type = text::Instant)]
    pub clock: Instant,
    /// Negative: it is slow.
    #[schema(minimum = -9_007_199_254_740_991_i64)]
    pub ahead_ms: i64,
}

#[derive(Debug, Serialize, ToSchema)]
pub struct BadgeDto {
    #[schema(value_type = uuid::Uuid)]
    pub id: BadgeId,
    #[schema(value_type = uuid::Uuid)]
    pub person: PrincipalId,
    #[schema(value_type = text::Instant)]
    pub since: Instant,
    #[schema(value_type = text::Instant)]
    pub until: Instant,
    /// Begun while the tablet reached nobody.
    pub claimed: bool,
}

#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"items": [{"id": "01936b5e-5c00-7000-8000-0000000000d1", "roles": ["device"],
    "standing": "enabled", "name": "Load station 1", "deliveries": 0, "last_contact": null, "badge": null}],
    "next_cursor": "AAAA"}))]
pub struct DevicesDto {
    #[schema(max_items = 200)]
    pub items: Vec<DeviceDto>,
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub next_cursor: Option<String>,
}

/// Whoever can badge in, by name.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"items": [{"id": "01936b5e-5c00-7000-8000-000000000009", "display_name": "Anna Berg",
    "roles": ["operator"]}], "next_cursor": "AAAA"}))]
pub struct DevicePeopleDto {
    #[schema(max_items = 200)]
    pub items: Vec<DevicePersonDto>,
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub next_cursor: Option<String>,
}

#[derive(Debug, Serialize, ToSchema)]
pub struct DevicePersonDto {
    #[schema(value_type = uuid::Uuid)]
    pub id: PrincipalId,
    pub display_name: String,
    pub roles: Vec<&'static str>,
}

impl DeviceDto {
    pub fn new(shop: &Shop, principal: &Principal, account: Option<&AccountRow>, now: Timestamp) -> Self {
        let known = shop.devices.get(&principal.id);
        let holds =
            |badge: &&spindlebook_domain::device::Badge| badge.device == principal.id && badge.is_live(now);
        Self {
            member: MemberDto::new(principal),
            name: account.and_then(|account| account.display_name.clone()),
            deliveries: known.map_or(0, |device| device.deliveries),
            last_contact: known.map(ContactDto::from),
            badge: shop.badges.values().find(holds).map(|badge| BadgeDto {
                id: badge.id,
                person: badge.person,
                since: badge.since.into(),
                until: badge.until.into(),
                claimed: badge.claimed,
            }),
        }
    }
}

impl From<&Device> for ContactDto {
    fn from(device: &Device) -> Self {
        let contact = device.last;
        Self {
            received_at: contact.received_at.into(),
            clock: contact.clock.into(),
            ahead_ms: contact.offset_us() / 1_000,
        }
    }
}

use super::aside::Request;
use crate::http::instant::Instant;
use crate::http::text;
use serde::{Deserialize, Serialize};
use serde_json::value::RawValue;
use spindlebook_domain::device::SetAside;
use spindlebook_domain::ids::{BadgeId, CommandId, PrincipalId, Seq};
use utoipa::ToSchema;

#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"clock": "2026-11-02T06:07:00Z", "acts": [{"key": "01936b5e-5c00-7000-8000-0000000000c9",
    "at": "2026-11-02T06:01:30Z", "badge": "01936b5e-5c00-7000-8000-0000000000d7",
    "path": "/v1/pallets/01936b5e-5c00-7000-8000-0000000000b1/load",
    "body": {"pieces": [{"job": "01936b5e-5c00-7000-8000-0000000000e1", "operation": 10, "pieces": 4}]}}]}))]
pub struct DeliveryBody {
    /// What the tablet's clock reads at sending.
    #[schema(value_type = text::Instant)]
    pub clock: Instant,
    /// In the order in which they were tapped. None: the clock alone is told.
    #[schema(max_items = 500)]
    pub acts: Vec<ActBody>,
}

/// The request that the tablet would have sent, with when and by whom.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ActBody {
    /// Its Idempotency-Key, the same one however often and in whatever way it is sent.
    #[schema(value_type = uuid::Uuid)]
    pub key: CommandId,
    /// What the tablet's clock read when it was tapped.
    #[schema(value_type = text::Instant)]
    pub at: Instant,
    #[schema(value_type = uuid::Uuid)]
    pub badge: BadgeId,
    /// Of an operation that is an act on the floor (`x-act` in the OpenAPI document).
    #[schema(max_length = 200, pattern = "^/v1/[a-z0-9/-]+$")]
    pub path: String,
    /// As the operation takes it.
    #[schema(value_type = Object)]
    pub body: Box<RawValue>,
}

/// The answers, in the order of the acts.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"received_at": "2026-11-02T06:00:00Z", "ahead_ms": 420_000,
    "items": [{"key": "01936b5e-5c00-7000-8000-0000000000c9", "status": 200, "first_given_at": null,
    "body": {"changed_seq": 13}}]}))]
pub struct DeliveredDto {
    #[schema(value_type = text::Instant)]
    pub received_at: Instant,
    /// By so much the tablet's clock is fast; negative: slow. The acts were moved by it.
    #[schema(minimum = -9_007_199_254_740_991_i64)]
    pub ahead_ms: i64,
    #[schema(max_items = 500)]
    pub items: Vec<AnsweredActDto>,
}

#[derive(Debug, Serialize, ToSchema)]
pub struct AnsweredActDto {
    #[schema(value_type = uuid::Uuid)]
    pub key: CommandId,
    /// 202: it was set aside, because its time cannot be. 503 and other statuses above 499: keep it, and deliver it again.
    #[schema(minimum = 200, maximum = 599)]
    pub status: u16,
    /// When this answer was given first; null the first time.
    pub first_given_at: Option<String>,
    /// As the operation answers, to the byte; null where it answers nothing.
    #[schema(value_type = Option<Object>)]
    pub body: Option<Box<RawValue>>,
}

/// An act whose time cannot be.
#[derive(Debug, Serialize, ToSchema)]
pub struct SetAsideDto {
    #[schema(value_type = uuid::Uuid)]
    pub key: CommandId,
    #[schema(value_type = text::Seq)]
    pub seq: Seq,
    #[schema(value_type = uuid::Uuid)]
    pub device: PrincipalId,
    #[schema(value_type = uuid::Uuid)]
    pub person: PrincipalId,
    /// What the tablet's clock read at the act.
    #[schema(value_type = text::Instant)]
    pub device_time: Instant,
    #[schema(value_type = text::Instant)]
    pub received_at: Instant,
    /// Null: what was tapped was forgotten.
    #[schema(max_length = 200)]
    pub path: Option<String>,
    #[schema(value_type = Option<Object>)]
    pub body: Option<Box<RawValue>>,
}

/// A page of acts that wait.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"items": [], "next_cursor": "AAAA"}))]
pub struct SetAsidePage {
    #[schema(max_items = 200)]
    pub items: Vec<SetAsideDto>,
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    pub next_cursor: Option<String>,
}

#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"at": "2026-11-02T05:30:00Z"}))]
pub struct PlaceActBody {
    /// When it was; not after it arrived.
    #[schema(value_type = text::Instant)]
    pub at: Instant,
}

#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"key": "01936b5e-5c00-7000-8000-0000000000c9", "at": "2026-11-02T05:30:00Z", "status": 200,
    "answer": {"changed_seq": 13}}))]
pub struct PlacedActDto {
    #[schema(value_type = uuid::Uuid)]
    pub key: CommandId,
    #[schema(value_type = text::Instant)]
    pub at: Instant,
    #[schema(minimum = 200, maximum = 299)]
    pub status: u16,
    /// As its own operation answers.
    #[schema(value_type = Object)]
    pub answer: serde_json::Value,
}

impl SetAsideDto {
    pub fn new(waiting: &SetAside, request: Option<Request>) -> Self {
        let act = &waiting.act;
        let (path, body) = request.map(|request| (request.path, request.body)).unzip();
        Self {
            key: act.key,
            seq: waiting.seq,
            device: act.device,
            person: act.person,
            device_time: act.device_time.into(),
            received_at: act.received_at.into(),
            path,
            body,
        }
    }
}

use crate::http::instant::Instant;
use crate::http::text;
use crate::problem::Problem;
use serde::Serialize;
use serde_json::Value;
use spindlebook_domain::entry::{Entry, Hash};
use spindlebook_domain::ids::{CommandId, Seq};
use utoipa::ToSchema;

/// One entry. `hash` is SHA-256 over the fields of the envelope and the bytes of `payload_text`, chained to
/// `previous_hash`; docs/events.md says how.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = LedgerEntry, example = json!({"seq": 13, "id": "01936b5e-5c00-7000-8000-00000000e00d",
    "command_id": "01936b5e-5c00-7000-8000-00000000c0de", "kind": "machine.set_up", "schema": 1,
    "occurred_at": "2026-11-02T06:00:00Z", "occurred_at_us": 1_793_599_200_000_000_i64,
    "recorded_at": "2026-11-02T06:00:00Z", "recorded_at_us": 1_793_599_200_000_000_i64,
    "actor": "person:01936b5e-5c00-7000-8000-000000000009", "device": null,
    "payload": {"machine": "01936b5e-5c00-7000-8000-0000000000a1", "at": 1_793_599_200_000_000_i64},
    "payload_text": "{\"machine\":\"01936b5e-5c00-7000-8000-0000000000a1\",\"at\":1793599200000000}",
    "previous_hash": "00000000000000000000000000000000000000000000000000000000000000aa",
    "hash": "00000000000000000000000000000000000000000000000000000000000000bb"}))]
pub struct EntryDto {
    #[schema(value_type = text::Seq)]
    pub seq: Seq,
    #[schema(value_type = uuid::Uuid)]
    pub id: uuid::Uuid,
    /// The key of the command that gave it; one command may give several entries.
    #[schema(value_type = uuid::Uuid)]
    pub command_id: CommandId,
    #[schema(max_length = 64, pattern = r"^[a-z_]+\.[a-z_]+$")]
    pub kind: String,
    /// The version of the payload's shape.
    #[schema(minimum = 1)]
    pub schema: u16,
    /// When it happened on the floor.
    #[schema(value_type = text::Instant)]
    pub occurred_at: Instant,
    pub occurred_at_us: i64,
    /// When the server kept it; never decreases along the ledger.
    #[schema(value_type = text::Instant)]
    pub recorded_at: Instant,
    pub recorded_at_us: i64,
    /// `person:` or `client:` with an opaque id, or `system`. Names stand elsewhere and can be forgotten.
    #[schema(max_length = 43, pattern = "^(person:|client:)[0-9a-f-]{36}$|^system$")]
    pub actor: String,
    #[schema(max_length = 200)]
    pub device: Option<String>,
    /// `payload_text` read as JSON.
    #[schema(value_type = Object)]
    pub payload: Value,
    /// The payload as it is stored, to the byte.
    #[schema(max_length = 16_777_216)]
    pub payload_text: String,
    #[schema(min_length = 64, max_length = 64, pattern = "^[0-9a-f]{64}$")]
    pub previous_hash: String,
    #[schema(min_length = 64, max_length = 64, pattern = "^[0-9a-f]{64}$")]
    pub hash: String,
}

/// A page of the ledger.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"items": [{"seq": 13, "id": "01936b5e-5c00-7000-8000-00000000e00d",
    "command_id": "01936b5e-5c00-7000-8000-00000000c0de", "kind": "machine.set_up", "schema": 1,
    "occurred_at": "2026-11-02T06:00:00Z", "occurred_at_us": 1_793_599_200_000_000_i64,
    "recorded_at": "2026-11-02T06:00:00Z", "recorded_at_us": 1_793_599_200_000_000_i64,
    "actor": "person:01936b5e-5c00-7000-8000-000000000009", "device": null,
    "payload": {"machine": "01936b5e-5c00-7000-8000-0000000000a1", "at": 1_793_599_200_000_000_i64},
    "payload_text": "{\"machine\":\"01936b5e-5c00-7000-8000-0000000000a1\",\"at\":1793599200000000}",
    "previous_hash": "00000000000000000000000000000000000000000000000000000000000000aa",
    "hash": "00000000000000000000000000000000000000000000000000000000000000bb"}], "head_seq": 4211,
    "next_after": 13}))]
pub struct LedgerPage {
    #[schema(max_items = 200)]
    pub items: Vec<EntryDto>,
    /// The newest entry that there was; its number is also the number of entries.
    #[schema(value_type = text::Seq)]
    pub head_seq: Seq,
    /// What to ask `after` for the next page; null when this one reached the head.
    #[schema(value_type = Option<text::Seq>)]
    pub next_after: Option<Seq>,
}

impl EntryDto {
    pub fn new(entry: &Entry, previous: &Hash) -> Result<Self, Problem> {
        let envelope = &entry.envelope;
        let unreadable = |error: &dyn std::fmt::Display| {
            Problem::fault(&format!(
                "the payload of entry {} does not read: {error}",
                envelope.seq
            ))
        };
        let payload_text = std::str::from_utf8(&entry.payload).map_err(|error| unreadable(&error))?;
        Ok(Self {
            seq: envelope.seq,
            id: envelope.id,
            command_id: envelope.command_id,
            kind: envelope.kind.clone(),
            schema: envelope.schema,
            occurred_at: envelope.occurred_at.into(),
            occurred_at_us: envelope.occurred_at.us(),
            recorded_at: envelope.recorded_at.into(),
            recorded_at_us: envelope.recorded_at.us(),
            actor: envelope.actor.to_string(),
            device: envelope.device.clone(),
            payload: serde_json::from_str(payload_text).map_err(|error| unreadable(&error))?,
            payload_text: payload_text.to_owned(),
            previous_hash: hex::encode(previous),
            hash: hex::encode(entry.hash),
        })
    }
}

//! One entry of the ledger and the hash that chains it to the one before.

use crate::actor::Actor;
use crate::ids::{CommandId, Seq};
use crate::time::Timestamp;
use sha2::{Digest, Sha256};
use uuid::Uuid;

pub type Hash = [u8; 32];

/// What the first entry of every ledger is chained to.
pub const GENESIS: Hash = [0; 32];

/// Everything about an entry but its payload and its hash.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Envelope {
    pub seq: Seq,
    pub id: Uuid,
    pub command_id: CommandId,
    pub kind: String,
    /// The version of the payload's shape.
    pub schema: u16,
    /// When it happened on the floor.
    pub occurred_at: Timestamp,
    /// When the server kept it; never decreases along the ledger.
    pub recorded_at: Timestamp,
    pub actor: Actor,
    pub device: Option<String>,
}

/// An entry as it is stored: `payload` is the very bytes that were hashed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Entry {
    pub envelope: Envelope,
    pub payload: Vec<u8>,
    pub hash: Hash,
}

/// What folding an event needs to know of its entry.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct EntryMeta {
    pub seq: Seq,
    pub occurred_at: Timestamp,
    pub recorded_at: Timestamp,
    pub actor: Actor,
}

impl Envelope {
    pub fn meta(&self) -> EntryMeta {
        EntryMeta {
            seq: self.seq,
            occurred_at: self.occurred_at,
            recorded_at: self.recorded_at,
            actor: self.actor,
        }
    }
}

/// SHA-256 over the previous hash, the envelope's fields in their order and the payload bytes, each preceded by
/// its length (u64, big-endian), so that no two different entries give the same bytes. Numbers are big-endian,
/// instants i64 microseconds, an absent device has length 2^64-1.
pub fn hash(previous: &Hash, envelope: &Envelope, payload: &[u8]) -> Hash {
    let mut digest = Sha256::new();
    let mut field = |bytes: &[u8]| {
        digest.update((bytes.len() as u64).to_be_bytes());
        digest.update(bytes);
    };
    field(previous);
    field(&envelope.seq.to_be_bytes());
    field(envelope.id.as_bytes());
    field(envelope.command_id.0.as_bytes());
    field(envelope.kind.as_bytes());
    field(&envelope.schema.to_be_bytes());
    field(&envelope.occurred_at.us().to_be_bytes());
    field(&envelope.recorded_at.us().to_be_bytes());
    field(envelope.actor.to_string().as_bytes());
    match &envelope.device {
        Some(device) => field(device.as_bytes()),
        None => digest.update(u64::MAX.to_be_bytes()),
    }
    digest.update((payload.len() as u64).to_be_bytes());
    digest.update(payload);
    digest.finalize().into()
}

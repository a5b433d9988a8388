use crate::auth::{PublicKey, SigningKey};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use serde::{Deserialize, Serialize};
use spindlebook_domain::entry::{Entry, Envelope, Hash};
use spindlebook_domain::ids::{CommandId, Seq, SiteId};
use spindlebook_domain::time::Timestamp;
use uuid::Uuid;

pub const FORMAT: &str = "spindlebook-ledger/1";
const ALGORITHM: &str = "Ed25519";

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct HeaderLine {
    pub format: String,
    pub site: SiteId,
    pub code: String,
    pub exported_at: String,
}

/// The fields in the order in which they are hashed. Instants are microseconds since 1970-01-01T00:00:00Z.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct EntryLine {
    seq: Seq,
    id: Uuid,
    command_id: Uuid,
    kind: String,
    schema: u16,
    occurred_at_us: i64,
    recorded_at_us: i64,
    actor: String,
    device: Option<String>,
    payload: String,
    hash: String,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct HeadLine {
    pub head: HeadPlace,
    algorithm: String,
    pub public_key: String,
    signature: String,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct HeadPlace {
    pub site: SiteId,
    pub seq: Seq,
    hash: String,
}

impl HeaderLine {
    pub fn new(site: SiteId, code: &str, now: Timestamp) -> Self {
        Self {
            format: FORMAT.to_owned(),
            site,
            code: code.to_owned(),
            exported_at: now.to_string(),
        }
    }
}

impl EntryLine {
    /// Payloads are JSON, so they are text.
    pub fn new(entry: Entry) -> Result<Self, String> {
        let envelope = entry.envelope;
        let payload = String::from_utf8(entry.payload)
            .map_err(|_| format!("entry {}: its payload is not UTF-8", envelope.seq))?;
        Ok(Self {
            seq: envelope.seq,
            id: envelope.id,
            command_id: envelope.command_id.0,
            kind: envelope.kind,
            schema: envelope.schema,
            occurred_at_us: envelope.occurred_at.us(),
            recorded_at_us: envelope.recorded_at.us(),
            actor: envelope.actor.to_string(),
            device: envelope.device,
            payload,
            hash: hex::encode(entry.hash),
        })
    }

    pub fn into_entry(self) -> Result<Entry, String> {
        let actor = self.actor.parse().map_err(|error| format!("{error}"))?;
        let envelope = Envelope {
            seq: self.seq,
            id: self.id,
            command_id: CommandId(self.command_id),
            kind: self.kind,
            schema: self.schema,
            occurred_at: Timestamp(self.occurred_at_us),
            recorded_at: Timestamp(self.recorded_at_us),
            actor,
            device: self.device,
        };
        if envelope.actor.to_string() != self.actor {
            return Err(format!(
                "its actor `{}` is spelled in another way than it was written",
                self.actor
            ));
        }
        Ok(Entry {
            envelope,
            payload: self.payload.into_bytes(),
            hash: hash_of(&self.hash)?,
        })
    }
}

impl HeadLine {
    pub fn new(site: SiteId, seq: Seq, hash: &Hash, key: &SigningKey) -> Self {
        let head = HeadPlace {
            site,
            seq,
            hash: hex::encode(hash),
        };
        Self {
            algorithm: ALGORITHM.to_owned(),
            public_key: STANDARD.encode(key.public_key().0),
            signature: STANDARD.encode(key.sign(head.message().as_bytes())),
            head,
        }
    }

    pub fn hash(&self) -> Result<Hash, String> {
        hash_of(&self.head.hash)
    }

    /// Whether it was signed with the key that it names.
    pub fn signer(&self) -> Result<PublicKey, String> {
        let key = decoded::<32>(&self.public_key).map_err(|what| format!("its public key {what}"))?;
        let signature = decoded::<64>(&self.signature).map_err(|what| format!("its signature {what}"))?;
        let key = PublicKey(key);
        if self.algorithm != ALGORITHM {
            return Err(format!(
                "it is signed with `{}`, not with {ALGORITHM}",
                self.algorithm
            ));
        }
        if !key.has_signed(self.head.message().as_bytes(), &signature) {
            return Err("its signature does not fit what it signs".to_owned());
        }
        Ok(key)
    }
}

impl HeadPlace {
    /// What is signed: four lines of plain text.
    fn message(&self) -> String {
        format!(
            "{FORMAT}\nsite {}\nentries {}\nsha256 {}\n",
            self.site, self.seq, self.hash
        )
    }
}

fn hash_of(text: &str) -> Result<Hash, String> {
    let mut hash = Hash::default();
    hex::decode_to_slice(text, &mut hash).map_err(|error| format!("its hash does not read: {error}"))?;
    Ok(hash)
}

pub fn decoded<const BYTES: usize>(text: &str) -> Result<[u8; BYTES], String> {
    let bytes = STANDARD
        .decode(text)
        .map_err(|error| format!("does not read as Base64: {error}"))?;
    let length = bytes.len();
    bytes
        .try_into()
        .map_err(|_| format!("has {length} bytes, not {BYTES}"))
}

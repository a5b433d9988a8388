use anyhow::{Context, Result};
use serde::Deserialize;
use spindlebook::book::{self, Folded};
use spindlebook_domain::entry::{Entry, Envelope};
use spindlebook_domain::ids::{CommandId, SiteId};
use spindlebook_domain::shop::Shop;
use spindlebook_domain::time::Timestamp;
use spindlebook_store::site::{self, Head};
use spindlebook_store::{Store, Writes, entry};
use std::fs;
use std::path::Path;
use uuid::Uuid;

/// An exported ledger, as `docs/ledger-export.md` describes it.
pub struct GoldenLog {
    pub site: SiteId,
    pub code: String,
    pub entries: Vec<Entry>,
}

#[derive(Deserialize)]
struct Header {
    site: SiteId,
    code: String,
}

#[derive(Deserialize)]
struct Line {
    seq: u64,
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

impl GoldenLog {
    pub fn read(path: &Path) -> Result<Self> {
        let text = fs::read_to_string(path).with_context(|| path.display().to_string())?;
        let mut lines = text.lines();
        let header: Header = serde_json::from_str(lines.next().context("an empty log")?)?;
        let mut entries = Vec::new();
        for line in lines.filter(|line| line.starts_with("{\"seq\":")) {
            entries.push(serde_json::from_str::<Line>(line)?.into_entry()?);
        }
        Ok(Self {
            site: header.site,
            code: header.code,
            entries,
        })
    }

    /// Puts the very entries into an empty ledger, past the writer, and has the read tables built from them.
    pub async fn restore(&self, store: &Store) -> Result<()> {
        let last = self.entries.last().context("a log without entries")?;
        let head = Head {
            seq: last.envelope.seq,
            hash: last.hash,
            recorded_at: last.envelope.recorded_at,
        };
        let mut transaction = store.begin().await?;
        let row = site::insert(&mut transaction, self.site, &self.code, last.envelope.recorded_at).await?;
        let mut writes = Writes::default();
        entry::append(&mut writes, &self.entries)?;
        site::advance(&mut transaction, &row, &head, &writes).await?;
        transaction.commit().await?;
        book::rebuild(store, self.site, &mut |_| {}).await?;
        Ok(())
    }

    /// The shop after the last entry.
    pub fn shop(&self) -> Result<Shop> {
        let mut folded = Folded::default();
        for entry in &self.entries {
            folded.apply(entry)?;
        }
        Ok(folded.shop)
    }
}

impl Line {
    fn into_entry(self) -> Result<Entry> {
        let envelope = Envelope {
            seq: self.seq,
            id: self.id,
            command_id: CommandId(self.command_id),
            kind: self.kind,
            schema: self.schema,
            occurred_at: Timestamp(self.occurred_at_us),
            recorded_at: Timestamp(self.recorded_at_us),
            actor: self.actor.parse()?,
            device: self.device,
        };
        let mut hash = [0; 32];
        hex::decode_to_slice(&self.hash, &mut hash)?;
        Ok(Entry {
            envelope,
            payload: self.payload.into_bytes(),
            hash,
        })
    }
}

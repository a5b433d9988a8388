//! Checking the chain of entries: what `verify` does for a stored ledger, and anybody can do for an exported one.

use spindlebook_domain::entry::{self, Entry, GENESIS, Hash};
use spindlebook_domain::event::Event;
use spindlebook_domain::ids::Seq;
use spindlebook_domain::time::Timestamp;
use spindlebook_store::site::Head;
use std::fmt;

/// What is wrong with a ledger.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Fault {
    Gap {
        expected: Seq,
        found: Seq,
    },
    /// The entry, or one before it, is not what was written.
    Hash {
        seq: Seq,
    },
    RecordedAtWentBack {
        seq: Seq,
    },
    Unreadable {
        seq: Seq,
        why: String,
    },
    /// The site's head row tells of another last entry.
    Head {
        says: Seq,
        found: Seq,
    },
    /// The chain holds together, but it is not the one that was exported: it was cut or written anew.
    NotTheExported {
        seq: Seq,
    },
    /// The ledger ends before the entry that an export of it held.
    CutShort {
        exported: Seq,
        found: Seq,
    },
    /// A read row is not what the ledger gives.
    Row {
        name: String,
        what: RowFault,
    },
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RowFault {
    Missing,
    NotInLedger,
    Differs,
}

/// The last entry of an exported ledger.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ExportedHead {
    pub seq: Seq,
    pub hash: Hash,
}

/// Takes the entries one by one in the order in which they are stored.
#[derive(Clone, Debug)]
pub struct Chain {
    exported: Option<ExportedHead>,
    seq: Seq,
    hash: Hash,
    recorded_at: Timestamp,
    faults: Vec<Fault>,
}

impl Chain {
    pub const fn new(exported: Option<ExportedHead>) -> Self {
        Self {
            exported,
            seq: 0,
            hash: GENESIS,
            recorded_at: Timestamp(0),
            faults: Vec::new(),
        }
    }

    /// Checks one entry against the one before it; gives its event if it reads.
    pub fn check(&mut self, entry: &Entry) -> Option<Event> {
        let envelope = &entry.envelope;
        let seq = envelope.seq;
        if seq != self.seq + 1 {
            self.faults.push(Fault::Gap {
                expected: self.seq + 1,
                found: seq,
            });
        }
        if entry::hash(&self.hash, envelope, &entry.payload) != entry.hash {
            self.faults.push(Fault::Hash { seq });
        }
        if envelope.recorded_at < self.recorded_at {
            self.faults.push(Fault::RecordedAtWentBack { seq });
        }
        if self
            .exported
            .is_some_and(|exported| exported.seq == seq && exported.hash != entry.hash)
        {
            self.faults.push(Fault::NotTheExported { seq });
        }
        // The next entry is measured against what stands here, so that one fault is told once.
        (self.seq, self.hash, self.recorded_at) = (seq, entry.hash, envelope.recorded_at);
        match Event::decode(&envelope.kind, envelope.schema, &entry.payload) {
            Ok(event) => Some(event),
            Err(why) => {
                self.faults.push(Fault::Unreadable {
                    seq,
                    why: why.to_string(),
                });
                None
            }
        }
    }

    /// What was found so far.
    pub fn faults(&self) -> &[Fault] {
        &self.faults
    }

    /// After the last entry: does the ledger end where it should? `head` is the site's row, where there is one.
    pub fn finish(mut self, head: Option<&Head>) -> (Head, Vec<Fault>) {
        let found = Head {
            seq: self.seq,
            hash: self.hash,
            recorded_at: self.recorded_at,
        };
        if let Some(says) = head.filter(|head| **head != found) {
            self.faults.push(Fault::Head {
                says: says.seq,
                found: found.seq,
            });
        }
        if let Some(exported) = self.exported.filter(|exported| exported.seq > found.seq) {
            self.faults.push(Fault::CutShort {
                exported: exported.seq,
                found: found.seq,
            });
        }
        (found, self.faults)
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Gap { expected, found } => write!(f, "expected entry {expected}, found entry {found}"),
            Self::Hash { seq } => write!(
                f,
                "entry {seq}: its hash does not follow from it and the entry before"
            ),
            Self::RecordedAtWentBack { seq } => {
                write!(f, "entry {seq}: it was recorded earlier than the entry before")
            }
            Self::Unreadable { seq, why } => write!(f, "entry {seq}: {why}"),
            Self::Head { says, found } => {
                write!(
                    f,
                    "the head row tells of entry {says}, the ledger ends otherwise, with entry {found}"
                )
            }
            Self::NotTheExported { seq } => write!(f, "entry {seq}: it is not the one that was exported"),
            Self::CutShort { exported, found } => {
                write!(
                    f,
                    "entry {exported} was exported, but the ledger ends with entry {found}"
                )
            }
            Self::Row {
                name,
                what: RowFault::Missing,
            } => write!(f, "{name}: the row is missing"),
            Self::Row {
                name,
                what: RowFault::NotInLedger,
            } => {
                write!(f, "{name}: there is a row, but the ledger knows of no such thing")
            }
            Self::Row {
                name,
                what: RowFault::Differs,
            } => {
                write!(f, "{name}: the row is not what the ledger gives")
            }
        }
    }
}

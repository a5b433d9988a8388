//! Handover of a cell from one shift to the next: what the outgoing person adds in one note, and that the incoming one
//! has read it. Everything else on the page is computed.

mod decide;
mod event;
mod refusal;
#[cfg(test)]
mod tests;

pub(crate) use decide::{apply, decide};
pub use event::{HandoverConfirmed, HandoverNoted};
pub use refusal::HandoverRefusal;

use crate::ids::{CellId, Seq};
use crate::note::NoteRef;
use crate::time::Timestamp;
use serde::{Deserialize, Serialize};

#[derive(Clone, Debug)]
pub struct NoteHandover {
    pub cell: CellId,
    pub note: NoteRef,
}

#[derive(Clone, Debug)]
pub struct ConfirmHandover {
    pub cell: CellId,
    /// The entry up to which the page was computed that was read.
    pub as_of: Seq,
}

/// As it stands between two confirmations.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Handover {
    /// One: a later one takes its place.
    pub note: Option<HandoverNote>,
    pub last: Option<LastHandover>,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct HandoverNote {
    pub note: NoteRef,
    /// As entries name who acted.
    pub by: String,
    pub at: Timestamp,
    pub seq: Seq,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct LastHandover {
    pub by: String,
    pub at: Timestamp,
    pub seq: Seq,
}

macro_rules! handover_commands {
    () => {
        Command::NoteHandover(_) | Command::ConfirmHandover(_)
    };
}
pub(crate) use handover_commands;

macro_rules! handover_events {
    () => {
        Event::HandoverNoted(_) | Event::HandoverConfirmed(_)
    };
}
pub(crate) use handover_events;

//! Pallets: each carries one mounted fixture and stands at exactly one place of its cell.

mod command;
mod decide;
mod event;
mod refusal;
#[cfg(test)]
mod tests;

pub use command::{AddPallet, ChangePallet};
pub(crate) use decide::{add, change, has_place, standing_at};
pub use event::{PalletAdded, PalletChanged, PalletFacts, Position};
pub use refusal::PalletRefusal;

use crate::ids::{CellId, FixtureCopyId, FixtureId, LoadId, PalletId, Seq, SetupId};
use crate::load::Load;
use crate::time::Timestamp;
use serde::{Deserialize, Serialize};

/// Far more than a job shop has.
pub const PALLETS_MAX: usize = 2_000;

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Pallet {
    pub id: PalletId,
    /// It never changes: a pool's pallets fit its changers.
    pub cell: CellId,
    pub facts: PalletFacts,
    pub position: Position,
    pub setup: Option<Setup>,
    pub load: Option<Load>,
    /// When somebody last did something with it.
    pub acted_at: Option<Timestamp>,
    /// Whoever unloads it after somebody else hears who was first. `None` again when it is loaded.
    pub emptied: Option<Emptied>,
    pub changed_seq: Seq,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Emptied {
    /// As entries name who acted.
    pub by: String,
    pub at: Timestamp,
}

/// A fixture on the pallet from mount to unmount. What was approved holds for one setup only.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Setup {
    pub id: SetupId,
    pub fixture: FixtureId,
    pub copy: FixtureCopyId,
    pub started_at: Timestamp,
    /// `None` while somebody is still at it.
    pub ended_at: Option<Timestamp>,
    /// What it was set up for: the first that was clamped in it.
    pub first_load: Option<LoadId>,
}

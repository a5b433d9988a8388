//! Loads: the pieces clamped on a pallet, and the holds that keep them from going on.

use crate::ids::{CellId, HoldId, JobId, LoadId, MachineId, PalletId, RunId, Seq, SetupId};
use crate::run::named_values;
use crate::time::Timestamp;
use serde::{Deserialize, Serialize};

/// More than the nests of any fixture would need: job operations on one pallet.
pub const CLAMPED_MAX: usize = 100;

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Load {
    pub id: LoadId,
    /// Each job operation once, pieces to be reworked apart from others.
    pub clamped: Vec<Clamped>,
    pub loaded_at: Timestamp,
    pub stage: Stage,
    pub hold: Option<HoldId>,
}

/// Pieces of one job at one operation.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Clamped {
    pub job: JobId,
    pub operation: u16,
    pub pieces: u32,
    /// They were cut before and are put right.
    pub rework: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Stage {
    Ready,
    InRun {
        run: RunId,
    },
    /// Without a run it was cut before the book was opened.
    Cut {
        run: Option<RunId>,
    },
    /// Its run was broken off; it can be started again or taken off.
    Aborted {
        run: RunId,
    },
}

impl Load {
    pub fn pieces(&self) -> u32 {
        self.clamped.iter().map(|one| one.pieces).sum()
    }

    /// The run that it is or was in.
    pub const fn run(&self) -> Option<RunId> {
        match self.stage {
            Stage::Ready => None,
            Stage::InRun { run } | Stage::Aborted { run } => Some(run),
            Stage::Cut { run } => run,
        }
    }

    pub fn is_rework(&self) -> bool {
        self.clamped.iter().any(|one| one.rework)
    }

    /// They were never clamped.
    pub fn remove(&mut self, less: &[Clamped]) {
        for one in less {
            let same = |known: &&mut Clamped| {
                (known.job, known.operation, known.rework) == (one.job, one.operation, one.rework)
            };
            if let Some(known) = self.clamped.iter_mut().find(same) {
                known.pieces = known.pieces.saturating_sub(one.pieces);
            }
        }
        self.clamped.retain(|one| one.pieces > 0);
    }

    /// More pieces of a job operation that is clamped already join it.
    pub fn add(&mut self, more: &[Clamped]) {
        for one in more {
            let same = |known: &&mut Clamped| {
                (known.job, known.operation, known.rework) == (one.job, one.operation, one.rework)
            };
            match self.clamped.iter_mut().find(same) {
                Some(known) => known.pieces = known.pieces.saturating_add(one.pieces),
                None => self.clamped.push(*one),
            }
        }
    }
}

/// Somebody has to look at it before it goes on. It outlives its load: pieces may be measured elsewhere.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Hold {
    pub id: HoldId,
    pub kind: HoldKind,
    pub since: Timestamp,
    pub cell: CellId,
    pub pallet: PalletId,
    pub load: LoadId,
    pub setup: SetupId,
    /// On which its load was cut; `None` before that.
    pub machine: Option<MachineId>,
    pub clamped: Vec<Clamped>,
    pub changed_seq: Seq,
}

named_values! {
    pub enum HoldKind {
        /// After a new setup, before more are cut.
        FirstPiece = "first_piece",
        /// The formal inspection of a job's first piece at an operation.
        FirstArticle = "first_article",
        /// Somebody doubts it.
        Suspect = "suspect",
    }

    /// What became of a hold.
    pub enum Disposition {
        Accept = "accept",
    }
}

/// What an accepted first piece opens: the rest of the operation, from this setup on this machine.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Approval {
    pub job: JobId,
    pub operation: u16,
    pub setup: SetupId,
    pub machine: MachineId,
    /// The formal one, which a job needs once at each operation.
    pub first_article: bool,
}

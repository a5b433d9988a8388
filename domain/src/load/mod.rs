//! Loads: the pieces clamped on a pallet, and the holds that keep them from going on.

use crate::actor::Actor;
use crate::code::Code;
use crate::ids::{
    CellId, HoldId, JobId, LoadId, MachineId, PalletId, PartId, PrincipalId, RunId, Seq, SetupId,
};
use crate::inspection::{ApprovalGiven, Authority, Decided};
use crate::job::Counts;
use crate::note::NoteRef;
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
    /// What was decided about its pieces; each counts as that when it is taken off.
    pub decided: Vec<Verdict>,
    /// Its last hold, as it was when nothing was left to decide.
    pub lifted: Option<Hold>,
    /// Whoever loaded and ran it.
    pub hands: Vec<PrincipalId>,
}

/// What was decided about pieces that are still clamped.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Verdict {
    /// The entry that says so.
    pub seq: Seq,
    pub job: JobId,
    pub operation: u16,
    pub disposition: Disposition,
    pub pieces: u32,
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

    /// Of these pieces, how many were given this disposition.
    pub fn decided_as(&self, job: JobId, operation: u16, is: impl Fn(Disposition) -> bool) -> u32 {
        let same = self
            .decided
            .iter()
            .filter(|one| (one.job, one.operation) == (job, operation));
        same.filter(|one| is(one.disposition)).map(|one| one.pieces).sum()
    }

    pub fn returned(&self, job: JobId, operation: u16) -> u32 {
        self.decided_as(job, operation, |one| one == Disposition::Return)
    }

    pub fn touched_by(&mut self, actor: Actor) {
        if let Actor::Person(id) = actor
            && !self.hands.contains(&id)
        {
            self.hands.push(id);
        }
    }

    /// What nobody has decided about, by job operation.
    pub fn undecided(&self) -> Vec<Clamped> {
        let left = self.clamped.iter().map(|one| {
            let decided = self.decided_as(one.job, one.operation, |_| true);
            Clamped {
                pieces: one.pieces.saturating_sub(decided),
                ..*one
            }
        });
        left.filter(|one| one.pieces > 0).collect()
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
    /// Of a load that was taken off: its pieces that lie in inspection.
    pub waiting: Vec<Clamped>,
    /// When its run began; known once it was taken off.
    pub cut_at: Option<Timestamp>,
    /// Of the fixture.
    pub nests: u32,
    /// Of a load that was taken off: whoever loaded and ran it.
    pub hands: Vec<PrincipalId>,
    /// Decided but for the customer's reference.
    pub proposal: Option<Proposal>,
    pub changed_seq: Seq,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Proposal {
    pub disposition: Disposition,
    pub pieces: Vec<Decided>,
    pub authority: Authority,
    pub self_checked: bool,
    pub note: Option<NoteRef>,
    pub at: Timestamp,
}

named_values! {
    pub enum HoldKind {
        /// After a new setup, before more are cut.
        FirstPiece = "first_piece",
        /// The formal inspection of a job's first piece at an operation.
        FirstArticle = "first_article",
        /// One of so many, or asked for.
        InProcess = "in_process",
        /// Somebody doubts it.
        Suspect = "suspect",
    }

    /// What became of a hold.
    pub enum Disposition {
        /// As drawn.
        Accept = "accept",
        /// To be put right.
        Rework = "rework",
        Scrap = "scrap",
        /// Not as drawn, and good for what it is meant for.
        UseAsIs = "use_as_is",
        /// Given back to whoever the material belongs to.
        Return = "return",
    }
}

impl Disposition {
    /// Its pieces count as good.
    pub const fn lets_pass(self) -> bool {
        matches!(self, Self::Accept | Self::UseAsIs)
    }

    /// What so many pieces count as.
    pub fn counts(self, pieces: u32) -> Counts {
        let none = Counts::default();
        match self {
            Self::Accept | Self::UseAsIs => Counts { good: pieces, ..none },
            Self::Rework => Counts {
                rework: pieces,
                ..none
            },
            Self::Scrap => Counts {
                scrapped: pieces,
                ..none
            },
            Self::Return => Counts {
                returned: pieces,
                ..none
            },
        }
    }
}

/// An approval as the shop keeps it. It ends with its job, and for other jobs with its setup.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Approved {
    pub job: JobId,
    pub part: PartId,
    pub operation: u16,
    pub revision: Code,
    pub setup: SetupId,
    pub machine: MachineId,
    /// Empty: nobody named them.
    pub nests: Vec<u32>,
    pub first_article: bool,
    pub cut_at: Timestamp,
    /// The entry that gave it.
    pub seq: Seq,
}

impl Approved {
    pub fn new(given: &ApprovalGiven, seq: Seq) -> Self {
        Self {
            job: given.job,
            part: given.part,
            operation: given.operation,
            revision: given.revision.clone(),
            setup: given.setup,
            machine: given.machine,
            nests: given.nests.clone(),
            first_article: given.first_article,
            cut_at: given.cut_at,
            seq,
        }
    }
}

/// As it was told before approvals named revision and nests.
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

impl HoldKind {
    /// Accepting it opens the rest of the operation.
    pub const fn opens_the_rest(self) -> bool {
        matches!(self, Self::FirstPiece | Self::FirstArticle)
    }
}

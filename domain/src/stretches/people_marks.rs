//! The marks that come from people: runs, pallets, work, counts.

use super::Mark;
use crate::ids::{CellId, MachineId, PalletId, RunId};
use crate::pool::PalletState;
use crate::run::Purpose;
use crate::time::{Timestamp, Window};
use serde::{Deserialize, Serialize};

/// One act on a run.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct RunMark {
    pub at: Timestamp,
    pub run: RunId,
    pub act: RunAct,
    pub source: u32,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum RunAct {
    Started {
        pallet: PalletId,
        purpose: Purpose,
        cycle_s: u32,
        exchange_s: u32,
    },
    Paused {
        reason: String,
    },
    Resumed,
    Ended {
        aborted: bool,
    },
    /// What was said of the run at this instant is void.
    Withdrawn,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct PalletMark {
    pub at: Timestamp,
    pub cell: CellId,
    pub at_machine: Option<MachineId>,
    pub state: PalletState,
    pub source: u32,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct WorkMark {
    pub at: Timestamp,
    pub open: bool,
    pub source: u32,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct CountedMark {
    pub from: Timestamp,
    pub us: i64,
    pub run: RunId,
    pub purpose: Purpose,
    pub earned_s: i64,
    pub produced_s: i64,
    pub produced: u32,
    pub good: u32,
    pub scrap: u32,
    pub source: u32,
}

impl CountedMark {
    pub const fn window(&self) -> Window {
        Window::new(self.from, self.from.plus_us(self.us))
    }
}

pub(super) fn run_of(mark: &Mark, source: u32) -> Option<RunMark> {
    let (at, run, act) = match mark {
        Mark::RunStarted {
            at,
            run,
            pallet,
            purpose,
            cycle_s,
            exchange_s,
        } => {
            let started = RunAct::Started {
                pallet: *pallet,
                purpose: *purpose,
                cycle_s: *cycle_s,
                exchange_s: *exchange_s,
            };
            (*at, *run, started)
        }
        Mark::RunPaused { at, run, reason } => {
            let reason = reason.clone();
            (*at, *run, RunAct::Paused { reason })
        }
        Mark::RunResumed { at, run } => (*at, *run, RunAct::Resumed),
        Mark::RunEnded { at, run, aborted } => (*at, *run, RunAct::Ended { aborted: *aborted }),
        Mark::RunWithdrawn { at, run } => (*at, *run, RunAct::Withdrawn),
        _ => return None,
    };
    Some(RunMark { at, run, act, source })
}

pub(super) fn pallet_of(mark: &Mark, source: u32) -> Option<PalletMark> {
    match *mark {
        Mark::PalletState {
            at,
            cell,
            at_machine,
            state,
        } => Some(PalletMark {
            at,
            cell,
            at_machine,
            state,
            source,
        }),
        _ => None,
    }
}

pub(super) fn work_of(mark: &Mark, source: u32) -> Option<WorkMark> {
    match *mark {
        Mark::WorkOpen { at, open } => Some(WorkMark { at, open, source }),
        _ => None,
    }
}

pub(super) fn counted_of(mark: &Mark, source: u32) -> Option<CountedMark> {
    match *mark {
        Mark::Counted {
            from,
            to,
            run,
            purpose,
            earned_s,
            produced_s,
            produced,
            good,
            scrap,
        } => Some(CountedMark {
            from,
            us: Window::new(from, to).us(),
            run,
            purpose,
            earned_s,
            produced_s,
            produced,
            good,
            scrap,
            source,
        }),
        _ => None,
    }
}

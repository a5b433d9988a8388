//! The one thing that a pallet waits for, as a code and in words.

use super::picture::Picture;
use super::{JobLine, PalletState, empty, ready, state_of};
use crate::load::{Load, Stage};
use crate::pallet::Pallet;
use crate::run::{RunState, named_values};

named_values! {
    pub enum WaitCode {
        /// For somebody to finish mounting its fixture.
        SetupEnd = "setup_end",
        /// To be taken to a load station.
        LoadStation = "load_station",
        /// To get a fixture that is free.
        Mount = "mount",
        /// For a fixture of which every copy is on another pallet.
        Fixture = "fixture",
        /// To be loaded.
        Load = "load",
        /// For material that has not arrived.
        Material = "material",
        /// For a pallet that fits.
        Pallet = "pallet",
        /// No open job has pieces for it.
        Work = "work",
        /// For the decision on its hold.
        Inspection = "inspection",
        /// For the first piece of its operation, which is on another pallet.
        FirstPiece = "first_piece",
        /// No machine of the cell takes it.
        Machine = "machine",
        /// For a machine that is set down.
        MachineDown = "machine_down",
        ToolLife = "tool_life",
        /// For somebody to be there.
        Attendance = "attendance",
        /// For the spindle, where another pallet is.
        Spindle = "spindle",
        /// For pallets before it in the queue.
        Queue = "queue",
        /// To be moved to the spindle.
        Move = "move",
        /// For its run to be started.
        Start = "start",
        RunEnd = "run_end",
        /// For its stopped run to go on.
        Resume = "resume",
        Unload = "unload",
    }
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Wait {
    pub code: WaitCode,
    pub text: String,
}

impl Wait {
    pub fn new(code: WaitCode, text: impl Into<String>) -> Self {
        Self {
            code,
            text: text.into(),
        }
    }
}

pub(super) fn of(picture: &Picture<'_>, jobs: &[JobLine], pallet: &Pallet) -> Wait {
    match (state_of(picture.shop, pallet), &pallet.load) {
        (PalletState::InSetup, _) => {
            let since = pallet.setup.as_ref().map(|setup| setup.started_at.to_string());
            let since = since.unwrap_or_default();
            Wait::new(
                WaitCode::SetupEnd,
                format!("the setup that was begun at {since} to be finished"),
            )
        }
        (PalletState::Held, Some(load)) => inspection(picture, load),
        (PalletState::InRun, Some(load)) => run(picture, load),
        (PalletState::Cut, Some(_)) => unload(picture, pallet),
        (PalletState::Ready | PalletState::ReadyAttendedOnly | PalletState::Aborted, Some(load)) => {
            ready::wait(picture, pallet, load)
        }
        _ => empty::wait(picture, jobs, pallet),
    }
}

fn inspection(picture: &Picture<'_>, load: &Load) -> Wait {
    let hold = load.hold.and_then(|hold| picture.shop.holds.get(&hold));
    let text = match hold {
        Some(hold) if hold.proposal.is_some() => format!(
            "the customer's reference: held since {} ({})",
            picture.wall_clock(hold.since),
            hold.kind
        ),
        Some(hold) => format!(
            "a decision: held since {} ({})",
            picture.wall_clock(hold.since),
            hold.kind
        ),
        None => "a decision: held".to_owned(),
    };
    Wait::new(WaitCode::Inspection, text)
}

fn run(picture: &Picture<'_>, load: &Load) -> Wait {
    let run = match load.stage {
        Stage::InRun { run } => picture.shop.runs.get(&run),
        _ => None,
    };
    match run.map(|run| (run.state, run)) {
        Some((RunState::Paused { at, reason }, _)) => Wait::new(
            WaitCode::Resume,
            format!("its run to go on: stopped since {at} ({reason})"),
        ),
        Some((_, run)) => Wait::new(
            WaitCode::RunEnd,
            format!("its run to end, planned for {}", run.ends_at(run.started_at)),
        ),
        None => Wait::new(WaitCode::RunEnd, "its run to end"),
    }
}

fn unload(picture: &Picture<'_>, pallet: &Pallet) -> Wait {
    if picture.is_at_hand(pallet) {
        return Wait::new(WaitCode::Unload, "to be unloaded and counted");
    }
    load_station(picture)
}

/// To get to where hands reach it.
pub(super) fn load_station(picture: &Picture<'_>) -> Wait {
    let text = match picture.taken(picture.load_stations()) {
        None => "to be moved to a load station".to_owned(),
        Some(there) => {
            let codes: Vec<_> = there.iter().map(|pallet| pallet.facts.code.to_string()).collect();
            format!("a load station, where pallet {} is", codes.join(", "))
        }
    };
    Wait::new(WaitCode::LoadStation, text)
}

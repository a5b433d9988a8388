//! A load that stands cut on its pallet, of a job that goes on: what the shop keeps of runs, loads and approvals.

use super::work::clamped;
use super::work_shop::WorkShop;
use spindlebook_domain::command::Command;
use spindlebook_domain::floor::{FinishRun, LoadPallet, MovePallet, StartRun};
use spindlebook_domain::ids::{HoldId, JobId, LoadId, RunId};
use spindlebook_domain::inspection::DisposeHold;
use spindlebook_domain::load::Disposition;
use spindlebook_domain::pallet::Position;
use spindlebook_domain::time::Timestamp;
use uuid::Uuid;

/// On the setup that is there: the first piece is accepted, and its job goes on.
pub fn approved(shop: &WorkShop, job: JobId, at: Timestamp) -> Vec<Command> {
    let (pallet, machine) = (shop.pallets[0], shop.machine);
    let (run, hold) = (RunId(Uuid::now_v7()), HoldId(Uuid::now_v7()));
    vec![
        LoadPallet {
            pallet,
            load: LoadId(Uuid::now_v7()),
            clamped: vec![clamped(job, 1)],
            at,
            overrides: Vec::new(),
        }
        .into(),
        MovePallet {
            pallet,
            to: Position::Spindle { machine },
            exchange: false,
            at,
        }
        .into(),
        StartRun {
            run,
            machine,
            pallet: None,
            purpose: None,
            at,
            overrides: Vec::new(),
        }
        .into(),
        FinishRun { run, at, hold }.into(),
        DisposeHold {
            pieces: Vec::new(),
            revision: None,
            reference: None,
            hold,
            disposition: Disposition::Accept,
            at,
            note: None,
        }
        .into(),
    ]
}

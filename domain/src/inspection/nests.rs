//! How far a setup is approved, nest by nest, where each of them is to be.

use super::pieces::load_of;
use crate::floor::first_piece::{Passage, nests_approved};
use crate::ids::JobId;
use crate::load::{Hold, Stage};
use crate::run::Run;
use crate::shop::Shop;

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NestsApproved {
    pub job: JobId,
    pub operation: u16,
    pub approved: Vec<u32>,
    /// In all.
    pub nests: u32,
}

impl NestsApproved {
    /// Of each operation of the hold whose customer asks for it.
    pub fn of_hold(shop: &Shop, hold: &Hold) -> Vec<Self> {
        let Some(passage) = passage_of(shop, hold) else {
            return Vec::new();
        };
        let of = hold.clamped.iter().filter_map(|one| {
            let (approved, nests) = nests_approved(shop, one.job, one.operation, passage)?;
            Some(Self {
                job: one.job,
                operation: one.operation,
                approved: approved.into_iter().collect(),
                nests,
            })
        });
        of.collect()
    }
}

/// Where and when it was cut. Pieces of a run that was broken off prove nothing about the setup.
pub fn passage_of(shop: &Shop, hold: &Hold) -> Option<Passage> {
    let (machine, at) = match load_of(shop, hold).map(|load| load.stage) {
        Some(Stage::Cut { run }) => {
            let run: &Run = shop.runs.get(&run?)?;
            (run.machine, run.started_at)
        }
        Some(_) => return None,
        None => (hold.machine?, hold.cut_at?),
    };
    let setup = hold.setup;
    Some(Passage { setup, machine, at })
}

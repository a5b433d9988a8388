//! What is still to be run of a job, from its frozen routing.

use super::Job;
use crate::part::Machining;

/// The loads that an operation still needs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LoadsToRun {
    pub pieces: u32,
    pub pieces_per_load: u32,
    pub loads: u32,
    /// 0 without any load.
    pub pieces_in_last_load: u32,
    pub empty_nests_in_last_load: u32,
    /// At the place that the routing names first. A program that runs the whole load takes as long for one piece.
    pub cutting_s: u64,
}

impl Job {
    /// `None` for a manual step.
    pub fn loads_to_run(&self, number: u16) -> Option<LoadsToRun> {
        Some(loads(self.machining(number)?, self.pieces_to_run(number)))
    }

    /// Planned time in cycle for the wanted quantity, as if nothing had been cut yet. `None` for a manual step.
    pub fn planned_run_s(&self, number: u16) -> Option<u64> {
        Some(loads(self.machining(number)?, self.quantity).cutting_s)
    }

    /// Good pieces if all goes well, no more than are wanted or made.
    pub fn expected_good(&self) -> u32 {
        self.made() + self.in_hand().min(self.still_to_make())
    }
}

fn loads(work: &Machining, pieces: u32) -> LoadsToRun {
    let per_load = work.pieces_per_load.max(1);
    let loads = pieces.div_ceil(per_load);
    let pieces_in_last_load = match loads {
        0 => 0,
        loads => pieces - (loads - 1) * per_load,
    };
    let empty_nests_in_last_load = if loads == 0 {
        0
    } else {
        per_load - pieces_in_last_load
    };
    let cutting_s = work.places.first().map_or(0, |place| {
        let full = place.cycle.of_load_s(per_load) * u64::from(loads.saturating_sub(1));
        full + place.cycle.of_load_s(pieces_in_last_load)
    });
    LoadsToRun {
        pieces,
        pieces_per_load: per_load,
        loads,
        pieces_in_last_load,
        empty_nests_in_last_load,
        cutting_s,
    }
}

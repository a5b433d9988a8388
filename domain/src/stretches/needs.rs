//! Which rows a window's computation needs.

use super::{CYCLE_MAX_S, Layer, RUN_REACH_S};
use crate::time::{Timestamp, Window};

/// The rows of one layer to load: all of `first_day ..= last_day`, and perhaps one on each side of them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LayerDays {
    pub layer: Layer,
    pub first_day: i64,
    pub last_day: i64,
    /// Also the last row before `first_day`: what stood when the window began was said there.
    pub last_before: bool,
    /// Also the first row after `last_day`: it tells whether what stood at the end has ended since.
    pub first_after: bool,
}

/// What to load to compute a window of one machine, and to decide a batch whose instants lie in it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Needs {
    /// Of the machine's own track.
    pub machine: [LayerDays; 6],
    /// Of the track of each pallet of its cell.
    pub pallet: LayerDays,
    /// Of the cell's track.
    pub cell: LayerDays,
}

pub fn needs_of(window: Window) -> Needs {
    let last_day = window.to.plus_us(-1).max(window.from).utc_day();
    let days = |layer, first: Timestamp| LayerDays {
        layer,
        first_day: first.utc_day(),
        last_day,
        last_before: true,
        first_after: true,
    };
    let standing = |layer| days(layer, window.from);
    let cycles = LayerDays {
        // Whether the machine has ever spoken.
        first_after: false,
        ..days(Layer::Cycles, window.from.plus_s(-CYCLE_MAX_S))
    };
    let runs_from = window.from.plus_s(-RUN_REACH_S);
    let counted = LayerDays {
        last_before: false,
        first_after: false,
        ..days(Layer::Counted, runs_from)
    };
    Needs {
        machine: [
            standing(Layer::Signals),
            cycles,
            standing(Layer::Downs),
            standing(Layer::Readings),
            days(Layer::Runs, runs_from),
            counted,
        ],
        pallet: standing(Layer::Pallets),
        cell: LayerDays {
            first_after: false,
            ..standing(Layer::Work)
        },
    }
}

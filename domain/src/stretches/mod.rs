//! The marks of a machine's timeline: what was said about it, when, and by which entry.
//!
//! Marks are kept per (machine, layer, UTC day); hours are computed from them and from nothing else.

mod batch;
mod day_marks;
mod days;
mod deltas;
mod machine_marks;
mod needs;
mod parts;
#[cfg(test)]
mod tests;

pub use batch::{BatchCounts, NormalisedBatch, normalise};
pub use day_marks::{DayMarks, DownMark, Merged, ReadingMark, SpanMark, StateMark};
pub use days::{RowKey, StretchDays};
pub use machine_marks::MachineMarks;
pub use needs::{LayerDays, needs_of};
pub use parts::PART_MARKS;

use self::day_marks::LayerMarks;
use crate::ids::Seq;
use crate::machine_state::MachineState;
use crate::time::{Timestamp, Window};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// No cycle and no covered window is longer, so a window's cycles all start at most this long before it.
pub const CYCLE_MAX_S: i64 = 7 * 86_400;

/// A kind of row in which marks are kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[repr(u8)]
pub enum Layer {
    Signals = 1,
    Cycles = 2,
    Downs = 3,
    Readings = 4,
}

impl Layer {
    pub const ALL: [Self; 4] = [Self::Signals, Self::Cycles, Self::Downs, Self::Readings];

    /// The number under which the layer is stored. It never changes.
    pub const fn code(self) -> u8 {
        self as u8
    }

    pub fn from_code(code: u8) -> Option<Self> {
        Self::ALL.into_iter().find(|layer| layer.code() == code)
    }
}

/// The entry that a mark came from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Source {
    pub seq: Seq,
    pub recorded_at: Timestamp,
}

/// One thing said about a machine, as an entry says it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Mark {
    /// From `at` on, until the next one.
    State {
        at: Timestamp,
        state: MachineState,
    },
    /// A finished cut of a device that knows no states.
    Cycle {
        from: Timestamp,
        to: Timestamp,
    },
    /// Such a device watched the machine all this time: what no cycle fills was not in cycle.
    Covered {
        from: Timestamp,
        to: Timestamp,
    },
    Down {
        at: Timestamp,
        reason: String,
    },
    Up {
        at: Timestamp,
    },
    /// The control's own counters, cumulative; `reset` says that they do not go on from the one before.
    Reading {
        at: Timestamp,
        powered_on_s: i64,
        in_cut_s: i64,
        reset: bool,
    },
}

impl Mark {
    pub const fn layer(&self) -> Layer {
        match self {
            Self::State { .. } => Layer::Signals,
            Self::Cycle { .. } | Self::Covered { .. } => Layer::Cycles,
            Self::Down { .. } | Self::Up { .. } => Layer::Downs,
            Self::Reading { .. } => Layer::Readings,
        }
    }

    /// The instant by which the mark is sorted and by which its day is chosen.
    pub const fn at(&self) -> Timestamp {
        match self {
            Self::Cycle { from: at, .. }
            | Self::Covered { from: at, .. }
            | Self::State { at, .. }
            | Self::Down { at, .. }
            | Self::Up { at }
            | Self::Reading { at, .. } => *at,
        }
    }
}

/// An entry's marks by the rows that they belong to: (layer, UTC day), each in the order of the entry.
pub fn by_row(marks: impl IntoIterator<Item = Mark>) -> BTreeMap<(Layer, i64), Vec<Mark>> {
    let mut rows = BTreeMap::<_, Vec<Mark>>::new();
    for mark in marks {
        rows.entry((mark.layer(), mark.at().utc_day()))
            .or_default()
            .push(mark);
    }
    rows
}

/// From the first instant to just after the last, of a batch in any order.
pub fn span_of(instants: impl IntoIterator<Item = Timestamp>) -> Option<Window> {
    instants.into_iter().fold(None, |span: Option<Window>, at| {
        let one = Window::new(at, at.plus_us(1));
        Some(span.map_or(one, |span| {
            Window::new(span.from.min(one.from), span.to.max(one.to))
        }))
    })
}

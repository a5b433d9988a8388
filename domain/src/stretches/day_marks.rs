//! The marks of one track, layer and UTC day: one row of the store.

use super::deltas::{self, Placed};
use super::job_marks::{JobMark, job_of};
use super::people_marks::{
    CountedMark, PalletMark, RunMark, WorkMark, counted_of, pallet_of, run_of, work_of,
};
use super::{Layer, Mark, Source};
use crate::ids::RunId;
use crate::machine_state::MachineState;
use crate::time::{Timestamp, Window};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct StateMark {
    pub at: Timestamp,
    pub state: MachineState,
    /// The position of its entry among the sources that stand beside it; so in the other marks.
    pub source: u32,
}

/// A cycle, or a covered window.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct SpanMark {
    pub from: Timestamp,
    pub us: i64,
    pub is_cycle: bool,
    pub source: u32,
}

impl SpanMark {
    pub const fn window(&self) -> Window {
        Window::new(self.from, self.from.plus_us(self.us))
    }
}

/// Down with a reason, or up again.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct DownMark {
    pub at: Timestamp,
    pub reason: Option<String>,
    pub source: u32,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct ReadingMark {
    pub at: Timestamp,
    pub powered_on_s: i64,
    pub in_cut_s: i64,
    pub reset: bool,
    pub source: u32,
}

/// What happened to an entry's marks.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Merged {
    pub added: usize,
    /// Said before in the same words, and therefore dropped.
    pub repeated: usize,
    /// Of another layer than this row: a fault of the caller.
    pub misplaced: usize,
}

/// One row's content: sorted marks, each pointing to the entry that it came from.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "Unchecked")]
pub struct DayMarks {
    #[serde(with = "deltas")]
    pub(super) sources: Vec<Source>,
    pub(super) marks: LayerMarks,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub(super) enum LayerMarks {
    Signals(#[serde(with = "deltas")] Vec<StateMark>),
    Cycles(#[serde(with = "deltas")] Vec<SpanMark>),
    Downs(#[serde(with = "deltas")] Vec<DownMark>),
    Readings(#[serde(with = "deltas")] Vec<ReadingMark>),
    Runs(#[serde(with = "deltas")] Vec<RunMark>),
    Pallets(#[serde(with = "deltas")] Vec<PalletMark>),
    Work(#[serde(with = "deltas")] Vec<WorkMark>),
    Counted(#[serde(with = "deltas")] Vec<CountedMark>),
    Jobs(#[serde(with = "deltas")] Vec<JobMark>),
}

/// The same for the marks of whichever layer they are of.
macro_rules! of_any_layer {
    ($of:expr, $marks:ident => $done:expr) => {
        match $of {
            LayerMarks::Signals($marks) => $done,
            LayerMarks::Cycles($marks) => $done,
            LayerMarks::Downs($marks) => $done,
            LayerMarks::Readings($marks) => $done,
            LayerMarks::Runs($marks) => $done,
            LayerMarks::Pallets($marks) => $done,
            LayerMarks::Work($marks) => $done,
            LayerMarks::Counted($marks) => $done,
            LayerMarks::Jobs($marks) => $done,
        }
    };
}
pub(super) use of_any_layer;

#[derive(Deserialize)]
struct Unchecked {
    #[serde(with = "deltas")]
    sources: Vec<Source>,
    marks: LayerMarks,
}

impl TryFrom<Unchecked> for DayMarks {
    type Error = &'static str;

    /// A damaged row is refused when it is read, so nothing later has to doubt it.
    fn try_from(row: Unchecked) -> Result<Self, Self::Error> {
        let sound = of_any_layer!(&row.marks, marks => is_sound(marks, row.sources.len()));
        if !sound {
            return Err("a row of marks must be sorted and each mark must name one of the row's entries");
        }
        Ok(Self {
            sources: row.sources,
            marks: row.marks,
        })
    }
}

impl DayMarks {
    pub const fn new(layer: Layer) -> Self {
        Self {
            sources: Vec::new(),
            marks: match layer {
                Layer::Signals => LayerMarks::Signals(Vec::new()),
                Layer::Cycles => LayerMarks::Cycles(Vec::new()),
                Layer::Downs => LayerMarks::Downs(Vec::new()),
                Layer::Readings => LayerMarks::Readings(Vec::new()),
                Layer::Runs => LayerMarks::Runs(Vec::new()),
                Layer::Pallets => LayerMarks::Pallets(Vec::new()),
                Layer::Work => LayerMarks::Work(Vec::new()),
                Layer::Counted => LayerMarks::Counted(Vec::new()),
                Layer::Jobs => LayerMarks::Jobs(Vec::new()),
            },
        }
    }

    pub const fn layer(&self) -> Layer {
        match self.marks {
            LayerMarks::Signals(_) => Layer::Signals,
            LayerMarks::Cycles(_) => Layer::Cycles,
            LayerMarks::Downs(_) => Layer::Downs,
            LayerMarks::Readings(_) => Layer::Readings,
            LayerMarks::Runs(_) => Layer::Runs,
            LayerMarks::Pallets(_) => Layer::Pallets,
            LayerMarks::Work(_) => Layer::Work,
            LayerMarks::Counted(_) => Layer::Counted,
            LayerMarks::Jobs(_) => Layer::Jobs,
        }
    }

    pub const fn len(&self) -> usize {
        of_any_layer!(&self.marks, marks => marks.len())
    }

    pub const fn is_empty(&self) -> bool {
        self.len() == 0
    }

    pub fn sources(&self) -> &[Source] {
        &self.sources
    }

    /// Takes in an entry's marks. Entries come in the order of the ledger, so what comes later wins its instant.
    pub fn merge(&mut self, entry: Source, marks: &[Mark]) -> Merged {
        let (source, is_new) = match self.sources.last() {
            Some(last) if *last == entry => (self.sources.len() - 1, false),
            _ => (self.sources.len(), true),
        };
        // A row holds one day of one track; four thousand million entries do not fit into it.
        let source = u32::try_from(source).unwrap_or(u32::MAX);
        let (before, taken) = (self.len(), marks.len());
        let layer = self.layer();
        let mine = marks.iter().filter(|mark| mark.layer() == layer);
        let given = mine.clone().count();
        match &mut self.marks {
            LayerMarks::Signals(known) => merge(known, mine.filter_map(|mark| state_of(mark, source))),
            LayerMarks::Cycles(known) => merge(known, mine.filter_map(|mark| span_of(mark, source))),
            LayerMarks::Downs(known) => merge(known, mine.filter_map(|mark| down_of(mark, source))),
            LayerMarks::Readings(known) => merge(known, mine.filter_map(|mark| reading_of(mark, source))),
            LayerMarks::Runs(known) => merge(known, mine.filter_map(|mark| run_of(mark, source))),
            LayerMarks::Pallets(known) => merge(known, mine.filter_map(|mark| pallet_of(mark, source))),
            LayerMarks::Work(known) => merge(known, mine.filter_map(|mark| work_of(mark, source))),
            LayerMarks::Counted(known) => merge(known, mine.filter_map(|mark| counted_of(mark, source))),
            LayerMarks::Jobs(known) => merge(known, mine.filter_map(|mark| job_of(mark, source))),
        }
        let added = self.len() - before;
        if is_new && added > 0 {
            self.sources.push(entry);
        }
        Merged {
            added,
            repeated: given - added,
            misplaced: taken - given,
        }
    }
}

/// What sorting and dropping repeats need to know of a mark.
pub(super) trait Ordered: Placed {
    type Key: Ord;
    fn key(&self) -> Self::Key;
    fn says_the_same_as(&self, other: &Self) -> bool;
    fn source(&self) -> u32;
    fn source_mut(&mut self) -> &mut u32;
}

/// The sort is stable: at equal instants the marks stay in the order in which they came, and the last one stands.
/// A mark is a repeat when the one that stands at its instant says the same.
fn merge<M: Ordered>(known: &mut Vec<M>, new: impl Iterator<Item = M>) {
    // Most entries only go on where the last one ended: then the marks before that need no second look.
    let settled = known.len().saturating_sub(1);
    known.extend(new);
    let mut unsettled = if known[settled..].is_sorted_by_key(Ordered::key) {
        known.split_off(settled)
    } else {
        known.sort_by_key(Ordered::key);
        std::mem::take(known)
    };
    unsettled.dedup_by(|later, earlier| later.key() == earlier.key() && later.says_the_same_as(earlier));
    known.append(&mut unsettled);
}

fn is_sound<M: Ordered>(marks: &[M], sources: usize) -> bool {
    marks.is_sorted_by_key(Ordered::key)
        && marks
            .iter()
            .all(|mark| usize::try_from(mark.source()).is_ok_and(|source| source < sources))
}

fn state_of(mark: &Mark, source: u32) -> Option<StateMark> {
    match *mark {
        Mark::State { at, state } => Some(StateMark { at, state, source }),
        _ => None,
    }
}

fn span_of(mark: &Mark, source: u32) -> Option<SpanMark> {
    let (from, to, is_cycle) = match *mark {
        Mark::Cycle { from, to } => (from, to, true),
        Mark::Covered { from, to } => (from, to, false),
        _ => return None,
    };
    Some(SpanMark {
        from,
        us: Window::new(from, to).us(),
        is_cycle,
        source,
    })
}

fn down_of(mark: &Mark, source: u32) -> Option<DownMark> {
    let (at, reason) = match mark {
        Mark::Down { at, reason } => (*at, Some(reason.clone())),
        Mark::Up { at } => (*at, None),
        _ => return None,
    };
    Some(DownMark { at, reason, source })
}

fn reading_of(mark: &Mark, source: u32) -> Option<ReadingMark> {
    match *mark {
        Mark::Reading {
            at,
            powered_on_s,
            in_cut_s,
            reset,
        } => Some(ReadingMark {
            at,
            powered_on_s,
            in_cut_s,
            reset,
            source,
        }),
        _ => None,
    }
}

macro_rules! ordered {
    ($mark:ty, $place:ident, $key:ty, |$this:ident| $of:expr, |$one:ident, $other:ident| $same:expr) => {
        impl Placed for $mark {
            fn place(&mut self) -> &mut Timestamp {
                &mut self.$place
            }
        }

        impl Ordered for $mark {
            type Key = $key;

            fn key(&self) -> Self::Key {
                let $this = self;
                $of
            }

            fn says_the_same_as(&self, other: &Self) -> bool {
                let ($one, $other) = (self, other);
                $same
            }

            fn source(&self) -> u32 {
                self.source
            }

            fn source_mut(&mut self) -> &mut u32 {
                &mut self.source
            }
        }
    };
}

ordered!(StateMark, at, Timestamp, |mark| mark.at, |one, other| one.state
    == other.state);
// Cycles do not replace each other: all stand, so all of a key says the same.
ordered!(
    SpanMark,
    from,
    (Timestamp, i64, bool),
    |mark| (mark.from, mark.us, mark.is_cycle),
    |_one, _other| true
);
ordered!(DownMark, at, Timestamp, |mark| mark.at, |one, other| one.reason
    == other.reason);
ordered!(ReadingMark, at, Timestamp, |mark| mark.at, |one, other| {
    (one.powered_on_s, one.in_cut_s, one.reset) == (other.powered_on_s, other.in_cut_s, other.reset)
});
// The acts of one run replace each other at an instant; those of two runs do not.
ordered!(
    RunMark,
    at,
    (Timestamp, RunId),
    |mark| (mark.at, mark.run),
    |one, other| one.act == other.act
);
ordered!(PalletMark, at, Timestamp, |mark| mark.at, |one, other| {
    (one.cell, one.at_machine, one.state) == (other.cell, other.at_machine, other.state)
});
ordered!(WorkMark, at, Timestamp, |mark| mark.at, |one, other| one.open
    == other.open);
ordered!(
    CountedMark,
    from,
    (Timestamp, RunId),
    |mark| (mark.from, mark.run),
    |one, other| CountedMark { source: 0, ..*one } == CountedMark { source: 0, ..*other }
);

ordered!(
    JobMark,
    at,
    (Timestamp, Uuid, u16),
    |mark| (mark.at, mark.id(), mark.operation),
    |one, other| JobMark { source: 0, ..*one } == JobMark { source: 0, ..*other }
);

impl Placed for Source {
    fn place(&mut self) -> &mut Timestamp {
        &mut self.recorded_at
    }
}

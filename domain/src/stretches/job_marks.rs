//! The marks on the track of a job: which runs and setups were for it, and how much of each.

use super::day_marks::LayerMarks;
use super::{DayMarks, Mark, Source};
use crate::ids::{MachineId, RunId, Seq, SetupId};
use crate::time::Timestamp;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use uuid::Uuid;

/// How much of something is one operation's.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Portion {
    pub part: u32,
    /// Not less than `part`; 0: it was withdrawn.
    pub whole: u32,
}

impl Portion {
    /// Of something that was withdrawn.
    pub const NOTHING: Self = Self { part: 0, whole: 0 };

    const fn is_nothing(self) -> bool {
        self.whole == 0
    }

    pub const fn is_whole(self) -> bool {
        self.part >= self.whole
    }

    /// To the nearest, of what is not negative.
    pub fn of(self, all: i64) -> i64 {
        let whole = i128::from(self.whole.max(1));
        let share = (i128::from(all) * i128::from(self.part) * 2 + whole) / (whole * 2);
        i64::try_from(share).unwrap_or(i64::MAX)
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct JobMark {
    pub at: Timestamp,
    pub operation: u16,
    pub portion: Portion,
    pub act: JobAct,
    pub source: u32,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum JobAct {
    Run {
        run: RunId,
        machine: MachineId,
        cycle_s: u32,
    },
    Setup {
        setup: SetupId,
        us: i64,
    },
}

impl JobMark {
    /// What was done; said again, it replaces what was said before.
    pub(super) const fn id(&self) -> Uuid {
        match self.act {
            JobAct::Run { run, .. } => run.0,
            JobAct::Setup { setup, .. } => setup.0,
        }
    }
}

pub(super) fn job_of(mark: &Mark, source: u32) -> Option<JobMark> {
    let (at, operation, portion, act) = match *mark {
        Mark::JobRun {
            at,
            run,
            machine,
            operation,
            portion,
            cycle_s,
        } => (
            at,
            operation,
            portion,
            JobAct::Run {
                run,
                machine,
                cycle_s,
            },
        ),
        Mark::JobSetup {
            at,
            setup,
            operation,
            portion,
            us,
        } => (at, operation, portion, JobAct::Setup { setup, us }),
        _ => return None,
    };
    Some(JobMark {
        at,
        operation,
        portion,
        act,
        source,
    })
}

/// All that is known of one job, in the order of time.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct JobMarks {
    /// The entries; a mark's `source` is a position in them.
    pub sources: Vec<Source>,
    pub marks: Vec<JobMark>,
}

impl JobMarks {
    pub fn from_rows(rows: impl IntoIterator<Item = DayMarks>) -> Self {
        let mut all = Self::default();
        for row in rows {
            let LayerMarks::Jobs(marks) = row.marks else {
                continue;
            };
            let before = u32::try_from(all.sources.len()).unwrap_or(u32::MAX);
            all.sources.extend(row.sources);
            all.marks.extend(marks.into_iter().map(|mark| JobMark {
                source: mark.source.saturating_add(before),
                ..mark
            }));
        }
        all.marks.sort_by_key(|mark| (mark.at, mark.source));
        // Of what was said of the same thing the last stands.
        let mut stands = BTreeMap::new();
        for (position, mark) in all.marks.iter().enumerate() {
            stands.insert((mark.id(), mark.operation), position);
        }
        let mut standing: Vec<_> = stands.into_values().collect();
        standing.sort_unstable();
        let standing = standing.into_iter().map(|position| all.marks[position]);
        all.marks = standing.filter(|mark| !mark.portion.is_nothing()).collect();
        all
    }

    pub fn seq_of(&self, mark: &JobMark) -> Option<Seq> {
        let source = usize::try_from(mark.source).ok()?;
        Some(self.sources.get(source)?.seq)
    }
}

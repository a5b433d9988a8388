//! What stands at an instant, layer by layer: cursors that only move forward.

use crate::machine_state::Meaning;
use crate::stretches::{DownMark, StateMark};
use crate::time::{Timestamp, US_PER_SECOND, Window};

/// A value that changes from instant to instant: how many cycles lie here, whether somebody is there.
#[derive(Debug, Default)]
pub(super) struct Changes<T> {
    steps: Vec<(i64, T)>,
    next: usize,
    pub value: T,
}

impl<T: Copy + Default> Changes<T> {
    pub fn new(changes: Vec<(i64, T)>) -> Self {
        Self {
            steps: changes,
            ..Self::default()
        }
    }

    pub fn next_at(&self) -> i64 {
        self.steps.get(self.next).map_or(i64::MAX, |change| change.0)
    }

    pub fn advance_to(&mut self, at: i64) {
        while let Some(change) = self.steps.get(self.next).filter(|change| change.0 <= at) {
            self.value = change.1;
            self.next += 1;
        }
    }
}

impl Changes<u32> {
    /// How many of the windows lie over each instant. They may be in any order and overlap.
    pub fn of_windows(windows: impl Iterator<Item = Window> + Clone) -> Self {
        let mut starts: Vec<_> = windows
            .clone()
            .filter(|window| !window.is_empty())
            .map(|window| window.from.us())
            .collect();
        let mut ends: Vec<_> = windows
            .filter(|window| !window.is_empty())
            .map(|window| window.to.us())
            .collect();
        starts.sort_unstable();
        ends.sort_unstable();
        let mut changes: Vec<(i64, u32)> = Vec::with_capacity(starts.len() + ends.len());
        let (mut started, mut ended) = (0, 0);
        while let Some(&end) = ends.get(ended) {
            let at = starts.get(started).map_or(end, |start| end.min(*start));
            started += starts[started..].iter().take_while(|start| **start == at).count();
            ended += ends[ended..].iter().take_while(|end| **end == at).count();
            let open = u32::try_from(started - ended).unwrap_or(u32::MAX);
            if changes.last().is_none_or(|last| last.1 != open) {
                changes.push((at, open));
            }
        }
        Self::new(changes)
    }
}

impl Changes<Option<u32>> {
    /// While a person has set the machine down, the position of the mark that says so.
    pub fn of_downs(downs: &[DownMark], as_of: Timestamp) -> Self {
        let known = downs.iter().zip(0..).filter(|(mark, _)| mark.at <= as_of);
        let changes = known.map(|(mark, position)| (mark.at.us(), mark.reason.is_some().then_some(position)));
        Self::new(changes.collect())
    }
}

/// The state that the machine last told, until it has been silent for too long.
#[derive(Debug)]
pub(super) struct Says<'a> {
    marks: &'a [StateMark],
    silent_after_us: i64,
    next: usize,
    pub meaning: Meaning,
    pub next_at: i64,
}

impl<'a> Says<'a> {
    pub fn new(marks: &'a [StateMark], as_of: Timestamp, silent_after_s: Option<u32>) -> Self {
        let marks = &marks[..marks.partition_point(|mark| mark.at <= as_of)];
        Self {
            marks,
            silent_after_us: silent_after_us(silent_after_s),
            next: 0,
            meaning: Meaning::NotKnown,
            next_at: marks.first().map_or(i64::MAX, |mark| mark.at.us()),
        }
    }

    pub fn advance_to(&mut self, at: i64) {
        if at < self.next_at {
            return;
        }
        while self.marks.get(self.next).is_some_and(|mark| mark.at.us() <= at) {
            self.next += 1;
        }
        let next_mark_at = self.marks.get(self.next).map_or(i64::MAX, |mark| mark.at.us());
        let Some(standing) = self.standing() else {
            self.next_at = next_mark_at;
            return;
        };
        let silent_at = standing.at.us().saturating_add(self.silent_after_us);
        if at < silent_at {
            self.meaning = standing.state.meaning();
            self.next_at = next_mark_at.min(silent_at);
        } else {
            self.meaning = Meaning::NotKnown;
            self.next_at = next_mark_at;
        }
    }

    fn standing(&self) -> Option<&'a StateMark> {
        self.marks[..self.next].last()
    }
}

fn silent_after_us(silent_after_s: Option<u32>) -> i64 {
    silent_after_s.map_or(i64::MAX, |seconds| i64::from(seconds) * US_PER_SECOND)
}

//! Which entries a row rests on, and whether one of them came after the row had settled.

use crate::ids::Seq;
use crate::stretches::{MachineMarks, SpanMark};
use crate::time::{Timestamp, Window};
use std::ops::Range;

/// Signals come in batches: what arrives this soon after a row's end, or after its first entry, is not a change.
pub const SETTLING_S: i64 = 15 * 60;

/// The entries whose states, cycles and down times reach into a row, those included that have been replaced since.
/// Readings are not among them: a counter is read when it suits, most often after the row has ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TouchedBy {
    pub entries: u32,
    pub first_seq: Seq,
    pub last_seq: Seq,
    /// Since when something was known of the row, if only by a state that a later entry replaced.
    pub first_recorded_at: Timestamp,
    pub last_recorded_at: Timestamp,
}

impl TouchedBy {
    pub fn restated_at(&self, row: Window) -> Option<Timestamp> {
        let settled_at = row.to.max(self.first_recorded_at).plus_s(SETTLING_S);
        (self.last_recorded_at > settled_at).then_some(self.last_recorded_at)
    }
}

/// `windows` are sorted and disjoint, so every layer is passed through once.
pub(super) fn touched_by(marks: &MachineMarks, windows: &[Window]) -> Vec<Option<TouchedBy>> {
    let mut seen_in = vec![0; marks.sources.len()];
    let (mut signal, mut down, mut cycle, mut cover) = (0, 0, 0, 0);
    let rows = windows.iter().zip(1_u32..).map(|(&window, row)| {
        let mut touched = Touched { row, by: None };
        let states = reaching(&marks.signals, &mut signal, window, |mark| mark.at);
        let replaced = states
            .start
            .checked_sub(1)
            .map(|before| marks.signals[before].source);
        let mut touch = |source: u32| touched.by(marks, &mut seen_in, source);
        for mark in &marks.signals[states] {
            touch(mark.source);
        }
        for mark in &marks.downs[reaching(&marks.downs, &mut down, window, |mark| mark.at)] {
            // Having been set up some time before says nothing about this row.
            if mark.at >= window.from || mark.reason.is_some() {
                touch(mark.source);
            }
        }
        spans_over(&marks.cycles, &mut cycle, window).for_each(|span| touch(span.source));
        spans_over(&marks.covers, &mut cover, window).for_each(|span| touch(span.source));
        touched.known_since(marks, replaced);
        touched.by
    });
    rows.collect()
}

struct Touched {
    row: u32,
    by: Option<TouchedBy>,
}

impl Touched {
    fn by(&mut self, marks: &MachineMarks, seen_in: &mut [u32], source: u32) {
        let Some((seen_in, entry)) = usize::try_from(source).ok().and_then(|source| {
            let seen_in = seen_in.get_mut(source)?;
            Some((seen_in, marks.sources.get(source)?))
        }) else {
            return;
        };
        if std::mem::replace(seen_in, self.row) == self.row {
            return;
        }
        let by = self.by.get_or_insert(TouchedBy {
            entries: 0,
            first_seq: entry.seq,
            last_seq: entry.seq,
            first_recorded_at: entry.recorded_at,
            last_recorded_at: entry.recorded_at,
        });
        by.entries += 1;
        by.first_seq = by.first_seq.min(entry.seq);
        by.last_seq = by.last_seq.max(entry.seq);
        by.first_recorded_at = by.first_recorded_at.min(entry.recorded_at);
        by.last_recorded_at = by.last_recorded_at.max(entry.recorded_at);
    }
}

impl Touched {
    /// A late state may replace the one that the row had inherited: without it the row would have rested on that one.
    fn known_since(&mut self, marks: &MachineMarks, replaced: Option<u32>) {
        let replaced = replaced.and_then(|source| marks.sources.get(usize::try_from(source).ok()?));
        if let (Some(by), Some(entry)) = (&mut self.by, replaced) {
            by.first_recorded_at = by.first_recorded_at.min(entry.recorded_at);
        }
    }
}

/// The marks within the window and the one that stood when it began, with those that it replaced at its instant.
fn reaching<M>(marks: &[M], next: &mut usize, window: Window, at: impl Fn(&M) -> Timestamp) -> Range<usize> {
    if window.is_empty() {
        return 0..0;
    }
    while marks.get(*next).is_some_and(|mark| at(mark) < window.from) {
        *next += 1;
    }
    let mut first = next.saturating_sub(1);
    while first > 0 && at(&marks[first - 1]) == at(&marks[first]) {
        first -= 1;
    }
    while marks.get(*next).is_some_and(|mark| at(mark) < window.to) {
        *next += 1;
    }
    first..*next
}

/// `first` moves over the spans that ended before the window.
fn spans_over<'a>(
    spans: &'a [SpanMark],
    first: &mut usize,
    window: Window,
) -> impl Iterator<Item = &'a SpanMark> + use<'a> {
    while spans
        .get(*first)
        .is_some_and(|span| span.window().to <= window.from)
    {
        *first += 1;
    }
    let begun = spans[*first..]
        .iter()
        .take_while(move |span| span.from < window.to);
    begun.filter(move |span| span.window().overlap(window).is_some())
}

//! Which entries a row rests on, and whether one of them came after the row had settled.

use super::book::Book;
use crate::ids::Seq;
use crate::stretches::{MachineMarks, SpanMark};
use crate::time::{Timestamp, Window};
use std::ops::Range;

/// Signals come in batches: what arrives this soon after a row's end, or after its first entry, is not a change.
pub const SETTLING_S: i64 = 15 * 60;

/// The entries whose states, cycles, down times, runs and pallets reach into a row, those included that have been
/// replaced since. Readings and counts are not among them: a counter is read and a pallet is unloaded when it suits,
/// most often after the row has ended.
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
pub(super) fn touched_by(marks: &MachineMarks, book: &Book, windows: &[Window]) -> Vec<Option<TouchedBy>> {
    let mut seen_in = vec![0; marks.sources.len()];
    let (mut signal, mut down, mut cycle, mut cover, mut work) = (0, 0, 0, 0, 0);
    let mut pallets = vec![0; marks.pallets.len()];
    let by_runs = touched_by_runs(marks, book, windows);
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
        for mark in &marks.work[reaching(&marks.work, &mut work, window, |mark| mark.at)] {
            touch(mark.source);
        }
        for (pallet, next) in marks.pallets.iter().zip(&mut pallets) {
            for mark in &pallet.marks[reaching(&pallet.marks, next, window, |mark| mark.at)] {
                touch(mark.source);
            }
        }
        let row_of_runs = usize::try_from(row - 1).ok().and_then(|row| by_runs.get(row));
        row_of_runs
            .into_iter()
            .flatten()
            .for_each(|source| touch(*source));
        touched.known_since(marks, replaced);
        touched.by
    });
    rows.collect()
}

/// For each row, the entries of the runs that reach into it. What was said of a time after the row changes it only
/// where the run's planned time had been over before: then it proves that the spindle was in cycle longer.
fn touched_by_runs(marks: &MachineMarks, book: &Book, windows: &[Window]) -> Vec<Vec<u32>> {
    if book.runs.is_empty() {
        return Vec::new();
    }
    let mut rows = vec![Vec::new(); windows.len()];
    for run in &book.runs {
        let first = windows.partition_point(|window| window.to <= run.start);
        let end = run.end.unwrap_or(Timestamp(i64::MAX)).max(run.start.plus_us(1));
        let reached = windows[first..].iter().zip(&mut rows[first..]);
        for (window, row) in reached.take_while(|(window, _)| window.from < end) {
            let is_longer = book.in_cycle_before_us(run, window.to) > run.cycle_us;
            let said = run.marks.iter().map(|mark| &marks.runs[*mark]);
            row.extend(
                said.filter(|mark| mark.at < window.to || is_longer)
                    .map(|mark| mark.source),
            );
        }
    }
    rows
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

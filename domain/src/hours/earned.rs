//! Earned hours: what the pieces that came off were worth, in planned cycle time.

use super::book::{Book, Piece};
use crate::ids::RunId;
use crate::stretches::{CountedMark, MachineMarks};
use crate::time::{Timestamp, Window};
use std::collections::BTreeMap;

/// Of the runs that reach into a row. Times are shared out over rows as the run's time in cycle is; pieces stand in
/// the row in which their run ended.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Earned {
    /// Planned cycle time of the good pieces.
    pub earned_s: i64,
    /// Planned cycle time of all pieces.
    pub produced_s: i64,
    pub produced: i64,
    pub good: i64,
    pub scrap: i64,
    /// How many runs have not been counted yet.
    pub uncounted_runs: i64,
}

impl Earned {
    pub fn add(&mut self, other: &Self) {
        self.earned_s += other.earned_s;
        self.produced_s += other.produced_s;
        self.produced += other.produced;
        self.good += other.good;
        self.scrap += other.scrap;
        self.uncounted_runs += other.uncounted_runs;
    }
}

/// `None` where no run reaches into a row. `windows` are sorted and disjoint.
pub(super) fn earned(marks: &MachineMarks, book: &Book, windows: &[Window]) -> Vec<Option<Earned>> {
    let mut rows = vec![None; windows.len()];
    if book.runs.is_empty() && marks.counted.is_empty() {
        return rows;
    }
    let mut in_cycle = BTreeMap::<RunId, Vec<Window>>::new();
    for (window, _, run) in book.pieces.iter().filter(|piece| piece.1 == Piece::InCycle) {
        in_cycle.entry(book.runs[*run].id).or_default().push(*window);
    }
    // What an entry says of a run replaces what earlier ones said.
    let mut counted = BTreeMap::<RunId, &CountedMark>::new();
    for mark in &marks.counted {
        let standing = counted.entry(mark.run).or_insert(mark);
        if standing.source <= mark.source {
            *standing = mark;
        }
    }
    for (run, pieces) in &in_cycle {
        if !counted.contains_key(run) {
            for row in rows_of(windows, pieces) {
                rows[row].get_or_insert_with(Earned::default).uncounted_runs += 1;
            }
        }
    }
    for (run, mark) in counted {
        let whole = [mark.window()];
        let pieces = in_cycle.get(&run).map_or(&whole[..], Vec::as_slice);
        for row in rows_of(windows, pieces) {
            let window = windows[row];
            let of_row = rows[row].get_or_insert_with(Earned::default);
            of_row.earned_s += share(mark.earned_s, pieces, window);
            of_row.produced_s += share(mark.produced_s, pieces, window);
        }
        let last = mark.window().to.plus_us(-1).max(mark.from);
        if let Some(row) = row_at(windows, last) {
            let of_row = rows[row].get_or_insert_with(Earned::default);
            of_row.produced += i64::from(mark.produced);
            of_row.good += i64::from(mark.good);
            of_row.scrap += i64::from(mark.scrap);
        }
    }
    rows
}

fn row_at(windows: &[Window], at: Timestamp) -> Option<usize> {
    let row = windows.partition_point(|window| window.to <= at);
    windows.get(row)?.contains(at).then_some(row)
}

/// The rows that any of the sorted pieces reaches into.
fn rows_of(windows: &[Window], pieces: &[Window]) -> Vec<usize> {
    let (Some(first), Some(last)) = (pieces.first(), pieces.last()) else {
        return Vec::new();
    };
    let begin = windows.partition_point(|window| window.to <= first.from);
    let end = windows.partition_point(|window| window.from < last.to);
    let reaches = |row: &usize| pieces.iter().any(|piece| piece.overlap(windows[*row]).is_some());
    (begin..end).filter(reaches).collect()
}

/// A row's share of the whole: what is reached at its end less what was reached at its beginning, so that the shares
/// of rows that tile add up to the whole.
fn share(whole_s: i64, pieces: &[Window], row: Window) -> i64 {
    let all_us: i128 = pieces.iter().map(|piece| i128::from(piece.us())).sum();
    let reached = |at: Timestamp| {
        let until = Window::new(Timestamp(i64::MIN), at);
        let common = pieces.iter().filter_map(|piece| piece.overlap(until));
        let us: i128 = common.map(|piece| i128::from(piece.us())).sum();
        (i128::from(whole_s) * us * 2 + all_us) / (all_us * 2).max(1)
    };
    i64::try_from(reached(row.to) - reached(row.from)).unwrap_or(whole_s)
}

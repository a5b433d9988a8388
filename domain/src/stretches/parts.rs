//! A day's marks as rows of the store. A row that has its fill never changes again: what an entry adds is written in
//! the time of that entry, however long the day has become.

use super::day_marks::{Ordered, of_any_layer};
use super::{DayMarks, LayerMarks};
use crate::ids::Seq;
use std::ops::Range;

/// A row takes whole entries until it has so many marks. Where each mark is an entry of its own they fill 1.8 kB;
/// PostgreSQL stores more than 2 kB apart from the row, which makes every change of it dear.
pub const PART_MARKS: usize = 128;

impl DayMarks {
    /// The parts that hold an entry after `after`, with their numbers. They follow from the marks alone: a ledger gives
    /// the same ones in whatever batches it was written.
    pub fn parts_after(&self, after: Seq) -> Vec<(i64, Self)> {
        let ranges = self.part_ranges().into_iter();
        let numbered = (0..).zip(ranges);
        let changed = numbered.filter(|(_, range)| {
            self.sources[range.clone()]
                .last()
                .is_some_and(|last| last.seq > after)
        });
        changed
            .map(|(number, range)| (number, self.part(range)))
            .collect()
    }

    /// The day again, from all of its parts in their order. `None` without parts.
    pub fn join(parts: impl IntoIterator<Item = Self>) -> Option<Self> {
        let mut parts = parts.into_iter();
        let mut day = parts.next()?;
        let mut is_longer = false;
        for part in parts {
            is_longer = true;
            let before = u32::try_from(day.sources.len()).unwrap_or(u32::MAX);
            day.sources.extend(part.sources);
            match (&mut day.marks, part.marks) {
                (LayerMarks::Signals(all), LayerMarks::Signals(more)) => append(all, more, before),
                (LayerMarks::Cycles(all), LayerMarks::Cycles(more)) => append(all, more, before),
                (LayerMarks::Downs(all), LayerMarks::Downs(more)) => append(all, more, before),
                (LayerMarks::Readings(all), LayerMarks::Readings(more)) => append(all, more, before),
                (LayerMarks::Runs(all), LayerMarks::Runs(more)) => append(all, more, before),
                (LayerMarks::Pallets(all), LayerMarks::Pallets(more)) => append(all, more, before),
                (LayerMarks::Work(all), LayerMarks::Work(more)) => append(all, more, before),
                (LayerMarks::Counted(all), LayerMarks::Counted(more)) => append(all, more, before),
                (LayerMarks::Jobs(all), LayerMarks::Jobs(more)) => append(all, more, before),
                // The store gives the parts of one layer together.
                _ => {}
            }
        }
        if is_longer {
            of_any_layer!(&mut day.marks, marks => marks.sort_by_key(Ordered::key));
        }
        Some(day)
    }

    /// As positions in `sources`. A part is full when its entries have [`PART_MARKS`] marks; the next entry begins the
    /// next part. Marks are only ever added, so a full part stays as it is.
    fn part_ranges(&self) -> Vec<Range<usize>> {
        let (mut ranges, mut from, mut marks) = (Vec::new(), 0, 0);
        for (position, more) in self.marks_by_source().into_iter().enumerate() {
            marks += more;
            if marks >= PART_MARKS {
                ranges.push(from..position + 1);
                (from, marks) = (position + 1, 0);
            }
        }
        if from < self.sources.len() {
            ranges.push(from..self.sources.len());
        }
        ranges
    }

    fn marks_by_source(&self) -> Vec<usize> {
        let mut counts = vec![0; self.sources.len()];
        of_any_layer!(&self.marks, marks => count(marks, &mut counts));
        counts
    }

    fn part(&self, range: Range<usize>) -> Self {
        let marks = match &self.marks {
            LayerMarks::Signals(marks) => LayerMarks::Signals(cut(marks, &range)),
            LayerMarks::Cycles(marks) => LayerMarks::Cycles(cut(marks, &range)),
            LayerMarks::Downs(marks) => LayerMarks::Downs(cut(marks, &range)),
            LayerMarks::Readings(marks) => LayerMarks::Readings(cut(marks, &range)),
            LayerMarks::Runs(marks) => LayerMarks::Runs(cut(marks, &range)),
            LayerMarks::Pallets(marks) => LayerMarks::Pallets(cut(marks, &range)),
            LayerMarks::Work(marks) => LayerMarks::Work(cut(marks, &range)),
            LayerMarks::Counted(marks) => LayerMarks::Counted(cut(marks, &range)),
            LayerMarks::Jobs(marks) => LayerMarks::Jobs(cut(marks, &range)),
        };
        Self {
            sources: self.sources[range].to_vec(),
            marks,
        }
    }
}

fn position<M: Ordered>(mark: &M) -> usize {
    usize::try_from(mark.source()).unwrap_or(usize::MAX)
}

fn count<M: Ordered>(marks: &[M], by_source: &mut [usize]) {
    for mark in marks {
        if let Some(count) = by_source.get_mut(position(mark)) {
            *count += 1;
        }
    }
}

fn cut<M: Ordered>(marks: &[M], sources: &Range<usize>) -> Vec<M> {
    let first = u32::try_from(sources.start).unwrap_or(u32::MAX);
    let mut mine: Vec<_> = marks
        .iter()
        .filter(|mark| sources.contains(&position(*mark)))
        .cloned()
        .collect();
    for mark in &mut mine {
        *mark.source_mut() -= first;
    }
    mine
}

fn append<M: Ordered>(all: &mut Vec<M>, more: Vec<M>, sources_before: u32) {
    all.extend(more.into_iter().map(|mut mark| {
        *mark.source_mut() += sources_before;
        mark
    }));
}

#[cfg(test)]
mod tests;

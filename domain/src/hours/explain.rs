//! The sweep opened: the stretches of a window, and the entries behind each.

use super::category::{Category, Moment};
use super::sweep::{Tracks, until};
use crate::ids::Seq;
use crate::machine_state::Meaning;
use crate::stretches::{CYCLE_MAX_S, MachineMarks, SpanMark};
use crate::time::{Timestamp, Window};

/// A stretch of one category for one reason.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stretch {
    pub window: Window,
    pub category: Category,
    /// A person had set the machine down; in cycle all the same if that is the category.
    pub down_reason: Option<String>,
    /// How many of the device's cycles lie over it; more than one is an overlap.
    pub cycles: u32,
    /// The entries that decide it, sorted. None: nothing has been said.
    pub seqs: Vec<Seq>,
}

/// Adds up to what [`super::sweep`] says of the window.
pub fn explain(
    marks: &MachineMarks,
    window: Window,
    attended: &[Window],
    as_of: Timestamp,
    silent_after_s: Option<u32>,
) -> Vec<Stretch> {
    let mut stretches: Vec<Stretch> = Vec::new();
    let mut tracks = Tracks::new(marks, attended, as_of, silent_after_s);
    tracks.walk(until(window, as_of), |window, moment| {
        let stretch = stretch(marks, window, moment);
        match stretches.last_mut() {
            Some(last) if is_the_same(last, &stretch) => last.window.to = window.to,
            _ => stretches.push(stretch),
        }
    });
    stretches
}

fn is_the_same(one: &Stretch, other: &Stretch) -> bool {
    (one.category, one.cycles) == (other.category, other.cycles)
        && (&one.down_reason, &one.seqs) == (&other.down_reason, &other.seqs)
}

fn stretch(marks: &MachineMarks, window: Window, moment: Moment) -> Stretch {
    let category = moment.category();
    let said = marks.signals[..marks.signals.partition_point(|mark| mark.at <= window.from)].last();
    let set = marks.downs[..marks.downs.partition_point(|mark| mark.at <= window.from)].last();
    let said = said.map(|mark| mark.source);
    let down = set.filter(|mark| mark.reason.is_some());
    let mut sources: Vec<u32> = match category {
        Category::InCycleAttended | Category::InCycleUnattended => {
            let by_state = said.filter(|_| moment.says == Meaning::InCycle);
            by_state
                .into_iter()
                .chain(spans_over(&marks.cycles, window))
                .collect()
        }
        Category::Off | Category::StoppedInRun | Category::NotKnown => said.into_iter().collect(),
        Category::Down => Vec::new(),
        Category::IdleAttended | Category::IdleUnattended => {
            let by_state = said.filter(|_| moment.says == Meaning::NothingRuns);
            by_state
                .into_iter()
                .chain(spans_over(&marks.covers, window))
                .collect()
        }
    };
    // Also where the machine was in cycle against it: both sides of a contradiction are shown.
    sources.extend(down.map(|mark| mark.source));
    let entries = sources
        .into_iter()
        .filter_map(|source| marks.sources.get(usize::try_from(source).ok()?));
    let mut seqs: Vec<_> = entries.map(|entry| entry.seq).collect();
    seqs.sort_unstable();
    seqs.dedup();
    Stretch {
        window,
        category,
        down_reason: down.and_then(|mark| mark.reason.clone()),
        cycles: moment.cycles,
        seqs,
    }
}

fn spans_over(spans: &[SpanMark], window: Window) -> impl Iterator<Item = u32> {
    let earliest = window.from.plus_s(-CYCLE_MAX_S);
    let first = spans.partition_point(|span| span.from < earliest);
    let end = spans.partition_point(|span| span.from < window.to);
    let reaching = spans[first..end]
        .iter()
        .filter(move |span| span.window().overlap(window).is_some());
    reaching.map(|span| span.source)
}

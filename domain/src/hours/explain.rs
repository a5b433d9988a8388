//! The sweep opened: the stretches of a window, and the entries behind each.

use super::book::{Book, TellsOfRun};
use super::category::{Category, Moment};
use super::pool::{is_at_another, is_in_cell};
use super::sweep::{Tracks, down_reason, until};
use crate::ids::{RunId, Seq};
use crate::machine_state::Meaning;
use crate::pool::PalletState;
use crate::run::Purpose;
use crate::stretches::{CYCLE_MAX_S, MachineMarks, PalletMark, SpanMark};
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
    /// The run that people recorded there.
    pub run: Option<RunId>,
    pub purpose: Option<Purpose>,
    /// Why a person paused it.
    pub stop_reason: Option<String>,
    /// How many recorded runs are in cycle; more than one is an overlap.
    pub runs_in_cycle: u32,
    /// In cycle, and only people say so.
    pub by_people: bool,
    /// People and the machine say different things of whether a run was going on.
    pub people_and_machine_disagree: bool,
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
    let mut book = Book::of(marks, as_of);
    let told = book.changes(marks, as_of);
    let mut tracks = Tracks::new(marks, told, attended, as_of, silent_after_s);
    tracks.walk(until(window, as_of), |window, moment| {
        let stretch = stretch(marks, &book, window, moment);
        match stretches.last_mut() {
            Some(last) if is_the_same(last, &stretch) => last.window.to = window.to,
            _ => stretches.push(stretch),
        }
    });
    stretches
}

fn is_the_same(one: &Stretch, other: &Stretch) -> bool {
    let moved = Stretch {
        window: other.window,
        ..one.clone()
    };
    moved == *other
}

fn stretch(marks: &MachineMarks, book: &Book, window: Window, moment: Moment) -> Stretch {
    let category = moment.category();
    let mut sources = said_by_machine(marks, window, moment, category);
    let down = moment
        .down
        .and_then(|mark| marks.downs.get(usize::try_from(mark).ok()?));
    // Also where the machine was in cycle against it: both sides of a contradiction are shown.
    sources.extend(down.map(|mark| mark.source));
    if moment.told.run != TellsOfRun::Nothing || category == Category::PalletExchange {
        let behind = book.behind(moment.told, &marks.runs);
        sources.extend(behind.into_iter().map(|mark| marks.runs[mark].source));
    }
    sources.extend(said_of_pool(marks, window, moment, category));
    let lead = usize::try_from(moment.told.lead).ok();
    let lead = lead.and_then(|lead| book.runs.get(lead));
    let run = lead
        .filter(|_| moment.told.run != TellsOfRun::Nothing)
        .map(|run| run.id);
    let counted = marks.counted.iter().filter(|mark| run == Some(mark.run));
    sources.extend(counted.map(|mark| mark.source));
    let entries = sources
        .into_iter()
        .filter_map(|source| marks.sources.get(usize::try_from(source).ok()?));
    let mut seqs: Vec<_> = entries.map(|entry| entry.seq).collect();
    seqs.sort_unstable();
    seqs.dedup();
    Stretch {
        window,
        category,
        down_reason: down_reason(moment, &marks.downs).map(str::to_owned),
        cycles: moment.cycles,
        run,
        purpose: book.purpose(moment.told),
        stop_reason: book.reason(moment.told, &marks.runs).map(str::to_owned),
        runs_in_cycle: moment.told.in_cycle,
        by_people: moment.is_by_people(),
        people_and_machine_disagree: moment.people_and_machine_disagree(),
        seqs,
    }
}

/// The state or the cycles that decide the category, as far as it is the machine that does.
fn said_by_machine(marks: &MachineMarks, window: Window, moment: Moment, category: Category) -> Vec<u32> {
    let said = marks.signals[..marks.signals.partition_point(|mark| mark.at <= window.from)].last();
    let said = said.map(|mark| mark.source);
    let when = |meaning| said.filter(|_| moment.says == meaning).into_iter();
    match category {
        Category::InCycleAttended | Category::InCycleUnattended => when(Meaning::InCycle)
            .chain(spans_over(&marks.cycles, window))
            .collect(),
        Category::StoppedInRun if moment.says == Meaning::NotKnown => Vec::new(),
        Category::Off | Category::NotKnown | Category::StoppedInRun => said.into_iter().collect(),
        Category::Down => Vec::new(),
        Category::PalletExchange
        | Category::SetupAtSpindle
        | Category::WaitingForInspection
        | Category::ReadyNotStarted
        | Category::WaitingForLoad
        | Category::UnattendedRunOut
        | Category::NoWork
        | Category::IdleAttended
        | Category::IdleUnattended => when(Meaning::NothingRuns)
            .chain(spans_over(&marks.covers, window))
            .collect(),
    }
}

/// The pallets that gave the reason; where it is that nothing was loaded, all of them and the work.
fn said_of_pool(marks: &MachineMarks, window: Window, moment: Moment, category: Category) -> Vec<u32> {
    let is_told_of: fn(&PalletMark) -> bool = match category {
        Category::SetupAtSpindle => |mark| mark.state == PalletState::InSetup && mark.at_machine.is_some(),
        Category::WaitingForInspection => |mark| mark.state == PalletState::Held,
        Category::ReadyNotStarted => {
            |mark| matches!(mark.state, PalletState::Ready | PalletState::ReadyAttendedOnly)
        }
        Category::WaitingForLoad | Category::UnattendedRunOut | Category::NoWork => |_| true,
        Category::IdleAttended | Category::IdleUnattended if moment.told.book_begun => |_| true,
        _ => return Vec::new(),
    };
    let needs_all = !matches!(
        category,
        Category::SetupAtSpindle | Category::WaitingForInspection | Category::ReadyNotStarted
    );
    let standing = marks.pallets.iter().filter_map(|pallet| {
        let next = pallet.marks.partition_point(|mark| mark.at <= window.from);
        pallet.marks[..next].last()
    });
    // Where nothing is loaded, the reason is also with pallets that have left for another cell.
    let told = standing.filter(|mark| {
        needs_all || (is_told_of(mark) && is_in_cell(marks, mark) && !is_at_another(marks, mark))
    });
    let mut sources: Vec<_> = told.map(|mark| mark.source).collect();
    if needs_all {
        let work = marks.work[..marks.work.partition_point(|mark| mark.at <= window.from)].last();
        sources.extend(work.map(|mark| mark.source));
    }
    sources
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

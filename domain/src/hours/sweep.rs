//! The sweep: one forward pass over a machine's marks gives every row its categories.

use super::book::{Book, TellsOfRun, Told};
use super::category::{ByCategory, Category, Moment};
use super::earned::{Earned, earned};
use super::pool::PoolState;
use super::seconds::{by_category_s, shared_s, window_s};
use super::touched::{TouchedBy, touched_by};
use super::tracks::{Changes, Says};
use crate::machine_state::Meaning;
use crate::run::Purpose;
use crate::stretches::{DownMark, MachineMarks, SpanMark};
use crate::time::{Timestamp, Window};
use std::collections::BTreeMap;

/// Seconds for each word; the word is a reason that people give.
pub type ByReason = BTreeMap<String, i64>;

/// Time in cycle for each purpose of a run, and last what no run was recorded for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct ByPurpose(pub [i64; PURPOSES]);

pub(super) const PURPOSES_OF_RUNS: usize = Purpose::ALL.len();
const PURPOSES: usize = PURPOSES_OF_RUNS + 1;

impl ByPurpose {
    pub const fn of(&self, purpose: Purpose) -> i64 {
        self.0[purpose as usize]
    }

    pub const fn no_run(&self) -> i64 {
        self.0[PURPOSES - 1]
    }

    pub fn add(&mut self, other: &Self) {
        for (mine, theirs) in self.0.iter_mut().zip(other.0) {
            *mine += theirs;
        }
    }
}

/// One row of one machine.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct RowSeconds {
    /// Between the row's rounded edges; rows that tile add up to the whole.
    pub window_s: i64,
    /// Add up to `window_s`.
    pub seconds: ByCategory,
    /// Add up to the row's microseconds.
    pub us: ByCategory,
    /// Add up to what is in cycle.
    pub by_purpose_s: ByPurpose,
    pub by_purpose_us: ByPurpose,
    /// Of what was stopped in a run, that for which a person gave a reason.
    pub stopped_s: ByReason,
    pub stopped_us: ByReason,
    /// Add up to what was down.
    pub down_s: ByReason,
    pub down_us: ByReason,
    /// In cycle, and only people say so.
    pub in_cycle_by_people_us: i64,
    /// Where two or more of the device's cycles lie over each other. It is in the categories once.
    pub cycle_overlap_us: i64,
    /// Where two or more recorded runs are in cycle at once.
    pub run_overlap_us: i64,
    /// In cycle although a person had set the machine down.
    pub in_cycle_against_down_us: i64,
    /// People and the machine say different things of whether a run was going on.
    pub people_and_machine_disagree_us: i64,
    /// For how much of the row anything was recorded of the cell's pool.
    pub pool_known_us: i64,
    pub earned: Option<Earned>,
    /// A run or a down time whose end nobody has told yet reaches into the row.
    pub still_open: bool,
    pub touched: Option<TouchedBy>,
    pub restated_at: Option<Timestamp>,
}

/// `windows` and `attended` are sorted and each disjoint; what lies after `as_of` is left out of a row.
pub fn sweep(
    marks: &MachineMarks,
    windows: &[Window],
    attended: &[Window],
    as_of: Timestamp,
    silent_after_s: Option<u32>,
) -> Vec<RowSeconds> {
    let windows: Vec<_> = windows.iter().map(|window| until(*window, as_of)).collect();
    let mut book = Book::of(marks, as_of);
    let told = book.changes(marks, as_of);
    let mut tracks = Tracks::new(marks, told, attended, as_of, silent_after_s);
    let mut rows: Vec<_> = windows
        .iter()
        .map(|window| row(*window, &mut tracks, marks, &book))
        .collect();
    let open_from = open_from(marks, as_of, silent_after_s);
    let open_from = open_from.into_iter().chain(book.open_from()).min();
    let touched = touched_by(marks, &book, &windows);
    let earned = earned(marks, &book, &windows);
    for (((row, window), touched), earned) in rows.iter_mut().zip(&windows).zip(touched).zip(earned) {
        row.still_open = !window.is_empty() && open_from.is_some_and(|from| from < window.to);
        row.restated_at = touched.and_then(|touched| touched.restated_at(*window));
        row.touched = touched;
        row.earned = earned;
    }
    rows
}

/// Cut at `as_of`: nothing is said about the future.
pub(super) fn until(window: Window, as_of: Timestamp) -> Window {
    Window::new(window.from.min(as_of), window.to.min(as_of))
}

fn row(window: Window, tracks: &mut Tracks, marks: &MachineMarks, book: &Book) -> RowSeconds {
    let mut row = RowSeconds {
        window_s: window_s(window),
        ..RowSeconds::default()
    };
    tracks.walk(window, |stretch, moment| {
        row.count(stretch.us(), moment, marks, book);
    });
    row.seconds = by_category_s(&row.us, row.window_s);
    row.by_purpose_s = by_purpose_s(&row.by_purpose_us, row.seconds.in_cycle());
    row.stopped_s = by_reason_s(&row.stopped_us, &row, Category::StoppedInRun);
    row.down_s = by_reason_s(&row.down_us, &row, Category::Down);
    row
}

impl RowSeconds {
    fn count(&mut self, us: i64, moment: Moment, marks: &MachineMarks, book: &Book) {
        let category = moment.category();
        self.us[category] += us;
        if moment.cycles > 1 {
            self.cycle_overlap_us += us;
        }
        if category.is_in_cycle() {
            let purpose = book.purpose(moment.told);
            self.by_purpose_us.0[purpose.map_or(PURPOSES - 1, |purpose| purpose as usize)] += us;
            if moment.down.is_some() {
                self.in_cycle_against_down_us += us;
            }
            if !moment.machine_in_cycle() {
                self.in_cycle_by_people_us += us;
            }
        } else if category == Category::StoppedInRun {
            if let Some(reason) = book.reason(moment.told, &marks.runs) {
                add_to(&mut self.stopped_us, reason, us);
            }
        } else if category == Category::Down
            && let Some(reason) = down_reason(moment, &marks.downs)
        {
            add_to(&mut self.down_us, reason, us);
        }
        if moment.pool.is_known {
            self.pool_known_us += us;
        }
        if moment.told.in_cycle > 1 {
            self.run_overlap_us += us;
        }
        if moment.told.run != TellsOfRun::Nothing || moment.told.runs_begun {
            self.people_and_machine_disagree_us += if moment.people_and_machine_disagree() {
                us
            } else {
                0
            };
        }
    }
}

pub(super) fn down_reason(moment: Moment, downs: &[DownMark]) -> Option<&str> {
    let mark = downs.get(usize::try_from(moment.down?).ok()?)?;
    mark.reason.as_deref()
}

fn add_to(by_reason: &mut ByReason, reason: &str, us: i64) {
    if let Some(sum) = by_reason.get_mut(reason) {
        *sum += us;
    } else {
        by_reason.insert(reason.to_owned(), us);
    }
}

fn by_purpose_s(us: &ByPurpose, in_cycle_s: i64) -> ByPurpose {
    let mut seconds = ByPurpose(us.0);
    shared_s(&mut seconds.0, in_cycle_s);
    seconds
}

/// Together with what no reason was given for, they add up to the category's seconds.
fn by_reason_s(us: &ByReason, row: &RowSeconds, category: Category) -> ByReason {
    if us.is_empty() {
        return ByReason::new();
    }
    let mut parts: Vec<_> = us.values().copied().collect();
    parts.push(row.us[category] - parts.iter().sum::<i64>());
    shared_s(&mut parts, row.seconds[category]);
    us.keys().cloned().zip(parts).collect()
}

/// Since when a run or a down time goes on whose end nobody has told yet.
fn open_from(marks: &MachineMarks, as_of: Timestamp, silent_after_s: Option<u32>) -> Option<Timestamp> {
    let said = marks.signals[..marks.signals.partition_point(|mark| mark.at <= as_of)].last();
    let run = said.filter(|mark| {
        let silent_at =
            silent_after_s.map_or(Timestamp(i64::MAX), |seconds| mark.at.plus_s(i64::from(seconds)));
        as_of < silent_at && matches!(mark.state.meaning(), Meaning::InCycle | Meaning::StoppedInRun)
    });
    let set = marks.downs[..marks.downs.partition_point(|mark| mark.at <= as_of)].last();
    let down = set.filter(|mark| mark.reason.is_some());
    run.map(|mark| mark.at)
        .into_iter()
        .chain(down.map(|mark| mark.at))
        .min()
}

/// All layers side by side.
pub(super) struct Tracks<'a> {
    says: Says<'a>,
    cycles: Changes<u32>,
    covers: Changes<u32>,
    downs: Changes<Option<u32>>,
    attended: Changes<u32>,
    told: Changes<Told>,
    pool: Changes<PoolState>,
    first_word_at: i64,
}

impl<'a> Tracks<'a> {
    pub fn new(
        marks: &'a MachineMarks,
        told: Changes<Told>,
        attended: &[Window],
        as_of: Timestamp,
        silent_after_s: Option<u32>,
    ) -> Self {
        let spans = marks.cycles.iter().chain(&marks.covers).map(SpanMark::window);
        let first_span = spans.filter(|span| !span.is_empty()).map(|span| span.from);
        let first_state = marks.signals.first().map(|mark| mark.at);
        let first_word = first_state.into_iter().chain(first_span).min();
        Self {
            says: Says::new(&marks.signals, as_of, silent_after_s),
            cycles: Changes::of_windows(marks.cycles.iter().map(SpanMark::window)),
            covers: Changes::of_windows(marks.covers.iter().map(SpanMark::window)),
            downs: Changes::of_downs(&marks.downs, as_of),
            attended: Changes::of_windows(attended.iter().copied()),
            told,
            pool: Changes::of_pool(marks, as_of),
            first_word_at: first_word.map_or(i64::MAX, Timestamp::us),
        }
    }

    /// Calls `stretch` for each piece of the window in which nothing changes. Windows must come in order.
    pub fn walk(&mut self, window: Window, mut stretch: impl FnMut(Window, Moment)) {
        let (mut at, to) = (window.from.us(), window.to.us());
        while at < to {
            self.says.advance_to(at);
            self.cycles.advance_to(at);
            self.covers.advance_to(at);
            self.downs.advance_to(at);
            self.attended.advance_to(at);
            self.told.advance_to(at);
            self.pool.advance_to(at);
            let device = self.cycles.next_at().min(self.covers.next_at());
            let people = self.downs.next_at().min(self.told.next_at());
            let people = people.min(self.attended.next_at()).min(self.pool.next_at());
            let next = self.says.next_at.min(people).min(device).min(to);
            stretch(Window::new(Timestamp(at), Timestamp(next)), self.moment(at));
            at = next;
        }
    }

    fn moment(&self, at: i64) -> Moment {
        Moment {
            says: self.says.meaning,
            cycles: self.cycles.value,
            covered: self.covers.value > 0,
            has_spoken: self.first_word_at <= at,
            down: self.downs.value,
            attended: self.attended.value > 0,
            told: self.told.value,
            pool: self.pool.value,
        }
    }
}

//! The sweep: one forward pass over a machine's marks gives every row its categories.

use super::category::{ByCategory, Moment};
use super::seconds::{by_category_s, window_s};
use super::touched::{TouchedBy, touched_by};
use super::tracks::{Says, Steps};
use crate::machine_state::Meaning;
use crate::stretches::{MachineMarks, SpanMark};
use crate::time::{Timestamp, Window};

/// One row of one machine.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct RowSeconds {
    /// Between the row's rounded edges; rows that tile add up to the whole.
    pub window_s: i64,
    /// Add up to `window_s`.
    pub seconds: ByCategory,
    /// Add up to the row's microseconds.
    pub us: ByCategory,
    /// Where two or more of the device's cycles lie over each other. It is in the categories once.
    pub cycle_overlap_us: i64,
    /// In cycle although a person had set the machine down.
    pub in_cycle_against_down_us: i64,
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
    let mut tracks = Tracks::new(marks, attended, as_of, silent_after_s);
    let mut rows: Vec<_> = windows.iter().map(|window| row(*window, &mut tracks)).collect();
    let open_from = open_from(marks, as_of, silent_after_s);
    for ((row, window), touched) in rows.iter_mut().zip(&windows).zip(touched_by(marks, &windows)) {
        row.still_open = !window.is_empty() && open_from.is_some_and(|from| from < window.to);
        row.restated_at = touched.and_then(|touched| touched.restated_at(*window));
        row.touched = touched;
    }
    rows
}

/// Cut at `as_of`: nothing is said about the future.
pub(super) fn until(window: Window, as_of: Timestamp) -> Window {
    Window::new(window.from.min(as_of), window.to.min(as_of))
}

fn row(window: Window, tracks: &mut Tracks) -> RowSeconds {
    let mut row = RowSeconds {
        window_s: window_s(window),
        ..RowSeconds::default()
    };
    tracks.walk(window, |stretch, moment| {
        let us = stretch.us();
        let category = moment.category();
        row.us[category] += us;
        if moment.cycles > 1 {
            row.cycle_overlap_us += us;
        }
        if moment.down && category.is_in_cycle() {
            row.in_cycle_against_down_us += us;
        }
    });
    row.seconds = by_category_s(&row.us, row.window_s);
    row
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
    cycles: Steps,
    covers: Steps,
    downs: Steps,
    attended: Steps,
}

impl<'a> Tracks<'a> {
    pub fn new(
        marks: &'a MachineMarks,
        attended: &[Window],
        as_of: Timestamp,
        silent_after_s: Option<u32>,
    ) -> Self {
        Self {
            says: Says::new(&marks.signals, as_of, silent_after_s),
            cycles: Steps::of_windows(marks.cycles.iter().map(SpanMark::window)),
            covers: Steps::of_windows(marks.covers.iter().map(SpanMark::window)),
            downs: Steps::of_downs(&marks.downs, as_of),
            attended: Steps::of_windows(attended.iter().copied()),
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
            let people = self.downs.next_at().min(self.attended.next_at());
            let device = self.cycles.next_at().min(self.covers.next_at());
            let next = self.says.next_at.min(people).min(device).min(to);
            stretch(Window::new(Timestamp(at), Timestamp(next)), self.moment());
            at = next;
        }
    }

    fn moment(&self) -> Moment {
        Moment {
            says: self.says.meaning,
            cycles: self.cycles.value,
            covered: self.covers.value > 0,
            down: self.downs.value > 0,
            attended: self.attended.value > 0,
        }
    }
}

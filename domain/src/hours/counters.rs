//! Hours from the control's own counters: two readings give the hours of the stretch between them.

use super::seconds::window_s;
use super::sweep::until;
use crate::stretches::ReadingMark;
use crate::time::{Timestamp, Window};

/// What pairs of readings give for a row.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct CounterSeconds {
    pub powered_on_s: i64,
    pub in_cut_s: i64,
    /// How much of the row lies between readings. Of the rest the counters say nothing.
    pub covered_s: i64,
    /// How much of that lies between readings of which one is outside of the row: those hours are shared by time.
    pub shared_s: i64,
}

impl CounterSeconds {
    pub fn add(&mut self, other: &Self) {
        self.powered_on_s += other.powered_on_s;
        self.in_cut_s += other.in_cut_s;
        self.covered_s += other.covered_s;
        self.shared_s += other.shared_s;
    }
}

/// `None` where no pair of readings reaches into a row. `windows` are sorted and disjoint.
pub fn counters(
    readings: &[ReadingMark],
    windows: &[Window],
    as_of: Timestamp,
) -> Vec<Option<CounterSeconds>> {
    let mut rows = vec![None; windows.len()];
    let mut first_row = 0;
    // Of several readings at one instant the last one stands.
    let standing = readings
        .iter()
        .zip(readings.iter().skip(1).map(Some).chain([None]));
    let standing = standing.filter(|(reading, next)| next.is_none_or(|next| next.at != reading.at));
    let mut before: Option<&ReadingMark> = None;
    for (reading, _) in standing.take_while(|(reading, _)| reading.at <= as_of) {
        if let Some(pair) = before
            .replace(reading)
            .and_then(|before| Pair::of(before, reading))
        {
            while windows
                .get(first_row)
                .is_some_and(|window| window.to <= pair.window.from)
            {
                first_row += 1;
            }
            for (row, window) in rows.iter_mut().zip(windows).skip(first_row) {
                match pair.window.overlap(until(*window, as_of)) {
                    Some(common) => row
                        .get_or_insert_with(CounterSeconds::default)
                        .add(&pair.share(common)),
                    None => break,
                }
            }
        }
    }
    rows
}

struct Pair {
    window: Window,
    powered_on_s: i64,
    in_cut_s: i64,
}

impl Pair {
    /// A counter that starts anew, or runs backwards without saying so, gives no hours.
    fn of(before: &ReadingMark, reading: &ReadingMark) -> Option<Self> {
        let powered_on_s = reading.powered_on_s.checked_sub(before.powered_on_s)?;
        let in_cut_s = reading.in_cut_s.checked_sub(before.in_cut_s)?;
        (!reading.reset && powered_on_s >= 0 && in_cut_s >= 0).then_some(Self {
            window: Window::new(before.at, reading.at),
            powered_on_s,
            in_cut_s,
        })
    }

    fn share(&self, common: Window) -> CounterSeconds {
        CounterSeconds {
            powered_on_s: self.until(common.to, self.powered_on_s)
                - self.until(common.from, self.powered_on_s),
            in_cut_s: self.until(common.to, self.in_cut_s) - self.until(common.from, self.in_cut_s),
            covered_s: window_s(common),
            shared_s: if common == self.window {
                0
            } else {
                window_s(common)
            },
        }
    }

    /// What the counter had counted at an instant between. Differences of this add up to the pair's whole.
    fn until(&self, at: Timestamp, counted_s: i64) -> i64 {
        let (part, whole) = (
            i128::from(at.since_us(self.window.from)),
            i128::from(self.window.us()),
        );
        let share = (i128::from(counted_s) * part * 2 + whole) / (whole * 2);
        i64::try_from(share).unwrap_or(counted_s)
    }
}

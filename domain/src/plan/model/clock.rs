//! Time as a schedule counts it: whole seconds from now on, and stretches of them.

use crate::calendar::{CalendarVersions, attended, shifts_in};
use crate::time::{Timestamp, US_PER_SECOND, Window};
use chrono_tz::Tz;

/// The instant from which seconds are counted: now, or the next whole second.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Clock {
    pub start: Timestamp,
}

impl Clock {
    pub fn from(now: Timestamp) -> Self {
        let to_next = now.us().rem_euclid(US_PER_SECOND);
        let us = if to_next == 0 { 0 } else { US_PER_SECOND - to_next };
        Self {
            start: now.plus_us(us),
        }
    }

    pub const fn at(self, second: i64) -> Timestamp {
        self.start.plus_s(second)
    }

    /// The first whole second that is not before `at`.
    pub const fn not_before(self, at: Timestamp) -> i64 {
        -(-at.since_us(self.start)).div_euclid(US_PER_SECOND)
    }

    /// The last whole second that is not after `at`.
    pub const fn not_after(self, at: Timestamp) -> i64 {
        at.since_us(self.start).div_euclid(US_PER_SECOND)
    }

    fn stretch(self, window: Window) -> Stretch {
        Stretch {
            from: self.not_before(window.from).max(0),
            to: self.not_after(window.to),
        }
    }

    pub fn window(self, from: i64, to: i64) -> Window {
        Window::new(self.at(from), self.at(to))
    }
}

/// From `from` until just before `to`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stretch {
    pub from: i64,
    pub to: i64,
}

/// In order, without overlap, with the way to the one that holds a second.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Stretches {
    all: Vec<Stretch>,
    /// By day from now on: the first stretch that ends after its beginning.
    by_day: Vec<usize>,
}

const DAY_S: i64 = 86_400;

impl Stretches {
    pub fn new(all: Vec<Stretch>, reach_s: i64) -> Self {
        let days = reach_s / DAY_S + 1;
        let first_after = |second: i64| all.partition_point(|stretch| stretch.to <= second);
        let by_day = (0..=days).map(|day| first_after(day * DAY_S)).collect();
        Self { all, by_day }
    }

    pub fn always(reach_s: i64) -> Self {
        Self::new(vec![Stretch { from: 0, to: reach_s }], reach_s)
    }

    pub fn as_slice(&self) -> &[Stretch] {
        &self.all
    }

    /// The first stretch that ends after `second`; as many as there are if none does.
    pub fn first_after(&self, second: i64) -> usize {
        let day = usize::try_from(second.max(0) / DAY_S).unwrap_or(usize::MAX);
        let mut index = self.by_day.get(day).copied().unwrap_or(self.all.len());
        while self.all.get(index).is_some_and(|stretch| stretch.to <= second) {
            index += 1;
        }
        index
    }

    /// The first second from `second` on at which something of this length fits into one stretch.
    pub fn fit(&self, second: i64, length_s: i64) -> Option<i64> {
        let mut index = self.first_after(second);
        loop {
            let stretch = self.all.get(index)?;
            let from = second.max(stretch.from);
            if from + length_s <= stretch.to {
                return Some(from);
            }
            index += 1;
        }
    }

    /// The first second from `second` on that lies in a stretch.
    pub fn next(&self, second: i64) -> Option<i64> {
        let stretch = self.all.get(self.first_after(second))?;
        Some(second.max(stretch.from))
    }

    pub fn contains(&self, second: i64) -> bool {
        let stretch = self.all.get(self.first_after(second));
        stretch.is_some_and(|stretch| stretch.from <= second)
    }

    pub fn longest_s(&self) -> i64 {
        let lengths = self.all.iter().map(|stretch| stretch.to - stretch.from);
        lengths.max().unwrap_or(0)
    }
}

/// A calendar, its zone, and how far to look.
#[derive(Clone, Copy)]
pub struct Days<'a> {
    pub clock: Clock,
    pub zone: Tz,
    pub versions: &'a CalendarVersions,
    pub reach_s: i64,
}

impl Days<'_> {
    fn window(&self) -> Window {
        self.clock.window(0, self.reach_s)
    }

    /// Shifts without their breaks, each on its own: whoever begins something in a shift ends it there. Only those in
    /// which so many people are there.
    pub fn staffed(&self, people: impl Fn(&crate::code::Name) -> bool) -> Stretches {
        // Before a shop has a calendar nobody can tell, and whoever acts is there.
        if self.versions.is_empty() {
            return Stretches::always(self.reach_s);
        }
        let window = self.window();
        let mut all = Vec::new();
        for shift in shifts_in(self.versions, self.zone, window) {
            if !people(&shift.name) {
                continue;
            }
            let mut from = shift.window.from;
            for pause in &shift.breaks {
                self.push(&mut all, Window::new(from, pause.from));
                from = pause.to;
            }
            self.push(&mut all, Window::new(from, shift.window.to));
        }
        Stretches::new(all, self.reach_s)
    }

    pub fn attended(&self) -> Stretches {
        if self.versions.is_empty() {
            return Stretches::always(self.reach_s);
        }
        let mut all = Vec::new();
        for window in attended(self.versions, self.zone, self.window()) {
            self.push(&mut all, window);
        }
        Stretches::new(all, self.reach_s)
    }

    fn push(&self, all: &mut Vec<Stretch>, window: Window) {
        let Some(window) = window.overlap(self.window()) else {
            return;
        };
        let stretch = self.clock.stretch(window);
        if stretch.from < stretch.to {
            all.push(stretch);
        }
    }
}

//! When people are there.

use crate::demo::frame::{Frame, ZONE};
use spindlebook_domain::calendar::{self, CalendarVersions};
use spindlebook_domain::time::{Timestamp, Window};

pub struct Staff {
    /// Shifts that follow each other without a gap are one.
    attended: Vec<Window>,
    /// Without breaks.
    staffed: Vec<Window>,
}

impl Staff {
    pub fn of(calendar: &CalendarVersions, frame: &Frame) -> Self {
        let all = Window::new(frame.opened_at, frame.now.plus_s(14 * 86_400));
        let mut attended: Vec<Window> = Vec::new();
        for shift in calendar::attended(calendar, ZONE, all) {
            match attended.last_mut() {
                Some(last) if last.to == shift.from => last.to = shift.to,
                _ => attended.push(shift),
            }
        }
        Self {
            attended,
            staffed: calendar::staffed(calendar, ZONE, all),
        }
    }

    pub fn is_there(&self, at: Timestamp) -> bool {
        self.leaves_at(at).is_some()
    }

    /// When the last person goes home; `None` if nobody is there.
    pub fn leaves_at(&self, at: Timestamp) -> Option<Timestamp> {
        within(&self.attended, at).map(|shift| shift.to)
    }

    /// The next instant at which somebody comes to work.
    pub fn comes_at(&self, at: Timestamp) -> Timestamp {
        next(&self.attended, at)
    }

    /// `at`, or when the break or the night is over.
    pub fn works_from(&self, at: Timestamp) -> Timestamp {
        within(&self.staffed, at).map_or_else(|| next(&self.staffed, at), |_| at)
    }

    /// When those who are there came.
    pub fn came_at(&self, at: Timestamp) -> Timestamp {
        within(&self.attended, at).map_or(at, |shift| shift.from)
    }
}

fn within(windows: &[Window], at: Timestamp) -> Option<Window> {
    let index = windows.partition_point(|window| window.to <= at);
    windows.get(index).copied().filter(|window| window.from <= at)
}

/// Far beyond the story there is none.
fn next(windows: &[Window], at: Timestamp) -> Timestamp {
    let index = windows.partition_point(|window| window.from <= at);
    windows.get(index).map_or(Timestamp::MAX, |window| window.from)
}

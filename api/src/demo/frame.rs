//! The time that the story covers, and the days on which something special happens.

use chrono::{Datelike, Days, NaiveDate, NaiveTime, Weekday};
use chrono_tz::Tz;
use spindlebook_domain::calendar::CalendarVersions;
use spindlebook_domain::local_time::{boundary, local_date, local_instant, monday_of};
use spindlebook_domain::time::{Timestamp, US_PER_SECOND, Window};

pub const ZONE: Tz = chrono_tz::Europe::Berlin;
/// Weeks before the current one.
const WEEKS: u64 = 5;

#[derive(Clone, Debug)]
pub struct Frame {
    pub now: Timestamp,
    /// When the site is opened, some days before the first shift.
    pub opened_at: Timestamp,
    /// The Monday with which the story begins.
    pub first: NaiveDate,
    /// Before this Monday it is told in less detail.
    pub detailed_from: NaiveDate,
    /// The Monday of the current week.
    pub this_week: NaiveDate,
    /// The last change of the clocks; always in the story.
    pub clock_change: Timestamp,
    pub site_calendar: CalendarVersions,
    /// The standalone machine's cell works another shift.
    pub day_calendar: CalendarVersions,
}

impl Frame {
    pub fn ending(now: Timestamp) -> Self {
        let now = Timestamp(now.us() / US_PER_SECOND * US_PER_SECOND);
        let this_week = monday_of(local_date(ZONE, now));
        let detailed_from = earlier(this_week, WEEKS * 7);
        let clock_change = last_clock_change(now);
        // The change is on a Sunday, at the end of its week.
        let first = detailed_from.min(monday_of(local_date(ZONE, clock_change)));
        let mut frame = Self {
            now,
            opened_at: Timestamp::MIN,
            first,
            detailed_from,
            this_week,
            clock_change,
            site_calendar: CalendarVersions::default(),
            day_calendar: CalendarVersions::default(),
        };
        frame.opened_at = frame.wall(earlier(first, 4), 10, 0);
        frame.site_calendar = super::calendar::of_site(&frame);
        frame.day_calendar = super::calendar::of_days(&frame);
        frame
    }

    /// A day of a week so many weeks before the current one.
    pub fn day(&self, weeks_ago: u64, weekday: Weekday) -> NaiveDate {
        let days = u64::from(weekday.num_days_from_monday());
        later(earlier(self.this_week, weeks_ago * 7), days)
    }

    pub fn wall(&self, date: NaiveDate, hour: u32, minute: u32) -> Timestamp {
        let time = NaiveTime::from_hms_opt(hour, minute, 0).unwrap_or(NaiveTime::MIN);
        boundary(ZONE, date.and_time(time)).at
    }

    /// The first instant that the story tells of.
    pub fn begins(&self) -> Timestamp {
        self.wall(self.first, 0, 0)
    }

    pub fn is_detailed(&self, at: Timestamp) -> bool {
        at >= self.wall(self.detailed_from, 0, 0)
    }

    /// The weeks of which only the machines tell. Empty if the clocks changed lately.
    pub fn before(&self) -> Window {
        Window::new(self.begins(), self.wall(self.detailed_from, 0, 0))
    }

    pub fn all(&self) -> Window {
        Window::new(self.begins(), self.now)
    }

    /// From Monday's first shift to the next one.
    pub fn week(&self, monday: NaiveDate) -> Window {
        Window::new(self.wall(monday, 6, 0), self.wall(later(monday, 7), 6, 0))
    }

    /// The week before the current one, by calendar days.
    pub fn last_week(&self) -> Window {
        let monday = earlier(self.this_week, 7);
        Window::new(self.wall(monday, 0, 0), self.wall(self.this_week, 0, 0))
    }

    pub fn last_week_name(&self) -> String {
        let week = earlier(self.this_week, 7).iso_week();
        format!("{}-W{:02}", week.year(), week.week())
    }

    /// Whole and begun ones.
    pub fn weeks(&self) -> i64 {
        (self.this_week - self.first).num_weeks() + 1
    }

    /// The late shift of that Saturday, in which everybody fills the long night.
    pub fn is_before_clock_change(&self, at: Timestamp) -> bool {
        Window::new(self.clock_change.plus_s(-12 * 3_600), self.clock_change).contains(at)
    }

    /// The Saturday before the clock change: it is worked until late in the night, and what is loaded runs over the change.
    pub fn long_saturday(&self) -> NaiveDate {
        earlier(local_date(ZONE, self.clock_change), 1)
    }
}

pub fn later(date: NaiveDate, days: u64) -> NaiveDate {
    date.checked_add_days(Days::new(days)).unwrap_or(date)
}

pub fn earlier(date: NaiveDate, days: u64) -> NaiveDate {
    date.checked_sub_days(Days::new(days)).unwrap_or(date)
}

/// Zones of Europe change twice a year, so it is never far; the search ends after two years all the same.
fn last_clock_change(now: Timestamp) -> Timestamp {
    const HOURS_MAX: i64 = 2 * 366 * 24;
    let offset = |at| local_instant(ZONE, at).utc_offset_s;
    let hour = |hours: i64| {
        Timestamp(now.us() / (3_600 * US_PER_SECOND) * 3_600 * US_PER_SECOND).plus_s(-hours * 3_600)
    };
    (0..HOURS_MAX)
        .map(hour)
        .find(|at| offset(at.plus_s(-1)) != offset(*at))
        .unwrap_or(now)
}

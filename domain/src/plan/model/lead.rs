//! Manual steps: when pieces come back that are handed over at a second.

use super::clock::{Clock, Stretches};
use super::{NEVER, REACH_S};
use crate::calendar::CalendarVersions;
use crate::calendar::{shifts_of, staffed};
use crate::ids::VendorId;
use crate::local_time::{local_date, start_of_day};
use crate::part::{Lead as LeadTime, Manual};
use crate::shop::Shop;
use crate::site::Site;
use crate::time::Timestamp;
use chrono::NaiveDate;

/// From handing over to having back.
#[derive(Clone, Debug)]
pub enum Lead {
    /// So much of the site's staffed time.
    Staffed { lead_s: i64, staffed: Vec<Shift> },
    /// By the local day of the hand-over: from when on it is back.
    Days { midnights: Vec<i64>, back: Vec<i64> },
}

/// A staffed stretch and how much staffed time was before it.
#[derive(Clone, Copy, Debug)]
pub struct Shift {
    from: i64,
    to: i64,
    before_s: i64,
}

impl Lead {
    pub fn back_at(&self, second: i64) -> i64 {
        match self {
            Self::Staffed { lead_s, staffed } => staffed_later(staffed, second, *lead_s),
            Self::Days { midnights, back } => {
                let day = midnights.partition_point(|midnight| *midnight <= second);
                back.get(day.saturating_sub(1)).copied().unwrap_or(NEVER)
            }
        }
    }
}

fn staffed_later(staffed: &[Shift], second: i64, lead_s: i64) -> i64 {
    if lead_s == 0 {
        return second;
    }
    let index = staffed.partition_point(|shift| shift.to <= second);
    let Some(shift) = staffed.get(index) else {
        return NEVER;
    };
    let end_s = shift.before_s + (second - shift.from).max(0) + lead_s;
    let last = staffed.partition_point(|shift| shift.before_s + (shift.to - shift.from) < end_s);
    staffed
        .get(last)
        .map_or(NEVER, |shift| shift.from + (end_s - shift.before_s))
}

pub fn lead(shop: &Shop, site: &Site, clock: Clock, manual: Manual) -> Lead {
    match manual.lead {
        LeadTime::StaffedTime { lead_s } => Lead::Staffed {
            lead_s: i64::from(lead_s),
            staffed: shifts(site, clock),
        },
        LeadTime::WorkingDays { lead_days } => days(shop, site, clock, manual.vendor, lead_days),
    }
}

fn shifts(site: &Site, clock: Clock) -> Vec<Shift> {
    let all = if site.calendar.is_empty() {
        Stretches::always(REACH_S).as_slice().to_vec()
    } else {
        let windows = staffed(&site.calendar, site.zone, clock.window(0, REACH_S));
        let stretch = |window: &crate::time::Window| super::Stretch {
            from: clock.not_before(window.from),
            to: clock.not_after(window.to),
        };
        windows.iter().map(stretch).collect()
    };
    let mut before_s = 0;
    let shift = |stretch: super::Stretch| {
        let shift = Shift {
            from: stretch.from,
            to: stretch.to,
            before_s,
        };
        before_s += stretch.to - stretch.from;
        shift
    };
    all.into_iter().map(shift).collect()
}

/// Back by the end of the day on which it is due: the next day finds it here.
fn days(shop: &Shop, site: &Site, clock: Clock, vendor: Option<VendorId>, lead_days: u32) -> Lead {
    let vendor = vendor.and_then(|vendor| shop.vendors.get(&vendor));
    let works = |date: NaiveDate| match vendor {
        Some(vendor) => vendor.works_on(date),
        None => works_on(&site.calendar, site, date),
    };
    let first = local_date(site.zone, clock.start);
    let dates: Vec<_> = first.iter_days().take(2 * 366).collect();
    let second = |date: NaiveDate| clock.not_before(start_of_day(site.zone, date));
    let working: Vec<usize> = (0..dates.len()).filter(|day| works(dates[*day])).collect();
    let back_of = |day: usize| {
        let due = match usize::try_from(lead_days) {
            Ok(0) => Some(day),
            Ok(days) => {
                let later = working.partition_point(|working| *working <= day);
                working.get(later + days - 1).copied()
            }
            Err(_) => None,
        };
        let next = due.and_then(|due| dates.get(due + 1));
        next.map_or(NEVER, |date| second(*date))
    };
    Lead::Days {
        midnights: dates.iter().take(366).map(|date| second(*date)).collect(),
        back: (0..366).map(back_of).collect(),
    }
}

fn works_on(calendar: &CalendarVersions, site: &Site, date: NaiveDate) -> bool {
    calendar.is_empty() || !shifts_of(calendar, site.zone, date).is_empty()
}

/// The end of a local day.
pub fn end_of_day(site: &Site, clock: Clock, date: NaiveDate) -> i64 {
    let next = date.succ_opt().unwrap_or(date);
    clock.not_before(start_of_day(site.zone, next))
}

/// The end of the local day on which an instant lies.
pub fn end_of_its_day(site: &Site, clock: Clock, at: Timestamp) -> i64 {
    end_of_day(site, clock, local_date(site.zone, at))
}

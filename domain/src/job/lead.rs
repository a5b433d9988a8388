//! When a manual or outside step should be back.

use crate::calendar::{CalendarVersions, shifts_of, staffed};
use crate::local_time::{local_date, start_of_day};
use crate::part::{Lead, Manual};
use crate::shop::Shop;
use crate::site::Site;
use crate::time::{Timestamp, US_PER_SECOND, Window};
use chrono::{Days, NaiveDate};
use chrono_tz::Tz;

/// Whoever works less than that has no calendar that a date could be told from.
const DAYS_LOOKED_AT_MAX: u64 = 1_500;
const DAYS_AT_ONCE: u64 = 14;

/// The day by whose end it should be back. `None` where the calendar tells no such day.
pub fn due_of(shop: &Shop, site: &Site, manual: Manual, out_at: Timestamp) -> Option<NaiveDate> {
    let out_on = local_date(site.zone, out_at);
    match manual.lead {
        Lead::WorkingDays { lead_days } => match manual.vendor.and_then(|vendor| shop.vendors.get(&vendor)) {
            Some(vendor) => vendor.due_after(out_on, lead_days),
            None => own_working_day(&site.calendar, site.zone, out_on, lead_days),
        },
        Lead::StaffedTime { lead_s } => staffed_day(&site.calendar, site.zone, out_at, lead_s),
    }
}

/// The day of receipt does not count.
fn own_working_day(
    calendar: &CalendarVersions,
    zone: Tz,
    out_on: NaiveDate,
    lead_days: u32,
) -> Option<NaiveDate> {
    let Some(further) = lead_days.checked_sub(1) else {
        return Some(out_on);
    };
    let reach = usize::try_from(DAYS_LOOKED_AT_MAX).ok()?;
    let days = out_on.iter_days().skip(1).take(reach);
    days.filter(|date| !shifts_of(calendar, zone, *date).is_empty())
        .nth(usize::try_from(further).ok()?)
}

fn staffed_day(calendar: &CalendarVersions, zone: Tz, out_at: Timestamp, lead_s: u32) -> Option<NaiveDate> {
    let mut left_us = i64::from(lead_s) * US_PER_SECOND;
    let (mut from, mut looked_at) = (out_at, 0);
    while left_us > 0 && looked_at < DAYS_LOOKED_AT_MAX {
        let until = local_date(zone, from).checked_add_days(Days::new(DAYS_AT_ONCE))?;
        let to = start_of_day(zone, until);
        for stretch in staffed(calendar, zone, Window::new(from, to)) {
            if stretch.us() >= left_us {
                return Some(local_date(zone, stretch.from.plus_us(left_us - 1)));
            }
            left_us -= stretch.us();
        }
        from = to;
        looked_at += DAYS_AT_ONCE;
    }
    (left_us <= 0).then(|| local_date(zone, out_at))
}

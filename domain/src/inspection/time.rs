//! Shifts, and when inspectors are there.

use crate::calendar::{CalendarVersions, attended, shifts_in};
use crate::ids::CellId;
use crate::shop::Shop;
use crate::time::{Timestamp, Window};
use chrono::NaiveDate;

/// After the longest holidays somebody has worked.
const LOOK_BACK_DAYS: i64 = 45;

/// When the shift began that it was, or that was the last one before. `None` before any, and without a calendar.
pub fn shift_start(shop: &Shop, cell: CellId, at: Timestamp) -> Option<Timestamp> {
    let zone = shop.site.as_ref()?.zone;
    let versions = shop.calendar_of(cell)?;
    let begun = |days: i64| {
        let window = Window::new(at.plus_s(-days * 86_400), at.plus_us(1));
        let shifts = shifts_in(versions, zone, window);
        let begun = shifts.into_iter().map(|shift| shift.window.from);
        begun.filter(|from| *from <= at).max()
    };
    // Nearly always it was within two days.
    begun(2).or_else(|| begun(LOOK_BACK_DAYS))
}

/// By the hours of the inspectors, else by the site's. Where nobody has said when they are there, they always are.
pub fn is_inspector_there(shop: &Shop, at: Timestamp) -> bool {
    let Some(site) = &shop.site else { return true };
    let own = site.people.inspectors.as_ref().map(|calendar| {
        let mut versions = CalendarVersions::default();
        versions.set(NaiveDate::default(), calendar.clone());
        versions
    });
    let versions = own.as_ref().unwrap_or(&site.calendar);
    let instant = Window::new(at, at.plus_us(1));
    versions.is_empty() || !attended(versions, site.zone, instant).is_empty()
}

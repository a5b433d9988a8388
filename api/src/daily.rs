//! The report of each cell's day, kept as it was first given, and again whenever its figures have become others.
//!
//! The hours of a day can change after it: entries come late, runs are counted, pieces are judged. Whoever was shown a
//! figure must be able to find it again, and see what became of it.

use crate::book::Book;
use crate::hours::{Hours, HoursError, HoursRequest, HoursSource};
use crate::http::hours::dto::RowDto;
use serde_json::Value;
use spindlebook_domain::cell::Cell;
use spindlebook_domain::hours::rows::{By, DayRule};
use spindlebook_domain::hours::{ReportRow, SETTLING_S};
use spindlebook_domain::ids::SiteId;
use spindlebook_domain::local_time::{local_date, start_of_day};
use spindlebook_domain::time::Window;
use spindlebook_store::StoreError;
use spindlebook_store::daily_report::{self, DailyReport};
use std::collections::BTreeMap;
use std::time::Duration;

/// How often it is looked whether there is something to report.
pub const EVERY: Duration = Duration::from_mins(5);

/// Days that ended longer ago are not looked at again; the report of hours shows them as they are now.
pub const LOOKED_BACK_DAYS: u64 = 62;

#[derive(Debug, thiserror::Error)]
pub enum DailyError {
    #[error(transparent)]
    Hours(#[from] HoursError),
    #[error(transparent)]
    Store(#[from] StoreError),
    #[error("a report cannot be written as JSON: {0}")]
    Json(#[from] serde_json::Error),
}

/// Keeps what there is to report of every cell of every site, and tells how many reports that were.
pub async fn keep(book: &Book, hours: &Hours) -> Result<usize, DailyError> {
    let mut kept = 0;
    for (site, _) in book.sites() {
        let Some(shop) = book.shop(site) else { continue };
        let source = HoursSource {
            site,
            shop,
            as_of: book.now(),
            rebuilds: book.rebuilds(site),
        };
        for cell in source.shop.cells.sorted().into_values() {
            kept += keep_of_cell(book, hours, &source, cell).await?;
        }
    }
    Ok(kept)
}

async fn keep_of_cell(
    book: &Book,
    hours: &Hours,
    source: &HoursSource,
    cell: &Cell,
) -> Result<usize, DailyError> {
    let Some(zone) = source.shop.site.as_ref().map(|site| site.zone) else {
        return Ok(0);
    };
    let today = local_date(zone, source.as_of);
    let first = today - chrono::Days::new(LOOKED_BACK_DAYS);
    let asked = HoursRequest {
        cell: cell.id,
        machine: None,
        window: Window::new(start_of_day(zone, first), source.as_of),
        by: By::Day,
        rule: DayRule::ShiftDate,
    };
    let report = hours.report(source, &asked).await?;
    let settled = report.rows.iter().filter(|row| is_settled(row, source));
    let days = (first.to_string(), today.to_string());
    let mut session = book.store().session().await?;
    let known = daily_report::of_days(&mut session, source.site, cell.id, (&days.0, &days.1)).await?;
    drop(session);
    // In the order of the versions: the last one of a day stands.
    let newest: BTreeMap<_, _> = known.iter().map(|report| (report.day.as_str(), report)).collect();
    let mut new = Vec::new();
    for row in settled {
        let shown = RowDto::new(&source.shop, cell, zone, row);
        let body = serde_json::to_value(&shown)?;
        let day = row.row.date.to_string();
        let before = newest.get(day.as_str());
        let changed = match before {
            Some(before) => !says_the_same(&serde_json::from_str(&before.body)?, &body),
            None => row.machines.iter().any(|machine| machine.touched.is_some()),
        };
        if changed {
            new.push(DailyReport {
                cell: cell.id,
                day,
                version: before.map_or(1, |before| before.version + 1),
                seq: source.shop.seq,
                computed_at: source.as_of,
                body: body.to_string(),
            });
        }
    }
    add(book, source.site, &new).await?;
    Ok(new.len())
}

async fn add(book: &Book, site: SiteId, new: &[DailyReport]) -> Result<(), StoreError> {
    if new.is_empty() {
        return Ok(());
    }
    let mut transaction = book.store().begin().await?;
    daily_report::add(&mut transaction, site, new).await?;
    transaction.commit().await
}

fn is_settled(row: &ReportRow, source: &HoursSource) -> bool {
    let settled_at = row.row.window.to.plus_s(SETTLING_S);
    !row.row.in_progress && !row.row.is_clipped() && settled_at <= source.as_of
}

/// Whether everything that a kept report says is still so. What an older service did not know to say is no change, nor
/// are entries that left the figures as they were.
fn says_the_same(kept: &Value, now: &Value) -> bool {
    const NO_FIGURES: [&str; 4] = ["entries", "entries_href", "restated_at", "code"];
    match (kept, now) {
        (Value::Object(kept), Value::Object(now)) => {
            let mut figures = kept
                .iter()
                .filter(|(name, _)| !NO_FIGURES.contains(&name.as_str()));
            figures.all(|(name, kept)| now.get(name).is_some_and(|now| says_the_same(kept, now)))
        }
        (Value::Array(kept), Value::Array(now)) => {
            kept.len() == now.len() && kept.iter().zip(now).all(|(kept, now)| says_the_same(kept, now))
        }
        _ => kept == now,
    }
}

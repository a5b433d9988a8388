//! The hours of a cell from the store.

use super::failure::Failure;
use super::row_choice::RowChoice;
use crate::book::{Book, Current};
use chrono_tz::Tz;
use spindlebook_domain::calendar::{CalendarVersions, attended, staffed};
use spindlebook_domain::cell::Cell;
use spindlebook_domain::hours::rows::{Cut, Row, rows};
use spindlebook_domain::hours::{CellInput, HoursReport, MachineInput, Plans, PublishedPlan, report};
use spindlebook_domain::ids::{MachineId, Seq, SiteId};
use spindlebook_domain::machine::Machine;
use spindlebook_domain::stretches::{MachineMarks, needs_of};
use spindlebook_domain::time::{Timestamp, Window};
use spindlebook_store::read::{StretchRow, plans_in_force, stretches_for};
use spindlebook_store::{Session, StoreError};

pub struct CellHours {
    pub report: HoursReport,
    pub machines: Vec<Machine>,
    pub zone: Tz,
    pub as_of: Timestamp,
    /// The entry up to which the ledger was taken into account.
    pub seq: Seq,
}

pub struct Question<'a> {
    pub cell: &'a Cell,
    pub window: Window,
    pub choice: RowChoice,
}

pub async fn answer(
    book: &Book,
    site: SiteId,
    current: &Current,
    asked: &Question<'_>,
) -> Result<CellHours, Failure> {
    let (shop, as_of) = (&current.shop, book.now());
    let zone = shop.site.as_ref().map_or(Tz::UTC, |site| site.zone);
    let nobody = CalendarVersions::default();
    let calendar = shop.calendar_of(asked.cell.id).unwrap_or(&nobody);
    let cut = Cut {
        calendar,
        zone,
        by: asked.choice.by(),
        rule: asked.choice.day_rule(),
    };
    let rows = rows(&cut, asked.window, as_of);
    let machines: Vec<_> = shop.machines_of(asked.cell.id).into_iter().cloned().collect();
    let ids: Vec<_> = machines.iter().map(|machine| machine.id).collect();
    let mut session = book.store().frozen_session().await?;
    let plans = plans(&mut session, site, &rows).await?;
    let stretches = stretches_for(&mut session, site, &ids, &needs_of(asked.window)).await?;
    let marks: Vec<_> = ids.iter().map(|machine| marks_of(*machine, &stretches)).collect();
    let inputs = machines.iter().zip(&marks).map(|(machine, marks)| MachineInput {
        machine: machine.id,
        marks,
        silent_after_s: machine.silent_after_s,
    });
    let inputs: Vec<_> = inputs.collect();
    let (staffed, attended) = (
        staffed(calendar, zone, asked.window),
        attended(calendar, zone, asked.window),
    );
    let input = CellInput {
        staffed: &staffed,
        attended: &attended,
        plans: &plans,
        machines: &inputs,
    };
    Ok(CellHours {
        report: report(rows, &input, as_of),
        machines,
        zone,
        as_of,
        seq: current.head.seq,
    })
}

/// Those in force when one of the shifts or gaps in the rows began, which may be some time before the first row.
async fn plans(session: &mut Session, site: SiteId, rows: &[Row]) -> Result<Plans, StoreError> {
    let pieces = || rows.iter().flat_map(|row| &row.pieces);
    let (Some(from), Some(to)) = (
        pieces().map(|piece| piece.began).min(),
        pieces().map(|piece| piece.window.to).max(),
    ) else {
        return Ok(Plans::default());
    };
    let rows = plans_in_force(session, site, Window::new(from, to)).await?;
    let published = rows.into_iter().filter_map(|plan| {
        Some(PublishedPlan {
            plan: plan.id,
            recorded_at: plan.published?.0,
            slots: plan.slots,
        })
    });
    Ok(Plans::new(published.collect()))
}

fn marks_of(machine: MachineId, stretches: &[StretchRow]) -> MachineMarks {
    let mine = stretches.iter().filter(|row| row.machine == machine);
    MachineMarks::from_rows(mine.map(|row| row.marks.clone()))
}

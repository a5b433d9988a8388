//! What a report is computed from, out of the read tables.

use spindlebook_domain::hours::rows::Row;
use spindlebook_domain::hours::{Plans, PublishedPlan};
use spindlebook_domain::ids::{MachineId, Seq, SiteId};
use spindlebook_domain::machine::Machine;
use spindlebook_domain::stretches::{DayMarks, Layer, MachineMarks, needs_of};
use spindlebook_domain::time::Window;
use spindlebook_store::read;
use spindlebook_store::{Session, StoreError};
use std::collections::HashMap;

/// Everything that the window's hours of these machines rest on. A machine without any row has empty marks.
pub async fn marks(
    session: &mut Session,
    site: SiteId,
    machines: &[MachineId],
    window: Window,
) -> Result<HashMap<MachineId, MachineMarks>, StoreError> {
    let rows = read::stretches_for(session, site, machines, &needs_of(window)).await?;
    let mut by_machine = HashMap::<_, Vec<DayMarks>>::new();
    for row in rows {
        by_machine.entry(row.machine).or_default().push(row.marks);
    }
    let load = |machine: &MachineId| {
        let rows = by_machine.remove(machine).unwrap_or_default();
        (*machine, MachineMarks::from_rows(rows))
    };
    Ok(machines.iter().map(load).collect())
}

/// The marks that these rows rest on.
pub async fn marks_of(
    session: &mut Session,
    site: SiteId,
    machines: &[Machine],
    rows: &[Row],
) -> Result<HashMap<MachineId, MachineMarks>, StoreError> {
    let machines: Vec<_> = machines.iter().map(|machine| machine.id).collect();
    match rows.first().zip(rows.last()) {
        Some((first, last)) => {
            marks(
                session,
                site,
                &machines,
                Window::new(first.window.from, last.window.to),
            )
            .await
        }
        None => Ok(HashMap::new()),
    }
}

/// The plans that were in force when any shift or gap of these rows began.
pub async fn plans_of(session: &mut Session, site: SiteId, rows: &[Row]) -> Result<Plans, StoreError> {
    let pieces = rows.iter().flat_map(|row| &row.pieces);
    let from = pieces.map(|piece| piece.began).min();
    let Some((from, last)) = from.zip(rows.last()) else {
        return Ok(Plans::default());
    };
    let rows = read::plans_in_force(session, site, Window::new(from, last.window.to)).await?;
    let published = rows.into_iter().filter_map(|row| {
        Some(PublishedPlan {
            plan: row.id,
            recorded_at: row.published?.0,
            slots: row.slots,
        })
    });
    Ok(Plans::new(published.collect()))
}

/// Only the readings of a window's days.
pub async fn readings(
    session: &mut Session,
    site: SiteId,
    machine: MachineId,
    window: Window,
) -> Result<MachineMarks, StoreError> {
    let mut needs = needs_of(window).to_vec();
    needs.retain(|need| need.layer == Layer::Readings);
    let rows = read::stretches_for(session, site, &[machine], &needs).await?;
    Ok(MachineMarks::from_rows(rows.into_iter().map(|row| row.marks)))
}

/// The newest entry that settled hours of the window rest on, by machine; machines without any are left out.
///
/// What comes after the window tells whether a run or a down time has ended, and of settled hours that is known
/// already. Only the first reading after it reaches back: `is_read_on` says that there is one.
pub async fn newest(
    session: &mut Session,
    site: SiteId,
    machines: &[MachineId],
    window: Window,
    is_read_on: bool,
) -> Result<HashMap<MachineId, Seq>, StoreError> {
    let mut needs = needs_of(window);
    for need in &mut needs {
        need.first_after &= need.layer == Layer::Readings && !is_read_on;
    }
    let newest = read::stretches_changed(session, site, machines, &needs).await?;
    Ok(newest.into_iter().collect())
}

//! What a report is computed from, out of the read tables.

use spindlebook_domain::hours::rows::Row;
use spindlebook_domain::hours::{Plans, PublishedPlan};
use spindlebook_domain::ids::{CellId, MachineId, PalletId, Seq, SiteId, Track};
use spindlebook_domain::machine::Machine;
use spindlebook_domain::shop::Shop;
use spindlebook_domain::stretches::{DayMarks, Layer, LayerDays, MachineMarks, Needs, needs_of};
use spindlebook_domain::time::Window;
use spindlebook_store::read;
use spindlebook_store::{Session, StoreError};
use std::collections::HashMap;

/// What tells why the spindles of a cell stood.
#[derive(Clone, Debug)]
pub struct Pool {
    pub cell: CellId,
    pub pallets: Vec<PalletId>,
}

impl Pool {
    pub fn of(shop: &Shop, cell: CellId) -> Self {
        Self {
            cell,
            pallets: shop.pallets_of(cell),
        }
    }

    /// What is needed of the machines, and of the tracks that they share.
    fn wanted(&self, machines: &[MachineId], needs: &Needs) -> Vec<(Track, LayerDays)> {
        let own = machines
            .iter()
            .flat_map(|machine| needs.machine.map(|need| (Track::from(*machine), need)));
        let pallets = self
            .pallets
            .iter()
            .map(|pallet| (Track::from(*pallet), needs.pallet));
        own.chain(pallets)
            .chain([(Track::from(self.cell), needs.cell)])
            .collect()
    }
}

/// Everything that the window's hours of these machines of a cell rest on. A machine without any row has empty marks.
pub async fn marks(
    session: &mut Session,
    site: SiteId,
    machines: &[MachineId],
    pool: &Pool,
    window: Window,
) -> Result<HashMap<MachineId, MachineMarks>, StoreError> {
    let wanted = pool.wanted(machines, &needs_of(window));
    let rows = read::stretches_for(session, site, &wanted).await?;
    let mut own: HashMap<Track, Vec<(Track, DayMarks)>> = machines
        .iter()
        .map(|machine| ((*machine).into(), Vec::new()))
        .collect();
    let mut shared = Vec::new();
    for row in rows {
        let rows = own.get_mut(&row.track).unwrap_or(&mut shared);
        rows.push((row.track, row.marks));
    }
    let load = |machine: &MachineId| {
        let own = own.remove(&Track::from(*machine)).unwrap_or_default();
        let rows = own.into_iter().chain(shared.iter().cloned());
        (*machine, MachineMarks::of_machine(*machine, pool.cell, rows))
    };
    Ok(machines.iter().map(load).collect())
}

/// The marks that these rows rest on.
pub async fn marks_of(
    session: &mut Session,
    site: SiteId,
    machines: &[Machine],
    pool: &Pool,
    rows: &[Row],
) -> Result<HashMap<MachineId, MachineMarks>, StoreError> {
    let machines: Vec<_> = machines.iter().map(|machine| machine.id).collect();
    match rows.first().zip(rows.last()) {
        Some((first, last)) => {
            marks(
                session,
                site,
                &machines,
                pool,
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
    let needs = needs_of(window).machine.into_iter();
    let of_readings = needs.filter(|need| need.layer == Layer::Readings);
    let wanted: Vec<_> = of_readings.map(|need| (machine.into(), need)).collect();
    let rows = read::stretches_for(session, site, &wanted).await?;
    Ok(MachineMarks::from_rows(rows.into_iter().map(|row| row.marks)))
}

/// Which kinds of marks after a window still reach back into it, though its hours are settled.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct After {
    /// The first reading after it does, unless there is one already.
    pub readings: bool,
    /// What is said of a run does where nobody has told its end: until then only other acts have proven it.
    pub runs: bool,
}

/// The newest entry that settled hours of the window rest on, by machine; machines without any are left out.
///
/// What comes after the window tells whether a run or a down time has ended, and of settled hours that is known
/// already, but for what `after` says.
pub async fn newest(
    session: &mut Session,
    site: SiteId,
    machines: &[MachineId],
    pool: &Pool,
    window: Window,
    after: After,
) -> Result<HashMap<MachineId, Seq>, StoreError> {
    let mut needs = needs_of(window);
    let all = needs
        .machine
        .iter_mut()
        .chain([&mut needs.pallet, &mut needs.cell]);
    for need in all {
        need.first_after &= match need.layer {
            Layer::Readings => after.readings,
            Layer::Runs | Layer::Pallets => after.runs,
            Layer::Signals | Layer::Cycles | Layer::Downs | Layer::Work | Layer::Counted | Layer::Jobs => {
                false
            }
        };
    }
    let wanted = pool.wanted(machines, &needs);
    let newest = read::stretches_changed(session, site, &wanted).await?;
    let is_own = |track: &Track| machines.iter().any(|machine| *track == (*machine).into());
    let shared = newest
        .iter()
        .filter(|(track, _)| !is_own(track))
        .map(|(_, seq)| *seq);
    let shared = shared.max();
    let of_machine = |machine: &MachineId| {
        let own = newest.get(&(*machine).into()).copied();
        Some((*machine, own.max(shared)?))
    };
    Ok(machines.iter().filter_map(of_machine).collect())
}

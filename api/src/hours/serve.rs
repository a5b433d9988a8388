use super::HoursError;
use super::keep::{Kept, Rows};
use super::layout::{Layout, calendar_of, site_of};
use super::load::{self, After, Pool};
use spindlebook_domain::calendar::attended;
use spindlebook_domain::hours::rows::{By, DayRule, Row};
use spindlebook_domain::hours::{Figures, HoursReport, MachineRow, ReportRow, Stretch, explain};
use spindlebook_domain::ids::{CellId, MachineId, Seq, SiteId};
use spindlebook_domain::machine::Machine;
use spindlebook_domain::shop::Shop;
use spindlebook_domain::stretches::{MachineMarks, ReadingMark};
use spindlebook_domain::time::{Timestamp, Window};
use spindlebook_store::{Session, Store, StoreError};
use std::collections::{BTreeMap, HashMap};
use std::sync::Arc;

/// Clones share what is kept.
#[derive(Clone, Debug)]
pub struct Hours {
    store: Store,
    kept: Arc<Kept>,
}

/// What a report is asked of: a site's state, and now.
#[derive(Clone, Debug)]
pub struct HoursSource {
    pub site: SiteId,
    pub shop: Arc<Shop>,
    pub as_of: Timestamp,
    /// [`crate::book::Current::rebuilds`]: rows that were computed before another number are not used again.
    pub rebuilds: i64,
}

#[derive(Clone, Copy, Debug)]
pub struct HoursRequest {
    pub cell: CellId,
    /// Only this machine of the cell.
    pub machine: Option<MachineId>,
    pub window: Window,
    pub by: By,
    pub rule: DayRule,
}

/// The rows of each machine, from the first on.
type Computed = HashMap<MachineId, Vec<MachineRow>>;

impl Hours {
    pub fn new(store: Store) -> Self {
        Self {
            store,
            kept: Arc::default(),
        }
    }

    pub(super) const fn store(&self) -> &Store {
        &self.store
    }

    /// The rows of the window that have begun by now, with their sums.
    pub async fn report(
        &self,
        source: &HoursSource,
        request: &HoursRequest,
    ) -> Result<HoursReport, HoursError> {
        let layout = Layout::of(source, request)?;
        let mut kept = self.kept_rows(source, &layout);
        let is_sure = |rows: &Rows| rows.valid_at >= source.shop.seq;
        let is_whole = |rows: &Rows| rows.figures.len() == layout.rows.len();
        let is_known =
            layout.machines.len() == kept.len() && kept.values().all(|rows| is_sure(rows) && is_whole(rows));
        let mut computed: Computed = if layout.rows.is_empty() || is_known {
            kept.drain()
                .map(|(machine, rows)| (machine, rows.figures.to_vec()))
                .collect()
        } else {
            self.compute(source, &layout, kept).await?
        };
        Ok(assemble(layout.rows, &layout.machines, &mut computed))
    }

    /// The stretches behind a figure, each with its entries.
    pub async fn opened(
        &self,
        source: &HoursSource,
        machine: MachineId,
        window: Window,
    ) -> Result<Vec<Stretch>, HoursError> {
        let unknown = HoursError::UnknownMachine(machine);
        let machine = source.shop.machines.get(&machine).ok_or(unknown)?;
        let (site, cell) = (site_of(&source.shop)?, source.shop.cells.get(&machine.cell));
        let cell = cell.ok_or(HoursError::UnknownCell(machine.cell))?;
        let attended = attended(calendar_of(site, cell), site.zone, window);
        let mut session = self.store.session().await?;
        let pool = Pool::of(&source.shop, machine.cell);
        let mut marks = load::marks(&mut session, source.site, &[machine.id], &pool, window).await?;
        let marks = marks.remove(&machine.id).unwrap_or_default();
        Ok(explain(
            &marks,
            window,
            &attended,
            source.as_of,
            machine.silent_after_s,
        ))
    }

    /// The readings of a machine's counters in a window, each with the entry that brought it.
    pub async fn readings(
        &self,
        source: &HoursSource,
        machine: MachineId,
        window: Window,
    ) -> Result<Vec<(ReadingMark, Seq)>, HoursError> {
        let mut session = self.store.session().await?;
        let marks = load::readings(&mut session, source.site, machine, window).await?;
        let readings = marks
            .readings
            .iter()
            .filter(|reading| window.contains(reading.at));
        let seq_of = |reading: &ReadingMark| {
            let source = usize::try_from(reading.source).ok()?;
            Some(marks.sources.get(source)?.seq)
        };
        Ok(readings
            .filter_map(|reading| Some((*reading, seq_of(reading)?)))
            .collect())
    }

    /// What was computed before of the layout's closed rows. Whether entries have touched it since is not known yet.
    fn kept_rows(&self, source: &HoursSource, layout: &Layout) -> HashMap<MachineId, Rows> {
        let mut found = HashMap::new();
        for machine in &layout.machines {
            let key = layout.key(source, machine.id);
            let Some(mut rows) = self.kept.find(&key, layout.ground(machine)) else {
                continue;
            };
            let closed = layout.rows[..layout.closed].iter().map(|row| row.window);
            let common = closed
                .zip(rows.windows.iter())
                .take_while(|(row, kept)| row == *kept)
                .count();
            if rows
                .window()
                .is_none_or(|window| rows.plans != layout.plans_before(window.to))
                || common == 0
            {
                continue;
            }
            rows.figures = rows.figures[..common].into();
            found.insert(machine.id, rows);
        }
        found
    }

    /// On a thread of its own: a year of many machines takes longer than others should wait. All in one session, so
    /// that what was kept is checked against the same state that the rest is computed from.
    async fn compute(
        &self,
        source: &HoursSource,
        layout: &Layout,
        kept: HashMap<MachineId, Rows>,
    ) -> Result<Computed, HoursError> {
        let (this, source, layout) = (self.clone(), source.clone(), layout.clone());
        let runtime = tokio::runtime::Handle::current();
        let task = move || {
            runtime.block_on(async {
                let mut session = this.store.frozen_session().await?;
                this.compute_in(&mut session, &source, &layout, kept).await
            })
        };
        let done = tokio::task::spawn_blocking(task).await;
        let done: Result<Computed, StoreError> =
            done.map_err(|error| HoursError::Stopped(error.to_string()))?;
        Ok(done?)
    }

    async fn compute_in(
        &self,
        session: &mut Session,
        source: &HoursSource,
        layout: &Layout,
        mut kept: HashMap<MachineId, Rows>,
    ) -> Result<Computed, StoreError> {
        self.drop_touched(session, source, layout, &mut kept).await?;
        let mut by_first = BTreeMap::<usize, Vec<Machine>>::new();
        for machine in &layout.machines {
            let first = kept.get(&machine.id).map_or(0, |rows| rows.figures.len());
            by_first.entry(first).or_default().push(machine.clone());
        }
        let mut computed: Computed = HashMap::new();
        for (first, machines) in by_first {
            let mut marks = HashMap::new();
            let mut tails = BTreeMap::new();
            if first < layout.rows.len() {
                let plans = load::plans_of(session, source.site, &layout.rows[first..]).await?;
                let rows = &layout.rows[first..];
                marks = load::marks_of(session, source.site, &machines, &layout.pool, rows).await?;
                tails = by_machine(layout.report(first, &machines, &marks, &plans, source.as_of));
            }
            for machine in machines {
                let mut rows = kept
                    .get(&machine.id)
                    .map_or_else(Vec::new, |kept| kept.figures.to_vec());
                rows.extend(tails.remove(&machine.id).unwrap_or_default());
                if let Some(marks) = marks.get(&machine.id) {
                    let settled = settled_rows(layout, &rows, marks, source.as_of);
                    if settled > first {
                        self.keep(session, source, layout, &machine, (&rows[..settled], marks))
                            .await?;
                    }
                }
                computed.insert(machine.id, rows);
            }
        }
        Ok(computed)
    }

    /// Leaves in `kept` only rows that no entry has touched.
    async fn drop_touched(
        &self,
        session: &mut Session,
        source: &HoursSource,
        layout: &Layout,
        kept: &mut HashMap<MachineId, Rows>,
    ) -> Result<(), StoreError> {
        let mut by_window = BTreeMap::<(Window, After), Vec<MachineId>>::new();
        for (machine, rows) in &*kept {
            if let Some(window) = rows.window() {
                by_window.entry((window, rows.after)).or_default().push(*machine);
            }
        }
        for ((window, after), machines) in by_window {
            let newest = load::newest(session, source.site, &machines, &layout.pool, window, after).await?;
            for machine in machines {
                let newest = newest.get(&machine).copied().unwrap_or(0);
                if kept.get(&machine).is_some_and(|rows| rows.marks_seq == newest) {
                    self.kept
                        .still_valid(&layout.key(source, machine), newest, source.shop.seq);
                } else {
                    kept.remove(&machine);
                }
            }
        }
        Ok(())
    }

    async fn keep(
        &self,
        session: &mut Session,
        source: &HoursSource,
        layout: &Layout,
        machine: &Machine,
        (rows, marks): (&[MachineRow], &MachineMarks),
    ) -> Result<(), StoreError> {
        let Some(window) = layout.window(rows.len()) else {
            return Ok(());
        };
        let is_read_on = marks
            .readings
            .last()
            .is_some_and(|reading| reading.at >= window.to);
        let after = After {
            readings: !is_read_on,
            runs: marks.waits_for_an_end(window.to),
        };
        let pool = &layout.pool;
        let newest = load::newest(session, source.site, &[machine.id], pool, window, after).await?;
        let kept = Rows {
            windows: layout.rows[..rows.len()].iter().map(|row| row.window).collect(),
            figures: rows.into(),
            ground: layout.ground(machine),
            plans: layout.plans_before(window.to),
            after,
            marks_seq: newest.get(&machine.id).copied().unwrap_or(0),
            valid_at: source.shop.seq,
        };
        self.kept.put(layout.key(source, machine.id), kept);
        Ok(())
    }
}

/// How many rows time alone cannot change: none that waits for the end of a run, none that a reading ahead of the
/// clock will reach into.
fn settled_rows(layout: &Layout, rows: &[MachineRow], marks: &MachineMarks, as_of: Timestamp) -> usize {
    if marks.readings.last().is_some_and(|reading| reading.at > as_of) {
        return 0;
    }
    let closed = &rows[..layout.closed.min(rows.len())];
    closed.iter().take_while(|row| !row.figures.provisional).count()
}

fn by_machine(report: HoursReport) -> BTreeMap<MachineId, Vec<MachineRow>> {
    let mut all = BTreeMap::<_, Vec<_>>::new();
    for machine in report.rows.into_iter().flat_map(|row| row.machines) {
        all.entry(machine.machine).or_default().push(machine);
    }
    all
}

/// Sums of what was computed for each machine, row by row, as the report of all of them at once would give.
fn assemble(rows: Vec<Row>, machines: &[Machine], computed: &mut Computed) -> HoursReport {
    let mut all = HoursReport {
        rows: Vec::with_capacity(rows.len()),
        machine_totals: machines
            .iter()
            .map(|machine| (machine.id, Figures::default()))
            .collect(),
        total: Figures::default(),
    };
    let own = machines
        .iter()
        .map(|machine| computed.remove(&machine.id).unwrap_or_default().into_iter());
    let mut own: Vec<_> = own.collect();
    for row in rows {
        let mut report_row = ReportRow {
            row,
            machines: Vec::with_capacity(machines.len()),
            cell: Figures::default(),
        };
        for (own, (_, total)) in own.iter_mut().zip(&mut all.machine_totals) {
            if let Some(machine) = own.next() {
                report_row.cell.add(&machine.figures);
                total.add(&machine.figures);
                report_row.machines.push(machine);
            }
        }
        all.total.add(&report_row.cell);
        all.rows.push(report_row);
    }
    all
}

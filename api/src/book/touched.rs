//! Which rows of the read tables a batch has changed, and what they look like now.

use super::things::{self, Thing};
use serde::Serialize;
use spindlebook_domain::access::{Principal, PrincipalKind};
use spindlebook_domain::cell::Cell;
use spindlebook_domain::correction::Withdrawn;
use spindlebook_domain::entry::EntryMeta;
use spindlebook_domain::event::Event;
use spindlebook_domain::ids::{CellId, MachineId, PlanId, PrincipalId, Seq, SiteId};
use spindlebook_domain::machine::Machine;
use spindlebook_domain::shop::Shop;
use spindlebook_domain::site::Site;
use spindlebook_domain::stretches::{RowKey, StretchDays};
use spindlebook_domain::time::Timestamp;
use spindlebook_store::read::{
    self, CalendarRow, CellRow, MachineRow, PlanRow, PrincipalRow, StretchRow, ThingRow,
};
use spindlebook_store::{StoreError, Transaction, Writes};
use std::collections::{BTreeMap, BTreeSet};
use uuid::Uuid;

/// What changed, by key; the rows themselves are made from the shop at the end of the batch.
#[derive(Debug, Default)]
pub struct Touched {
    site_calendar: bool,
    cells: BTreeSet<CellId>,
    cell_calendars: BTreeSet<CellId>,
    machines: BTreeSet<MachineId>,
    principals: BTreeSet<PrincipalId>,
    things: BTreeSet<Thing>,
    /// Rows of things that the batch took out of the shop.
    left: Vec<ThingRow>,
    stretches: BTreeSet<RowKey>,
    posted: Vec<PlanRow>,
    published: BTreeMap<PlanId, (Timestamp, Seq)>,
}

/// The rows that are added, or written over those with the same key.
pub struct ChangedRows {
    cells: Vec<CellRow>,
    machines: Vec<MachineRow>,
    principals: Vec<PrincipalRow>,
    things: Vec<ThingRow>,
    plans: Vec<PlanRow>,
    days: Vec<StretchRow>,
}

impl ChangedRows {
    pub fn add_to<'a>(&'a self, writes: &mut Writes<'a>) -> Result<(), StoreError> {
        read::put_with(writes, &self.cells)?;
        read::put_with(writes, &self.machines)?;
        read::put_with(writes, &self.principals)?;
        read::put_with(writes, &self.things)?;
        read::put_with(writes, &self.plans)?;
        read::put_with(writes, &self.days)
    }
}

impl Touched {
    /// Before the event is folded in.
    pub fn keep(&mut self, event: &Event, before: &Shop) {
        self.left.extend(things::left_by(event, before));
        self.things.extend(things::lots_of(event, before));
    }

    pub fn note(&mut self, event: &Event, meta: &EntryMeta, stretches: Vec<RowKey>) {
        self.stretches.extend(stretches);
        self.things.extend(Thing::changed_by(event));
        match event {
            Event::SiteOpened(_) | Event::SiteCalendarSet(_) => self.site_calendar = true,
            Event::PrincipalAdded(event) => self.principal(event.principal),
            Event::PrincipalRolesSet(event) => self.principal(event.principal),
            Event::PrincipalSecretSet(event) => self.principal(event.principal),
            Event::PrincipalDisabled(event) => self.principal(event.principal),
            Event::PrincipalEnabled(event) => self.principal(event.principal),
            Event::PrincipalForgotten(event) => self.principal(event.principal),
            Event::CellAdded(event) => self.cell(event.cell),
            Event::CellChanged(event) => self.cell(event.cell),
            Event::CellCalendarSet(event) => self.cell_calendar(event.cell),
            Event::CellCalendarCleared(event) => self.cell_calendar(event.cell),
            Event::MachineAdded(event) => self.machine(event.machine),
            Event::MachineChanged(event) => self.machine(event.machine),
            Event::MachineSetDown(event) => self.machine(event.machine),
            Event::MachineSetUp(event) => self.machine(event.machine),
            Event::MachineToolsSet(event) => self.machine(event.machine),
            Event::CellQueueSet(event) => self.cell(event.cell),
            Event::RunStarted(event) => {
                self.machine(event.machine);
                self.cell(event.cell);
            }
            Event::RunPaused(event) => self.machine(event.machine),
            Event::RunResumed(event) => self.machine(event.machine),
            Event::RunFinished(event) => self.machine(event.machine),
            Event::RunAborted(event) => self.machine(event.machine),
            Event::RunRetimed(event) => self.machine(event.machine),
            Event::ActWithdrawn(event) => match &event.what {
                Withdrawn::Start { machine, .. }
                | Withdrawn::Pause { machine, .. }
                | Withdrawn::Finish { machine, .. } => self.machine(*machine),
                _ => {}
            },
            Event::ReadingsReceived(event) => self.machine(event.machine),
            Event::PlanPosted(event) => self.posted.push(PlanRow {
                id: event.plan,
                posted_seq: meta.seq,
                published: None,
                slots: event.slots.clone(),
            }),
            Event::PlanPublished(event) => {
                self.published.insert(event.plan, (meta.recorded_at, meta.seq));
            }
            // Things were noted above. The site's row is no picture; marks say all of signals: a machine's row does not
            // tell until when it was heard.
            _ => {}
        }
    }

    fn principal(&mut self, id: PrincipalId) {
        self.principals.insert(id);
    }

    fn cell(&mut self, id: CellId) {
        self.cells.insert(id);
    }

    fn cell_calendar(&mut self, id: CellId) {
        self.cells.insert(id);
        self.cell_calendars.insert(id);
    }

    fn machine(&mut self, id: MachineId) {
        self.machines.insert(id);
    }

    /// The rows as `shop` and `stretches` have them now, without the special ones. All entries after `after` are new.
    pub fn rows(&self, shop: &Shop, stretches: &StretchDays, after: Seq) -> ChangedRows {
        let cells = self.cells.iter().filter_map(|id| shop.cells.get(id));
        let machines = self.machines.iter().filter_map(|id| shop.machines.get(id));
        let principals = self.principals.iter().filter_map(|id| shop.principals.get(id));
        let mut things = self.left.clone();
        things.extend(self.things.iter().filter_map(|thing| thing.row(shop)));
        let days = self
            .stretches
            .iter()
            .filter_map(|key| Some((key, stretches.get(key)?)));
        ChangedRows {
            cells: cells.map(cell_row).collect(),
            machines: machines.map(machine_row).collect(),
            principals: principals.map(principal_row).collect(),
            things,
            plans: self.posted.iter().map(|row| self.with_publishing(row)).collect(),
            days: days
                .flat_map(|(key, marks)| StretchRow::changed_after(*key, marks, after))
                .collect(),
        }
    }

    fn with_publishing(&self, posted: &PlanRow) -> PlanRow {
        PlanRow {
            published: self.published.get(&posted.id).copied(),
            ..posted.clone()
        }
    }

    /// Those that may be taken away, or of which only a part is written.
    pub fn has_special_rows(&self) -> bool {
        self.site_calendar || !self.cell_calendars.is_empty() || !self.published.is_empty()
    }

    /// Writes the special ones. A plan that was posted in the same batch is written with its publishing.
    pub async fn write_special_rows(
        &self,
        transaction: &mut Transaction,
        site: SiteId,
        shop: &Shop,
    ) -> Result<(), StoreError> {
        self.write_calendars(transaction, site, shop).await?;
        for (plan, published) in &self.published {
            read::publish_plan(transaction, site, *plan, *published).await?;
        }
        Ok(())
    }

    async fn write_calendars(
        &self,
        transaction: &mut Transaction,
        site: SiteId,
        shop: &Shop,
    ) -> Result<(), StoreError> {
        let own = shop
            .site
            .iter()
            .filter(|_| self.site_calendar)
            .map(site_calendar_row);
        let of_cells = self.cell_calendars.iter().filter_map(|id| shop.cells.get(id));
        let rows: Vec<_> = own
            .chain(of_cells.clone().filter_map(cell_calendar_row))
            .collect();
        read::put(transaction, site, &rows).await?;
        for cell in of_cells.filter(|cell| cell.calendar.is_none()) {
            read::remove_calendar(transaction, site, cell.id.0).await?;
        }
        Ok(())
    }
}

pub fn cell_row(cell: &Cell) -> CellRow {
    CellRow {
        id: cell.id,
        code: cell.code.to_string(),
        name: cell.name.to_string(),
        body: json(cell),
        changed_seq: cell
            .changed_seq
            .max(cell.calendar_changed_seq)
            .max(cell.queue_changed_seq),
    }
}

/// Without `heard_until`: every signal would change the row, and its marks say the same.
pub fn machine_row(machine: &Machine) -> MachineRow {
    let body = Machine {
        heard_until: None,
        ..machine.clone()
    };
    MachineRow {
        id: machine.id,
        cell: machine.cell,
        code: machine.code.to_string(),
        name: machine.name.to_string(),
        body: json(&body),
        changed_seq: machine.changed_seq,
    }
}

pub fn principal_row(principal: &Principal) -> PrincipalRow {
    let roles: Vec<_> = principal.roles.iter().map(|role| role.as_str()).collect();
    PrincipalRow {
        id: principal.id,
        kind: match principal.kind {
            PrincipalKind::Person => "person".to_owned(),
            PrincipalKind::Client => "client".to_owned(),
        },
        roles: roles.join(","),
        body: json(principal),
        changed_seq: principal.changed_seq,
    }
}

pub fn site_calendar_row(site: &Site) -> CalendarRow {
    calendar_row(site.id.0, &site.calendar, site.calendar_changed_seq)
}

pub fn cell_calendar_row(cell: &Cell) -> Option<CalendarRow> {
    let calendar = cell.calendar.as_ref()?;
    Some(calendar_row(cell.id.0, calendar, cell.calendar_changed_seq))
}

fn calendar_row(id: Uuid, calendar: &impl Serialize, changed_seq: Seq) -> CalendarRow {
    CalendarRow {
        id,
        body: json(calendar),
        changed_seq,
    }
}

/// The shop's own types always serialise: their keys are texts and their numbers integers.
pub(super) fn json(value: &impl Serialize) -> String {
    serde_json::to_string(value).unwrap_or_default()
}

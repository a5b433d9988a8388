//! A request laid out: its machines, its rows, and how many of them have ended for good.

use super::HoursError;
use super::keep::{Ground, Key};
use super::load::Pool;
use super::serve::{HoursRequest, HoursSource};
use spindlebook_domain::calendar::{CalendarVersions, attended, staffed};
use spindlebook_domain::cell::Cell;
use spindlebook_domain::hours::rows::{Cut, Row, rows};
use spindlebook_domain::hours::{CellInput, HoursReport, MachineInput, Plans, report};
use spindlebook_domain::ids::{MachineId, Seq};
use spindlebook_domain::machine::{FUTURE_MAX_S, Machine};
use spindlebook_domain::plan::PlanStanding;
use spindlebook_domain::shop::Shop;
use spindlebook_domain::site::Site;
use spindlebook_domain::stretches::MachineMarks;
use spindlebook_domain::time::{Timestamp, US_PER_DAY, Window};
use std::collections::HashMap;

#[derive(Clone, Debug)]
pub struct Layout {
    request: HoursRequest,
    site: Site,
    calendar: CalendarVersions,
    is_own_calendar: bool,
    calendar_seq: Seq,
    /// When each published plan was published, sorted.
    published: Vec<Timestamp>,
    rebuilds: i64,
    pub machines: Vec<Machine>,
    pub pool: Pool,
    pub rows: Vec<Row>,
    /// So many rows from the first on will not change by time alone.
    pub closed: usize,
}

impl Layout {
    pub fn of(source: &HoursSource, request: &HoursRequest) -> Result<Self, HoursError> {
        let shop = &source.shop;
        let site = site_of(shop)?;
        let unknown = HoursError::UnknownCell(request.cell);
        let cell = shop.cells.get(&request.cell).ok_or(unknown)?;
        let calendar = calendar_of(site, cell);
        let cut = Cut {
            calendar,
            zone: site.zone,
            by: request.by,
            rule: request.rule,
        };
        let rows = rows(&cut, request.window, source.as_of);
        // Instants a little ahead of our clock are taken, so a row closes that much later. What comes in now changes
        // today's marks, which are kept by UTC days: rows that end today rest on them.
        let today = Timestamp(source.as_of.utc_day() * US_PER_DAY);
        let settled = source.as_of.plus_s(-FUTURE_MAX_S).min(today);
        let is_closed = |row: &&Row| !row.in_progress && row.window.to <= settled;
        Ok(Self {
            request: *request,
            site: site.clone(),
            calendar: calendar.clone(),
            is_own_calendar: cell.calendar.is_some(),
            calendar_seq: match cell.calendar {
                Some(_) => cell.calendar_changed_seq,
                None => site.calendar_changed_seq,
            },
            published: published(shop),
            rebuilds: source.rebuilds,
            machines: machines_of(shop, request)?,
            pool: Pool::of(shop, request.cell),
            closed: rows.iter().take_while(is_closed).count(),
            rows,
        })
    }

    /// From the first row on, `rows` of them.
    pub fn window(&self, rows: usize) -> Option<Window> {
        let rows = &self.rows[..rows];
        Some(Window::new(rows.first()?.window.from, rows.last()?.window.to))
    }

    pub fn key(&self, source: &HoursSource, machine: MachineId) -> Key {
        Key {
            site: source.site,
            machine,
            by: self.request.by,
            rule: self.request.rule,
            from: self.request.window.from,
        }
    }

    pub fn ground(&self, machine: &Machine) -> Ground {
        Ground {
            site_seq: self.site.changed_seq,
            is_own_calendar: self.is_own_calendar,
            calendar_seq: self.calendar_seq,
            silent_after_s: machine.silent_after_s,
            rebuilds: self.rebuilds,
        }
    }

    /// How many plans were published before this instant.
    pub fn plans_before(&self, at: Timestamp) -> usize {
        self.published.partition_point(|published| *published < at)
    }

    /// Of some of the machines and the rows from `first` on.
    pub fn report(
        &self,
        first: usize,
        machines: &[Machine],
        marks: &HashMap<MachineId, MachineMarks>,
        plans: &Plans,
        as_of: Timestamp,
    ) -> HoursReport {
        let rows = self.rows[first..].to_vec();
        let ends = rows.first().zip(rows.last());
        let span = ends.map(|(first, last)| Window::new(first.window.from, last.window.to));
        let span = span.unwrap_or(self.request.window);
        let input = |machine: &Machine| {
            Some(MachineInput {
                machine: machine.id,
                marks: marks.get(&machine.id)?,
                silent_after_s: machine.silent_after_s,
            })
        };
        let inputs: Vec<_> = machines.iter().filter_map(input).collect();
        let cell = CellInput {
            staffed: &staffed(&self.calendar, self.site.zone, span),
            attended: &attended(&self.calendar, self.site.zone, span),
            plans,
            machines: &inputs,
        };
        report(rows, &cell, as_of)
    }
}

pub fn site_of(shop: &Shop) -> Result<&Site, HoursError> {
    shop.site.as_ref().ok_or(HoursError::NotOpened)
}

pub fn calendar_of<'a>(site: &'a Site, cell: &'a Cell) -> &'a CalendarVersions {
    cell.calendar.as_ref().unwrap_or(&site.calendar)
}

fn machines_of(shop: &Shop, request: &HoursRequest) -> Result<Vec<Machine>, HoursError> {
    let machines = shop.machines_of(request.cell).into_iter();
    let wanted = |machine: &&Machine| request.machine.is_none_or(|only| only == machine.id);
    let machines: Vec<_> = machines.filter(wanted).cloned().collect();
    match request.machine {
        Some(only) if machines.is_empty() => Err(HoursError::UnknownMachine(only)),
        _ => Ok(machines),
    }
}

fn published(shop: &Shop) -> Vec<Timestamp> {
    let instants = shop.plans.values().filter_map(|plan| match plan.standing {
        PlanStanding::Published { at, .. } => Some(at),
        PlanStanding::Posted => None,
    });
    let mut instants: Vec<_> = instants.collect();
    instants.sort_unstable();
    instants
}

//! The front office and the lead: orders come in when there is room for them, are released, and get their material.

use super::Story;
use super::agenda::Due;
use super::work::place;
use crate::demo::catalogue::MadePart;
use crate::demo::frame::{ZONE, later};
use crate::demo::shop::NotAShop;
use chrono::{Datelike, NaiveDate, Weekday};
use spindlebook_domain::ids::{CellId, JobId, OrderId};
use spindlebook_domain::job::AddBlanks;
use spindlebook_domain::local_time::local_date;
use spindlebook_domain::order::{
    EnterOrder, LineState, Material, NewLine, Priority, ReceiveMaterial, ReleaseOrder,
};
use spindlebook_domain::part::{Routing, Work};
use spindlebook_domain::time::Timestamp;

/// Spindle hours of released work that the shop likes to have before each of its machines.
const AHEAD_H: i64 = 46;
const ORDERS_A_DAY_MAX: u32 = 5;
const ORDERS_ON_DAY_ONE: u32 = 14;
const FIRST_ORDER: u32 = 4_101;

impl Story<'_> {
    /// Every morning: orders for the cells that run short of work, and blanks where scrap has left too few.
    pub fn takes_orders(&mut self, at: Timestamp) -> Result<(), NotAShop> {
        self.gives_out_blanks(at)?;
        let most = if self.orders == 0 {
            ORDERS_ON_DAY_ONE
        } else {
            ORDERS_A_DAY_MAX
        };
        for cell in self.cells() {
            let machines = self
                .spindles
                .values()
                .filter(|spindle| spindle.cell == cell)
                .count();
            let ahead_s = AHEAD_H * 3_600 * i64::try_from(machines).unwrap_or(1);
            let mut open_s = self.open_s(cell);
            for _ in 0..most {
                if open_s >= ahead_s {
                    break;
                }
                open_s += self.takes_order(at, cell)?;
            }
        }
        Ok(())
    }

    fn cells(&self) -> Vec<CellId> {
        let mut cells: Vec<_> = self.spindles.values().map(|spindle| spindle.cell).collect();
        cells.sort();
        cells.dedup();
        cells
    }

    /// What is still to run in a cell, in its planned time.
    fn open_s(&self, cell: CellId) -> i64 {
        let jobs = self.told.shop.jobs.values().filter(|job| job.is_open());
        jobs.map(|job| run_s(&job.routing, cell, |operation| job.pieces_to_run(operation)))
            .sum()
    }

    /// Gives the planned time of its lines.
    fn takes_order(&mut self, at: Timestamp, cell: CellId) -> Result<i64, NotAShop> {
        let proved_from = self.frame.wall(self.frame.day(2, Weekday::Mon), 0, 0);
        let made = self.invented.catalogue.parts.iter();
        let made: Vec<_> = made
            .filter(|part| part.cell == cell && (!part.is_new || at >= proved_from))
            .collect();
        let mut lines = Vec::new();
        let mut planned_s = 0;
        for _ in 0..self.dice.between(1, 2) {
            let part = made[self.pick_index(made.len())];
            let priority = if self.dice.percent(15) {
                Priority::Fill
            } else {
                Priority::Normal
            };
            let line = self.line_of(part, at, priority);
            planned_s += self.line_s(part, cell, line.quantity);
            lines.push(line);
        }
        self.enters(at, lines)?;
        Ok(planned_s)
    }

    fn pick_index(&mut self, count: usize) -> usize {
        let last = i64::try_from(count).unwrap_or(1) - 1;
        usize::try_from(self.dice.between(0, last)).unwrap_or_default()
    }

    fn line_of(&mut self, part: &MadePart, at: Timestamp, priority: Priority) -> NewLine {
        let quantity = self.dice.between(part.lots.0, part.lots.1);
        let days = if priority == Priority::Rush {
            2
        } else {
            self.dice.between(6, 16)
        };
        let today = local_date(ZONE, at);
        // Two of three have their material in the house.
        let waits_days = if self.orders == 0 || priority == Priority::Rush || self.dice.percent(66) {
            0
        } else {
            self.dice.between(1, 4)
        };
        NewLine {
            number: None,
            part: part.id,
            revision: part.revision.clone(),
            quantity: u32::try_from(quantity).unwrap_or(1),
            due: workday(later(today, days.unsigned_abs())),
            priority,
            material: Material {
                expected: Some(workday(later(today, waits_days.unsigned_abs()))),
                arrived: None,
            },
            quoted: Vec::new(),
        }
    }

    fn line_s(&self, part: &MadePart, cell: CellId, quantity: u32) -> i64 {
        let known = self
            .told
            .shop
            .parts
            .get(&part.id)
            .and_then(|known| known.revision(&part.revision));
        let routing = known.and_then(|revision| revision.routing.as_ref());
        routing.map_or(0, |routing| run_s(routing, cell, |_| quantity))
    }

    /// Enters it, and plans when it is released and when its material comes.
    pub fn enters(&mut self, at: Timestamp, lines: Vec<NewLine>) -> Result<(), NotAShop> {
        let order = OrderId(self.dice.uuid());
        let customer = self.dice.pick(&self.invented.catalogue.customers);
        let number = FIRST_ORDER + self.orders;
        self.orders += 1;
        let is_rush = lines.iter().any(|line| line.priority == Priority::Rush);
        for (index, line) in (1..).zip(&lines) {
            let comes_at = line
                .material
                .expected
                .map_or(at, |date| self.frame.wall(date, 9, 30));
            let comes_at = comes_at.max(at).plus_s(self.dice.minutes(2, 40));
            self.agenda.at(comes_at, Due::Material(order, index));
        }
        let released_in = if is_rush { (4, 9) } else { (15, 70) };
        let released_at = at.plus_s(self.dice.minutes(released_in.0, released_in.1));
        self.agenda.at(released_at, Due::Release(order));
        let command = EnterOrder {
            customer_approval_needed: false,
            order,
            code: format!("SO-{number}").parse()?,
            customer: Some(customer),
            reference: None,
            lines,
        };
        self.acts(at, self.office(), command)
    }

    pub fn releases(&mut self, at: Timestamp, order: OrderId) -> Result<(), NotAShop> {
        let lines = self
            .told
            .shop
            .orders
            .get(&order)
            .map_or(0, |order| order.lines.len());
        let jobs = (0..lines).map(|_| JobId(self.dice.uuid())).collect();
        let lines = Vec::new();
        self.acts(at, self.lead(), ReleaseOrder { order, lines, jobs })
    }

    pub fn receives_material(&mut self, at: Timestamp, order: OrderId, line: u32) -> Result<(), NotAShop> {
        let heat = self.dice.between(20_000, 89_999);
        let certificate = Some(format!("Heat {heat} (invented)").parse()?);
        let command = ReceiveMaterial {
            order,
            line,
            at,
            certificate,
        };
        self.acts(at, self.office(), command)
    }

    fn gives_out_blanks(&mut self, at: Timestamp) -> Result<(), NotAShop> {
        let jobs = self.open_jobs();
        let short: Vec<_> = jobs
            .map(|job| (job.id, job.material_shortfall()))
            .filter(|(_, pieces)| *pieces > 0)
            .collect();
        for (job, pieces) in short {
            let certificate = None;
            self.acts(
                at,
                self.lead(),
                AddBlanks {
                    job,
                    pieces,
                    certificate,
                },
            )?;
        }
        Ok(())
    }

    /// A customer's pump stands still: a rush order pushes in before everything else.
    pub fn takes_rush_order(&mut self, at: Timestamp) -> Result<(), NotAShop> {
        let cell = self.invented.machines.cell(super::In::FiveAxis);
        let parts = self.invented.catalogue.parts.iter();
        let Some(part) = parts.filter(|part| part.cell == cell && !part.is_new).nth(1) else {
            return Ok(());
        };
        let part = part.clone();
        let mut line = self.line_of(&part, at, Priority::Rush);
        line.quantity = 18;
        self.enters(at, vec![line])?;
        self.agenda.at(at.plus_s(2_700), Due::Queues);
        Ok(())
    }

    /// Whether a pallet carries pieces of a rush order.
    pub fn is_rush(&self, pallet: &spindlebook_domain::pallet::Pallet) -> bool {
        let clamped = pallet.load.iter().flat_map(|load| &load.clamped);
        let mut lines = clamped.filter_map(|one| {
            let job = self.told.shop.jobs.get(&one.job)?;
            spindlebook_domain::order::line_of(&self.told.shop, job)
        });
        lines.any(|line| line.priority == Priority::Rush && matches!(line.state, LineState::Released { .. }))
    }
}

/// Planned time in a cell of so many pieces at each operation.
fn run_s(routing: &Routing, cell: CellId, pieces: impl Fn(u16) -> u32) -> i64 {
    let of = |operation: &spindlebook_domain::part::Operation| {
        let Work::Machining(machining) = &operation.work else {
            return None;
        };
        let cycle = place(machining, cell)?.cycle;
        let full = machining.pieces_per_load.max(1);
        let full_s = i64::try_from(cycle.of_load_s(full)).ok()?;
        Some(full_s * i64::from(pieces(operation.number)) / i64::from(full))
    };
    routing.operations.iter().filter_map(of).sum()
}

/// The day itself, or the Monday after it.
fn workday(date: NaiveDate) -> NaiveDate {
    match date.weekday() {
        Weekday::Sat => later(date, 2),
        Weekday::Sun => later(date, 1),
        _ => date,
    }
}

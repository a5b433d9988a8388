//! Five weeks on the floor: orders, pallets, runs, holds, shipments. One thing follows from another: people come and go,
//! look at the book, and do what is next; what a machine says of itself comes from the same runs that people tell of.

mod agenda;
mod changer;
mod hands;
mod inspection;
mod office;
mod run;
mod spindle;
mod staff;
mod steps;
mod told;
mod trouble;
mod work;

use self::agenda::{Agenda, Due};
use self::spindle::Spindle;
use self::staff::Staff;
use self::told::Told;
use super::dice::Dice;
use super::frame::{Frame, earlier, later};
use super::log::Log;
use super::sheets::In;
use super::shop::{NotAShop, Shop};
use super::{Step, person};
use chrono::{Datelike, NaiveDate, Weekday};
use spindlebook_domain::actor::Actor;
use spindlebook_domain::command::Command;
use spindlebook_domain::floor::OpenFloor;
use spindlebook_domain::ids::{CellId, MachineId};
use spindlebook_domain::job::Job;
use spindlebook_domain::machine_state::MachineState;
use spindlebook_domain::pallet::Pallet;
use spindlebook_domain::time::{Timestamp, Window};
use spindlebook_store::private::PrivateText;
use std::collections::BTreeMap;

const TABLETS: [&str; 3] = ["tablet-1", "tablet-2", "tablet-3"];

/// What happened on the floor, as it was told and as it truly was.
pub struct Floor {
    pub steps: Vec<Step>,
    pub spindles: BTreeMap<MachineId, Truth>,
}

#[derive(Clone, Debug)]
pub struct Truth {
    pub log: Log,
    /// In cycle, and stopped within a run.
    pub cut: Vec<Window>,
    #[cfg_attr(not(test), expect(dead_code, reason = "a test adds it up"))]
    pub stopped: Vec<Window>,
}

impl Floor {
    pub fn log_of(&self, machine: MachineId) -> Vec<(Timestamp, MachineState)> {
        let truth = self.spindles.get(&machine);
        truth.map_or_else(Vec::new, |truth| truth.log.rows.clone())
    }

    pub fn cuts_of(&self, machine: MachineId) -> Vec<Window> {
        let truth = self.spindles.get(&machine);
        truth.map_or_else(Vec::new, |truth| truth.cut.clone())
    }
}

pub struct Story<'a> {
    frame: &'a Frame,
    invented: &'a Shop,
    dice: Dice,
    told: Told,
    agenda: Agenda,
    /// Of the pools, and of the standalone machine.
    pools: Staff,
    days: Staff,
    spindles: BTreeMap<MachineId, Spindle>,
    orders: u32,
    /// What happens only once.
    once: trouble::Once,
}

/// Tells everything until now.
pub fn happens(invented: &Shop, frame: &Frame, dice: Dice) -> Result<Floor, NotAShop> {
    let before = invented
        .steps
        .iter()
        .map(|step| (step.recorded_at, step.command.clone()));
    let open = (frame.opened_at, Command::from(invented.open.clone()));
    let mut story = Story {
        frame,
        invented,
        dice,
        told: Told::after(std::iter::once(open).chain(before))?,
        agenda: Agenda::default(),
        pools: Staff::of(&frame.site_calendar, frame),
        days: Staff::of(&frame.day_calendar, frame),
        spindles: BTreeMap::new(),
        orders: 0,
        once: trouble::Once::default(),
    };
    story.opens();
    while let Some((at, due)) = story.agenda.next() {
        if at > frame.now {
            break;
        }
        story.goes_on(at, due)?;
    }
    Ok(story.ends())
}

impl Story<'_> {
    /// The Friday before: the first orders, and what stands where.
    fn opens(&mut self) {
        let friday = earlier(self.frame.detailed_from, 3);
        self.agenda.at(self.frame.wall(friday, 10, 0), Due::Orders);
        self.agenda.at(self.frame.wall(friday, 14, 30), Due::Opening);
        for cell in [In::FiveAxis, In::Horizontal, In::Standalone] {
            let monday = self.frame.wall(self.frame.detailed_from, 0, 0);
            let cell_id = self.invented.machines.cell(cell);
            for machine in self.invented.machines.spindles(cell) {
                let mut spindle = Spindle::new(*machine, cell_id);
                spindle.log.says(monday, MachineState::Off);
                spindle
                    .log
                    .says(self.pools.comes_at(monday).plus_s(200), MachineState::Ready);
                self.spindles.insert(*machine, spindle);
            }
            let comes_at = self.staff_of(cell_id).comes_at(monday);
            let begins_at = comes_at.plus_s(self.dice.minutes(2, 9));
            self.agenda.at(begins_at, Due::Hands(cell_id));
        }
        let mut date = self.frame.detailed_from;
        while self.frame.wall(date, 0, 0) <= self.frame.now {
            self.plans_day(date);
            date = later(date, 1);
        }
        self.plans_trouble();
    }

    /// The first orders come before, so that they are released when pieces are clamped.
    fn opens_book(&mut self, at: Timestamp) -> Result<(), NotAShop> {
        let pallets = self.invented.catalogue.standing.clone();
        let jobs = Vec::new();
        self.acts(at, self.lead(), OpenFloor { pallets, jobs, at })
    }

    fn plans_day(&mut self, date: NaiveDate) {
        let is_weekend = matches!(date.weekday(), Weekday::Sat | Weekday::Sun);
        let office_opens = self.frame.wall(date, 8, 20);
        if is_weekend || self.pools.works_from(office_opens) != office_opens {
            return;
        }
        let late = self.dice.minutes(0, 25);
        let day = [
            (7, 20, Due::Judge),
            (8, 20, Due::Orders),
            (10, 5, Due::Queues),
            (11, 0, Due::Steps),
            (13, 40, Due::Queues),
            (15, 0, Due::Steps),
            (17, 10, Due::Queues),
        ];
        for (hour, minute, due) in day {
            self.agenda
                .at(self.frame.wall(date, hour, minute).plus_s(late), due);
        }
    }

    fn goes_on(&mut self, at: Timestamp, due: Due) -> Result<(), NotAShop> {
        match due {
            Due::Opening => self.opens_book(at),
            Due::Orders => self.takes_orders(at),
            Due::Release(order) => self.releases(at, order),
            Due::Material(order, line) => self.receives_material(at, order, line),
            Due::Queues => self.orders_queues(at),
            Due::Steps => self.hands_out_and_ships(at),
            Due::Back(job, step, pieces) => self.comes_back(at, job, step, pieces),
            Due::Judge => self.judges(at),
            Due::Accept(hold) => self.accepts(at, hold),
            Due::Hands(cell) => self.looks_for_work(cell, at),
            Due::SetupEnds(cell, pallet) => self.ends_setup(cell, pallet, at),
            Due::Load(cell, pallet) => self.loads(cell, pallet, at),
            Due::Unload(cell, pallet) => self.unloads(cell, pallet, at),
            Due::Free(machine) => self.changes_pallets(machine, at),
            Due::Begins(machine, pallet) => {
                self.begins(machine, pallet, at);
                Ok(())
            }
            Due::Start(machine) => self.starts(machine, at),
            Due::Pause(run, reason) => self.pauses(run, reason, at),
            Due::Resume(run) => self.resumes(run, at),
            Due::Finish(machine) => self.finishes(machine, at),
            Due::Abort(machine) => self.aborts(machine, at),
            Due::Breaks => self.breaks_down(at),
            Due::Repaired => self.is_repaired(at),
            Due::Rush => self.takes_rush_order(at),
            Due::Doubt => self.doubts(at),
        }
    }

    fn ends(mut self) -> Floor {
        let (now, standalone) = (self.frame.now, self.invented.standalone);
        let truth = self.spindles.values_mut().map(|spindle| {
            spindle.waited_until(now, now);
            // The device of the standalone machine tells of whole cuts when they are over.
            if spindle.machine != standalone {
                spindle.breaks_off(now);
            }
            let truth = Truth {
                log: spindle.log.clone(),
                cut: spindle.cut.clone(),
                stopped: spindle.stopped.clone(),
            };
            (spindle.machine, truth)
        });
        Floor {
            spindles: truth.collect(),
            steps: self.told.steps,
        }
    }

    /// An act on the floor. What happens while nobody is there is told by the first who comes.
    fn acts(&mut self, at: Timestamp, who: Actor, command: impl Into<Command>) -> Result<(), NotAShop> {
        let is_before = at < self.frame.wall(self.frame.detailed_from, 0, 0);
        let told_at = if is_before || self.pools.is_there(at) {
            at
        } else {
            self.pools.comes_at(at).plus_s(240)
        };
        self.tells((told_at, at), who, command, None)
    }

    /// When it was told, and when it was.
    fn tells(
        &mut self,
        (told_at, at): (Timestamp, Timestamp),
        who: Actor,
        command: impl Into<Command>,
        text: Option<PrivateText>,
    ) -> Result<(), NotAShop> {
        let mut step = Step::new(&mut self.dice, told_at, who, command);
        step.occurred_at = at;
        step.text = text;
        if who == self.operator() {
            step.device = Some(self.dice.pick(&TABLETS));
        }
        self.told.tell(step)
    }

    fn staff_of(&self, cell: CellId) -> &Staff {
        if cell == self.invented.machines.cell(In::Standalone) {
            &self.days
        } else {
            &self.pools
        }
    }

    /// In the order of their ids, so that the story is the same each time.
    fn open_jobs(&self) -> impl Iterator<Item = &Job> {
        let jobs = self.told.shop.jobs.sorted().into_values();
        jobs.filter(|job| job.is_open())
    }

    fn pallets_of(&self, cell: CellId) -> Vec<&Pallet> {
        let mut pallets: Vec<_> = self
            .told
            .shop
            .pallets
            .values()
            .filter(|pallet| pallet.cell == cell)
            .collect();
        pallets.sort_by(|one, other| one.facts.code.cmp(&other.facts.code));
        pallets
    }

    const fn operator(&self) -> Actor {
        person(self.invented.operator)
    }

    const fn lead(&self) -> Actor {
        person(self.invented.planner)
    }

    const fn office(&self) -> Actor {
        person(self.invented.office)
    }

    const fn inspector(&self) -> Actor {
        person(self.invented.inspector)
    }
}

//! The shop: the whole living state of a site, folded from its ledger. Every rule is decided against one
//! consistent state; events are facts that are applied without asking.

mod apply;
mod approvals;
mod catalogue;
mod corrected;
mod counted;
mod finished;
mod for_jobs;
#[cfg(test)]
pub mod given;
mod held_up;
mod marks;
mod open_work;
#[cfg(test)]
mod properties;
mod reversed;
#[cfg(test)]
mod tests;

pub use counted::{OperationTally, RunTally};
pub use open_work::OpenWork;
pub use reversed::JudgedRun;

use crate::access::{self, Principal};
use crate::calendar::CalendarVersions;
use crate::cell::{self, Cell};
use crate::command::{Command, Context};
use crate::correction;
use crate::customer::Customer;
use crate::device::{self, Badge, Device, SetAside, device_commands, device_events};
use crate::entry::EntryMeta;
use crate::event::Event;
use crate::fixture::Fixture;
use crate::floor::{self, floor_commands, floor_events};
use crate::handover::{self, Handover, handover_commands, handover_events};
use crate::ids::{
    BadgeId, CellId, CommandId, CustomerId, FixtureCopyId, FixtureId, HoldId, JobId, MachineId, OrderId,
    PalletId, ParkedId, PartId, PlanId, PrincipalId, RunId, Seq, SetupId, VendorId,
};
use crate::inspection::{self, inspection_commands, inspection_events};
use crate::job::{self, Job, job_commands, job_events};
use crate::late::{self, Deviation, Parked};
use crate::load::{Approved, Hold};
use crate::machine::{self, Machine};
use crate::order::{self, Order, order_commands, order_events};
use crate::pallet::Pallet;
use crate::part::Part;
use crate::plan::{self, Plan};
use crate::refusal::Refusal;
use crate::run::Run;
use crate::shared_map::SharedMap;
use crate::site::{self, Site, SiteRefusal};
use crate::time::Timestamp;
use crate::vendor::Vendor;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Raised whenever the serialised shape of [`Shop`] changes; snapshots of another shape are not read.
pub const SHOP_SCHEMA: u32 = 2;

/// Cheap to clone: copies share what they do not change.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Shop {
    /// The seq of the last entry folded in.
    pub seq: Seq,
    /// `None` before the first entry.
    pub site: Option<Site>,
    pub principals: SharedMap<PrincipalId, Principal>,
    /// Those of the last days: what was tapped under them may still arrive.
    pub badges: SharedMap<BadgeId, Badge>,
    /// Tablets that have delivered.
    pub devices: SharedMap<PrincipalId, Device>,
    /// Acts of which nobody knows yet when they were.
    pub set_aside: SharedMap<CommandId, SetAside>,
    pub cells: SharedMap<CellId, Cell>,
    pub machines: SharedMap<MachineId, Machine>,
    pub pallets: SharedMap<PalletId, Pallet>,
    pub fixtures: SharedMap<FixtureId, Fixture>,
    pub customers: SharedMap<CustomerId, Customer>,
    pub vendors: SharedMap<VendorId, Vendor>,
    pub parts: SharedMap<PartId, Part>,
    /// Those that are not closed, and their jobs.
    pub orders: SharedMap<OrderId, Order>,
    pub jobs: SharedMap<JobId, Job>,
    /// Open runs, and those whose load has not been counted.
    pub runs: SharedMap<RunId, Run>,
    /// Counted, and pieces of them wait for the inspector.
    pub tallies: SharedMap<RunId, RunTally>,
    /// What each cell could load pieces of.
    pub open_work: SharedMap<CellId, OpenWork>,
    pub holds: SharedMap<HoldId, Hold>,
    /// What inspectors have opened, by job.
    pub approvals: SharedMap<JobId, Vec<Approved>>,
    /// The same by setup, for other jobs that it may be good for; until the fixture is taken off.
    pub setup_approvals: SharedMap<SetupId, Vec<Approved>>,
    /// By operation, how many pieces were cut since one was last looked at.
    pub unmeasured: SharedMap<JobId, BTreeMap<u16, u32>>,
    pub last_finished: SharedMap<PartId, Timestamp>,
    /// Acts that were told of and cannot be booked yet.
    pub parked: SharedMap<ParkedId, Parked>,
    /// The newest of what happened against a rule.
    pub deviations: SharedMap<Seq, Deviation>,
    /// Entries that were put right, and by which one.
    pub corrected: SharedMap<Seq, Seq>,
    pub handovers: SharedMap<CellId, Handover>,
    pub plans: SharedMap<PlanId, Plan>,
    /// The plan that the shop works to.
    pub current_plan: Option<PlanId>,
}

impl Shop {
    /// Accepts or refuses. Changes nothing.
    pub fn decide(&self, command: &Command, context: &Context<'_>) -> Result<Vec<Event>, Refusal> {
        let events = self.decide_alone(command, context)?;
        Ok(late::with_settled(self, events, context))
    }

    fn decide_alone(&self, command: &Command, context: &Context<'_>) -> Result<Vec<Event>, Refusal> {
        let site = match (command, &self.site) {
            (Command::OpenSite(_), Some(_)) => return Err(SiteRefusal::AlreadyOpened {}.into()),
            (Command::OpenSite(open), None) => return Ok(vec![site::open(open).into()]),
            (_, None) => return Err(SiteRefusal::NotOpened {}.into()),
            (_, Some(site)) => site,
        };
        let one: Event = match command {
            Command::OpenSite(_) => return Err(SiteRefusal::AlreadyOpened {}.into()),
            Command::ChangeSite(command) => site::change(site, command)?.into(),
            Command::SetSiteCalendar(command) => site::set_calendar(site, command)?.into(),
            Command::SetSitePeople(command) => site::set_people(site, command)?.into(),
            Command::AddPrincipal(command) => {
                access::add(&self.principals, command, context.login_taken)?.into()
            }
            Command::SetPrincipalRoles(command) => access::set_roles(&self.principals, command)?.into(),
            Command::SetPrincipalSecret(command) => access::set_secret(&self.principals, command)?.into(),
            Command::DisablePrincipal(command) => access::disable(&self.principals, command)?.into(),
            Command::EnablePrincipal(command) => access::enable(&self.principals, command)?.into(),
            Command::ForgetPrincipal(command) => access::forget(&self.principals, command)?.into(),
            Command::AddCell(command) => cell::add(&self.cells, command)?.into(),
            Command::ChangeCell(command) => {
                cell::change(&self.cells, &self.machines, &self.pallets, command)?.into()
            }
            Command::SetCellCalendar(command) => cell::set_calendar(&self.cells, site, command)?.into(),
            Command::ClearCellCalendar(command) => cell::clear_calendar(&self.cells, site, command)?.into(),
            Command::AddMachine(_)
            | Command::ChangeMachine(_)
            | Command::SetMachineDown(_)
            | Command::SetMachineUp(_)
            | Command::ReceiveSignals(_)
            | Command::ReceiveReadings(_)
            | Command::SetMachineTools(_) => return self.decide_machine(command, context),
            Command::AddPallet(_)
            | Command::ChangePallet(_)
            | Command::AddFixture(_)
            | Command::ChangeFixture(_)
            | Command::AddFixtureCopy(_)
            | Command::AddCustomer(_)
            | Command::ChangeCustomer(_)
            | Command::AddVendor(_)
            | Command::ChangeVendor(_)
            | Command::AddPart(_)
            | Command::ChangePart(_)
            | Command::AddRevision(_)
            | Command::SetRouting(_) => return self.decide_catalogue(command),
            device_commands!() => return device::decide(self, command, context.now),
            order_commands!() => return order::decide(self, command, context.now),
            job_commands!() => return job::decide(self, site, command, context.now),
            floor_commands!() => return floor::decide(self, command, context.now),
            Command::Correct(command) => return correction::decide(self, command, context),
            Command::ReportAct(_) | Command::SettleAct(_) => return late::decide(self, command, context),
            inspection_commands!() => return inspection::decide(self, command, context),
            handover_commands!() => return handover::decide(self, command, context),
            Command::PostPlan(command) => plan::post(&self.plans, &self.machines, command)?.into(),
            Command::PublishPlan(command) => plan::publish(&self.plans, command)?.into(),
            Command::PublishComputed(command) => return plan::publish_computed(self, command),
        };
        Ok(vec![one])
    }

    /// Commands of other topics give nothing.
    fn decide_machine(&self, command: &Command, context: &Context<'_>) -> Result<Vec<Event>, Refusal> {
        let one: Event = match command {
            Command::AddMachine(command) => {
                let (cell, machine) = machine::add(&self.machines, &self.cells, command)?;
                return Ok(cell
                    .map(Event::from)
                    .into_iter()
                    .chain([machine.into()])
                    .collect());
            }
            Command::ChangeMachine(command) => machine::change(&self.machines, command)?.into(),
            Command::SetMachineDown(command) => {
                machine::set_down(&self.machines, command, context.now)?.into()
            }
            Command::SetMachineUp(command) => machine::set_up(&self.machines, command, context.now)?.into(),
            Command::ReceiveSignals(command) => {
                return Ok(machine::signals(&self.machines, command, context)?);
            }
            Command::ReceiveReadings(command) => {
                return Ok(machine::readings(&self.machines, command, context)?);
            }
            Command::SetMachineTools(command) => machine::set_tools(&self.machines, command)?.into(),
            _ => return Ok(Vec::new()),
        };
        Ok(vec![one])
    }

    /// Folds one entry in. Never refuses: an event is a fact.
    pub fn apply(&mut self, event: &Event, meta: &EntryMeta) {
        self.apply_and_book(event, meta);
    }

    /// Tells the tallies that the entry changed, and the cells whose work began or ended with it.
    fn apply_and_book(&mut self, event: &Event, meta: &EntryMeta) -> (Vec<RunTally>, Vec<CellId>) {
        self.seq = meta.seq;
        // Unloading takes the run out of the shop.
        let tallies = self.tallies(event);
        let finished = self.finished_by(event);
        let load = self.load_taken_off(event);
        self.apply_to_topic(event, meta);
        self.keep_finished(finished);
        self.note_tallies(load, meta.seq, &tallies);
        self.keep_tallies(&tallies, &self.closed_by(event));
        let turned = self.book_open_work(event, meta);
        (tallies, turned)
    }

    fn apply_to_topic(&mut self, event: &Event, meta: &EntryMeta) {
        match event {
            Event::SiteOpened(_)
            | Event::SiteChanged(_)
            | Event::SiteCalendarSet(_)
            | Event::SitePeopleSet(_) => {
                self.apply_to_site(event, meta);
            }
            Event::PrincipalAdded(_)
            | Event::PrincipalRolesSet(_)
            | Event::PrincipalSecretSet(_)
            | Event::PrincipalDisabled(_)
            | Event::PrincipalEnabled(_)
            | Event::PrincipalForgotten(_) => self.apply_to_principals(event, meta),
            Event::CellAdded(_)
            | Event::CellChanged(_)
            | Event::CellCalendarSet(_)
            | Event::CellCalendarCleared(_) => self.apply_to_cells(event, meta),
            Event::MachineAdded(_)
            | Event::MachineChanged(_)
            | Event::MachineSetDown(_)
            | Event::MachineSetUp(_)
            | Event::MachineToolsSet(_)
            | Event::SignalsReceived(_)
            | Event::CyclesReceived(_)
            | Event::ReadingsReceived(_) => self.apply_to_machines(event, meta),
            Event::PalletAdded(_)
            | Event::PalletChanged(_)
            | Event::FixtureAdded(_)
            | Event::FixtureChanged(_)
            | Event::FixtureCopyAdded(_)
            | Event::CustomerAdded(_)
            | Event::CustomerChanged(_)
            | Event::VendorAdded(_)
            | Event::VendorChanged(_)
            | Event::PartAdded(_)
            | Event::PartChanged(_)
            | Event::RevisionAdded(_)
            | Event::RoutingSet(_) => self.apply_to_catalogue(event, meta),
            device_events!() => device::apply(self, event, meta),
            order_events!() => order::apply(self, event, meta),
            job_events!() => job::apply(self, event, meta),
            floor_events!() => floor::apply(self, event, meta),
            Event::ActWithdrawn(_) | Event::RunRetimed(_) | Event::PalletRecounted(_) => {
                correction::apply(self, event, meta);
            }
            Event::ActParked(_) | Event::ActSettled(_) | Event::DeviationRecorded(_) => {
                late::apply(self, event, meta);
            }
            inspection_events!() => inspection::apply(self, event, meta),
            handover_events!() => handover::apply(self, event, meta),
            Event::PlanPosted(_) | Event::PlanPublished(_) => self.apply_to_plans(event, meta),
        }
    }

    /// The calendar that a cell works by.
    pub fn calendar_of(&self, cell: CellId) -> Option<&CalendarVersions> {
        let own = self.cells.get(&cell).and_then(|cell| cell.calendar.as_ref());
        own.or_else(|| self.site.as_ref().map(|site| &site.calendar))
    }

    pub fn machine_by_code(&self, code: &str) -> Option<&Machine> {
        self.machines
            .values()
            .find(|machine| machine.code.as_str().eq_ignore_ascii_case(code))
    }

    pub fn cell_by_code(&self, code: &str) -> Option<&Cell> {
        self.cells
            .values()
            .find(|cell| cell.code.as_str().eq_ignore_ascii_case(code))
    }

    /// The pallet that this copy of a fixture is on; `None`: it is in store.
    pub fn pallet_with(&self, copy: FixtureCopyId) -> Option<&Pallet> {
        let has_it = |pallet: &&Pallet| pallet.setup.as_ref().is_some_and(|setup| setup.copy == copy);
        self.pallets.values().find(has_it)
    }

    /// In the order of their codes.
    pub fn machines_of(&self, cell: CellId) -> Vec<&Machine> {
        let mut machines: Vec<_> = self
            .machines
            .values()
            .filter(|machine| machine.cell == cell)
            .collect();
        machines.sort_by(|a, b| a.code.cmp(&b.code));
        machines
    }
}

//! Jobs: a released line of an order, or a lot split off from one. The routing is frozen at release; the pieces are
//! counted at each of its operations.
//!
//! What is asked of a job is decided here; the functions that move pieces ask nothing: events are facts.

mod apply;
mod command;
mod counts;
mod decide;
mod event;
mod inspection;
mod lead;
mod loads;
mod recount;
mod refusal;
#[cfg(test)]
mod tests;

pub use command::{AddBlanks, ReportInspected, ReportStepBack, ReportStepOut, SplitJob};
pub use counts::{AtOperation, Back, Counts, StepOut};
pub use event::{BlanksAdded, JobInspected, JobSplit, Moved, SteppedBack, SteppedOut};
pub use inspection::Inspection;
pub(crate) use lead::due_of;
pub use loads::LoadsToRun;
pub(crate) use recount::changed;
pub use refusal::JobRefusal;

use crate::code::{Code, Name};
use crate::command::Command;
use crate::entry::EntryMeta;
use crate::event::Event;
use crate::ids::{JobId, OrderId, PartId, Seq};
use crate::inspection::Lapse;
use crate::part::{FrozenRouting, Machining, Operation, Work};
use crate::refusal::Refusal;
use crate::shop::Shop;
use crate::site::Site;
use crate::time::Timestamp;
use serde::{Deserialize, Serialize};

/// Open ones, with those that are complete while their order is not. Far more than a shop can have in work.
pub const JOBS_MAX: usize = 20_000;
/// Of one lot; sums stay far from what a count can hold.
pub const PIECES_MAX: u32 = 1_000_000;
/// Hand-overs to steps of one job.
pub const STEPS_MAX: usize = 500;

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Job {
    pub id: JobId,
    pub order: OrderId,
    pub line: u32,
    pub part: PartId,
    pub revision: Code,
    pub routing: FrozenRouting,
    /// Good pieces wanted of this lot.
    pub quantity: u32,
    /// Blanks given out for it; as many have come to its first operation.
    pub released: u32,
    /// One for each operation of the routing, in its order.
    pub operations: Vec<AtOperation>,
    /// The heat or certificate of the material. Lots that are split off keep it.
    pub certificate: Option<Name>,
    /// The lot that it was split off from.
    pub parent: Option<JobId>,
    pub state: JobState,
    /// Its part was not finished for so long that the formal inspection is wanted again.
    pub first_article_due: Option<Lapse>,
    /// The last results of inspectors.
    pub inspections: Vec<Inspection>,
    pub released_seq: Seq,
    pub changed_seq: Seq,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum JobState {
    Open,
    Complete,
    Cancelled,
}

/// What a released job is made of.
pub(crate) struct Release {
    pub job: JobId,
    pub order: OrderId,
    pub line: u32,
    pub part: PartId,
    pub revision: Code,
    pub routing: FrozenRouting,
    pub quantity: u32,
    pub blanks: u32,
    pub certificate: Option<Name>,
    pub seq: Seq,
}

impl Job {
    pub(crate) fn release(release: Release) -> Self {
        let at = |operation: &Operation| AtOperation {
            number: operation.number,
            ..AtOperation::default()
        };
        let operations = release.routing.operations.iter().map(at).collect();
        let mut job = Self {
            id: release.job,
            order: release.order,
            line: release.line,
            part: release.part,
            revision: release.revision,
            routing: release.routing,
            quantity: release.quantity,
            released: 0,
            operations,
            certificate: release.certificate,
            parent: None,
            state: JobState::Open,
            first_article_due: None,
            inspections: Vec::new(),
            released_seq: release.seq,
            changed_seq: release.seq,
        };
        job.add_blanks(release.blanks);
        job
    }

    /// The pieces at an operation.
    pub fn at(&self, number: u16) -> Option<&AtOperation> {
        self.operations.iter().find(|at| at.number == number)
    }

    /// The operation as the frozen routing has it.
    pub fn operation(&self, number: u16) -> Option<&Operation> {
        self.routing
            .operations
            .iter()
            .find(|known| known.number == number)
    }

    /// `None` for a manual step.
    pub fn machining(&self, number: u16) -> Option<&Machining> {
        match &self.operation(number)?.work {
            Work::Machining(machining) => Some(machining),
            Work::Manual(_) => None,
        }
    }

    /// All hand-overs, each with its operation.
    pub fn steps(&self) -> impl Iterator<Item = (u16, &StepOut)> {
        let at_each = self.operations.iter();
        at_each.flat_map(|at| at.outside.iter().map(|step| (at.number, step)))
    }

    pub fn is_open(&self) -> bool {
        self.state == JobState::Open
    }

    pub fn is_started(&self) -> bool {
        self.operations.iter().any(AtOperation::is_started)
    }

    /// Finished: good at the last operation.
    pub fn made(&self) -> u32 {
        self.operations.last().map_or(0, |last| last.good)
    }

    /// Good pieces that are still wanted; never less than none.
    pub fn still_to_make(&self) -> u32 {
        self.quantity.saturating_sub(self.made())
    }

    /// Good pieces beyond the wanted ones, for a person to decide.
    pub fn surplus(&self) -> u32 {
        self.made().saturating_sub(self.quantity)
    }

    /// Pieces that can still become good ones.
    pub fn in_hand(&self) -> u32 {
        self.operations.iter().map(AtOperation::in_hand).sum()
    }

    /// Blanks that are lacking: even if all that is in hand comes good, so many are missing.
    pub fn material_shortfall(&self) -> u32 {
        self.still_to_make().saturating_sub(self.in_hand())
    }

    /// How many may be clamped at an operation now.
    pub fn pieces_can_be_loaded(&self, number: u16) -> u32 {
        self.at(number).map_or(0, AtOperation::waiting)
    }

    /// How many must still pass an operation so that the wanted quantity comes good, no more than there are. Pieces that
    /// were cut and wait for the inspector count as passed.
    pub fn pieces_to_run(&self, number: u16) -> u32 {
        let Some(index) = self.index(number) else { return 0 };
        let later: u32 = self.operations[index + 1..]
            .iter()
            .map(AtOperation::in_hand)
            .sum();
        let here = &self.operations[index];
        let passed = later + here.inspection;
        let earlier: u32 = self.operations[..index].iter().map(AtOperation::in_hand).sum();
        let to_come = earlier + here.in_hand() - here.inspection;
        self.still_to_make().saturating_sub(passed).min(to_come)
    }

    /// How many of those that wait at an operation are still wanted: what a load is proposed for.
    pub fn pieces_to_load(&self, number: u16) -> u32 {
        let Some(at) = self.at(number) else { return 0 };
        let under_way = at.clamped + at.rework + at.out;
        self.pieces_to_run(number)
            .saturating_sub(under_way)
            .min(at.waiting())
    }

    pub fn clamp(&mut self, number: u16, pieces: u32, from_rework: bool) {
        self.change(number, |at| {
            if from_rework {
                at.rework = at.rework.saturating_sub(pieces);
            }
            at.clamped = at.clamped.saturating_add(pieces);
        });
    }

    /// Taken off uncut.
    pub fn unclamp(&mut self, number: u16, pieces: u32, to_rework: bool) {
        self.change(number, |at| {
            at.clamped = at.clamped.saturating_sub(pieces);
            if to_rework {
                at.rework = at.rework.saturating_add(pieces);
            }
        });
    }

    /// What came of clamped pieces at unloading.
    pub fn count(&mut self, number: u16, counts: Counts) {
        self.change(number, |at| at.clamped = less(at.clamped, counts.total()));
        self.settle(number, counts);
    }

    /// What had become of waiting pieces before the book was opened.
    pub fn told(&mut self, number: u16, counts: Counts) {
        self.settle(number, counts);
    }

    pub fn step_out(&mut self, number: u16, step: StepOut, from_rework: bool) {
        self.change(number, |at| {
            if from_rework {
                at.rework = at.rework.saturating_sub(step.pieces);
            }
            at.out = at.out.saturating_add(step.pieces);
            at.outside.push(step);
        });
    }

    /// Damaged pieces go to the inspector; missing ones are lost.
    pub fn step_back(&mut self, number: u16, step: u32, back: Back, at: Timestamp) {
        self.change(number, |here| {
            here.out = less(here.out, back.total());
            if let Some(step) = here.outside.iter_mut().find(|known| known.step == step) {
                step.good = step.good.saturating_add(back.good);
                step.damaged = step.damaged.saturating_add(back.damaged);
                step.missing = step.missing.saturating_add(back.missing);
                step.last_back_at = Some(at);
            }
        });
        let counts = Counts {
            good: back.good,
            inspection: back.damaged,
            scrapped: back.missing,
            ..Counts::default()
        };
        self.settle(number, counts);
    }

    pub fn add_blanks(&mut self, pieces: u32) {
        self.released = self.released.saturating_add(pieces);
        if let Some(first) = self.operations.first_mut() {
            first.came = first.came.saturating_add(pieces);
        }
    }

    /// Takes waiting pieces out of this lot and gives them to a new one, with the way that they have come.
    pub(crate) fn split(&mut self, into: JobId, quantity: u32, moved: &[Moved], seq: Seq) -> Self {
        let mut lot = Self {
            id: into,
            quantity,
            released: 0,
            inspections: Vec::new(),
            parent: Some(self.id),
            released_seq: seq,
            changed_seq: seq,
            ..self.clone()
        };
        for at in &mut lot.operations {
            *at = AtOperation {
                number: at.number,
                ..AtOperation::default()
            };
        }
        self.quantity = self.quantity.saturating_sub(quantity);
        for Moved { operation, pieces } in moved {
            self.released = self.released.saturating_sub(*pieces);
            lot.released = lot.released.saturating_add(*pieces);
            let Some(index) = self.index(*operation) else {
                continue;
            };
            for (mine, theirs) in self.operations.iter_mut().zip(&mut lot.operations).take(index) {
                mine.came = mine.came.saturating_sub(*pieces);
                mine.good = mine.good.saturating_sub(*pieces);
                theirs.came = theirs.came.saturating_add(*pieces);
                theirs.good = theirs.good.saturating_add(*pieces);
            }
            let (mine, theirs) = (&mut self.operations[index], &mut lot.operations[index]);
            mine.came = mine.came.saturating_sub(*pieces);
            theirs.came = theirs.came.saturating_add(*pieces);
        }
        lot
    }

    /// Adds what became of pieces; good ones come to the next operation.
    pub(super) fn settle(&mut self, number: u16, counts: Counts) {
        let Some(index) = self.index(number) else { return };
        let at = &mut self.operations[index];
        at.good = at.good.saturating_add(counts.good);
        at.scrapped = at.scrapped.saturating_add(counts.scrapped);
        at.rework = at.rework.saturating_add(counts.rework);
        at.inspection = at.inspection.saturating_add(counts.inspection);
        at.returned = at.returned.saturating_add(counts.returned);
        if let Some(next) = self.operations.get_mut(index + 1) {
            next.came = next.came.saturating_add(counts.good);
        }
    }

    fn change(&mut self, number: u16, change: impl FnOnce(&mut AtOperation)) {
        if let Some(index) = self.index(number) {
            change(&mut self.operations[index]);
        }
    }

    fn index(&self, number: u16) -> Option<usize> {
        self.operations.iter().position(|at| at.number == number)
    }
}

fn less(count: u32, by: u64) -> u32 {
    count.saturating_sub(u32::try_from(by).unwrap_or(u32::MAX))
}

macro_rules! job_commands {
    () => {
        Command::SplitJob(_)
            | Command::AddBlanks(_)
            | Command::ReportStepOut(_)
            | Command::ReportStepBack(_)
            | Command::ReportInspected(_)
    };
}
pub(crate) use job_commands;

macro_rules! job_events {
    () => {
        Event::JobSplit(_)
            | Event::BlanksAdded(_)
            | Event::SteppedOut(_)
            | Event::SteppedBack(_)
            | Event::JobInspected(_)
    };
}
pub(crate) use job_events;

/// Commands of other topics give nothing.
pub(crate) fn decide(
    shop: &Shop,
    site: &Site,
    command: &Command,
    now: Timestamp,
) -> Result<Vec<Event>, Refusal> {
    let one: Event = match command {
        Command::SplitJob(command) => decide::split(shop, command)?.into(),
        Command::AddBlanks(command) => decide::add_blanks(shop, command)?.into(),
        Command::ReportStepOut(command) => decide::step_out(shop, site, command, now)?.into(),
        Command::ReportStepBack(command) => decide::step_back(shop, command, now)?.into(),
        Command::ReportInspected(command) => decide::inspected(shop, command, now)?.into(),
        _ => return Ok(Vec::new()),
    };
    Ok(vec![one])
}

pub(crate) fn apply(shop: &mut Shop, event: &Event, meta: &EntryMeta) {
    apply::apply(shop, event, meta);
}

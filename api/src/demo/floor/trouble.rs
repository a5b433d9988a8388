//! What goes wrong in five weeks: a breakdown, a finish that nobody told, a rush order, a load that somebody doubts.

use super::Story;
use super::agenda::Due;
use super::spindle::Busy;
use super::told::note;
use crate::demo::down;
use crate::demo::shop::NotAShop;
use chrono::Weekday;
use spindlebook_domain::ids::MachineId;
use spindlebook_domain::load::Load;
use spindlebook_domain::machine::{SetMachineDown, SetMachineUp};
use spindlebook_domain::machine_state::MachineState;
use spindlebook_domain::run::AbortReason;
use spindlebook_domain::time::Timestamp;

/// How long before the breakdown nothing new is begun on the machine: the coolant is already low.
const LOW_S: i64 = 1_800;

#[derive(Default)]
pub struct Once {
    forgotten: bool,
}

impl Story<'_> {
    pub fn plans_trouble(&mut self) {
        let down = down::window(self.frame);
        self.agenda
            .at(down.from.plus_s(-down::STOPS_BEFORE_S), Due::Breaks);
        self.agenda.at(down.to, Due::Repaired);
        for (weeks_ago, weekday) in [(3, Weekday::Tue), (1, Weekday::Wed)] {
            let date = self.frame.day(weeks_ago, weekday);
            self.agenda.at(self.frame.wall(date, 9, 12), Due::Rush);
        }
        // The last time before now at which somebody has been there for a while.
        let lately = self.frame.now.plus_s(-50 * 60);
        let doubted_at = (0..7 * 24 * 4)
            .map(|quarters| lately.plus_s(-quarters * 900))
            .find(|at| self.pools.works_from(*at) == *at);
        if let Some(at) = doubted_at {
            self.agenda.at(at, Due::Doubt);
        }
    }

    fn goes_down(&self) -> Option<MachineId> {
        self.pool_spindles()
            .into_iter()
            .find(|machine| self.invented.goes_down(*machine))
    }

    pub fn is_about_to_break(&self, machine: MachineId, at: Timestamp) -> bool {
        let down = down::window(self.frame);
        self.goes_down() == Some(machine) && at < down.to && at >= down.from.plus_s(-LOW_S)
    }

    /// The coolant pump fails: the machine stops, the run is broken off, and it is set down until it is repaired.
    pub fn breaks_down(&mut self, at: Timestamp) -> Result<(), NotAShop> {
        let Some(machine) = self.goes_down() else {
            return Ok(());
        };
        let running = self.running(machine);
        if let Some(spindle) = self.spindles.get_mut(&machine) {
            spindle.breaks_off(at);
            spindle.log.says(at, MachineState::Stopped);
            spindle.busy = Busy::Down;
        }
        let set_down_at = at.plus_s(down::STOPS_BEFORE_S);
        if let Some((run, _)) = running {
            self.abort(run, AbortReason::Alarm, at.plus_s(45))?;
        }
        let (note, text) = note(&mut self.dice, down::NOTE);
        let command = SetMachineDown {
            machine,
            at: set_down_at,
            reason: down::REASON,
            note: Some(note),
        };
        self.tells((set_down_at, set_down_at), self.operator(), command, Some(text))
    }

    pub fn is_repaired(&mut self, at: Timestamp) -> Result<(), NotAShop> {
        let Some(machine) = self.goes_down() else {
            return Ok(());
        };
        let Some(cell) = self.spindles.get(&machine).map(|spindle| spindle.cell) else {
            return Ok(());
        };
        self.acts(at, self.operator(), SetMachineUp { machine, at })?;
        if let Some(spindle) = self.spindles.get_mut(&machine) {
            spindle.log.says(at, MachineState::Ready);
            spindle.busy = Busy::Free;
        }
        self.wakes_machines(cell, at);
        Ok(())
    }

    /// One evening of last week everybody goes home and nobody tells that the horizontal mill has finished; in the
    /// morning somebody adds it.
    pub fn unless_forgotten(
        &mut self,
        machine: MachineId,
        ends_at: Timestamp,
        told_at: Timestamp,
    ) -> Timestamp {
        let evening = self.frame.day(1, Weekday::Tue);
        let is_evening =
            ends_at >= self.frame.wall(evening, 20, 20) && ends_at < self.frame.wall(evening, 22, 0);
        if self.once.forgotten || !is_evening || self.goes_down() != Some(machine) {
            return told_at;
        }
        self.once.forgotten = true;
        self.pools.comes_at(ends_at).plus_s(self.dice.minutes(12, 25))
    }

    pub fn is_new_part(&self, load: &Load) -> bool {
        let parts = &self.invented.catalogue.parts;
        load.clamped.iter().any(|one| {
            let part = self.told.shop.jobs.get(&one.job).map(|job| job.part);
            parts.iter().any(|known| known.is_new && Some(known.id) == part)
        })
    }
}

//! A load's passage through a spindle: what the machine does, and what people tell of it, mostly some seconds later.

use super::Story;
use super::agenda::Due;
use super::spindle::{Busy, Passage};
use super::told::note;
use crate::demo::shop::NotAShop;
use spindlebook_domain::floor::{
    AbortRun, FinishRun, OverridableRule, Override, PauseRun, ResumeRun, StartRun,
};
use spindlebook_domain::ids::{CellId, HoldId, MachineId, PalletId, RunId};
use spindlebook_domain::machine_state::MachineState::{self, Active, FeedHold, Interrupted, OptionalStop};
use spindlebook_domain::run::{AbortReason, PauseReason, Purpose};
use spindlebook_domain::time::{Timestamp, Window};

const IN_ALREADY: &str = "It was in the machine when the queue was changed.";
/// With people there, so many of a hundred runs stop: chips, a measurement, a tool.
const STOPS_PERCENT: u32 = 20;
/// Stops shorter than this are not worth a tap.
const TOLD_FROM_S: i64 = 180;
/// Of a hundred nights' starts.
const NIGHT_ALARM_PERCENT: u32 = 4;
/// Of a hundred starts, those that are told when somebody happens to think of it.
const TOLD_LATE_PERCENT: u32 = 2;

impl Story<'_> {
    /// The table of the standalone machine, if its cut is over before everybody leaves.
    pub fn starts_table(&mut self, cell: CellId, pallet: PalletId, at: Timestamp) {
        let machine = self.invented.standalone;
        let begins_at = at.plus_s(self.dice.between(60, 240));
        let cut_s = self.planned_s(pallet) * 11 / 10;
        let leaves_at = self.staff_of(cell).leaves_at(begins_at);
        if leaves_at.is_none_or(|leaves_at| begins_at.plus_s(cut_s) >= leaves_at) {
            let comes_at = self.staff_of(cell).comes_at(at).plus_s(self.dice.minutes(8, 30));
            self.agenda.at(comes_at, Due::Hands(cell));
            return;
        }
        self.agenda.at(begins_at, Due::Begins(machine, pallet));
    }

    fn planned_s(&self, pallet: PalletId) -> i64 {
        let load = self
            .told
            .shop
            .pallets
            .get(&pallet)
            .and_then(|pallet| pallet.load.as_ref());
        let Some((load, cell)) = load.zip(self.told.shop.pallets.get(&pallet).map(|pallet| pallet.cell))
        else {
            return 0;
        };
        let of = |one: &spindlebook_domain::load::Clamped| {
            let machining = self.told.shop.jobs.get(&one.job)?.machining(one.operation)?;
            Some(super::work::place(machining, cell)?.cycle.of_load_s(one.pieces))
        };
        let sum: u64 = load.clamped.iter().filter_map(of).sum();
        i64::try_from(sum).unwrap_or_default()
    }

    /// The program begins. In the night the control keeps the time; by day somebody taps.
    pub fn begins(&mut self, machine: MachineId, pallet: PalletId, at: Timestamp) {
        let begins_at = self.dice.soon_after(at);
        let late_s = if !self.pools.is_there(at) {
            1
        } else if self.dice.percent(TOLD_LATE_PERCENT) {
            // Not so late that a short one would be over.
            self.dice.minutes(4, 9).min(self.planned_s(pallet) / 3)
        } else {
            self.dice.between(2, 9)
        };
        let told_at = begins_at.plus_s(late_s);
        let run = RunId(self.dice.uuid());
        let command = self.start_of(machine, pallet, run, told_at);
        if !self.told.takes(told_at, self.operator(), &[command.into()]) {
            if let Some(spindle) = self.spindles.get_mut(&machine) {
                spindle.busy = Busy::Free;
            }
            self.agenda.at(at.plus_s(60), Due::Free(machine));
            return;
        }
        let comes_at = self.pools.came_at(at).plus_s(180);
        if let Some(spindle) = self.spindles.get_mut(&machine) {
            spindle.waited_until(begins_at, comes_at);
            spindle.log.says(begins_at, Active);
            spindle.busy = Busy::Begins {
                pallet,
                at: begins_at,
            };
        }
        self.agenda.at(told_at, Due::Start(machine));
    }

    fn start_of(&self, machine: MachineId, pallet: PalletId, run: RunId, at: Timestamp) -> StartRun {
        StartRun {
            run,
            machine,
            pallet: Some(pallet),
            purpose: self.purpose_of(pallet, machine),
            at,
            overrides: Vec::new(),
        }
    }

    fn purpose_of(&self, pallet: PalletId, machine: MachineId) -> Option<Purpose> {
        let load = self.told.shop.pallets.get(&pallet)?.load.as_ref()?;
        if load.is_rework() {
            return Some(Purpose::Rework);
        }
        let is_first = self.first_piece_of(load, pallet, machine).is_some();
        match is_first {
            true if self.is_new_part(load) => Some(Purpose::ProveOut),
            true => Some(Purpose::FirstPiece),
            false => Some(Purpose::Production),
        }
    }

    pub fn starts(&mut self, machine: MachineId, at: Timestamp) -> Result<(), NotAShop> {
        let busy = self.spindles.get(&machine).map(|spindle| spindle.busy);
        let Some(Busy::Begins {
            pallet,
            at: begins_at,
        }) = busy
        else {
            return Ok(());
        };
        let run = RunId(self.dice.uuid());
        let command = self.start_of(machine, pallet, run, at);
        let purpose = command.purpose;
        if self.told.takes(at, self.operator(), &[command.clone().into()]) {
            self.acts(at, self.operator(), command)?;
        } else {
            self.lets_it_run(command)?;
        }
        let planned_s = self.planned_s(pallet);
        if !self.pools.is_there(at) && self.alarm_stops(machine, run, begins_at) {
            return Ok(());
        }
        let may_stop = machine != self.invented.standalone && self.pools.is_there(begins_at);
        let passage = self.passage((begins_at, at), planned_s, purpose, may_stop);
        for (stop, state) in &passage.stops {
            if stop.us() >= TOLD_FROM_S * 1_000_000 && self.dice.percent(70) {
                let (paused, resumed) = (self.dice.between(5, 40), self.dice.between(4, 20));
                self.agenda
                    .at(stop.from.plus_s(paused), Due::Pause(run, reason_of(*state)));
                self.agenda.at(stop.to.plus_s(resumed), Due::Resume(run));
            }
        }
        let late_s = if self.pools.is_there(passage.ends_at) {
            self.dice.between(30, 200)
        } else {
            1
        };
        let told_at = self.unless_forgotten(machine, passage.ends_at, passage.ends_at.plus_s(late_s));
        self.agenda.at(told_at, Due::Finish(machine));
        if let Some(spindle) = self.spindles.get_mut(&machine) {
            spindle.passes(&passage);
            let ends_at = passage.ends_at;
            spindle.busy = Busy::Runs { run, ends_at };
        }
        Ok(())
    }

    /// The queue was changed after this pallet had gone in.
    fn lets_it_run(&mut self, mut command: StartRun) -> Result<(), NotAShop> {
        let (reason, text) = note(&mut self.dice, IN_ALREADY);
        command.overrides = vec![Override {
            rule: OverridableRule::NotNext,
            reason,
        }];
        let at = command.at;
        self.tells((at, at), self.lead(), command, Some(text))
    }

    /// Programs take a little more or less than planned; one that is proved out takes longer and stops often.
    fn passage(
        &mut self,
        (begins_at, told_at): (Timestamp, Timestamp),
        planned_s: i64,
        purpose: Option<Purpose>,
        may_stop: bool,
    ) -> Passage {
        let spread = (planned_s / 60).max(1);
        let mut cycle_s = planned_s + self.dice.between(-spread, spread);
        let mut stops = 0;
        if purpose == Some(Purpose::ProveOut) {
            cycle_s = cycle_s * 3 / 2;
            stops = 3;
        } else if may_stop && self.dice.percent(STOPS_PERCENT) {
            stops = 1;
        }
        // Nobody stops or goes on with what runs when nobody is there.
        let leaves_at = self.pools.leaves_at(begins_at).unwrap_or(begins_at);
        let mut passage = Passage {
            begins_at,
            stops: Vec::new(),
            ends_at: begins_at.plus_s(cycle_s),
        };
        for number in 1..=stops {
            let planned_at = begins_at.plus_s(cycle_s * number / (stops + 1) - self.dice.between(0, 60));
            let last_ends_at = passage.stops.last().map_or(told_at, |(stop, _)| stop.to);
            let from = planned_at.max(last_ends_at.plus_s(75));
            let to = from.plus_s(self.dice.minutes(1, 12));
            if to.plus_s(120) >= leaves_at || from.plus_s(60) >= passage.ends_at {
                continue;
            }
            let state = self.dice.pick(&[FeedHold, Interrupted, OptionalStop]);
            passage.stops.push((Window::new(from, to), state));
            passage.ends_at = passage.ends_at.plus_us(to.since_us(from));
        }
        passage
    }

    /// In the night a broken tool stops the run until somebody comes, who breaks it off.
    fn alarm_stops(&mut self, machine: MachineId, run: RunId, begins_at: Timestamp) -> bool {
        let comes_at = self.pools.comes_at(begins_at);
        let stops_at = begins_at.plus_s(self.dice.minutes(4, 16));
        let is_long = comes_at.since_us(begins_at) > 12 * 3_600 * 1_000_000;
        if is_long || stops_at >= comes_at || !self.dice.percent(NIGHT_ALARM_PERCENT) {
            return false;
        }
        let found_at = comes_at.plus_s(self.dice.minutes(7, 22));
        if let Some(spindle) = self.spindles.get_mut(&machine) {
            spindle.log.says(stops_at, Interrupted);
            spindle.cut.push(Window::new(begins_at, stops_at));
            spindle.stopped.push(Window::new(stops_at, found_at));
            let ends_at = found_at;
            spindle.busy = Busy::Runs { run, ends_at };
        }
        self.agenda.at(found_at, Due::Abort(machine));
        true
    }

    fn is_open(&self, run: RunId) -> bool {
        self.told
            .shop
            .runs
            .get(&run)
            .is_some_and(spindlebook_domain::run::Run::is_open)
    }

    pub fn pauses(&mut self, run: RunId, reason: PauseReason, at: Timestamp) -> Result<(), NotAShop> {
        if !self.is_open(run) {
            return Ok(());
        }
        self.acts(at, self.operator(), PauseRun { run, at, reason })
    }

    pub fn resumes(&mut self, run: RunId, at: Timestamp) -> Result<(), NotAShop> {
        if !self.is_open(run) {
            return Ok(());
        }
        self.acts(at, self.operator(), ResumeRun { run, at })
    }

    /// Told now, or long after it was over: then with its true time.
    pub fn finishes(&mut self, machine: MachineId, at: Timestamp) -> Result<(), NotAShop> {
        let Some((run, ends_at)) = self.running(machine).filter(|(run, _)| self.is_open(*run)) else {
            return Ok(());
        };
        let is_late = at.since_us(ends_at) > 900 * 1_000_000;
        let ended_at = if is_late { ends_at.plus_s(20) } else { at };
        let hold = HoldId(self.dice.uuid());
        let at_that_time = FinishRun {
            run,
            at: ended_at,
            hold,
        };
        self.tells((at, ended_at), self.operator(), at_that_time, None)?;
        self.holds_wait(hold, at);
        self.is_free(machine, at);
        Ok(())
    }

    pub fn aborts(&mut self, machine: MachineId, at: Timestamp) -> Result<(), NotAShop> {
        let Some((run, _)) = self.running(machine) else {
            return Ok(());
        };
        self.abort(run, AbortReason::Tool, at)?;
        if let Some(spindle) = self.spindles.get_mut(&machine) {
            spindle.log.says(at, MachineState::Ready);
        }
        self.is_free(machine, at);
        Ok(())
    }

    pub fn abort(&mut self, run: RunId, reason: AbortReason, at: Timestamp) -> Result<(), NotAShop> {
        let note = None;
        let abort = AbortRun {
            run,
            at,
            reason,
            note,
        };
        self.acts(at, self.operator(), abort)
    }

    pub fn running(&self, machine: MachineId) -> Option<(RunId, Timestamp)> {
        match self.spindles.get(&machine)?.busy {
            Busy::Runs { run, ends_at } => Some((run, ends_at)),
            Busy::Free | Busy::Begins { .. } | Busy::Down => None,
        }
    }

    /// By day the next one is exchanged when somebody has seen that this one is over.
    fn is_free(&mut self, machine: MachineId, at: Timestamp) {
        let Some(spindle) = self.spindles.get_mut(&machine) else {
            return;
        };
        spindle.busy = Busy::Free;
        let cell = spindle.cell;
        if machine == self.invented.standalone {
            let next_at = at.plus_s(self.dice.minutes(14, 60));
            self.agenda.at(next_at, Due::Hands(cell));
        } else {
            self.wakes_machines(cell, at);
        }
    }
}

const fn reason_of(state: MachineState) -> PauseReason {
    match state {
        Interrupted => PauseReason::Alarm,
        OptionalStop => PauseReason::Measuring,
        _ => PauseReason::Tool,
    }
}

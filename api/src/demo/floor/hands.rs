//! The operator of a cell: takes off what is cut, clamps what is next, changes fixtures, and is away now and then.

use super::Story;
use super::agenda::Due;
use super::spindle::Busy;
use super::work::Candidate;
use crate::demo::sheets::In;
use crate::demo::shop::NotAShop;
use spindlebook_domain::floor::{
    Count, FinishSetup, LoadPallet, MountFixture, MovePallet, UnloadPallet, UnmountFixture,
};
use spindlebook_domain::ids::{CellId, FixtureId, LoadId, PalletId, SetupId};
use spindlebook_domain::load::{Clamped, Load, Stage};
use spindlebook_domain::pallet::{Pallet, Position};
use spindlebook_domain::pool::PalletState;
use spindlebook_domain::time::Timestamp;

const STATION: Position = Position::LoadStation { number: 1 };
/// Of a hundred times that there is something to do: at a pool by day, in the evening, and at a machine of one's own.
const AWAY_PERCENT: [u32; 3] = [38, 12, 5];

enum Task {
    Move {
        pallet: PalletId,
        to: Position,
    },
    Mount {
        pallet: PalletId,
        fixture: FixtureId,
    },
    Unmount {
        pallet: PalletId,
    },
    Load {
        pallet: PalletId,
        takes_s: i64,
    },
    Unload {
        pallet: PalletId,
        takes_s: i64,
    },
    /// The table of the standalone machine is loaded.
    Start {
        pallet: PalletId,
    },
}

/// What the operator sees.
struct Look<'a> {
    cell: CellId,
    pallets: Vec<&'a Pallet>,
    work: Vec<Candidate<'a>>,
}

impl Story<'_> {
    pub fn looks_for_work(&mut self, cell: CellId, at: Timestamp) -> Result<(), NotAShop> {
        let works_from = self.staff_of(cell).works_from(at);
        if works_from > at {
            let comes_at = works_from.plus_s(self.dice.between(30, 300));
            self.agenda.at(comes_at, Due::Hands(cell));
            return Ok(());
        }
        let [by_day, in_the_evening, alone] = AWAY_PERCENT;
        let away_percent = match self.fills_night(at) {
            _ if cell == self.invented.machines.cell(In::Standalone) => alone,
            _ if self.frame.is_before_clock_change(at) => 0,
            true => in_the_evening,
            false => by_day,
        };
        if self.dice.percent(away_percent) {
            let back_at = at.plus_s(self.dice.minutes(14, 60));
            self.agenda.at(back_at, Due::Hands(cell));
            return Ok(());
        }
        if let Some(task) = self.next_task(cell, at) {
            return self.sets_about(cell, &task, at);
        }
        let again_at = at.plus_s(self.dice.minutes(3, 8));
        self.agenda.at(again_at, Due::Hands(cell));
        Ok(())
    }

    fn sets_about(&mut self, cell: CellId, task: &Task, at: Timestamp) -> Result<(), NotAShop> {
        let operator = self.operator();
        let (next_at, due) = match *task {
            Task::Move { pallet, to } => {
                let exchange = false;
                self.acts(
                    at,
                    operator,
                    MovePallet {
                        pallet,
                        to,
                        exchange,
                        at,
                    },
                )?;
                self.wakes_machines(cell, at);
                (at.plus_s(self.dice.between(60, 150)), Due::Hands(cell))
            }
            Task::Mount { pallet, fixture } => {
                let mount_s = self.fixture(fixture).map_or(0, |fixture| fixture.facts.mount_s);
                let setup = SetupId(self.dice.uuid());
                let copy = None;
                self.acts(
                    at,
                    operator,
                    MountFixture {
                        pallet,
                        setup,
                        fixture,
                        copy,
                        at,
                    },
                )?;
                let takes_s = i64::from(mount_s) * self.dice.between(85, 145) / 100;
                (self.worked_until(cell, at, takes_s), Due::SetupEnds(cell, pallet))
            }
            Task::Unmount { pallet } => {
                self.acts(at, operator, UnmountFixture { pallet, at })?;
                (at.plus_s(self.dice.minutes(6, 12)), Due::Hands(cell))
            }
            Task::Load { pallet, takes_s } => {
                let takes_s = takes_s * self.dice.between(90, 130) / 100;
                self.unless_late(cell, at, takes_s, Due::Load(cell, pallet))
            }
            Task::Unload { pallet, takes_s } => {
                let takes_s = takes_s * self.dice.between(90, 130) / 100;
                self.unless_late(cell, at, takes_s, Due::Unload(cell, pallet))
            }
            Task::Start { pallet } => {
                self.starts_table(cell, pallet, at);
                return Ok(());
            }
        };
        self.agenda.at(next_at, due);
        Ok(())
    }

    /// What cannot be done before everybody leaves is begun in the morning.
    fn unless_late(&mut self, cell: CellId, at: Timestamp, takes_s: i64, due: Due) -> (Timestamp, Due) {
        let staff = self.staff_of(cell);
        match staff.leaves_at(at) {
            Some(leaves_at) if at.plus_s(takes_s) < leaves_at => (at.plus_s(takes_s), due),
            _ => (
                staff.comes_at(at).plus_s(self.dice.minutes(2, 9)),
                Due::Hands(cell),
            ),
        }
    }

    /// What is not finished today goes on in the morning.
    fn worked_until(&self, cell: CellId, at: Timestamp, takes_s: i64) -> Timestamp {
        let staff = self.staff_of(cell);
        let ends_at = at.plus_s(takes_s);
        match staff.leaves_at(at) {
            Some(leaves_at) if ends_at >= leaves_at => staff
                .comes_at(at)
                .plus_us(ends_at.since_us(leaves_at))
                .plus_s(300),
            _ => ends_at,
        }
    }

    fn next_task(&self, cell: CellId, at: Timestamp) -> Option<Task> {
        let look = Look {
            cell,
            pallets: self.pallets_of(cell),
            work: self.candidates(cell, at),
        };
        let mut pallets = look.pallets.iter();
        match pallets.find(|pallet| pallet.position == STATION || self.is_table(pallet)) {
            Some(pallet) => self.task_at_hand(&look, pallet),
            None => self
                .worth_fetching(&look)
                .map(|pallet| Task::Move { pallet, to: STATION }),
        }
    }

    fn is_table(&self, pallet: &Pallet) -> bool {
        let machine = self.invented.standalone;
        pallet.position == Position::Spindle { machine }
    }

    fn task_at_hand(&self, look: &Look<'_>, pallet: &Pallet) -> Option<Task> {
        let id = pallet.id;
        match self.state_of(id) {
            PalletState::InSetup | PalletState::InRun => None,
            PalletState::Ready | PalletState::ReadyAttendedOnly if self.is_table(pallet) => {
                Some(Task::Start { pallet: id })
            }
            PalletState::Ready | PalletState::ReadyAttendedOnly | PalletState::Held => {
                aside(id, &look.pallets)
            }
            PalletState::Cut | PalletState::Aborted => {
                let takes_s = self.handling_s(pallet.load.as_ref()?.clamped.as_slice(), false);
                Some(Task::Unload { pallet: id, takes_s })
            }
            PalletState::Empty => self.task_with_empty(look, pallet),
        }
    }

    fn task_with_empty(&self, look: &Look<'_>, pallet: &Pallet) -> Option<Task> {
        let id = pallet.id;
        let wanted = self.fixture_wanted(look.cell, &look.work);
        match &pallet.setup {
            Some(setup) => {
                let clamped = self.load_for(&look.work, setup.fixture);
                if !clamped.is_empty() {
                    let takes_s = self.handling_s(&clamped, true);
                    return Some(Task::Load { pallet: id, takes_s });
                }
                if wanted.is_some() {
                    return Some(Task::Unmount { pallet: id });
                }
            }
            None => {
                if let Some(fixture) = wanted {
                    return Some(Task::Mount { pallet: id, fixture });
                }
            }
        }
        if self.is_table(pallet) || self.worth_fetching(look).is_none() {
            return None;
        }
        aside(id, &look.pallets)
    }

    /// First what is cut, then what can be loaded, then what could carry a fixture that is wanted.
    fn worth_fetching(&self, look: &Look<'_>) -> Option<PalletId> {
        let waits: Vec<_> = look
            .pallets
            .iter()
            .filter(|pallet| pallet.position != STATION && !self.is_being_changed(pallet))
            .collect();
        let in_state = |states: &[PalletState]| {
            let mut these = waits.clone();
            these.retain(|pallet| states.contains(&self.state_of(pallet.id)));
            these.sort_by_key(|pallet| pallet.acted_at);
            these
        };
        if let Some(cut) = in_state(&[PalletState::Cut, PalletState::Aborted]).first() {
            return Some(cut.id);
        }
        let empty = in_state(&[PalletState::Empty]);
        let has_work = |pallet: &&&&Pallet| {
            pallet
                .setup
                .as_ref()
                .is_some_and(|setup| !self.load_for(&look.work, setup.fixture).is_empty())
        };
        if let Some(loadable) = empty.iter().find(has_work) {
            return Some(loadable.id);
        }
        self.fixture_wanted(look.cell, &look.work)?;
        let bare = empty.iter().find(|pallet| pallet.setup.is_none());
        bare.or_else(|| empty.first()).map(|pallet| pallet.id)
    }

    /// At a spindle that is about to begin.
    pub fn is_being_changed(&self, pallet: &Pallet) -> bool {
        self.spindles
            .values()
            .any(|spindle| matches!(spindle.busy, Busy::Begins { pallet: other, .. } if other == pallet.id))
    }

    /// By the routing's times for a full load, as much of it as is clamped.
    fn handling_s(&self, clamped: &[Clamped], loading: bool) -> i64 {
        let of = |one: &Clamped| {
            let machining = self.told.shop.jobs.get(&one.job)?.machining(one.operation)?;
            let full_s = if loading {
                machining.load_s
            } else {
                machining.unload_s
            };
            Some(i64::from(full_s) * i64::from(one.pieces) / i64::from(machining.pieces_per_load.max(1)))
        };
        clamped.iter().filter_map(of).sum::<i64>() + 120
    }

    pub fn ends_setup(&mut self, cell: CellId, pallet: PalletId, at: Timestamp) -> Result<(), NotAShop> {
        self.acts(at, self.operator(), FinishSetup { pallet, at })?;
        self.agenda.at(at.plus_s(60), Due::Hands(cell));
        Ok(())
    }

    pub fn loads(&mut self, cell: CellId, pallet: PalletId, at: Timestamp) -> Result<(), NotAShop> {
        let known = self.told.shop.pallets.get(&pallet);
        let fixture = known.and_then(|pallet| Some(pallet.setup.as_ref()?.fixture));
        let work = self.candidates(cell, at);
        let clamped = fixture.map_or_else(Vec::new, |fixture| self.load_for(&work, fixture));
        if !clamped.is_empty() {
            let load = LoadId(self.dice.uuid());
            let overrides = Vec::new();
            let command = LoadPallet {
                pallet,
                load,
                clamped,
                at,
                overrides,
            };
            self.acts(at, self.operator(), command)?;
            self.wakes_machines(cell, at);
        }
        self.agenda
            .at(at.plus_s(self.dice.between(20, 60)), Due::Hands(cell));
        Ok(())
    }

    pub fn unloads(&mut self, cell: CellId, pallet: PalletId, at: Timestamp) -> Result<(), NotAShop> {
        let load = self
            .told
            .shop
            .pallets
            .get(&pallet)
            .and_then(|pallet| pallet.load.clone());
        let next_at = at.plus_s(self.dice.between(20, 60));
        self.agenda.at(next_at, Due::Hands(cell));
        let Some(load) = load.filter(|load| load.hold.is_none()) else {
            return Ok(());
        };
        let counts = load.clamped.iter().map(|one| self.counts(&load, one)).collect();
        let note = None;
        self.acts(
            at,
            self.operator(),
            UnloadPallet {
                pallet,
                counts,
                at,
                note,
            },
        )
    }

    /// Nearly all come good. Of what was broken off, one piece is lost and the rest was not cut.
    fn counts(&mut self, load: &Load, one: &Clamped) -> Count {
        let mut count = Count {
            job: one.job,
            operation: one.operation,
            rework: one.rework,
            good: 0,
            scrapped: 0,
            to_rework: 0,
            to_inspection: 0,
            uncut: 0,
        };
        if matches!(load.stage, Stage::Aborted { .. }) {
            count.scrapped = 1;
            count.uncut = one.pieces.saturating_sub(1);
            return count;
        }
        for _ in 0..one.pieces {
            match self.dice.between(1, 1_000) {
                1..=11 => count.scrapped += 1,
                12..=26 if !one.rework => count.to_rework += 1,
                27..=34 => count.to_inspection += 1,
                _ => count.good += 1,
            }
        }
        count
    }
}

/// To a stand that is free.
fn aside(pallet: PalletId, all: &[&Pallet]) -> Option<Task> {
    let stands = (1..=all.len()).filter_map(|number| u32::try_from(number).ok());
    let mut free = stands
        .map(|number| Position::Stand { number })
        .filter(|stand| all.iter().all(|other| other.position != *stand));
    free.next().map(|to| Task::Move { pallet, to })
}

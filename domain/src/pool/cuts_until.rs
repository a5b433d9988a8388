//! Until when a cell cuts if nobody touches it again: the runs that are open, then the queue as it stands.
//!
//! The rules are those of a live start: a held load is passed over, so is one whose first piece is not accepted, one that
//! is not cleared when nobody is there, and one for which a tool is too worn. A machine that finds nothing stops for good.

use super::{Wait, WaitCode};
use crate::cell::{Cell, CellKind};
use crate::floor::first_piece::{self, Passage};
use crate::floor::{may_be_cut, passage, work};
use crate::ids::{JobId, MachineId, PalletId};
use crate::load::{Clamped, Load, Stage};
use crate::machine::{Condition, Machine, MachineTool};
use crate::pallet::{Pallet, Position, Setup};
use crate::run::RunState;
use crate::shop::Shop;
use crate::time::Timestamp;
use std::collections::BTreeSet;

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CutsUntil {
    /// The last of its machines; `None`: nothing is being cut and nothing will be.
    pub until: Option<Timestamp>,
    /// By their codes.
    pub machines: Vec<MachineCuts>,
    /// Pallets of the queue that no machine takes.
    pub not_counted: Vec<NotCounted>,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MachineCuts {
    pub machine: MachineId,
    pub until: Option<Timestamp>,
    /// The run that is open first, then those from the queue.
    pub loads: Vec<CountedLoad>,
    pub ends_because: Wait,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct CountedLoad {
    pub pallet: PalletId,
    pub starts_at: Timestamp,
    pub ends_at: Timestamp,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NotCounted {
    pub pallet: PalletId,
    pub because: Wait,
}

pub fn cuts_until(shop: &Shop, cell: &Cell, now: Timestamp) -> CutsUntil {
    let queued = cell
        .queue
        .iter()
        .filter_map(|pallet| shop.pallets.get(pallet))
        .collect();
    let mut ahead = Ahead {
        shop,
        cell,
        queue: queued,
        first_pieces: BTreeSet::new(),
    };
    let mut machines: Vec<_> = shop
        .machines_of(cell.id)
        .into_iter()
        .map(|machine| Ahead::now(shop, machine, now))
        .collect();
    for machine in &machines {
        ahead.opens_first_piece(machine);
    }
    while let Some(index) = earliest(&machines) {
        ahead.go_on(&mut machines[index]);
    }
    let not_counted = ahead.left(&machines);
    let machines: Vec<_> = machines.into_iter().map(Cutting::told).collect();
    CutsUntil {
        until: machines.iter().filter_map(|machine| machine.until).max(),
        machines,
        not_counted,
    }
}

/// A machine on its way through the queue.
struct Cutting<'a> {
    machine: &'a Machine,
    tools: Vec<MachineTool>,
    /// When it could start another one.
    free_at: Timestamp,
    until: Option<Timestamp>,
    loads: Vec<CountedLoad>,
    ends_because: Option<Wait>,
}

impl Cutting<'_> {
    fn told(self) -> MachineCuts {
        let nothing = || Wait::new(WaitCode::Queue, "the queue holds nothing more for it");
        MachineCuts {
            machine: self.machine.id,
            until: self.until,
            loads: self.loads,
            ends_because: self.ends_because.unwrap_or_else(nothing),
        }
    }
}

fn wanted(shop: &Shop, one: &Clamped, passage: Passage) -> bool {
    first_piece::wanted(shop, one.job, one.operation, passage).is_some()
}

/// The machine that is free first and has not stopped.
fn earliest(machines: &[Cutting<'_>]) -> Option<usize> {
    let going = machines
        .iter()
        .enumerate()
        .filter(|(_, machine)| machine.ends_because.is_none());
    going
        .min_by_key(|(index, machine)| (machine.free_at, *index))
        .map(|(index, _)| index)
}

struct Ahead<'a> {
    shop: &'a Shop,
    cell: &'a Cell,
    /// What is left of it.
    queue: Vec<&'a Pallet>,
    /// Operations of which a first piece was cut on the way: nobody is there to accept it.
    first_pieces: BTreeSet<(JobId, u16)>,
}

impl<'a> Ahead<'a> {
    fn now(shop: &'a Shop, machine: &'a Machine, now: Timestamp) -> Cutting<'a> {
        let mut cutting = Cutting {
            machine,
            tools: machine.tools.clone(),
            free_at: now,
            until: None,
            loads: Vec::new(),
            ends_because: None,
        };
        if let Some(run) = machine.run.and_then(|run| shop.runs.get(&run)) {
            if let RunState::Paused { at, reason } = run.state {
                let text = format!("its run has been stopped since {at} ({reason})");
                cutting.ends_because = Some(Wait::new(WaitCode::Resume, text));
                return cutting;
            }
            let ends_at = run.ends_at(now);
            work::take_tool_life(
                &mut cutting.tools,
                &work::tool_use(shop, &run.clamped, machine.cell),
            );
            cutting.loads.push(CountedLoad {
                pallet: run.pallet,
                starts_at: run.started_at,
                ends_at,
            });
            cutting.until = Some(ends_at);
            cutting.free_at = ends_at;
        }
        if let Condition::Down { since, reason } = machine.condition {
            let text = format!("it has been set down since {since} ({reason})");
            cutting.ends_because = Some(Wait::new(WaitCode::MachineDown, text));
        }
        cutting
    }

    fn opens_first_piece(&mut self, cutting: &Cutting<'_>) {
        if let Some(run) = cutting.machine.run.and_then(|run| self.shop.runs.get(&run)) {
            let wanted = run
                .clamped
                .iter()
                .filter(|one| wanted(self.shop, one, Passage::of(run)));
            self.first_pieces
                .extend(wanted.map(|one| (one.job, one.operation)));
        }
    }

    /// Gives the machine the next load, or stops it.
    fn go_on(&mut self, cutting: &mut Cutting<'a>) {
        let mut first_reason = None;
        for index in 0..self.queue.len() {
            let pallet = self.queue[index];
            match self.taken(cutting, pallet) {
                Ok((load, setup, starts_at)) => {
                    self.cut(cutting, pallet, load, setup, starts_at);
                    self.queue.remove(index);
                    return;
                }
                Err(because) => {
                    first_reason.get_or_insert((pallet, because));
                }
            }
        }
        let nothing = "the queue holds nothing more for it";
        cutting.ends_because = Some(match first_reason {
            Some((pallet, because)) => Wait {
                text: format!("pallet {} waits for {}", pallet.facts.code, because.text),
                ..because
            },
            None => Wait::new(WaitCode::Queue, nothing),
        });
    }

    fn cut(
        &mut self,
        cutting: &mut Cutting<'a>,
        pallet: &Pallet,
        load: &Load,
        setup: &Setup,
        starts_at: Timestamp,
    ) {
        let machine = cutting.machine;
        let cycle_s = work::cycle_s(self.shop, &load.clamped, self.cell.id);
        let ends_at = starts_at.plus_s(i64::try_from(cycle_s).unwrap_or(i64::MAX));
        work::take_tool_life(
            &mut cutting.tools,
            &work::tool_use(self.shop, &load.clamped, self.cell.id),
        );
        let wanted = load
            .clamped
            .iter()
            .filter(|one| wanted(self.shop, one, passage(setup, machine, starts_at)));
        self.first_pieces
            .extend(wanted.map(|one| (one.job, one.operation)));
        cutting.loads.push(CountedLoad {
            pallet: pallet.id,
            starts_at,
            ends_at,
        });
        cutting.until = Some(ends_at);
        cutting.free_at = ends_at;
    }

    /// Whether the machine takes it, and from when on.
    fn taken(
        &self,
        cutting: &Cutting<'a>,
        pallet: &'a Pallet,
    ) -> Result<(&'a Load, &'a Setup, Timestamp), Wait> {
        let machine = cutting.machine;
        let (Some(load), Some(setup)) = (&pallet.load, &pallet.setup) else {
            return Err(Wait::new(WaitCode::Load, "being loaded"));
        };
        if !matches!(load.stage, Stage::Ready | Stage::Aborted { .. }) {
            return Err(Wait::new(WaitCode::Unload, "being unloaded"));
        }
        let exchange_s = match (self.cell.kind, pallet.position) {
            (CellKind::Standalone, _) => {
                return Err(Wait::new(WaitCode::Start, "somebody to start its run"));
            }
            (_, Position::Spindle { machine: at }) if at == machine.id => 0,
            (_, Position::Spindle { .. }) => {
                return Err(Wait::new(WaitCode::Machine, "the machine in which it is"));
            }
            (CellKind::Pool { exchange_s, .. }, _) => exchange_s,
        };
        let starts_at = cutting.free_at.plus_s(i64::from(exchange_s));
        self.may_start(cutting, pallet, load, setup, starts_at)?;
        Ok((load, setup, starts_at))
    }

    fn may_start(
        &self,
        cutting: &Cutting<'a>,
        pallet: &Pallet,
        load: &Load,
        setup: &Setup,
        starts_at: Timestamp,
    ) -> Result<(), Wait> {
        let (shop, machine) = (self.shop, cutting.machine);
        may_be_cut(shop, pallet, load, passage(setup, machine, starts_at)).map_err(
            |refusal| match refusal.code() {
                "run.held" => Wait::new(WaitCode::Inspection, "a decision on its hold"),
                "run.first-piece-open" => Wait::new(WaitCode::FirstPiece, "the first piece of its operation"),
                _ => Wait::new(WaitCode::Machine, "a machine that takes it"),
            },
        )?;
        let waits = load.clamped.iter().find(|one| {
            self.first_pieces.contains(&(one.job, one.operation))
                && wanted(shop, one, passage(setup, machine, starts_at))
        });
        if waits.is_some() {
            let text = "the first piece of its operation, which is cut before it";
            return Err(Wait::new(WaitCode::FirstPiece, text));
        }
        let uncleared = work::not_cleared(shop, &load.clamped, pallet.cell, machine.id);
        if uncleared.is_some() && !work::is_attended(shop, pallet.cell, starts_at) {
            let text = format!("somebody to be there at {starts_at}: it is not cleared to run unattended");
            return Err(Wait::new(WaitCode::Attendance, text));
        }
        let needed = work::tool_use(shop, &load.clamped, pallet.cell);
        match work::short_tool(&cutting.tools, &needed) {
            Some(short) => {
                let text = format!("tool {}, short by {} s", short.tool, short.short_s());
                Err(Wait::new(WaitCode::ToolLife, text))
            }
            None => Ok(()),
        }
    }

    /// What is left in the queue, with the reason of the machine that came nearest to it.
    fn left(&self, machines: &[Cutting<'a>]) -> Vec<NotCounted> {
        let because = |pallet: &'a Pallet| {
            let reasons = machines
                .iter()
                .filter_map(|cutting| self.taken(cutting, pallet).err());
            reasons.max_by_key(|wait| wait.code)
        };
        let nothing = || Wait::new(WaitCode::Machine, "a machine that goes on cutting");
        self.queue
            .iter()
            .map(|pallet| NotCounted {
                pallet: pallet.id,
                because: because(pallet).unwrap_or_else(nothing),
            })
            .collect()
    }
}

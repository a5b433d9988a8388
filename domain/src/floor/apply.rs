//! How the floor's events change the shop. Facts about things that are not there change nothing.

use super::held::{accept_hold, keep_or_lift, place_hold};
use super::in_process;
use super::pieces::{self, clamp};
use super::work::{take_tool_life, tool_use};
use super::{FloorOpened, OpeningCount, OpeningJob, PalletLoaded, PalletUnloaded, RunStarted, SetupStarted};
use crate::entry::EntryMeta;
use crate::event::Event;
use crate::ids::{MachineId, PalletId, RunId};
use crate::load::{Load, Stage};
use crate::pallet::{Emptied, Pallet, Setup};
use crate::run::{Run, RunState};
use crate::shop::Shop;
use crate::time::Timestamp;

pub fn apply(shop: &mut Shop, event: &Event, meta: &EntryMeta) {
    match event {
        Event::SetupStarted(event) => start_setup(shop, event, meta),
        Event::SetupEnded(event) => on_pallet(shop, event.pallet, event.at, meta, |pallet| {
            if let Some(setup) = &mut pallet.setup {
                setup.ended_at = Some(event.at);
            }
        }),
        Event::PalletUnmounted(event) => {
            shop.setup_approvals.remove(&event.setup);
            on_pallet(shop, event.pallet, event.at, meta, |pallet| pallet.setup = None);
        }
        Event::PalletLoaded(event) => load(shop, event, meta),
        Event::PalletMoved(event) => on_pallet(shop, event.pallet, event.at, meta, |pallet| {
            pallet.position = event.to;
        }),
        Event::CellQueueSet(event) => shop.cells.update(&event.cell, |cell| {
            cell.queue.clone_from(&event.pallets);
            cell.queue_changed_seq = meta.seq;
        }),
        Event::RunStarted(event) => start_run(shop, event, meta),
        Event::RunPaused(event) => {
            let (at, reason) = (event.at, event.reason);
            on_run(shop, event.run, at, meta, |run| {
                run.state = RunState::Paused { at, reason }
            });
        }
        Event::RunResumed(event) => on_run(shop, event.run, event.at, meta, |run| {
            run.stopped_us = run.stopped_until_us(event.at);
            run.state = RunState::Running;
        }),
        Event::RunFinished(event) => finish_run(shop, event.run, event.at, meta),
        Event::RunAborted(event) => {
            let (run, at, reason) = (event.run, event.at, event.reason);
            end_run(shop, run, at, meta, Stage::Aborted { run });
            on_run(shop, run, at, meta, |run| {
                run.stopped_us = run.stopped_until_us(at);
                run.state = RunState::Aborted { at, reason };
            });
        }
        Event::PalletUnloaded(event) => unload(shop, event, meta),
        Event::HoldPlaced(event) => place_hold(shop, event, meta),
        Event::HoldAccepted(event) => accept_hold(shop, event, meta),
        Event::FloorOpened(event) => open(shop, event, meta),
        _ => {}
    }
}

pub fn on_pallet(
    shop: &mut Shop,
    pallet: PalletId,
    at: Timestamp,
    meta: &EntryMeta,
    change: impl FnOnce(&mut Pallet),
) {
    shop.pallets.update(&pallet, |pallet| {
        change(pallet);
        pallet.acted_at = pallet.acted_at.max(Some(at));
        pallet.changed_seq = meta.seq;
    });
}

fn on_machine(shop: &mut Shop, machine: MachineId, at: Timestamp, run: Option<RunId>) {
    shop.machines.update(&machine, |machine| {
        machine.run = run;
        machine.acted_at = machine.acted_at.max(Some(at));
    });
}

/// Every act on a run is one on its machine and on its pallet.
fn on_run(shop: &mut Shop, run: RunId, at: Timestamp, meta: &EntryMeta, change: impl FnOnce(&mut Run)) {
    let Some(of) = shop.runs.get(&run).map(|run| (run.machine, run.pallet)) else {
        return;
    };
    shop.runs.update(&run, |run| {
        change(run);
        run.changed_seq = meta.seq;
    });
    let open = shop.runs.get(&run).is_some_and(Run::is_open).then_some(run);
    on_machine(shop, of.0, at, open);
    on_pallet(shop, of.1, at, meta, |_| {});
}

fn start_setup(shop: &mut Shop, event: &SetupStarted, meta: &EntryMeta) {
    on_pallet(shop, event.pallet, event.at, meta, |pallet| {
        pallet.setup = Some(Setup {
            id: event.setup,
            fixture: event.fixture,
            copy: event.copy,
            started_at: event.at,
            ended_at: None,
            first_load: None,
        });
    });
}

fn load(shop: &mut Shop, event: &PalletLoaded, meta: &EntryMeta) {
    on_pallet(shop, event.pallet, event.at, meta, |pallet| {
        let load = pallet.load.get_or_insert_with(|| Load {
            id: event.load,
            clamped: Vec::new(),
            loaded_at: event.at,
            stage: Stage::Ready,
            hold: None,
            decided: Vec::new(),
            lifted: None,
            hands: Vec::new(),
        });
        load.add(&event.clamped);
        load.touched_by(meta.actor);
        pallet.emptied = None;
        if let Some(setup) = &mut pallet.setup {
            setup.first_load.get_or_insert(event.load);
        }
    });
    for one in &event.clamped {
        clamp(shop, one, meta.seq);
    }
}

fn start_run(shop: &mut Shop, event: &RunStarted, meta: &EntryMeta) {
    let Some(pallet) = shop.pallets.get(&event.pallet) else {
        return;
    };
    let (Some(load), Some(setup)) = (&pallet.load, &pallet.setup) else {
        return;
    };
    let (clamped, setup, cell) = (load.clamped.clone(), setup.id, pallet.cell);
    shop.runs.insert(
        event.run,
        Run {
            id: event.run,
            machine: event.machine,
            pallet: event.pallet,
            setup,
            load: event.load,
            clamped,
            purpose: event.purpose,
            started_at: event.at,
            cycle_s: event.cycle_s,
            state: RunState::Running,
            stopped_us: 0,
            unattended: event.unattended,
            changed_seq: meta.seq,
        },
    );
    on_machine(shop, event.machine, event.at, Some(event.run));
    on_pallet(shop, event.pallet, event.at, meta, |pallet| {
        if let Some(load) = &mut pallet.load {
            load.stage = Stage::InRun { run: event.run };
            load.touched_by(meta.actor);
        }
    });
    shop.cells.update(&cell, |cell| {
        let before = cell.queue.len();
        cell.queue.retain(|queued| *queued != event.pallet);
        if cell.queue.len() != before {
            cell.queue_changed_seq = meta.seq;
        }
    });
}

/// The load's use is taken from the life of the tools.
fn finish_run(shop: &mut Shop, run: RunId, at: Timestamp, meta: &EntryMeta) {
    let Some(finished) = shop.runs.get(&run).cloned() else {
        return;
    };
    let cell = shop.machines.get(&finished.machine).map(|machine| machine.cell);
    let needed = cell
        .map(|cell| tool_use(shop, &finished.clamped, cell))
        .unwrap_or_default();
    if !needed.is_empty() {
        shop.machines.update(&finished.machine, |machine| {
            take_tool_life(&mut machine.tools, &needed);
            machine.tools_changed_seq = meta.seq;
        });
    }
    in_process::count(shop, &finished.clamped);
    end_run(shop, run, at, meta, Stage::Cut { run: Some(run) });
    on_run(shop, run, at, meta, |run| run.state = RunState::Finished { at });
}

fn end_run(shop: &mut Shop, run: RunId, at: Timestamp, meta: &EntryMeta, stage: Stage) {
    let Some(pallet) = shop.runs.get(&run).map(|run| run.pallet) else {
        return;
    };
    on_pallet(shop, pallet, at, meta, |pallet| {
        if let Some(load) = &mut pallet.load {
            load.stage = stage;
        }
    });
}

fn unload(shop: &mut Shop, event: &PalletUnloaded, meta: &EntryMeta) {
    let load = shop
        .pallets
        .get(&event.pallet)
        .and_then(|pallet| pallet.load.clone());
    let Some(load) = load else { return };
    on_pallet(shop, event.pallet, event.at, meta, |pallet| {
        pallet.load = None;
        pallet.emptied = Some(Emptied {
            by: meta.actor.to_string(),
            at: event.at,
        });
    });
    if let Some(hold) = load.hold {
        keep_or_lift(shop, hold, &event.counts, &load, meta);
    }
    let of_load: Vec<_> = shop
        .runs
        .values()
        .filter(|run| run.load == load.id)
        .map(|run| run.id)
        .collect();
    for run in of_load {
        shop.runs.remove(&run);
    }
    for count in &event.counts {
        pieces::count(shop, count, load.returned(count.job, count.operation), meta.seq);
    }
}

/// What became of the jobs' pieces first: what is clamped is taken from what waits then.
fn open(shop: &mut Shop, event: &FloorOpened, meta: &EntryMeta) {
    for told in told_jobs(event) {
        pieces::open(shop, &told, meta.seq);
    }
    for opening in &event.pallets {
        on_pallet(shop, opening.pallet, event.at, meta, |pallet| {
            pallet.position = opening.position;
            pallet.setup = opening.setup.as_ref().map(|setup| Setup {
                id: setup.setup,
                fixture: setup.fixture,
                copy: setup.copy,
                started_at: event.at,
                ended_at: setup.is_ended.then_some(event.at),
                first_load: None,
            });
            pallet.load = opening.load.as_ref().map(|load| Load {
                id: load.load,
                clamped: load.clamped.clone(),
                loaded_at: event.at,
                stage: if load.is_cut {
                    Stage::Cut { run: None }
                } else {
                    Stage::Ready
                },
                hold: None,
                decided: Vec::new(),
                lifted: None,
                hands: Vec::new(),
            });
        });
        for one in opening.load.iter().flat_map(|load| &load.clamped) {
            clamp(shop, one, meta.seq);
        }
    }
}

/// Pieces that are clamped to be reworked have come to rework before.
fn told_jobs(event: &FloorOpened) -> Vec<OpeningJob> {
    let mut jobs = event.jobs.clone();
    let loads = event.pallets.iter().filter_map(|pallet| pallet.load.as_ref());
    for one in loads.flat_map(|load| &load.clamped).filter(|one| one.rework) {
        let known = jobs.iter().position(|told| told.job == one.job);
        let index = known.unwrap_or_else(|| {
            jobs.push(OpeningJob {
                job: one.job,
                operations: Vec::new(),
            });
            jobs.len() - 1
        });
        let operations = &mut jobs[index].operations;
        match operations
            .iter_mut()
            .find(|count| count.operation == one.operation)
        {
            Some(count) => count.to_rework = count.to_rework.saturating_add(one.pieces),
            None => operations.push(OpeningCount {
                operation: one.operation,
                good: 0,
                scrapped: 0,
                to_rework: one.pieces,
                to_inspection: 0,
            }),
        }
    }
    jobs
}

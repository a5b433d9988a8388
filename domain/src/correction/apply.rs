use super::recount::pairs;
use super::{ActWithdrawn, Edge, PalletRecounted, RunRetimed, Withdrawn};
use crate::entry::EntryMeta;
use crate::event::Event;
use crate::floor::{give_back_tool_life, in_process};
use crate::ids::{HoldId, LoadId, MachineId, PalletId, RunId, Seq};
use crate::job::changed;
use crate::load::{Clamped, Stage};
use crate::pallet::Pallet;
use crate::run::{Run, RunState};
use crate::shop::Shop;

pub fn apply(shop: &mut Shop, event: &Event, meta: &EntryMeta) {
    let corrects = match event {
        Event::ActWithdrawn(event) => {
            withdraw(shop, event, meta);
            event.corrects
        }
        Event::RunRetimed(event) => {
            retime(shop, event, meta);
            event.corrects
        }
        Event::PalletRecounted(event) => {
            recount(shop, event, meta);
            event.corrects
        }
        _ => return,
    };
    shop.corrected.insert(corrects, meta.seq);
}

fn withdraw(shop: &mut Shop, event: &ActWithdrawn, meta: &EntryMeta) {
    match &event.what {
        Withdrawn::SetupStart { .. } => on_pallet(shop, event.pallet, meta, |pallet| pallet.setup = None),
        Withdrawn::SetupEnd { .. } => on_pallet(shop, event.pallet, meta, |pallet| {
            if let Some(setup) = &mut pallet.setup {
                setup.ended_at = None;
            }
        }),
        Withdrawn::Move { back_to } => {
            on_pallet(shop, event.pallet, meta, |pallet| pallet.position = *back_to);
        }
        Withdrawn::Load { load, clamped } => take_off(shop, event.pallet, *load, clamped, meta),
        Withdrawn::Start {
            run,
            machine,
            broken_off,
            ..
        } => {
            shop.runs.remove(run);
            on_machine(shop, *machine, None);
            let stage = broken_off.map_or(Stage::Ready, |run| Stage::Aborted { run });
            stand(shop, event.pallet, stage, meta);
        }
        Withdrawn::Pause { run, machine } => {
            on_run(shop, *run, meta, |run| run.state = RunState::Running);
            on_machine(shop, *machine, Some(*run));
            on_pallet(shop, event.pallet, meta, |_| {});
        }
        Withdrawn::Finish { run, machine, hold } => {
            give_back(shop, event.corrects, *run, *machine, meta);
            if let Some(clamped) = shop.runs.get(run).map(|run| run.clamped.clone()) {
                in_process::take_back(shop, &clamped);
            }
            on_run(shop, *run, meta, |run| run.state = RunState::Running);
            on_machine(shop, *machine, Some(*run));
            stand(shop, event.pallet, Stage::InRun { run: *run }, meta);
            if let Some(hold) = hold {
                lift(shop, *hold, event.pallet, meta);
            }
        }
    }
}

fn on_pallet(shop: &mut Shop, pallet: PalletId, meta: &EntryMeta, change: impl FnOnce(&mut Pallet)) {
    shop.pallets.update(&pallet, |pallet| {
        change(pallet);
        pallet.changed_seq = meta.seq;
    });
}

fn on_machine(shop: &mut Shop, machine: MachineId, run: Option<RunId>) {
    shop.machines.update(&machine, |machine| machine.run = run);
}

fn on_run(shop: &mut Shop, run: RunId, meta: &EntryMeta, change: impl FnOnce(&mut Run)) {
    shop.runs.update(&run, |run| {
        change(run);
        run.changed_seq = meta.seq;
    });
}

fn stand(shop: &mut Shop, pallet: PalletId, stage: Stage, meta: &EntryMeta) {
    on_pallet(shop, pallet, meta, |pallet| {
        if let Some(load) = &mut pallet.load {
            load.stage = stage;
        }
    });
}

fn lift(shop: &mut Shop, hold: HoldId, pallet: PalletId, meta: &EntryMeta) {
    shop.holds.remove(&hold);
    on_pallet(shop, pallet, meta, |pallet| {
        if let Some(load) = &mut pallet.load {
            load.hold = None;
        }
    });
}

/// Pieces that were never clamped wait where they were.
fn take_off(shop: &mut Shop, pallet: PalletId, load: LoadId, clamped: &[Clamped], meta: &EntryMeta) {
    on_pallet(shop, pallet, meta, |pallet| {
        let is_gone = pallet.load.as_mut().is_some_and(|load| {
            load.remove(clamped);
            load.clamped.is_empty()
        });
        if is_gone {
            pallet.load = None;
            if let Some(setup) = pallet
                .setup
                .as_mut()
                .filter(|setup| setup.first_load == Some(load))
            {
                setup.first_load = None;
            }
        }
    });
    for one in clamped {
        shop.jobs.update(&one.job, |job| {
            job.unclamp(one.operation, one.pieces, one.rework);
            job.changed_seq = meta.seq;
        });
    }
}

/// What the finish took from the life of the tools, unless somebody has set them since.
fn give_back(shop: &mut Shop, corrects: Seq, run: RunId, machine: MachineId, meta: &EntryMeta) {
    let took = shop
        .machines
        .get(&machine)
        .is_some_and(|known| known.tools_changed_seq == corrects);
    let Some(needed) = shop.runs.get(&run).filter(|_| took).map(|run| {
        let cell = shop.machines.get(&machine).map(|machine| machine.cell);
        cell.map(|cell| crate::floor::work::tool_use(shop, &run.clamped, cell))
            .unwrap_or_default()
    }) else {
        return;
    };
    shop.machines.update(&machine, |machine| {
        give_back_tool_life(&mut machine.tools, &needed);
        machine.tools_changed_seq = meta.seq;
    });
}

fn retime(shop: &mut Shop, event: &RunRetimed, meta: &EntryMeta) {
    let (was, at) = (event.was, event.at);
    on_run(shop, event.run, meta, |run| match (event.edge, run.state) {
        (Edge::Start, _) => run.started_at = at,
        (Edge::Pause, RunState::Paused { at: paused, reason }) if paused == was => {
            run.state = RunState::Paused { at, reason };
        }
        (Edge::Pause, _) => run.stopped_us = (run.stopped_us + was.since_us(at)).max(0),
        (Edge::Resume, _) => run.stopped_us = (run.stopped_us + at.since_us(was)).max(0),
        (Edge::Finish, RunState::Finished { .. }) => run.state = RunState::Finished { at },
        (Edge::Abort, RunState::Aborted { reason, .. }) => run.state = RunState::Aborted { at, reason },
        (Edge::Finish | Edge::Abort, _) => {}
    });
    shop.tallies.update(&event.run, |tally| match event.edge {
        Edge::Start => tally.from = at,
        Edge::Finish | Edge::Abort => tally.to = at,
        Edge::Pause | Edge::Resume => {}
    });
    shop.pallets.update(&event.pallet, |pallet| {
        pallet.acted_at = pallet.acted_at.max(Some(at));
    });
    shop.machines.update(&event.machine, |machine| {
        machine.acted_at = machine.acted_at.max(Some(at));
    });
}

fn recount(shop: &mut Shop, event: &PalletRecounted, meta: &EntryMeta) {
    for (was, now) in pairs(&event.was, &event.counts) {
        shop.jobs.update(&was.job, |job| {
            job.recount(was, now);
            job.changed_seq = meta.seq;
        });
        let Some(run) = event.run else { continue };
        shop.tallies.update(&run, |tally| {
            let operations = tally.operations.iter_mut();
            let of = operations.filter(|one| (one.job, one.operation) == (was.job, was.operation));
            for one in of {
                one.good = changed(one.good, was.good, now.good);
                one.scrap = changed(one.scrap, was.scrapped, now.scrapped);
                one.waits = changed(one.waits, was.to_inspection, now.to_inspection);
                one.off = changed(one.off, now.uncut, was.uncut);
            }
        });
    }
}

//! From places and seconds back to ids and instants.

use super::{JudgedHold, LoadLeftOut, Schedule, ScheduledLine, ScheduledLoad, WhyLeftOut};
use crate::plan::build::{Cost, LeftOut, Placed, Scratch, Span};
use crate::plan::model::{LoadKey, LoadToPlan, Model, NEVER, Taken};
use crate::time::Window;
use std::collections::BTreeMap;

pub(crate) fn read(taken: &Taken, scratch: &Scratch, cost: Cost) -> Schedule {
    let model = &taken.model;
    let mut loads: Vec<_> = (0..model.loads.len())
        .filter(|index| scratch.placed[*index].is_placed)
        .map(|index| scheduled(model, index, &scratch.placed[index]))
        .collect();
    loads.sort_by_key(|load| {
        let run = load.run.map(|run| run.from);
        (
            load.cell,
            load.machine,
            run,
            load.unload.map(|unload| unload.from),
        )
    });
    mark_moved(model, &mut loads);
    let left_out = (0..model.loads.len())
        .filter(|index| !scratch.placed[*index].is_placed)
        .map(|index| LoadLeftOut {
            key: model.loads[index].key,
            clamped: model.loads[index].clamped.clone(),
            why: why(taken, scratch, index),
        });
    let judged = taken.judged.iter().filter(|judged| judged.from < NEVER);
    Schedule {
        from: model.clock.start,
        until: model.clock.at(model.horizon_s),
        left_out: left_out.collect(),
        lines: lines(model, scratch),
        judged: judged
            .map(|judged| JudgedHold {
                hold: judged.hold,
                inspection: model.clock.window(judged.from, judged.to),
            })
            .collect(),
        loads,
        cost,
    }
}

fn scheduled(model: &Model, index: usize, placed: &Placed) -> ScheduledLoad {
    let load = &model.loads[index];
    let span =
        |span: Span| -> Option<Window> { span.is_some().then(|| model.clock.window(span.from, span.to)) };
    let pallet = &model.pallets[placed.pallet];
    let copy = model.copies.get(placed.copy);
    ScheduledLoad {
        key: load.key,
        cell: model.cells[pallet.cell].id,
        machine: placed.way.map(|way| model.machines[model.ways[way].machine].id),
        pallet: pallet.id,
        fixture: copy.map(|copy| model.fixtures[copy.fixture].id),
        copy: copy.map(|copy| copy.id),
        clamped: load.clamped.clone(),
        mount: span(placed.mount),
        load: span(placed.load),
        run: span(placed.run),
        held_as: placed.held_as,
        inspection: span(placed.inspection),
        unload: span(placed.unload),
        is_frozen: index < model.fixed && placed.way.is_some(),
        is_moved: None,
    }
}

/// Against the last plan: another machine, another pallet, or after something else.
fn mark_moved(model: &Model, loads: &mut [ScheduledLoad]) {
    let last: BTreeMap<LoadKey, _> = model
        .loads
        .iter()
        .filter_map(|load| Some((load.key, load.last?)))
        .collect();
    let mut before: BTreeMap<crate::ids::MachineId, LoadKey> = BTreeMap::new();
    for load in loads.iter_mut() {
        let Some(machine) = load.machine.filter(|_| load.run.is_some()) else {
            continue;
        };
        let after = before.insert(machine, load.key);
        load.is_moved = last
            .get(&load.key)
            .map(|last| (last.machine, last.pallet, last.after) != (machine, load.pallet, after));
    }
}

fn why(taken: &Taken, scratch: &Scratch, index: usize) -> WhyLeftOut {
    let model = &taken.model;
    let machine = |load: &LoadToPlan| {
        let choice = scratch.choice(index) % load.ways.max(1);
        let way = model.ways.get(load.first_way + choice).filter(|_| load.ways > 0);
        way.map(|way| model.machines[way.machine].id)
    };
    match (scratch.left_out[index], machine(&model.loads[index])) {
        (Some(LeftOut::Tool { need, short_s }), Some(machine)) => WhyLeftOut::Tool {
            tool: taken.tool_names[need].clone(),
            machine,
            short_s,
        },
        (Some(LeftOut::TooLongToAttend), Some(machine)) => WhyLeftOut::TooLongToAttend { machine },
        (Some(LeftOut::TooFar), _) => WhyLeftOut::TooFar,
        (Some(LeftOut::Pieces), _) => WhyLeftOut::Pieces,
        _ => WhyLeftOut::NoWay,
    }
}

fn lines(model: &Model, scratch: &Scratch) -> Vec<ScheduledLine> {
    let line = |(index, line): (usize, &crate::plan::model::LineNow)| {
        let done = scratch.line_done[index];
        let jobs = model.jobs.iter().filter(|job| job.line == Some(index));
        let short = jobs.map(|job| job.wanted.saturating_sub(job.in_hand)).sum();
        let is_complete = done.jobs_left == 0 && short == 0 && done.at < NEVER;
        ScheduledLine {
            order: line.order,
            line: line.line,
            due: line.due.map(|due| model.clock.at(due)),
            weight: line.weight,
            complete: is_complete.then(|| model.clock.at(done.at)),
            pieces_short: short,
        }
    };
    model.lines.iter().enumerate().map(line).collect()
}

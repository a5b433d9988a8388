use super::{
    Plan, PlanPosted, PlanPublished, PlanRefusal, PlanStanding, PlannedLoad, PostPlan, PublishComputed,
    PublishPlan, SLOT_CYCLE_S_MAX, SLOTS_MAX, Slot,
};
use crate::cell::Cell;
use crate::event::Event;
use crate::floor::CellQueueSet;
use crate::ids::{MachineId, PalletId, PlanId};
use crate::load::Stage;
use crate::machine::Machine;
use crate::pallet::Pallet;
use crate::refusal::Refusal;
use crate::shared_map::SharedMap;
use crate::shop::Shop;
use crate::time::Timestamp;

pub fn post(
    plans: &SharedMap<PlanId, Plan>,
    machines: &SharedMap<MachineId, Machine>,
    command: &PostPlan,
) -> Result<PlanPosted, PlanRefusal> {
    if plans.get(&command.plan).is_some() {
        return Err(PlanRefusal::IdTaken { plan: command.plan });
    }
    if command.slots.len() > SLOTS_MAX {
        return Err(PlanRefusal::TooManySlots {
            slots: command.slots.len(),
            max: SLOTS_MAX,
        });
    }
    for (index, slot) in command.slots.iter().enumerate() {
        is_possible(machines, index, slot)?;
    }
    let mut slots: Vec<_> = command.slots.iter().cloned().enumerate().collect();
    slots.sort_by_key(|(_, slot)| (slot.machine, slot.starts_at, slot.cycle_s));
    for pair in slots.windows(2) {
        one_run_at_a_time(&pair[0].1, &pair[1])?;
    }
    let slots = slots.into_iter().map(|(_, slot)| slot).collect();
    Ok(PlanPosted {
        plan: command.plan,
        slots,
        loads: Vec::new(),
        lines: Vec::new(),
    })
}

/// The queues follow the plan: hand edits stood until now.
pub fn publish_computed(shop: &Shop, command: &PublishComputed) -> Result<Vec<Event>, Refusal> {
    let post_plan = PostPlan {
        plan: command.plan,
        slots: command.slots.clone(),
    };
    let posted = PlanPosted {
        loads: command.loads.clone(),
        lines: command.lines.clone(),
        ..post(&shop.plans, &shop.machines, &post_plan)?
    };
    let published = PlanPublished { plan: command.plan };
    let mut cells: Vec<_> = shop.cells.values().collect();
    cells.sort_by_key(|cell| cell.id);
    let queues = cells.into_iter().filter_map(|cell| {
        let pallets = queue(shop, cell, &command.loads);
        (pallets != cell.queue).then(|| {
            CellQueueSet {
                cell: cell.id,
                pallets,
            }
            .into()
        })
    });
    Ok([posted.into(), published.into()]
        .into_iter()
        .chain(queues)
        .collect())
}

/// The pallets of a cell in the order of their next runs. What is in a spindle has its turn already.
fn queue(shop: &Shop, cell: &Cell, loads: &[PlannedLoad]) -> Vec<PalletId> {
    let mut runs: Vec<_> = loads.iter().map(|load| (load.run, load.pallet)).collect();
    runs.sort_unstable();
    let mut pallets = Vec::new();
    for (_, pallet) in runs {
        let waits = |pallet: &Pallet| pallet.cell == cell.id && !is_in_run(pallet);
        if !pallets.contains(&pallet) && shop.pallets.get(&pallet).is_some_and(waits) {
            pallets.push(pallet);
        }
    }
    pallets
}

pub fn publish(plans: &SharedMap<PlanId, Plan>, command: &PublishPlan) -> Result<PlanPublished, PlanRefusal> {
    let plan = plans
        .get(&command.plan)
        .ok_or(PlanRefusal::Unknown { plan: command.plan })?;
    match plan.standing {
        PlanStanding::Posted => Ok(PlanPublished { plan: plan.id }),
        PlanStanding::Published { at, .. } => Err(PlanRefusal::AlreadyPublished {
            plan: plan.id,
            published_at: at,
        }),
    }
}

fn is_in_run(pallet: &Pallet) -> bool {
    let stage = pallet.load.as_ref().map(|load| load.stage);
    matches!(stage, Some(Stage::InRun { .. }))
}

fn is_possible(
    machines: &SharedMap<MachineId, Machine>,
    index: usize,
    slot: &Slot,
) -> Result<(), PlanRefusal> {
    if machines.get(&slot.machine).is_none() {
        return Err(PlanRefusal::UnknownMachine {
            index,
            machine: slot.machine,
        });
    }
    if !(1..=SLOT_CYCLE_S_MAX).contains(&slot.cycle_s) {
        return Err(PlanRefusal::CycleOutOfRange {
            index,
            cycle_s: slot.cycle_s,
            most_s: SLOT_CYCLE_S_MAX,
        });
    }
    if !slot.starts_at.is_in_ledger_range() {
        let (earliest, latest) = (Timestamp::MIN, Timestamp::MAX);
        return Err(PlanRefusal::SlotOutOfRange {
            index,
            starts_at: slot.starts_at,
            earliest,
            latest,
        });
    }
    Ok(())
}

fn one_run_at_a_time(earlier: &Slot, (index, later): &(usize, Slot)) -> Result<(), PlanRefusal> {
    let (starts_at, until) = (later.starts_at, earlier.ends_at());
    if earlier.machine == later.machine && starts_at < until {
        return Err(PlanRefusal::SlotsOverlap {
            index: *index,
            machine: later.machine,
            starts_at,
            until,
        });
    }
    Ok(())
}

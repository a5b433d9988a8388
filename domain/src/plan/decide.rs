use super::{
    Plan, PlanPosted, PlanPublished, PlanRefusal, PlanStanding, PostPlan, PublishPlan, SLOT_CYCLE_S_MAX,
    SLOTS_MAX, Slot,
};
use crate::ids::{MachineId, PlanId};
use crate::machine::Machine;
use crate::shared_map::SharedMap;
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
    })
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

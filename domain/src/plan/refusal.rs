use crate::ids::{MachineId, PlanId};
use crate::refusal::refusals;
use crate::time::Timestamp;

refusals! {
    pub enum PlanRefusal {
        Unknown { plan: PlanId } =>
            (NotFound, "plan.unknown", "", "there is no plan {plan} at this site"),
        IdTaken { plan: PlanId } =>
            (Rule, "plan.id-taken", "", "there is a plan {plan} already"),
        TooManySlots { slots: usize, max: usize } =>
            (Invalid, "plan.too-many-slots", "/slots", "{slots} slots are more than {max}, the most that one plan takes"),
        UnknownMachine { index: usize, machine: MachineId } =>
            (Rule, "plan.machine-unknown", "/slots/{index}/machine", "there is no machine {machine} at this site"),
        SlotOutOfRange { index: usize, starts_at: Timestamp, earliest: Timestamp, latest: Timestamp } =>
            (Invalid, "plan.slot-out-of-range", "/slots/{index}/starts_at", "a slot at {starts_at} is not between {earliest} and {latest}"),
        CycleOutOfRange { index: usize, cycle_s: u32, most_s: u32 } =>
            (Invalid, "plan.cycle-out-of-range", "/slots/{index}/cycle_s", "a slot of {cycle_s} s is not between 1 s and {most_s} s"),
        /// One spindle, one run.
        SlotsOverlap { index: usize, machine: MachineId, starts_at: Timestamp, until: Timestamp } =>
            (Rule, "plan.slots-overlap", "/slots/{index}/starts_at", "on the machine {machine} a slot starts at {starts_at}, but the one before it lasts until {until}"),
        AlreadyPublished { plan: PlanId, published_at: Timestamp } =>
            (Rule, "plan.already-published", "", "the plan {plan} was published at {published_at}; post a new one to go back to it"),
    }
}

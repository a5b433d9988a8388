use crate::code::Code;
use crate::ids::ParkedId;
use crate::refusal::refusals;
use crate::time::Timestamp;

refusals! {
    pub enum LateRefusal {
        TooManyParked { parked: usize, max: usize } =>
            (Rule, "parked.too-many", "", "{parked} acts wait for somebody to settle them, and {max} is the most; settle some first"),
        /// Only ever a deviation: while a run is started, an act is never before the last one.
        Overlaps { at: Timestamp, machine: Code, last_act: Timestamp } =>
            (Rule, "run.overlaps", "/at", "the run began at {at}, and the last act on machine {machine} was told of {last_act}: two runs lie over each other"),
        Unknown { parked: ParkedId } =>
            (NotFound, "parked.unknown", "", "no act {parked} is parked at this site; it may have been settled"),
    }
}

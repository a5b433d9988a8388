use crate::code::Code;
use crate::ids::{CellId, MachineId};
use crate::refusal::refusals;
use crate::time::Timestamp;

refusals! {
    pub enum MachineRefusal {
        Unknown { machine: MachineId } =>
            (NotFound, "machine.unknown", "", "there is no machine {machine} at this site"),
        Stale { expected: u64, current: u64 } =>
            (Stale, "machine.stale", "", "it was changed meanwhile: you changed version {expected}, it is at version {current}"),
        UnknownCell { cell: CellId } =>
            (Rule, "machine.cell-unknown", "/cell", "there is no cell {cell} at this site"),
        IdTaken { machine: MachineId } =>
            (Rule, "machine.id-taken", "", "there is a machine {machine} already"),
        CodeTaken { code: Code, machine: MachineId } =>
            (Rule, "machine.code-taken", "/code", "the code {code} belongs to the machine {machine}; choose another"),
        CellIsStandalone { cell: CellId } =>
            (Rule, "machine.cell-is-standalone", "/cell", "the cell {cell} is a standalone machine; add this one without a cell, or to a pool"),
        TooMany { max: usize } =>
            (Rule, "machine.too-many", "", "this site has {max} machines, which is the most it takes"),
        TooManyTools { max: usize } =>
            (Invalid, "machine.too-many-tools", "/tools", "a magazine holds at most {max} tools here"),
        OutOfRange { field: String, at: Timestamp, earliest: Timestamp } =>
            (Invalid, "time.out-of-range", "{field}", "{at} is before {earliest}: the clock that gave it has lost its time"),
        InFuture { field: String, at: Timestamp, now: Timestamp, most_s: i64 } =>
            (Invalid, "time.in-future", "{field}", "{at} lies more than {most_s} s after now ({now}): only what has happened can be recorded"),
        /// A device's clock may be wrong, but it cannot have sent before it existed.
        ClockUnusable { device_sent_at: Timestamp, earliest: Timestamp } =>
            (Invalid, "time.device-clock-unusable", "/sent_at", "the device's clock read {device_sent_at}, before {earliest}: set it, then send again"),
        AlreadyDown { machine: MachineId, since: Timestamp } =>
            (Rule, "machine.already-down", "", "the machine {machine} has been down since {since}"),
        NotDown { machine: MachineId } =>
            (Rule, "machine.not-down", "", "the machine {machine} is not down"),
        /// Changes of condition are entered in the order in which they happened; an earlier one is a correction.
        BeforeLastChange { at: Timestamp, last_change: Timestamp } =>
            (Rule, "machine.before-last-change", "/at", "{at} is not after the last change of its condition at {last_change}"),
        CycleEmpty { field: String, from: Timestamp, to: Timestamp } =>
            (Invalid, "cycle.empty", "{field}", "a cycle must end after it began, and {to} is not after {from}"),
        CycleTooLong { field: String, from: Timestamp, to: Timestamp, most_s: i64 } =>
            (Invalid, "cycle.too-long", "{field}", "a cycle from {from} to {to} is longer than {most_s} s: was its end forgotten?"),
        CoversTooLittle { index: usize, from: Timestamp, to: Timestamp } =>
            (Invalid, "cycle.outside-covers", "/cycles/{index}", "the cycle from {from} to {to} lies outside of `covers`"),
        TooManyRows { rows: usize, max: usize } =>
            (Invalid, "machine.too-many-rows", "", "{rows} rows are more than {max}, the most that one call takes; send them in several"),
        ReadingNotNewer { index: usize, at: Timestamp, last: Timestamp } =>
            (Rule, "reading.not-newer", "/readings/{index}/at", "the reading at {at} is not after the last one at {last}; readings are entered in order"),
        /// Backwards means a reset or the wrong machine; a person knows which.
        CounterWentBack { index: usize, counter: &'static str, at: Timestamp, value_s: u64, last_s: u64 } =>
            (Rule, "reading.counter-went-back", "/readings/{index}/{counter}", "{counter} went back from {last_s} s to {value_s} s at {at}: wrong machine? If the counter was reset, say so with \"reset\": true"),
        FasterThanTime { index: usize, counter: &'static str, at: Timestamp, gained_s: u64, elapsed_s: u64 } =>
            (Rule, "reading.faster-than-time", "/readings/{index}/{counter}", "{counter} gained {gained_s} s by {at}, but only {elapsed_s} s have passed since the last reading: wrong machine or wrong unit?"),
        CutExceedsPowered { index: usize, at: Timestamp, in_cut_gained_s: u64, powered_on_gained_s: u64 } =>
            (Rule, "reading.cut-exceeds-powered", "/readings/{index}/in_cut_s", "by {at} in cut gained {in_cut_gained_s} s but powered on only {powered_on_gained_s} s: are the two swapped?"),
    }
}

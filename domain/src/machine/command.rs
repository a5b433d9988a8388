use super::{DownReason, MachineTool, Reading};
use crate::code::{Code, Name};
use crate::ids::{CellId, MachineId, Seq};
use crate::machine_state::MachineState;
use crate::note::NoteRef;
use crate::time::{Timestamp, Window};

/// Where a new machine belongs.
#[derive(Clone, Copy, Debug)]
pub enum Placement {
    In(CellId),
    /// It becomes a cell of its own, which gets this id and the machine's code and name.
    Standalone(CellId),
}

#[derive(Clone, Debug)]
pub struct AddMachine {
    pub machine: MachineId,
    pub placement: Placement,
    pub code: Code,
    pub name: Name,
    pub silent_after_s: Option<u32>,
}

#[derive(Clone, Debug)]
pub struct ChangeMachine {
    pub machine: MachineId,
    pub code: Code,
    pub name: Name,
    pub silent_after_s: Option<u32>,
    /// The version that the change was made on (If-Match); `None` at the command line.
    pub expected: Option<Seq>,
}

#[derive(Clone, Debug)]
pub struct SetMachineDown {
    pub machine: MachineId,
    pub at: Timestamp,
    pub reason: DownReason,
    pub note: Option<NoteRef>,
}

#[derive(Clone, Debug)]
pub struct SetMachineUp {
    pub machine: MachineId,
    pub at: Timestamp,
}

#[derive(Clone, Debug)]
pub struct SetMachineTools {
    pub machine: MachineId,
    pub tools: Vec<MachineTool>,
    /// The version that the change was made on (If-Match); `None` at the command line.
    pub expected: Option<Seq>,
}

/// What the sender's clock read when it sent, and ours when it arrived.
#[derive(Clone, Copy, Debug)]
pub struct ClockOffset {
    pub device_sent_at: Timestamp,
    pub received_at: Timestamp,
}

#[derive(Clone, Debug)]
pub struct ReceiveSignals {
    pub machine: MachineId,
    /// As the device told them, in its own clock and order.
    pub rows: Vec<(Timestamp, MachineState)>,
    pub cycles: Vec<Window>,
    pub covers: Option<Window>,
    /// `None`: the instants are taken as they are.
    pub clock: Option<ClockOffset>,
}

#[derive(Clone, Debug)]
pub struct ReceiveReadings {
    pub machine: MachineId,
    pub readings: Vec<Reading>,
    pub clock: Option<ClockOffset>,
}

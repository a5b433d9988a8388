//! Machines: each has one spindle. What a machine says of itself (signals, cycles, counter readings) and what
//! people say of it (down, up).

mod command;
mod decide;
mod event;
mod marks;
mod receive;
mod refusal;
#[cfg(test)]
mod tests;

pub use command::{
    AddMachine, ChangeMachine, ClockOffset, Placement, ReceiveReadings, ReceiveSignals, SetMachineDown,
    SetMachineTools, SetMachineUp,
};
pub(crate) use decide::{add, change, set_down, set_tools, set_up};
pub use event::{
    CyclesReceived, DownReason, MachineAdded, MachineChanged, MachineSetDown, MachineSetUp, MachineTool,
    MachineToolsSet, Reading, ReadingsReceived, SignalsReceived,
};
pub use marks::marks_of;
pub use receive::{CLOCK_OFFSET_MIN_US, FUTURE_MAX_S};
pub(crate) use receive::{corrected, in_range, readings, signals};
pub use refusal::MachineRefusal;

use crate::code::{Code, Name};
use crate::ids::{CellId, MachineId, RunId, Seq};
use crate::time::Timestamp;
use serde::{Deserialize, Serialize};

pub const MACHINES_MAX: usize = 1_000;
/// A batch may hold more rows than one entry; it is then packed into several.
pub const SIGNAL_ROWS_MAX: usize = 50_000;
pub const SIGNAL_ROWS_PER_ENTRY_MAX: usize = 5_000;
pub const CYCLES_MAX: usize = 5_000;
pub const READINGS_MAX: usize = 500;
/// The largest magazines hold some hundreds.
pub const TOOLS_MAX: usize = 1_000;

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Machine {
    pub id: MachineId,
    pub cell: CellId,
    pub code: Code,
    pub name: Name,
    /// After so long without any row the machine counts as not known; `None`: a state lasts until the next row.
    pub silent_after_s: Option<u32>,
    pub condition: Condition,
    /// The newest reading of the control's counters.
    pub last_reading: Option<Reading>,
    /// The newest instant that the machine's signals tell of.
    pub heard_until: Option<Timestamp>,
    /// In the order in which they were given; twins are the same tool twice.
    pub tools: Vec<MachineTool>,
    /// When each tool was last put in anew, as far as its lists tell.
    pub replaced: Vec<ToolReplaced>,
    /// The run that holds its spindle.
    pub run: Option<RunId>,
    /// When somebody last did something with it on the floor.
    pub acted_at: Option<Timestamp>,
    pub changed_seq: Seq,
    pub tools_changed_seq: Seq,
}

impl Machine {
    pub fn set_tools(&mut self, tools: &[MachineTool], at: Timestamp) {
        let life = |list: &[MachineTool], tool: &Code| -> u64 {
            let twins = list.iter().filter(|known| known.tool.is_spoken_like(tool));
            twins.map(|twin| u64::from(twin.life_left_s)).sum()
        };
        for tool in tools.iter().map(|one| &one.tool) {
            if life(tools, tool) <= life(&self.tools, tool) {
                continue;
            }
            self.replaced.retain(|known| !known.tool.is_spoken_like(tool));
            let tool = tool.clone();
            self.replaced.push(ToolReplaced { tool, at });
        }
        self.replaced
            .retain(|known| tools.iter().any(|one| one.tool.is_spoken_like(&known.tool)));
        self.tools = tools.to_vec();
    }

    /// Of a tool with its twins, what is left in all of them; `None`: the tool is not in the magazine.
    pub fn tool_life_left_s(&self, tool: &Code) -> Option<u64> {
        let twins = self.tools.iter().filter(|known| known.tool.is_spoken_like(tool));
        twins
            .map(|twin| u64::from(twin.life_left_s))
            .reduce(|sum, life| sum + life)
    }
}

/// A tool of which a list told more life than was left, or which it named for the first time.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct ToolReplaced {
    pub tool: Code,
    pub at: Timestamp,
}

/// What people say of the machine.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Condition {
    /// Nobody ever set it down.
    NeverDown,
    Up {
        since: Timestamp,
    },
    Down {
        since: Timestamp,
        reason: DownReason,
    },
}

impl Condition {
    /// When it last changed.
    pub const fn since(self) -> Option<Timestamp> {
        match self {
            Self::NeverDown => None,
            Self::Up { since } | Self::Down { since, .. } => Some(since),
        }
    }
}

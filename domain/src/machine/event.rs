use crate::code::{Code, Name};
use crate::ids::{CellId, MachineId};
use crate::machine_state::MachineState;
use crate::note::NoteRef;
use crate::time::{Timestamp, Window};
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MachineAdded {
    pub machine: MachineId,
    pub cell: CellId,
    pub code: Code,
    pub name: Name,
    pub silent_after_s: Option<u32>,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MachineChanged {
    pub machine: MachineId,
    pub code: Code,
    pub name: Name,
    pub silent_after_s: Option<u32>,
}

/// Why a machine is down, as far as one tap can tell.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum DownReason {
    Breakdown,
    PlannedMaintenance,
    Tooling,
    /// Electricity, air, coolant supply.
    Utilities,
    Other,
}

impl DownReason {
    pub const ALL: [Self; 5] = [
        Self::Breakdown,
        Self::PlannedMaintenance,
        Self::Tooling,
        Self::Utilities,
        Self::Other,
    ];

    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Breakdown => "breakdown",
            Self::PlannedMaintenance => "planned_maintenance",
            Self::Tooling => "tooling",
            Self::Utilities => "utilities",
            Self::Other => "other",
        }
    }
}

impl fmt::Display for DownReason {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("`{0}` is no reason; use breakdown, planned_maintenance, tooling, utilities or other")]
pub struct NoSuchReason(pub String);

impl FromStr for DownReason {
    type Err = NoSuchReason;
    fn from_str(text: &str) -> Result<Self, NoSuchReason> {
        Self::ALL
            .into_iter()
            .find(|reason| reason.as_str() == text)
            .ok_or_else(|| NoSuchReason(text.to_owned()))
    }
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MachineSetDown {
    pub machine: MachineId,
    pub at: Timestamp,
    pub reason: DownReason,
    pub note: Option<NoteRef>,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MachineSetUp {
    pub machine: MachineId,
    pub at: Timestamp,
}

/// A tool in the machine's magazine and the life that it has left. Twins are the same tool twice.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MachineTool {
    pub tool: Code,
    pub life_left_s: u32,
}

/// What is in the magazine now, all of it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MachineToolsSet {
    pub machine: MachineId,
    pub tools: Vec<MachineTool>,
}

/// Up to 5,000 changes of state in one entry, packed: the first instant, then the microseconds from each row to the
/// next, and for each row the index of its state in `states`.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SignalsReceived {
    pub machine: MachineId,
    /// What was added to the device's clock to get these instants; 0 where it agreed with ours.
    pub clock_offset_us: i64,
    pub first_at: Timestamp,
    /// One fewer than rows.
    pub step_us: Vec<u64>,
    /// EXECUTION values of the MTConnect standard, or OFF.
    pub states: Vec<String>,
    pub state: Vec<u8>,
    /// Rows of the batch that said nothing new, and rows that came late; both stand in the batch's first entry.
    pub repeated: u32,
    pub out_of_order: u32,
}

impl SignalsReceived {
    /// Packs rows that are sorted by their instants. `None` without rows.
    pub fn pack(
        machine: MachineId,
        clock_offset_us: i64,
        rows: &[(Timestamp, MachineState)],
    ) -> Option<Self> {
        let (first_at, _) = *rows.first()?;
        let mut states: Vec<String> = Vec::new();
        let mut index_of = |state: MachineState| {
            let known = states.iter().position(|name| name == state.name());
            let index = known.unwrap_or_else(|| {
                states.push(state.name().to_owned());
                states.len() - 1
            });
            // There are a dozen states.
            u8::try_from(index).unwrap_or(u8::MAX)
        };
        let state = rows.iter().map(|(_, state)| index_of(*state)).collect();
        let step_us = rows
            .windows(2)
            .map(|pair| pair[1].0.since_us(pair[0].0).unsigned_abs())
            .collect();
        Some(Self {
            machine,
            clock_offset_us,
            first_at,
            step_us,
            states,
            state,
            repeated: 0,
            out_of_order: 0,
        })
    }

    /// The rows again. A state that this version does not know counts as not known.
    pub fn rows(&self) -> impl Iterator<Item = (Timestamp, MachineState)> {
        let states: Vec<_> = self
            .states
            .iter()
            .map(|name| MachineState::parse(name).unwrap_or(MachineState::Unavailable))
            .collect();
        let steps = std::iter::once(0).chain(self.step_us.iter().copied());
        let instants = steps.scan(self.first_at, |at, step| {
            *at = at.plus_us(i64::try_from(step).unwrap_or(i64::MAX));
            Some(*at)
        });
        instants.zip(&self.state).map(move |(at, index)| {
            (
                at,
                states
                    .get(usize::from(*index))
                    .copied()
                    .unwrap_or(MachineState::Unavailable),
            )
        })
    }

    pub fn last_at(&self) -> Timestamp {
        let whole: u64 = self.step_us.iter().sum();
        self.first_at.plus_us(i64::try_from(whole).unwrap_or(i64::MAX))
    }
}

/// Whole cuts, from a device that knows no more than when a cut began and ended.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CyclesReceived {
    pub machine: MachineId,
    pub clock_offset_us: i64,
    pub cycles: Vec<Window>,
    /// The stretch over which the device would have told of any other cut.
    pub covers: Option<Window>,
}

/// What a control's own counters stood at.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Reading {
    pub at: Timestamp,
    pub powered_on_s: u64,
    pub in_cut_s: u64,
    /// The counters were reset (or the control replaced) since the reading before: no hours lie between the two.
    pub reset: bool,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ReadingsReceived {
    pub machine: MachineId,
    pub clock_offset_us: i64,
    pub readings: Vec<Reading>,
}

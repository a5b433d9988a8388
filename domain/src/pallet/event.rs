use crate::code::{Code, Name};
use crate::ids::{CellId, MachineId, PalletId};
use crate::size::Size;
use serde::{Deserialize, Serialize};

/// What is written on a pallet's sheet.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PalletFacts {
    pub code: Code,
    pub name: Name,
    /// What may stand on it, fixture and pieces together.
    pub size: Size,
    /// The most that it may carry, fixture and pieces together.
    pub mass_max_g: u32,
    /// How fixtures are clamped to it.
    pub interface: Code,
}

/// Where a pallet stands. Places of a cell are counted from 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Position {
    Spindle { machine: MachineId },
    LoadStation { number: u32 },
    Stand { number: u32 },
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PalletAdded {
    pub pallet: PalletId,
    pub cell: CellId,
    pub facts: PalletFacts,
    pub position: Position,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PalletChanged {
    pub pallet: PalletId,
    pub facts: PalletFacts,
}

impl std::fmt::Display for Position {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Spindle { machine } => write!(f, "the spindle of machine {machine}"),
            Self::LoadStation { number } => write!(f, "load station {number}"),
            Self::Stand { number } => write!(f, "stand {number}"),
        }
    }
}

//! A routing: the operations of a part revision, each in a cell or at a manual step.

use crate::code::{Code, Name};
use crate::ids::{CellId, FixtureId, MachineId, VendorId};
use serde::{Deserialize, Serialize};
use std::ops::Deref;
use std::sync::Arc;

pub const LINK_CHARS_MAX: usize = 500;

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Routing {
    /// Ascending by number.
    pub operations: Vec<Operation>,
}

/// A routing that is shared: the copies that jobs hold cost one pointer each.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(from = "Routing", into = "Routing")]
pub struct FrozenRouting(Arc<Routing>);

impl From<Routing> for FrozenRouting {
    fn from(routing: Routing) -> Self {
        Self(Arc::new(routing))
    }
}

impl From<FrozenRouting> for Routing {
    fn from(frozen: FrozenRouting) -> Self {
        Arc::unwrap_or_clone(frozen.0)
    }
}

impl Deref for FrozenRouting {
    type Target = Routing;

    fn deref(&self) -> &Routing {
        &self.0
    }
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Operation {
    /// 10, 20, 30 by custom, so that another fits between.
    pub number: u16,
    pub name: Name,
    pub work: Work,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Work {
    Machining(Machining),
    Manual(Manual),
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Machining {
    /// Where it can run; each cell once.
    pub places: Vec<Place>,
    /// The fixtures that hold it.
    pub fixtures: Vec<FixtureId>,
    pub pieces_per_load: u32,
    /// Clamping a full load at the load station, and taking it off.
    pub load_s: u32,
    pub unload_s: u32,
    pub setup_sheet: Option<Link>,
    /// After each new setup the first piece is checked before more are cut.
    pub first_piece: bool,
    /// The first piece of the job gets the formal inspection.
    pub first_article: bool,
}

/// One cell that an operation can run in, and what holds there.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Place {
    pub cell: CellId,
    /// Empty: any machine of the cell.
    pub machines: Vec<MachineId>,
    pub cycle: CycleTime,
    pub program: Option<Program>,
    pub tools: Vec<ToolUse>,
    /// The machines on which it may run with nobody there.
    pub clearances: Vec<Clearance>,
}

impl Place {
    pub fn takes(&self, machine: MachineId) -> bool {
        self.machines.is_empty() || self.machines.contains(&machine)
    }

    pub fn is_cleared_on(&self, machine: MachineId) -> bool {
        self.clearances
            .iter()
            .any(|clearance| clearance.machine == machine)
    }
}

/// How long the program runs: for the whole load however many pieces are in it, or for each piece.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum CycleTime {
    PerLoad { cycle_s: u32 },
    PerPiece { cycle_s: u32 },
}

impl CycleTime {
    /// Of a load with so many pieces. Nothing clamped, nothing cut.
    pub fn of_load_s(self, pieces: u32) -> u64 {
        match self {
            Self::PerLoad { .. } if pieces == 0 => 0,
            Self::PerLoad { cycle_s } => u64::from(cycle_s),
            Self::PerPiece { cycle_s } => u64::from(cycle_s) * u64::from(pieces),
        }
    }
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Program {
    pub name: Name,
    pub revision: Code,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ToolUse {
    pub tool: Code,
    /// Tool life that a full load takes.
    pub used_s_per_load: u32,
}

/// Cleared for unattended running on this machine. The list is what has to be looked at each time before everybody
/// leaves; that it was looked at says the person who did.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Clearance {
    pub machine: MachineId,
    pub checklist: Vec<Name>,
}

/// Saw, deburr, wash, inspect, or something done elsewhere.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Manual {
    pub lead: Lead,
    /// `None`: in the house.
    pub vendor: Option<VendorId>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Lead {
    /// Staffed time of the site.
    StaffedTime { lead_s: u32 },
    /// Working days of the vendor, or of the site in the house; the day of receipt does not count.
    WorkingDays { lead_days: u32 },
}

/// Where the setup sheet lies: a web address or a path on the shop's server. It is shown, never opened by the service.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Link(String);

#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error(
    "this is no link: use https://…, http://… or file://… with 1 to {LINK_CHARS_MAX} characters, none of them blank"
)]
pub struct NotALink;

impl Link {
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl TryFrom<String> for Link {
    type Error = NotALink;
    /// Other schemes (`javascript:` is the known one) would run something when a page shows the link.
    fn try_from(text: String) -> Result<Self, NotALink> {
        let known = ["https://", "http://", "file://"];
        let is_known = known
            .iter()
            .any(|scheme| text.len() > scheme.len() && text.starts_with(scheme));
        let is_plain = !text.chars().any(|c| c.is_whitespace() || c.is_control());
        if is_known && is_plain && text.chars().count() <= LINK_CHARS_MAX {
            Ok(Self(text))
        } else {
            Err(NotALink)
        }
    }
}

impl From<Link> for String {
    fn from(link: Link) -> Self {
        link.0
    }
}

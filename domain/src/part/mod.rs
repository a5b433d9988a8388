//! Parts, their revisions, and each revision's routing: the operations that make one out of a blank.
//!
//! A released line copies the routing, so a new revision or routing never changes what is being made.

mod command;
mod decide;
mod event;
mod refusal;
mod routing;
#[cfg(test)]
mod tests;

pub use command::{AddPart, AddRevision, ChangePart, SetRouting};
pub(crate) use decide::{Known, add, add_revision, change, is_routing, loads_into, set_routing};
pub use event::{Blank, PartAdded, PartChanged, RevisionAdded, RevisionFacts, RoutingSet};
pub use refusal::PartRefusal;
pub use routing::{
    Clearance, CycleTime, FrozenRouting, LINK_CHARS_MAX, Lead, Link, Machining, Manual, NotALink, Operation,
    Place, Program, Routing, ToolUse, Work,
};

use crate::code::{Code, Name};
use crate::ids::{PartId, Seq};
use serde::{Deserialize, Serialize};

pub const PARTS_MAX: usize = 100_000;
pub const REVISIONS_MAX: usize = 100;
pub const OPERATIONS_MAX: usize = 50;
pub const OPERATION_NUMBER_MAX: u16 = 9_999;
pub const PLACES_MAX: usize = 20;
pub const FIXTURES_PER_OPERATION_MAX: usize = 20;
pub const TOOLS_PER_PLACE_MAX: usize = 200;
pub const CHECKS_PER_CLEARANCE_MAX: usize = 30;

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Part {
    pub id: PartId,
    pub code: Code,
    pub name: Name,
    /// In the order in which they came; the last is the newest.
    pub revisions: Vec<Revision>,
    pub changed_seq: Seq,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Revision {
    pub facts: RevisionFacts,
    /// Shared with the jobs that were released with it.
    pub routing: Option<FrozenRouting>,
    /// The entry that set the routing; 0 without one.
    pub routing_seq: Seq,
}

impl Part {
    pub fn revision(&self, revision: &Code) -> Option<&Revision> {
        self.revisions
            .iter()
            .find(|known| known.facts.revision.is_spoken_like(revision))
    }
}

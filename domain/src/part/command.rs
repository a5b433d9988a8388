use super::{RevisionFacts, Routing};
use crate::code::{Code, Name};
use crate::ids::{PartId, Seq};

#[derive(Clone, Debug)]
pub struct AddPart {
    pub part: PartId,
    pub code: Code,
    pub name: Name,
    /// Its first revision.
    pub revision: RevisionFacts,
}

#[derive(Clone, Debug)]
pub struct ChangePart {
    pub part: PartId,
    pub code: Code,
    pub name: Name,
    /// The version that the change was made on (If-Match); `None` at the command line.
    pub expected: Option<Seq>,
}

#[derive(Clone, Debug)]
pub struct AddRevision {
    pub part: PartId,
    pub facts: RevisionFacts,
}

#[derive(Clone, Debug)]
pub struct SetRouting {
    pub part: PartId,
    pub revision: Code,
    pub routing: Routing,
    pub expected: Option<Seq>,
}

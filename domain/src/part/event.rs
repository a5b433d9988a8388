use super::Routing;
use crate::code::{Code, Name};
use crate::ids::PartId;
use crate::size::Size;
use serde::{Deserialize, Serialize};

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PartAdded {
    pub part: PartId,
    pub code: Code,
    pub name: Name,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PartChanged {
    pub part: PartId,
    pub code: Code,
    pub name: Name,
}

/// What the drawing says of a revision. `None`: not known, which is not nothing.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RevisionFacts {
    pub revision: Code,
    /// Of a finished piece.
    pub mass_g: Option<u32>,
    pub size: Option<Size>,
    pub blank: Option<Blank>,
}

/// What a piece is made from.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Blank {
    pub name: Name,
    pub mass_g: Option<u32>,
    pub size: Option<Size>,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RevisionAdded {
    pub part: PartId,
    pub facts: RevisionFacts,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RoutingSet {
    pub part: PartId,
    pub revision: Code,
    pub routing: Routing,
}

use crate::ids::{CellId, Seq};
use crate::note::NoteRef;
use serde::{Deserialize, Serialize};

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct HandoverNoted {
    pub cell: CellId,
    pub note: NoteRef,
}

/// Somebody who comes in has read the page as it was after `as_of`.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct HandoverConfirmed {
    pub cell: CellId,
    pub as_of: Seq,
}

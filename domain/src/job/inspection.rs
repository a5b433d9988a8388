use super::Counts;
use crate::ids::{HoldId, LoadId, PrincipalId, Seq};
use crate::load::Disposition;
use crate::shop::JudgedRun;
use crate::time::Timestamp;
use serde::{Deserialize, Serialize};

/// What an inspector said of pieces of a job, while it may have to be taken back.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Inspection {
    /// The entry.
    pub seq: Seq,
    pub operation: u16,
    pub counts: Counts,
    /// `None`: reported of pieces that no hold was about.
    pub disposition: Option<Disposition>,
    pub hold: Option<HoldId>,
    /// Decided while this load was clamped: its counts move when it is taken off.
    pub load: Option<LoadId>,
    /// `None`: the service's command line.
    pub by: Option<PrincipalId>,
    pub at: Timestamp,
    /// The runs that cut its pieces.
    pub runs: Vec<JudgedRun>,
    /// The entry by which it was taken back.
    pub reversed_by: Option<Seq>,
}

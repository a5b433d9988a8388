use super::Act;
use crate::ids::{HoldId, LoadId, PalletId, ParkedId, RunId};
use crate::note::NoteRef;
use crate::run::named_values;
use crate::time::Timestamp;
use serde::{Deserialize, Serialize};

named_values! {
    /// How a parked act came to its end.
    pub enum Settlement {
        /// What it waited for arrived; the entries that follow book it.
        Itself = "itself",
        /// A person said that it is true; the entries that follow book it.
        Booked = "booked",
        /// A person said that it is not to be booked.
        Dropped = "dropped",
    }
}

/// Somebody told of an act that cannot be true as things stand.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ActParked {
    pub parked: ParkedId,
    pub act: Act,
    pub hold: HoldId,
    /// What spoke against it then: the code of the rule and its sentence.
    pub code: String,
    pub detail: String,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ActSettled {
    pub parked: ParkedId,
    pub how: Settlement,
    /// Where a person found another time to be the true one.
    pub at: Option<Timestamp>,
    pub note: Option<NoteRef>,
}

/// Something happened against a rule. It is booked like anything that happened.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DeviationRecorded {
    /// The code of the rule, and its sentence.
    pub rule: String,
    pub detail: String,
    /// The name of the act.
    pub act: String,
    pub pallet: Option<PalletId>,
    pub load: Option<LoadId>,
    pub run: Option<RunId>,
    pub at: Timestamp,
}

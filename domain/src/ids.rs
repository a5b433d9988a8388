//! Identifiers. Each kind of thing has its own type, so that a machine is never passed for a cell.

use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;
use uuid::Uuid;

macro_rules! ids {
    ($($(#[$doc:meta])* $name:ident),+ $(,)?) => {$(
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(pub Uuid);

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                self.0.fmt(f)
            }
        }

        impl FromStr for $name {
            type Err = uuid::Error;
            fn from_str(text: &str) -> Result<Self, Self::Err> {
                Uuid::parse_str(text).map(Self)
            }
        }
    )+};
}

ids! {
    /// A site: one shop with one ledger.
    SiteId,
    /// A cell: machines fed by one pool of pallets, or a standalone machine.
    CellId,
    /// A machine: one spindle.
    MachineId,
    /// A pallet: carries one mounted fixture and stands at exactly one place.
    PalletId,
    /// A fixture: workholding with a number of nests, of which there may be several copies.
    FixtureId,
    /// One copy of a fixture; it is on one pallet at a time, or in store.
    FixtureCopyId,
    /// A fixture on a pallet from mount to unmount.
    SetupId,
    /// A part, in all its revisions.
    PartId,
    /// Whoever orders.
    CustomerId,
    /// Whoever does a step outside.
    VendorId,
    /// A customer's order.
    OrderId,
    /// A released line of an order, or a lot split off from one.
    JobId,
    /// The pieces clamped on a pallet, from loading to unloading.
    LoadId,
    /// One passage of a load through a spindle.
    RunId,
    /// An inspection hold on a load.
    HoldId,
    /// A reported act that waits.
    ParkedId,
    /// A posted plan.
    PlanId,
    /// A person or a machine client: whoever can sign in.
    PrincipalId,
    /// Somebody badged in on a tablet, once.
    BadgeId,
    /// A free text that can be forgotten; the entry holds only this id and a salted hash.
    TextId,
    /// The key under which a client sent a command; the same key always gets the same answer.
    CommandId,
}

/// Whose time is told: a machine's, a pallet's, a cell's or a job's.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Track(pub Uuid);

macro_rules! tracks {
    ($($name:ident),+) => {$(
        impl From<$name> for Track {
            fn from(id: $name) -> Self {
                Self(id.0)
            }
        }
    )+};
}

tracks!(MachineId, PalletId, CellId, JobId);

impl fmt::Display for Track {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

/// The position of an entry in a site's ledger: 1, 2, 3 … without a gap.
pub type Seq = u64;

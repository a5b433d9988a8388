//! The events: everything that a ledger can hold. `docs/events.md` lists them; a test holds the two together.

use crate::access::{
    PrincipalAdded, PrincipalDisabled, PrincipalEnabled, PrincipalForgotten, PrincipalRolesSet,
    PrincipalSecretSet,
};
use crate::cell::{CellAdded, CellCalendarCleared, CellCalendarSet, CellChanged};
use crate::correction::{ActWithdrawn, PalletRecounted, RunRetimed};
use crate::customer::{CustomerAdded, CustomerChanged};
use crate::device::{ActPlaced, ActSetAside, BadgeBegun, BadgeEnded, DeviceContacted, PinSet, PinUnlocked};
use crate::fixture::{FixtureAdded, FixtureChanged, FixtureCopyAdded};
use crate::floor::{
    CellQueueSet, FloorOpened, HoldAccepted, HoldPlaced, PalletLoaded, PalletMoved, PalletUnloaded,
    PalletUnmounted, RunAborted, RunFinished, RunPaused, RunResumed, RunStarted, SetupEnded, SetupStarted,
};
use crate::handover::{HandoverConfirmed, HandoverNoted};
use crate::inspection::{
    CustomerInspectionSet, DispositionProposed, FirstArticleDue, HoldDisposed, InspectionReversed,
    OrderApprovalSet,
};
use crate::job::{BlanksAdded, JobInspected, JobSplit, SteppedBack, SteppedOut};
use crate::late::{ActParked, ActSettled, DeviationRecorded};
use crate::machine::{
    CyclesReceived, MachineAdded, MachineChanged, MachineSetDown, MachineSetUp, MachineToolsSet,
    ReadingsReceived, SignalsReceived,
};
use crate::order::{
    LineAdded, LineCancelled, LineChanged, LineCompleted, LineReleased, MaterialArrived, MaterialExpected,
    OrderChanged, OrderCompleted, OrderEntered, OrderShipped,
};
use crate::pallet::{PalletAdded, PalletChanged};
use crate::part::{PartAdded, PartChanged, RevisionAdded, RoutingSet};
use crate::plan::{PlanPosted, PlanPublished};
use crate::site::{SiteCalendarSet, SiteChanged, SiteOpened, SitePeopleSet};
use crate::upcast;
use crate::vendor::{VendorAdded, VendorChanged};

/// Why a stored entry cannot be read. The writer halts on it: an entry is never skipped.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Unreadable {
    #[error(
        "unknown entry kind `{kind}` (schema {schema}): it was written by a newer version of Spindlebook"
    )]
    UnknownKind { kind: String, schema: u16 },
    #[error("the payload of a `{kind}` entry (schema {schema}) does not read: {reason}")]
    Payload {
        kind: String,
        schema: u16,
        reason: String,
    },
}

macro_rules! ledger_events {
    ($($event:ident = $kind:literal, $schema:literal;)+) => {
        #[derive(Clone, Debug, PartialEq, Eq)]
        pub enum Event {
            $($event($event),)+
        }

        $(impl From<$event> for Event {
            fn from(event: $event) -> Self {
                Self::$event(event)
            }
        })+

        impl Event {
            /// Every kind with the newest version of its payload.
            pub const KINDS: &'static [(&'static str, u16)] = &[$(($kind, $schema)),+];

            pub const fn kind(&self) -> &'static str {
                match self { $(Self::$event(_) => $kind,)+ }
            }

            pub const fn schema(&self) -> u16 {
                match self { $(Self::$event(_) => $schema,)+ }
            }

            /// The payload's bytes: JSON with integers only.
            pub fn encode(&self) -> Result<Vec<u8>, serde_json::Error> {
                match self { $(Self::$event(event) => serde_json::to_vec(event),)+ }
            }

            /// Reads a stored payload of any version.
            pub fn decode(kind: &str, schema: u16, payload: &[u8]) -> Result<Self, Unreadable> {
                let payload = upcast::to_newest(kind, schema, payload)?;
                match kind {
                    $($kind => serde_json::from_slice(&payload).map(Self::$event),)+
                    _ => return Err(Unreadable::UnknownKind { kind: kind.to_owned(), schema }),
                }
                .map_err(|error| Unreadable::Payload { kind: kind.to_owned(), schema, reason: error.to_string() })
            }
        }
    };
}

ledger_events! {
    SiteOpened = "site.opened", 1;
    SiteChanged = "site.changed", 1;
    SiteCalendarSet = "site.calendar_set", 1;
    SitePeopleSet = "site.people_set", 1;
    PrincipalAdded = "principal.added", 1;
    PrincipalRolesSet = "principal.roles_set", 1;
    PrincipalSecretSet = "principal.secret_set", 1;
    PrincipalDisabled = "principal.disabled", 1;
    PrincipalEnabled = "principal.enabled", 1;
    PrincipalForgotten = "principal.forgotten", 1;
    PinSet = "pin.set", 1;
    PinUnlocked = "pin.unlocked", 1;
    BadgeBegun = "badge.begun", 1;
    BadgeEnded = "badge.ended", 1;
    DeviceContacted = "device.contacted", 1;
    ActSetAside = "device.act_set_aside", 1;
    ActPlaced = "device.act_placed", 1;
    CellAdded = "cell.added", 1;
    CellChanged = "cell.changed", 1;
    CellCalendarSet = "cell.calendar_set", 1;
    CellCalendarCleared = "cell.calendar_cleared", 1;
    MachineAdded = "machine.added", 1;
    MachineChanged = "machine.changed", 1;
    MachineSetDown = "machine.set_down", 1;
    MachineSetUp = "machine.set_up", 1;
    MachineToolsSet = "machine.tools_set", 1;
    SignalsReceived = "machine.signals_received", 1;
    CyclesReceived = "machine.cycles_received", 1;
    ReadingsReceived = "machine.readings_received", 1;
    PalletAdded = "pallet.added", 1;
    PalletChanged = "pallet.changed", 1;
    FixtureAdded = "fixture.added", 1;
    FixtureChanged = "fixture.changed", 1;
    FixtureCopyAdded = "fixture.copy_added", 1;
    CustomerAdded = "customer.added", 1;
    CustomerChanged = "customer.changed", 1;
    CustomerInspectionSet = "customer.inspection_set", 1;
    VendorAdded = "vendor.added", 1;
    VendorChanged = "vendor.changed", 1;
    PartAdded = "part.added", 1;
    PartChanged = "part.changed", 1;
    RevisionAdded = "part.revision_added", 1;
    RoutingSet = "part.routing_set", 1;
    OrderEntered = "order.entered", 1;
    OrderChanged = "order.changed", 1;
    OrderApprovalSet = "order.approval_set", 1;
    LineAdded = "order.line_added", 1;
    LineChanged = "order.line_changed", 1;
    MaterialExpected = "order.material_expected", 1;
    MaterialArrived = "order.material_arrived", 1;
    LineReleased = "order.line_released", 1;
    LineCancelled = "order.line_cancelled", 1;
    LineCompleted = "order.line_completed", 1;
    OrderShipped = "order.shipped", 1;
    OrderCompleted = "order.completed", 1;
    FirstArticleDue = "job.first_article_due", 1;
    JobSplit = "job.split", 1;
    BlanksAdded = "job.blanks_added", 1;
    SteppedOut = "job.step_out", 1;
    SteppedBack = "job.step_back", 1;
    JobInspected = "job.inspected", 1;
    SetupStarted = "setup.started", 1;
    SetupEnded = "setup.ended", 1;
    PalletUnmounted = "pallet.unmounted", 1;
    PalletLoaded = "pallet.loaded", 1;
    PalletMoved = "pallet.moved", 1;
    CellQueueSet = "cell.queue_set", 1;
    RunStarted = "run.started", 1;
    RunPaused = "run.paused", 1;
    RunResumed = "run.resumed", 1;
    RunFinished = "run.finished", 1;
    RunAborted = "run.aborted", 1;
    PalletUnloaded = "pallet.unloaded", 1;
    HoldPlaced = "hold.placed", 1;
    HoldAccepted = "hold.accepted", 1;
    HoldDisposed = "hold.disposed", 1;
    DispositionProposed = "hold.disposition_proposed", 1;
    InspectionReversed = "inspection.reversed", 1;
    FloorOpened = "floor.opened", 1;
    ActParked = "act.parked", 1;
    ActSettled = "act.settled", 1;
    DeviationRecorded = "deviation.recorded", 1;
    ActWithdrawn = "act.withdrawn", 1;
    RunRetimed = "run.retimed", 1;
    PalletRecounted = "pallet.recounted", 1;
    HandoverNoted = "handover.noted", 1;
    HandoverConfirmed = "handover.confirmed", 1;
    PlanPosted = "plan.posted", 2;
    PlanPublished = "plan.published", 1;
}

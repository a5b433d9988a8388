//! The commands: everything that can be asked of a site. They are not stored; what came of them is.

use crate::access::{
    AddPrincipal, DisablePrincipal, EnablePrincipal, ForgetPrincipal, SetPrincipalRoles, SetPrincipalSecret,
};
use crate::actor::Actor;
use crate::cell::{AddCell, ChangeCell, ClearCellCalendar, SetCellCalendar};
use crate::correction::{self, Correct};
use crate::customer::{AddCustomer, ChangeCustomer};
use crate::device::{BeginBadge, EndBadge, PlaceAct, ReportContact, SetActAside, SetPin, UnlockPin};
use crate::fixture::{AddFixture, AddFixtureCopy, ChangeFixture};
use crate::floor::{
    AbortRun, FinishRun, FinishSetup, LoadPallet, MountFixture, MovePallet, OpenFloor, PauseRun, PlaceHold,
    ResumeRun, SetQueue, StartRun, UnloadPallet, UnmountFixture,
};
use crate::handover::{ConfirmHandover, NoteHandover};
use crate::inspection::{DisposeHold, GiveReference, ReverseInspection, SetCustomerInspection};
use crate::job::{AddBlanks, ReportInspected, ReportStepBack, ReportStepOut, SplitJob};
use crate::late::{ReportAct, SettleAct};
use crate::machine::{
    AddMachine, ChangeMachine, ReceiveReadings, ReceiveSignals, SetMachineDown, SetMachineTools,
    SetMachineUp, corrected,
};
use crate::order::{
    AddLine, CancelLine, ChangeLine, ChangeOrder, CompleteLine, EnterOrder, ExpectMaterial, ReceiveMaterial,
    ReleaseOrder, Ship,
};
use crate::pallet::{AddPallet, ChangePallet};
use crate::part::{AddPart, AddRevision, ChangePart, SetRouting};
use crate::plan::{PostPlan, PublishComputed, PublishPlan};
use crate::shop::Shop;
use crate::site::{ChangeSite, OpenSite, SetSiteCalendar, SetSitePeople};
use crate::stretches::{Layer, RowKey, StretchDays};
use crate::time::Timestamp;
use crate::vendor::{AddVendor, ChangeVendor};
use std::collections::BTreeSet;

macro_rules! commands {
    ($($command:ident),+ $(,)?) => {
        #[derive(Clone, Debug)]
        pub enum Command {
            $($command($command),)+
        }

        $(impl From<$command> for Command {
            fn from(command: $command) -> Self {
                Self::$command(command)
            }
        })+
    };
}

commands!(
    OpenSite,
    ChangeSite,
    SetSiteCalendar,
    SetSitePeople,
    AddPrincipal,
    SetPrincipalRoles,
    SetPrincipalSecret,
    DisablePrincipal,
    EnablePrincipal,
    ForgetPrincipal,
    SetPin,
    UnlockPin,
    BeginBadge,
    EndBadge,
    ReportContact,
    SetActAside,
    PlaceAct,
    AddCell,
    ChangeCell,
    SetCellCalendar,
    ClearCellCalendar,
    AddMachine,
    ChangeMachine,
    SetMachineDown,
    SetMachineUp,
    SetMachineTools,
    ReceiveSignals,
    ReceiveReadings,
    AddPallet,
    ChangePallet,
    AddFixture,
    ChangeFixture,
    AddFixtureCopy,
    AddCustomer,
    ChangeCustomer,
    AddVendor,
    ChangeVendor,
    AddPart,
    ChangePart,
    AddRevision,
    SetRouting,
    EnterOrder,
    ChangeOrder,
    AddLine,
    ChangeLine,
    ExpectMaterial,
    ReceiveMaterial,
    ReleaseOrder,
    CancelLine,
    CompleteLine,
    Ship,
    SplitJob,
    AddBlanks,
    ReportStepOut,
    ReportStepBack,
    ReportInspected,
    MountFixture,
    FinishSetup,
    UnmountFixture,
    LoadPallet,
    MovePallet,
    SetQueue,
    StartRun,
    PauseRun,
    ResumeRun,
    FinishRun,
    AbortRun,
    UnloadPallet,
    PlaceHold,
    DisposeHold,
    GiveReference,
    ReverseInspection,
    SetCustomerInspection,
    OpenFloor,
    ReportAct,
    SettleAct,
    Correct,
    NoteHandover,
    ConfirmHandover,
    PostPlan,
    PublishPlan,
    PublishComputed,
);

/// What a decision may know beside the shop.
#[derive(Clone, Copy, Debug)]
pub struct Context<'a> {
    pub now: Timestamp,
    pub actor: Actor,
    /// Whether the login that comes with the command belongs to somebody else.
    pub login_taken: bool,
    /// The stretch rows named by [`Command::touches`].
    pub stretches: &'a StretchDays,
}

impl Command {
    /// The stretch rows that must be loaded before deciding. A command that names no machine finds its tracks in the shop.
    pub fn touches(&self, shop: &Shop) -> BTreeSet<RowKey> {
        match self {
            Self::ReceiveSignals(command) => {
                let rows = command.rows.iter().map(|(at, _)| (Layer::Signals, *at));
                let cycles = command.cycles.iter().map(|cycle| (Layer::Cycles, cycle.from));
                let covers = command.covers.iter().map(|covers| (Layer::Cycles, covers.from));
                rows.chain(cycles)
                    .chain(covers)
                    .map(|(layer, at)| {
                        (
                            command.machine.into(),
                            layer,
                            corrected(at, command.clock).utc_day(),
                        )
                    })
                    .collect()
            }
            Self::ReceiveReadings(command) => command
                .readings
                .iter()
                .map(|reading| {
                    (
                        command.machine.into(),
                        Layer::Readings,
                        corrected(reading.at, command.clock).utc_day(),
                    )
                })
                .collect(),
            Self::SetMachineDown(SetMachineDown { machine, at, .. })
            | Self::SetMachineUp(SetMachineUp { machine, at }) => {
                BTreeSet::from([((*machine).into(), Layer::Downs, at.utc_day())])
            }
            _ => correction::rows(shop, self),
        }
    }
}

//! The role table: which role may do which operation, each operation once. It drives the guard, the OpenAPI text and
//! the test of every operation by every role.

use spindlebook_domain::role::Role::{
    self, Admin, Device, FrontOffice, Inspector, Integration, Operator, Planner, Viewer,
};
use std::collections::BTreeSet;

/// What most operations take at most.
pub const BODY_BYTES_MAX: usize = 1 << 20;
/// A batch of signals is packed by whoever sends it.
const SIGNALS_BYTES_MAX: usize = 8 << 20;

/// Who may do an operation.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Allowed {
    /// Without signing in.
    Anyone,
    /// Whoever is signed in, in their own affairs.
    SignedIn,
    /// Whoever is signed in and has one of these roles.
    Roles(&'static [Role]),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Operation {
    /// The operation id of the OpenAPI document.
    pub id: &'static str,
    pub allowed: Allowed,
    pub body_bytes_max: usize,
    /// An act on the floor: a tablet may keep it while it reaches nobody, and deliver it later.
    pub is_act: bool,
}

/// An operation as a type, for [`crate::auth::Caller`].
pub trait Permit: 'static {
    const OPERATION: Operation;
}

impl Operation {
    const fn new(id: &'static str, allowed: Allowed) -> Self {
        Self {
            id,
            allowed,
            body_bytes_max: BODY_BYTES_MAX,
            is_act: false,
        }
    }

    const fn marked_act(self) -> Self {
        Self { is_act: true, ..self }
    }

    const fn with_body_bytes_max(self, body_bytes_max: usize) -> Self {
        Self {
            body_bytes_max,
            ..self
        }
    }

    pub fn permits(&self, roles: &BTreeSet<Role>) -> bool {
        match self.allowed {
            Allowed::Anyone | Allowed::SignedIn => true,
            Allowed::Roles(allowed) => allowed.iter().any(|role| roles.contains(role)),
        }
    }

    /// Six digits on a tablet prove less than a password: they do for work, not for keeping users, nor for what is
    /// about the sign-in itself.
    pub fn takes_badge(&self) -> bool {
        match self.allowed {
            Allowed::Anyone => true,
            Allowed::SignedIn => ["getSession", "endBadge"].contains(&self.id),
            Allowed::Roles(roles) => roles != [Admin],
        }
    }

    /// The rule as a sentence.
    pub fn rule(&self) -> String {
        match self.allowed {
            Allowed::Anyone => "Anyone, without signing in.".to_owned(),
            Allowed::SignedIn => "Whoever is signed in.".to_owned(),
            Allowed::Roles(roles) => {
                let names: Vec<_> = roles.iter().map(|role| role.as_str()).collect();
                format!("Roles: {}.", names.join(", "))
            }
        }
    }

    pub fn of(id: &str) -> Option<&'static Self> {
        ALL.iter().find(|operation| operation.id == id)
    }
}

macro_rules! operations {
    ($($(#[$doc:meta])* $name:ident = $operation:expr;)+) => {
        pub mod op {
            $($(#[$doc])* #[derive(Clone, Copy, Debug)] pub struct $name;)+
        }

        $(impl Permit for op::$name {
            const OPERATION: Operation = $operation;
        })+

        pub const ALL: &[Operation] = &[$(<op::$name as Permit>::OPERATION),+];
    };
}

const fn anyone(id: &'static str) -> Operation {
    Operation::new(id, Allowed::Anyone)
}

const fn signed_in(id: &'static str) -> Operation {
    Operation::new(id, Allowed::SignedIn)
}

/// What somebody does on the floor.
const fn act(id: &'static str, allowed: &'static [Role]) -> Operation {
    roles(id, allowed).marked_act()
}

const fn roles(id: &'static str, roles: &'static [Role]) -> Operation {
    Operation::new(id, Allowed::Roles(roles))
}

/// Everybody of a site reads everything that is about work: the shop is small, and a figure that only some may open
/// is not believed. What is about people is for admins.
const READERS: &[Role] = &[
    FrontOffice,
    Planner,
    Operator,
    Inspector,
    Viewer,
    Admin,
    Integration,
    Device,
];

/// Who sets up cells, machines and calendars.
const SETS_UP: &[Role] = &[Planner, Admin];

/// Customers are the office's matter.
const KEEPS_CUSTOMERS: &[Role] = &[FrontOffice, Planner, Admin];

/// Orders come from the office or the tools that it uses; what a customer takes is the office's matter to the end.
const KEEPS_ORDERS: &[Role] = &[FrontOffice, Planner, Admin, Integration];

/// Whoever hands pieces over to a step, or takes them back.
const MOVES_PIECES: &[Role] = &[Operator, Inspector, Planner];

/// A machine is set down or up by whoever stands before it. The inspector is among them: at night they may be the
/// only one in the building. A machine client is not: it reports states, and a person's judgement stays a person's.
const ON_THE_FLOOR: &[Role] = &[Operator, Inspector, Planner, Admin];

/// Who loads, moves and runs.
const ACTS: &[Role] = &[Operator, Planner, Admin];

operations! {
    AddCell = roles("addCell", SETS_UP);
    ListCells = roles("listCells", READERS);
    GetCell = roles("getCell", READERS);
    ChangeCell = roles("changeCell", SETS_UP);
    GetCellCalendar = roles("getCellCalendar", READERS);
    SetCellCalendar = roles("setCellCalendar", SETS_UP);
    ClearCellCalendar = roles("clearCellCalendar", SETS_UP);

    AddMachine = roles("addMachine", SETS_UP);
    ListMachines = roles("listMachines", READERS);
    GetMachine = roles("getMachine", READERS);
    ChangeMachine = roles("changeMachine", SETS_UP);
    SetMachineDown = act("setMachineDown", ON_THE_FLOOR);
    SetMachineUp = act("setMachineUp", ON_THE_FLOOR);
    /// Machine clients send signals; a planner or admin brings in the log of a machine that has none.
    ReceiveSignals = roles("receiveSignals", &[Integration, Planner, Admin]).with_body_bytes_max(SIGNALS_BYTES_MAX);
    /// An operator reads the counters off the control's screen.
    ReceiveReadings = act("receiveReadings", &[Integration, Operator, Planner, Admin]);
    ListReadings = roles("listReadings", READERS);

    SetMachineTools = roles("setMachineTools", SETS_UP);
    GetMachineTools = roles("getMachineTools", READERS);

    AddPallet = roles("addPallet", SETS_UP);
    ListPallets = roles("listPallets", READERS);
    GetPallet = roles("getPallet", READERS);
    ChangePallet = roles("changePallet", SETS_UP);
    AddFixture = roles("addFixture", SETS_UP);
    ListFixtures = roles("listFixtures", READERS);
    GetFixture = roles("getFixture", READERS);
    ChangeFixture = roles("changeFixture", SETS_UP);
    AddFixtureCopy = roles("addFixtureCopy", SETS_UP);
    /// A quoting tool hands its parts over; what becomes of them is the shop's matter.
    AddPart = roles("addPart", &[Planner, Admin, Integration]);
    ListParts = roles("listParts", READERS);
    GetPart = roles("getPart", READERS);
    ChangePart = roles("changePart", SETS_UP);
    AddRevision = roles("addRevision", SETS_UP);
    GetRouting = roles("getRouting", READERS);
    /// It says what may run unattended: a planner's decision, never a client's.
    SetRouting = roles("setRouting", SETS_UP);
    AddCustomer = roles("addCustomer", &[FrontOffice, Planner, Admin, Integration]);
    ListCustomers = roles("listCustomers", READERS);
    GetCustomer = roles("getCustomer", READERS);
    ChangeCustomer = roles("changeCustomer", KEEPS_CUSTOMERS);
    AddVendor = roles("addVendor", SETS_UP);
    ListVendors = roles("listVendors", READERS);
    GetVendor = roles("getVendor", READERS);
    ChangeVendor = roles("changeVendor", SETS_UP);

    EnterOrder = roles("enterOrder", KEEPS_ORDERS);
    ListOrders = roles("listOrders", READERS);
    GetOrder = roles("getOrder", READERS);
    ChangeOrder = roles("changeOrder", KEEPS_ORDERS);
    AddLine = roles("addLine", KEEPS_ORDERS);
    GetLine = roles("getLine", READERS);
    GetChangePreview = roles("getChangePreview", READERS);
    ChangeLine = roles("changeLine", KEEPS_ORDERS);
    ReportMaterial = roles("reportMaterial", KEEPS_ORDERS);
    CancelLine = roles("cancelLine", KEEPS_ORDERS);
    CompleteLine = roles("completeLine", KEEPS_ORDERS);
    ShipLine = roles("shipLine", KEEPS_ORDERS);
    /// From here on the shop cuts it.
    ReleaseOrder = roles("releaseOrder", SETS_UP);
    ListJobs = roles("listJobs", READERS);
    GetJob = roles("getJob", READERS);
    GetJobHours = roles("getJobHours", READERS);
    SplitJob = roles("splitJob", SETS_UP);
    AddBlanks = roles("addBlanks", SETS_UP);
    ReportStepOut = act("reportStepOut", MOVES_PIECES);
    ReportStepBack = act("reportStepBack", MOVES_PIECES);
    /// Whether a piece is good is said by whoever answers for it.
    ReportInspected = act("reportInspected", &[Inspector, Planner]);
    ListSteps = roles("listSteps", READERS);

    GetSitePeople = roles("getSitePeople", READERS);
    SetSitePeople = roles("setSitePeople", SETS_UP);
    /// Acts on the floor are told by whoever does them; a planner does them too.
    MountFixture = act("mountFixture", ACTS);
    FinishSetup = act("finishSetup", ACTS);
    UnmountFixture = act("unmountFixture", ACTS);
    LoadPallet = act("loadPallet", ACTS);
    UnloadPallet = act("unloadPallet", ACTS);
    MovePallet = act("movePallet", ACTS);
    /// Whoever doubts a piece holds it, inspectors too.
    HoldPallet = act("holdPallet", ON_THE_FLOOR);
    StartRun = act("startRun", ACTS);
    GetRun = roles("getRun", READERS);
    PauseRun = act("pauseRun", ACTS);
    ResumeRun = act("resumeRun", ACTS);
    FinishRun = act("finishRun", ACTS);
    AbortRun = act("abortRun", ACTS);
    ListParkedActs = roles("listParkedActs", READERS);
    GetParkedAct = roles("getParkedAct", READERS);
    SettleParkedAct = roles("settleParkedAct", &[Planner]);
    CorrectEntry = roles("correctEntry", &[Operator, Inspector, Planner, Admin]);
    ListDeviations = roles("listDeviations", READERS);
    ListHolds = roles("listHolds", READERS);
    /// An operator does not accept what they have cut. What of it is the inspector's alone says the rule itself.
    DisposeHold = act("disposeHold", &[Inspector, Planner]);
    /// Whoever talks to the customer.
    GiveHoldReference = roles("giveHoldReference", &[FrontOffice, Inspector, Planner]);
    ListInspections = roles("listInspections", READERS);
    ReverseInspection = roles("reverseInspection", &[Inspector, Planner]);
    GetInspectionRules = roles("getInspectionRules", READERS);
    /// What the contract asks for.
    SetInspectionRules = roles("setInspectionRules", &[Inspector, Planner, Admin]);
    GetCellPool = roles("getCellPool", READERS);
    GetCellQueue = roles("getCellQueue", READERS);
    SetCellQueue = roles("setCellQueue", &[Planner, Admin]);
    GetCutsUntil = roles("getCutsUntil", READERS);
    GetHandover = roles("getHandover", READERS);
    /// Whoever goes, and whoever comes in.
    NoteHandover = act("noteHandover", ON_THE_FLOOR);
    ConfirmHandover = act("confirmHandover", ON_THE_FLOOR);
    StateOpening = roles("stateOpening", SETS_UP);

    GetSite = roles("getSite", READERS);
    /// Another zone moves every shift: not an everyday matter.
    ChangeSite = roles("changeSite", &[Admin]);
    GetSiteCalendar = roles("getSiteCalendar", READERS);
    SetSiteCalendar = roles("setSiteCalendar", SETS_UP);
    GetStaffedTime = roles("getStaffedTime", READERS);

    /// What was planned is what realised hours are measured by, so only whoever plans posts and publishes.
    PostPlan = roles("postPlan", &[Planner]);
    GetPlan = roles("getPlan", READERS);
    GetCurrentPlan = roles("getCurrentPlan", READERS);
    ListPlans = roles("listPlans", READERS);
    PublishPlan = roles("publishPlan", &[Planner]);
    ListComputations = roles("listComputations", READERS);
    GetComputation = roles("getComputation", READERS);
    StopComputation = roles("stopComputation", &[Planner]);
    GetNightFill = roles("getNightFill", READERS);
    /// Both change nothing; they are asked by whoever talks to customers.
    CheckRush = roles("checkRush", KEEPS_ORDERS);
    AskPromise = roles("askPromise", KEEPS_ORDERS);

    GetHours = roles("getHours", READERS);
    ListHoursEntries = roles("listHoursEntries", READERS);
    ListDailyReports = roles("listDailyReports", READERS);
    /// The ledger holds no names and no free text, only opaque ids.
    ListLedger = roles("listLedger", READERS);
    GetLedgerEntry = roles("getLedgerEntry", READERS);
    GetLedgerStream = roles("getLedgerStream", READERS);
    /// Why a machine stood is for whoever reads that it stood.
    GetNote = roles("getNote", READERS);
    /// It cannot be taken back.
    ForgetNote = roles("forgetNote", &[Admin]);

    AddUser = roles("addUser", &[Admin]);
    ListUsers = roles("listUsers", &[Admin]);
    GetUser = roles("getUser", &[Admin]);
    ChangeUser = roles("changeUser", &[Admin]);
    SetUserPassword = roles("setUserPassword", &[Admin]);
    ForgetUser = roles("forgetUser", &[Admin]);
    AddClient = roles("addClient", &[Admin]);
    ListClients = roles("listClients", &[Admin]);
    GetClient = roles("getClient", &[Admin]);
    DisableClient = roles("disableClient", &[Admin]);

    SignIn = anyone("signIn");
    /// The refresh token itself is what proves who asks.
    RefreshSession = anyone("refreshSession");
    GetSession = signed_in("getSession");
    EndSession = signed_in("endSession");
    ChangeOwnPassword = signed_in("changeOwnPassword");
    /// Client id and secret prove who asks.
    IssueToken = anyone("issueToken");

    /// A tablet that is not in the hands of the shop must not be one of its tablets.
    AddDevice = roles("addDevice", &[Admin]);
    ListDevices = roles("listDevices", &[Planner, Admin]);
    GetDevice = roles("getDevice", &[Planner, Admin]);
    DisableDevice = roles("disableDevice", &[Admin]);
    /// Names are for the tablet's page where one taps one's own.
    ListDevicePeople = roles("listDevicePeople", &[Device]);
    /// The tablet's key is the first proof, the PIN the second.
    BeginBadge = roles("beginBadge", &[Device]);
    EndBadge = signed_in("endBadge");
    /// The roles that count are those of the people whose acts they are.
    DeliverActs = roles("deliverActs", &[Device]);
    ListSetAsideActs = roles("listSetAsideActs", READERS);
    /// Whoever was there knows when it was.
    PlaceSetAsideAct = roles("placeSetAsideAct", ON_THE_FLOOR);
    SetUserPin = roles("setUserPin", &[Admin]);
    GetUserPin = roles("getUserPin", &[Admin]);
    UnlockUserPin = roles("unlockUserPin", &[Admin]);
    SetOwnPin = signed_in("setOwnPin");

    GetLiveness = anyone("getLiveness");
    GetReadiness = anyone("getReadiness");
    GetOpenapi = anyone("getOpenapi");
    GetDocs = anyone("getDocs");
    ListProblems = anyone("listProblems");
    GetProblem = anyone("getProblem");
    /// Scrapers sign in with client credentials.
    GetMetrics = roles("getMetrics", &[Admin, Integration]);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_operation_stands_once() {
        let ids: BTreeSet<_> = ALL.iter().map(|operation| operation.id).collect();
        assert_eq!(ids.len(), ALL.len());
        assert_eq!(
            Operation::of("addCell").map(|operation| operation.allowed),
            Some(Allowed::Roles(SETS_UP))
        );
    }

    #[test]
    fn a_viewer_reads_and_changes_nothing() {
        let viewer = BTreeSet::from([Viewer]);
        let reads =
            |operation: &Operation| operation.id.starts_with("get") || operation.id.starts_with("list");
        let by_role = ALL
            .iter()
            .filter(|operation| matches!(operation.allowed, Allowed::Roles(_)));
        for operation in by_role.filter(|operation| operation.permits(&viewer)) {
            assert!(reads(operation), "{}", operation.id);
        }
    }

    #[test]
    fn whoever_has_no_role_does_nothing_that_asks_for_one() {
        let by_role = ALL
            .iter()
            .filter(|operation| matches!(operation.allowed, Allowed::Roles(_)));
        assert!(by_role.clone().count() > 30);
        assert!(
            by_role
                .into_iter()
                .all(|operation| !operation.permits(&BTreeSet::new()))
        );
    }
}

//! Who may do what, written down a second time and by hand: the service's own table drives its guards, so only this
//! one tells when a role was given more than it should have.

use spindlebook_domain::role::Role::{
    self, Admin, Device, FrontOffice, Inspector, Integration, Operator, Planner, Viewer,
};

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Who {
    /// Without signing in.
    Anyone,
    /// Whoever is signed in, in their own affairs.
    SignedIn,
    Roles(&'static [Role]),
}

const EVERY_ROLE: Who = Who::Roles(&[
    FrontOffice,
    Planner,
    Operator,
    Inspector,
    Viewer,
    Admin,
    Integration,
    Device,
]);
const SETS_UP: Who = Who::Roles(&[Planner, Admin]);
const ON_THE_FLOOR: Who = Who::Roles(&[Operator, Inspector, Planner, Admin]);
const ADMIN: Who = Who::Roles(&[Admin]);
const PLANNER: Who = Who::Roles(&[Planner]);

/// One row an operation. An operation without a row fails the test, and so does a row without an operation.
pub const MATRIX: &[(&str, Who)] = &[
    ("getDocs", Who::Anyone),
    ("getOpenapi", Who::Anyone),
    ("getLiveness", Who::Anyone),
    ("getReadiness", Who::Anyone),
    ("listProblems", Who::Anyone),
    ("getProblem", Who::Anyone),
    ("getMetrics", Who::Roles(&[Admin, Integration])),
    ("issueToken", Who::Anyone),
    ("signIn", Who::Anyone),
    ("refreshSession", Who::Anyone),
    ("getSession", Who::SignedIn),
    ("endSession", Who::SignedIn),
    ("changeOwnPassword", Who::SignedIn),
    ("listUsers", ADMIN),
    ("addUser", ADMIN),
    ("getUser", ADMIN),
    ("changeUser", ADMIN),
    ("setUserPassword", ADMIN),
    ("forgetUser", ADMIN),
    ("listClients", ADMIN),
    ("addClient", ADMIN),
    ("getClient", ADMIN),
    ("disableClient", ADMIN),
    ("getSite", EVERY_ROLE),
    ("changeSite", ADMIN),
    ("getSiteCalendar", EVERY_ROLE),
    ("setSiteCalendar", SETS_UP),
    ("getStaffedTime", EVERY_ROLE),
    ("listCells", EVERY_ROLE),
    ("addCell", SETS_UP),
    ("getCell", EVERY_ROLE),
    ("changeCell", SETS_UP),
    ("getCellCalendar", EVERY_ROLE),
    ("setCellCalendar", SETS_UP),
    ("clearCellCalendar", SETS_UP),
    ("listMachines", EVERY_ROLE),
    ("addMachine", SETS_UP),
    ("getMachine", EVERY_ROLE),
    ("changeMachine", SETS_UP),
    ("setMachineDown", ON_THE_FLOOR),
    ("setMachineUp", ON_THE_FLOOR),
    ("setMachineTools", SETS_UP),
    ("getMachineTools", EVERY_ROLE),
    ("addPallet", SETS_UP),
    ("listPallets", EVERY_ROLE),
    ("getPallet", EVERY_ROLE),
    ("changePallet", SETS_UP),
    ("addFixture", SETS_UP),
    ("listFixtures", EVERY_ROLE),
    ("getFixture", EVERY_ROLE),
    ("changeFixture", SETS_UP),
    ("addFixtureCopy", SETS_UP),
    ("addPart", Who::Roles(&[Planner, Admin, Integration])),
    ("listParts", EVERY_ROLE),
    ("getPart", EVERY_ROLE),
    ("changePart", SETS_UP),
    ("addRevision", SETS_UP),
    ("getRouting", EVERY_ROLE),
    ("setRouting", SETS_UP),
    (
        "addCustomer",
        Who::Roles(&[FrontOffice, Planner, Admin, Integration]),
    ),
    ("listCustomers", EVERY_ROLE),
    ("getCustomer", EVERY_ROLE),
    ("changeCustomer", Who::Roles(&[FrontOffice, Planner, Admin])),
    ("addVendor", SETS_UP),
    ("listVendors", EVERY_ROLE),
    ("getVendor", EVERY_ROLE),
    ("changeVendor", SETS_UP),
    ("getSitePeople", EVERY_ROLE),
    ("setSitePeople", SETS_UP),
    ("receiveSignals", Who::Roles(&[Integration, Planner, Admin])),
    (
        "receiveReadings",
        Who::Roles(&[Integration, Operator, Planner, Admin]),
    ),
    ("listReadings", EVERY_ROLE),
    ("listPlans", EVERY_ROLE),
    ("postPlan", PLANNER),
    ("getPlan", EVERY_ROLE),
    ("getCurrentPlan", EVERY_ROLE),
    ("publishPlan", PLANNER),
    ("getHours", EVERY_ROLE),
    ("listHoursEntries", EVERY_ROLE),
    ("listLedger", EVERY_ROLE),
    ("getLedgerEntry", EVERY_ROLE),
    ("getNote", EVERY_ROLE),
    ("forgetNote", ADMIN),
];

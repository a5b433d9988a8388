//! The invented shop: two pool cells, a standalone machine, and people.

use super::catalogue::{self, Catalogue};
use super::dice::Dice;
use super::frame::{Frame, ZONE};
use super::sheets::In;
use super::{ROLES, Step};
use spindlebook_domain::access::{AddPrincipal, PrincipalKind};
use spindlebook_domain::actor::Actor;
use spindlebook_domain::cell::{AddCell, CellKind, SetCellCalendar};
use spindlebook_domain::code::{NotACode, NotAName};
use spindlebook_domain::command::Command;
use spindlebook_domain::ids::{CellId, MachineId, PrincipalId, SiteId};
use spindlebook_domain::machine::{AddMachine, Placement};
use spindlebook_domain::refusal::Refusal;
use spindlebook_domain::role::Role;
use spindlebook_domain::site::{OpenSite, SetSiteCalendar};
use spindlebook_domain::time::Timestamp;
use std::collections::BTreeSet;

pub const SITE_CODE: &str = "demo";
const SITE_NAME: &str = "Invented Gearworks";

/// The invention has a code or a name that no shop could have.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotAShop {
    #[error(transparent)]
    Code(#[from] NotACode),
    #[error(transparent)]
    Name(#[from] NotAName),
    /// It is made so that no rule has anything against it.
    #[error("a rule is against what happened at {at}: {refusal}")]
    Refused { at: Timestamp, refusal: Refusal },
}

pub struct Shop {
    pub open: OpenSite,
    pub steps: Vec<Step>,
    pub pool_machines: Vec<PoolMachine>,
    pub standalone: MachineId,
    pub machines: Machines,
    pub catalogue: Catalogue,
    pub logins: Vec<Login>,
    pub planner: PrincipalId,
    pub operator: PrincipalId,
    pub office: PrincipalId,
    pub inspector: PrincipalId,
    gateway: PrincipalId,
}

/// The cells with their spindles.
pub struct Machines {
    five_axis: (CellId, Vec<MachineId>),
    horizontal: (CellId, Vec<MachineId>),
    standalone: (CellId, Vec<MachineId>),
}

impl Machines {
    const fn of(&self, at: In) -> &(CellId, Vec<MachineId>) {
        match at {
            In::FiveAxis => &self.five_axis,
            In::Horizontal => &self.horizontal,
            In::Standalone => &self.standalone,
        }
    }

    pub const fn cell(&self, at: In) -> CellId {
        self.of(at).0
    }

    pub fn spindles(&self, at: In) -> &[MachineId] {
        &self.of(at).1
    }
}

/// A person with a role, or the machines' gateway.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Login {
    pub principal: PrincipalId,
    pub kind: PrincipalKind,
    pub role: Role,
    pub login: &'static str,
    pub name: &'static str,
}

#[derive(Clone, Copy, Debug)]
pub struct PoolMachine {
    pub id: MachineId,
    /// Its counters before the story: powered on and in cut, in seconds.
    pub counted_before: (u64, u64),
    pub goes_down: bool,
    pub loses_contact: bool,
    pub reports_late: bool,
}

impl Shop {
    pub const fn gateway(&self) -> Actor {
        Actor::Client(self.gateway)
    }

    pub fn goes_down(&self, machine: MachineId) -> bool {
        self.pool_machines
            .iter()
            .any(|known| known.id == machine && known.goes_down)
    }
}

pub struct Inventor<'a> {
    pub dice: &'a mut Dice,
    frame: &'a Frame,
    steps: Vec<Step>,
}

pub fn invent(dice: &mut Dice, frame: &Frame) -> Result<Shop, NotAShop> {
    let site = SiteId(dice.uuid());
    let mut inventor = Inventor {
        dice,
        frame,
        steps: Vec::new(),
    };
    let logins = inventor.people();
    let id = |role| {
        logins
            .iter()
            .find(|login| login.role == role)
            .map_or(PrincipalId(site.0), |login| login.principal)
    };
    let (planner, operator, gateway) = (id(Role::Planner), id(Role::Operator), id(Role::Integration));
    let (office, inspector) = (id(Role::FrontOffice), id(Role::Inspector));
    let (pool_machines, machines) = inventor.machines()?;
    let catalogue = catalogue::enter(&mut inventor, &machines, frame)?;
    Ok(Shop {
        open: OpenSite {
            site,
            code: SITE_CODE.parse()?,
            name: SITE_NAME.parse()?,
            zone: ZONE,
        },
        steps: inventor.steps,
        pool_machines,
        standalone: machines.standalone.1[0],
        machines,
        catalogue,
        planner,
        operator,
        office,
        inspector,
        gateway,
        logins,
    })
}

impl Inventor<'_> {
    /// Setting up a shop takes some minutes between one thing and the next.
    pub fn does(&mut self, command: impl Into<Command>) {
        let minutes = i64::try_from(self.steps.len()).unwrap_or_default();
        let at = self.frame.opened_at.plus_s(60 + 60 * minutes);
        self.steps.push(Step::new(self.dice, at, Actor::System, command));
    }

    fn people(&mut self) -> Vec<Login> {
        let persons = ROLES.map(|(role, login, name)| (PrincipalKind::Person, role, login, name));
        let gateway = (
            PrincipalKind::Client,
            Role::Integration,
            "gateway",
            "Machine gateway",
        );
        let mut logins = Vec::new();
        for (kind, role, login, name) in persons.into_iter().chain([gateway]) {
            let principal = PrincipalId(self.dice.uuid());
            self.does(AddPrincipal {
                principal,
                kind,
                roles: BTreeSet::from([role]),
            });
            logins.push(Login {
                principal,
                kind,
                role,
                login,
                name,
            });
        }
        logins
    }

    fn machines(&mut self) -> Result<(Vec<PoolMachine>, Machines), NotAShop> {
        let calendar_of = |versions: &spindlebook_domain::calendar::CalendarVersions| {
            versions.for_date(self.frame.first).clone()
        };
        let (site_calendar, day_calendar) = (
            calendar_of(&self.frame.site_calendar),
            calendar_of(&self.frame.day_calendar),
        );
        let valid_from = self.frame.first;
        self.does(SetSiteCalendar {
            valid_from,
            calendar: site_calendar,
            expected: None,
        });
        let first = self.pool("P1", "Pool 1, five axes", 12)?;
        let second = self.pool("P2", "Pool 2, horizontal", 8)?;
        let machine = |id, counted_before| PoolMachine {
            id,
            counted_before,
            goes_down: false,
            loses_contact: false,
            reports_late: false,
        };
        let pool_machines = vec![
            PoolMachine {
                reports_late: true,
                ..machine(
                    self.machine("M11", "Five-axis mill, left", Placement::In(first))?,
                    (48_211_840, 21_904_377),
                )
            },
            PoolMachine {
                loses_contact: true,
                ..machine(
                    self.machine("M12", "Five-axis mill, right", Placement::In(first))?,
                    (47_590_112, 20_018_530),
                )
            },
            PoolMachine {
                goes_down: true,
                ..machine(
                    self.machine("M21", "Horizontal mill", Placement::In(second))?,
                    (91_774_005, 44_310_962),
                )
            },
        ];
        let alone = CellId(self.dice.uuid());
        let standalone = self.machine("S1", "Vertical mill, standalone", Placement::Standalone(alone))?;
        self.does(SetCellCalendar {
            cell: alone,
            valid_from,
            calendar: day_calendar,
            expected: None,
        });
        let ids: Vec<_> = pool_machines.iter().map(|machine| machine.id).collect();
        let machines = Machines {
            five_axis: (first, ids[..2].to_vec()),
            horizontal: (second, ids[2..].to_vec()),
            standalone: (alone, vec![standalone]),
        };
        Ok((pool_machines, machines))
    }

    fn pool(&mut self, called: &str, named: &str, stands: u32) -> Result<CellId, NotAShop> {
        let cell = CellId(self.dice.uuid());
        let kind = CellKind::Pool {
            load_stations: 1,
            stands,
            exchange_s: 90,
        };
        self.does(AddCell {
            cell,
            code: called.parse()?,
            name: named.parse()?,
            kind,
        });
        Ok(cell)
    }

    fn machine(&mut self, called: &str, named: &str, placement: Placement) -> Result<MachineId, NotAShop> {
        let machine = MachineId(self.dice.uuid());
        let (code, name) = (called.parse()?, named.parse()?);
        self.does(AddMachine {
            machine,
            placement,
            code,
            name,
            silent_after_s: None,
        });
        Ok(machine)
    }
}

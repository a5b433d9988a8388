//! An invented shop with some weeks of history. Nothing in it is a real shop, firm, part, machine or person.
//!
//! [`history`] is pure: the same seed and instant always give the same commands. [`tell`] puts them before the book,
//! which takes them as it takes any others; its clock is set to when each of them would have been recorded.

mod calendar;
mod catalogue;
mod dice;
mod down;
mod floor;
mod frame;
mod log;
mod plans;
mod pool_machine;
mod posts;
mod sheets;
mod shop;
mod standalone;
mod tell;
#[cfg(test)]
mod tests;

pub use frame::{Frame, ZONE};
pub use shop::{Login, NotAShop, SITE_CODE};
pub use tell::{TellError, tell};

use dice::Dice;
use floor::Floor;
#[cfg(test)]
use floor::Truth;
use shop::Shop;
use spindlebook_domain::actor::Actor;
use spindlebook_domain::command::Command;
use spindlebook_domain::ids::{CommandId, HoldId, PrincipalId};
use spindlebook_domain::role::Role;
use spindlebook_domain::site::OpenSite;
use spindlebook_domain::time::Timestamp;
use spindlebook_store::private::PrivateText;
#[cfg(test)]
use {spindlebook_domain::ids::MachineId, std::collections::BTreeMap};

pub struct History {
    pub open: OpenSite,
    pub opened_at: Timestamp,
    /// In the order in which they were recorded.
    pub steps: Vec<Step>,
    /// Who can sign in.
    pub logins: Vec<Login>,
    pub frame: Frame,
    /// What truly happened, whoever told of it.
    #[cfg(test)]
    truth: BTreeMap<MachineId, Truth>,
}

/// One command as it came to the service.
#[derive(Clone, Debug)]
pub struct Step {
    pub recorded_at: Timestamp,
    pub occurred_at: Timestamp,
    pub actor: Actor,
    pub device: Option<&'static str>,
    pub key: CommandId,
    pub command: Command,
    pub text: Option<PrivateText>,
}

/// Ends at `now`.
pub fn history(seed: u64, now: Timestamp) -> Result<History, NotAShop> {
    let frame = Frame::ending(now);
    let mut dice = Dice::new(seed, "shop");
    let shop = shop::invent(&mut dice, &frame)?;
    let floor = floor::happens(&shop, &frame, Dice::new(seed, "floor"))?;
    let mut steps = shop.steps.clone();
    steps.extend(machines_tell(&shop, &floor, &frame, seed));
    let mut dice = Dice::new(seed, "plans");
    steps.extend(plans::steps(&shop, &frame, &mut dice));
    steps.extend(floor.steps);
    steps.retain(|step| step.recorded_at <= now);
    // Stable: what was recorded at one instant stays in the order in which it was told.
    steps.sort_by_key(|step| step.recorded_at);
    Ok(History {
        open: shop.open,
        opened_at: frame.opened_at,
        steps,
        logins: shop.logins,
        frame,
        #[cfg(test)]
        truth: floor.spindles,
    })
}

/// What machines say, by their gateway: of the weeks before people began to keep their book, and since then.
fn machines_tell(shop: &Shop, floor: &Floor, frame: &Frame, seed: u64) -> Vec<Step> {
    let mut steps = Vec::new();
    for (index, machine) in shop.pool_machines.iter().enumerate() {
        let mut dice = Dice::new(seed, &format!("pool machine {index}"));
        let mut log = pool_machine::run(frame, &mut dice);
        log.rows.extend(floor.log_of(machine.id));
        steps.extend(posts::of_pool_machine(
            machine,
            &log,
            frame,
            shop.gateway(),
            &mut dice,
        ));
    }
    let mut dice = Dice::new(seed, "standalone");
    let mut cycles = standalone::run(frame, &mut dice);
    cycles.extend(floor.cuts_of(shop.standalone));
    steps.extend(posts::of_standalone(
        shop.standalone,
        &cycles,
        frame,
        shop.gateway(),
        &mut dice,
    ));
    steps
}

impl History {
    /// What was written when somebody held a load.
    pub fn reason_of(&self, hold: HoldId) -> Option<String> {
        let placed = self
            .steps
            .iter()
            .find(|step| matches!(&step.command, Command::PlaceHold(placed) if placed.hold == hold));
        placed?.text.as_ref()?.body.clone()
    }
}

impl Step {
    fn new(dice: &mut Dice, recorded_at: Timestamp, actor: Actor, command: impl Into<Command>) -> Self {
        Self {
            recorded_at,
            occurred_at: recorded_at,
            actor,
            device: None,
            key: CommandId(dice.uuid()),
            command: command.into(),
            text: None,
        }
    }
}

/// Persons have one role each, so that every role can be tried.
const ROLES: [(Role, &str, &str); 6] = [
    (Role::Admin, "admin", "Ada Quill"),
    (Role::Planner, "planner", "Piet Lorentzen"),
    (Role::FrontOffice, "office", "Femke Oduya"),
    (Role::Operator, "operator", "Oskar Brandt"),
    (Role::Inspector, "inspector", "Ines Valtari"),
    (Role::Viewer, "viewer", "Viktor Sand"),
];

const fn person(id: PrincipalId) -> Actor {
    Actor::Person(id)
}

//! Two weeks ago a coolant pump failed, and somebody set the machine down until it was replaced.

use super::dice::Dice;
use super::frame::Frame;
use super::log::Log;
use super::shop::Shop;
use super::{Step, person};
use chrono::Weekday;
use spindlebook_domain::ids::TextId;
use spindlebook_domain::machine::{DownReason, SetMachineDown, SetMachineUp};
use spindlebook_domain::machine_state::MachineState;
use spindlebook_domain::note::NoteRef;
use spindlebook_domain::time::{Timestamp, Window};
use spindlebook_store::private::PrivateText;

const NOTE: &str = "Coolant pump gives no pressure; fitter is called.";
const TABLET: &str = "tablet-2";

pub fn window(frame: &Frame) -> Window {
    let (from, to) = (frame.day(2, Weekday::Thu), frame.day(2, Weekday::Fri));
    Window::new(frame.wall(from, 9, 37), frame.wall(to, 13, 12))
}

/// What the machine itself says meanwhile: it stands still, switched on.
pub fn stop(log: &mut Log, frame: &Frame) {
    let Window { from, to } = window(frame);
    let stops_at = from.plus_s(-140);
    log.replace(stops_at, to, &[(stops_at, MachineState::Stopped)]);
}

pub fn steps(shop: &Shop, frame: &Frame, dice: &mut Dice) -> Vec<Step> {
    let Window { from, to } = window(frame);
    let operator = person(shop.operator);
    let machines = shop.pool_machines.iter().filter(|machine| machine.goes_down);
    let told = machines.flat_map(|machine| {
        let salt = dice.salt();
        let text = TextId(dice.uuid());
        let down = SetMachineDown {
            machine: machine.id,
            at: from,
            reason: DownReason::Breakdown,
            note: Some(NoteRef::new(text, &salt, NOTE)),
        };
        let mut down = by_tablet(dice, from, from.plus_s(95), operator, down);
        down.text = Some(PrivateText {
            id: text,
            salt,
            body: Some(NOTE.to_owned()),
            forgotten_at: None,
        });
        let up = SetMachineUp {
            machine: machine.id,
            at: to,
        };
        [down, by_tablet(dice, to, to.plus_s(40), operator, up)]
    });
    told.collect()
}

fn by_tablet(
    dice: &mut Dice,
    occurred_at: Timestamp,
    recorded_at: Timestamp,
    actor: spindlebook_domain::actor::Actor,
    command: impl Into<spindlebook_domain::command::Command>,
) -> Step {
    let mut step = Step::new(dice, recorded_at, actor, command);
    step.occurred_at = occurred_at;
    step.device = Some(TABLET);
    step
}

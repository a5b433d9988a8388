//! What a ready pallet waits for: of all machines that take it, the one where the least is in its way.

use super::picture::Picture;
use super::{Wait, WaitCode};
use crate::floor::{first_piece, passage, work};
use crate::load::{Load, Stage};
use crate::machine::{Condition, Machine};
use crate::pallet::{Pallet, Position};
use crate::shop::Shop;

pub(super) fn is_cleared_somewhere(shop: &Shop, pallet: &Pallet, load: &Load) -> bool {
    let of_cell = shop
        .machines
        .values()
        .filter(|machine| machine.cell == pallet.cell);
    let mut taking =
        of_cell.filter(|machine| work::not_on(shop, &load.clamped, pallet.cell, machine.id).is_none());
    taking.any(|machine| work::not_cleared(shop, &load.clamped, pallet.cell, machine.id).is_none())
}

pub(super) fn wait(picture: &Picture<'_>, pallet: &Pallet, load: &Load) -> Wait {
    let may_take = |machine: &&&Machine| match pallet.position {
        Position::Spindle { machine: at } => machine.id == at,
        _ => true,
    };
    let takes =
        |machine: &&&Machine| work::not_on(picture.shop, &load.clamped, pallet.cell, machine.id).is_none();
    let machines = picture.machines.iter().filter(may_take).filter(takes);
    let waits = machines.map(|machine| wait_on(picture, pallet, load, machine));
    let best = waits.max_by_key(|wait| wait.code);
    let Some(best) = best else {
        return Wait::new(
            WaitCode::Machine,
            "a machine that takes it: none of this cell does, from where it is",
        );
    };
    match load.stage {
        Stage::Aborted { .. } => Wait {
            text: format!("{} (its run was broken off: look at it first)", best.text),
            ..best
        },
        _ => best,
    }
}

fn in_fixture(picture: &Picture<'_>, pallet: &Pallet) -> String {
    let setup = pallet.setup.as_ref();
    let fixture = setup.and_then(|setup| picture.shop.fixtures.get(&setup.fixture));
    fixture.map_or_else(String::new, |fixture| {
        format!(" in fixture {}", fixture.facts.code)
    })
}

/// The codes from `FirstPiece` to `Start` stand in the order of how near to its start a pallet is.
fn wait_on(picture: &Picture<'_>, pallet: &Pallet, load: &Load, machine: &Machine) -> Wait {
    let shop = picture.shop;
    let passage = pallet
        .setup
        .as_ref()
        .map(|setup| passage(setup, machine, picture.now));
    let open = passage.and_then(|passage| first_piece::open_for(shop, load, passage));
    if let Some(open) = open {
        let (kind, job) = (open.kind, picture.job(open.job));
        let text = format!(
            "the {kind} of job {job}, operation {}{}, open since {} on pallet {}{}",
            open.operation,
            in_fixture(picture, pallet),
            picture.wall_clock(open.since),
            open.pallet,
            open.for_other_revision()
        );
        return Wait::new(WaitCode::FirstPiece, text);
    }
    if let Condition::Down { since, reason } = machine.condition {
        let text = format!("machine {}, set down since {since} ({reason})", machine.code);
        return Wait::new(WaitCode::MachineDown, text);
    }
    let needed = work::tool_use(shop, &load.clamped, pallet.cell);
    if let Some(short) = work::short_tool(&machine.tools, &needed) {
        let text = format!(
            "tool {} on machine {}: short by {} s",
            short.tool,
            machine.code,
            short.short_s()
        );
        return Wait::new(WaitCode::ToolLife, text);
    }
    let uncleared = work::not_cleared(shop, &load.clamped, pallet.cell, machine.id);
    if let Some(one) = uncleared.filter(|_| !work::is_attended(shop, pallet.cell, picture.now)) {
        let text = format!(
            "somebody to be there: operation {} of job {} is not cleared to run unattended on machine {}",
            one.operation,
            picture.job(one.job),
            machine.code
        );
        return Wait::new(WaitCode::Attendance, text);
    }
    place(picture, pallet, machine)
}

fn place(picture: &Picture<'_>, pallet: &Pallet, machine: &Machine) -> Wait {
    let spindle = Position::Spindle { machine: machine.id };
    let there = picture.at(spindle).filter(|there| there.id != pallet.id);
    if let Some(there) = there {
        let text = format!(
            "the spindle of machine {}, where pallet {} is",
            machine.code, there.facts.code
        );
        return Wait::new(WaitCode::Spindle, text);
    }
    let next = crate::floor::next_in_queue(picture.shop, machine, picture.now);
    if let Some(next) = next.filter(|next| next.id != pallet.id) {
        let text = format!("its turn in the queue: pallet {} is next", next.facts.code);
        return Wait::new(WaitCode::Queue, text);
    }
    if pallet.position == spindle {
        Wait::new(
            WaitCode::Start,
            format!("its run on machine {} to be started", machine.code),
        )
    } else {
        let text = format!("to be moved to the spindle of machine {}", machine.code);
        Wait::new(WaitCode::Move, text)
    }
}

//! A machine without a pool, before people kept a book of it: known only by its finished cuts. Loading it stops the spindle, and nobody loads in a break.

use super::dice::Dice;
use super::frame::{Frame, ZONE};
use spindlebook_domain::calendar::{shifts_in, staffed};
use spindlebook_domain::time::{Timestamp, Window};

/// Finished and running cuts, in the order of time.
pub fn run(frame: &Frame, dice: &mut Dice) -> Vec<Window> {
    let mut cuts = Vec::new();
    for shift in shifts_in(&frame.day_calendar, ZONE, frame.before()) {
        let staffed = staffed(&frame.day_calendar, ZONE, shift.window);
        // Drawings, program, tools: the first cut of a day comes late.
        let mut ready_at = shift.window.from.plus_s(dice.minutes(25, 70));
        while let Some(starts_at) = next_staffed(&staffed, ready_at) {
            let cycle_s = dice.minutes(15, 38);
            let starts_at = dice.soon_after(starts_at);
            let cut = Window::new(starts_at, starts_at.plus_s(cycle_s));
            // The last piece of a day is not left alone in the machine.
            if cut.to > shift.window.to {
                break;
            }
            cuts.push(cut);
            ready_at = cut.to.plus_s(dice.minutes(28, 95));
        }
    }
    cuts
}

/// Whoever is ready in a break waits for its end.
fn next_staffed(staffed: &[Window], at: Timestamp) -> Option<Timestamp> {
    staffed
        .iter()
        .find(|window| at < window.to)
        .map(|window| at.max(window.from))
}

//! Two weeks ago a coolant pump failed, and somebody set the machine down until it was replaced.

use super::frame::Frame;
use chrono::Weekday;
use spindlebook_domain::machine::DownReason;
use spindlebook_domain::time::Window;

pub const NOTE: &str = "Coolant pump gives no pressure; fitter is called.";
pub const REASON: DownReason = DownReason::Breakdown;
/// So long before somebody sets it down the machine has stopped by itself.
pub const STOPS_BEFORE_S: i64 = 140;

/// As people told it.
pub fn window(frame: &Frame) -> Window {
    let (from, to) = (frame.day(2, Weekday::Thu), frame.day(2, Weekday::Fri));
    Window::new(frame.wall(from, 9, 37), frame.wall(to, 13, 12))
}

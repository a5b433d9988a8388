//! Which rows of a machine a window's computation needs.

use super::{CYCLE_MAX_S, Layer};
use crate::time::Window;

/// The rows of one layer to load: all of `first_day ..= last_day`, and perhaps one on each side of them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LayerDays {
    pub layer: Layer,
    pub first_day: i64,
    pub last_day: i64,
    /// Also the last row before `first_day`: what stood when the window began was said there.
    pub last_before: bool,
    /// Also the first row after `last_day`: it tells whether what stood at the end has ended since.
    pub first_after: bool,
}

/// What to load to compute a window, and to decide a batch whose instants lie in it.
pub fn needs_of(window: Window) -> [LayerDays; 4] {
    let last_day = window.to.plus_us(-1).max(window.from).utc_day();
    Layer::ALL.map(|layer| {
        let stands_until_the_next = layer != Layer::Cycles;
        let first = if stands_until_the_next {
            window.from
        } else {
            window.from.plus_s(-CYCLE_MAX_S)
        };
        LayerDays {
            layer,
            first_day: first.utc_day(),
            last_day,
            last_before: stands_until_the_next,
            first_after: stands_until_the_next,
        }
    })
}

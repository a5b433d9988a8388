//! Outer measures of things that stand on each other.

use serde::{Deserialize, Serialize};
use std::fmt;

/// Ten metres: nothing that goes on a pallet is longer.
pub const LENGTH_MM_MAX: u32 = 10_000;
/// A hundred tonnes.
pub const MASS_G_MAX: u32 = 100_000_000;

/// Length and width lie on the pallet, height stands on it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Size {
    pub length_mm: u32,
    pub width_mm: u32,
    pub height_mm: u32,
}

impl Size {
    /// Turned by a right angle on the pallet if need be; never tipped over.
    pub const fn fits_in(self, room: Self) -> bool {
        let straight = self.length_mm <= room.length_mm && self.width_mm <= room.width_mm;
        let turned = self.length_mm <= room.width_mm && self.width_mm <= room.length_mm;
        (straight || turned) && self.height_mm <= room.height_mm
    }
}

impl fmt::Display for Size {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{} x {} x {} mm",
            self.length_mm, self.width_mm, self.height_mm
        )
    }
}

#[cfg(test)]
mod tests {
    use super::Size;

    const fn size(length_mm: u32, width_mm: u32, height_mm: u32) -> Size {
        Size {
            length_mm,
            width_mm,
            height_mm,
        }
    }

    #[test]
    fn a_thing_may_be_turned_but_not_tipped_over() {
        let room = size(400, 300, 500);
        assert!(size(400, 300, 500).fits_in(room));
        assert!(size(300, 400, 10).fits_in(room), "turned");
        assert!(!size(10, 10, 501).fits_in(room), "too high");
        assert!(!size(500, 10, 10).fits_in(room), "tipped over it would fit");
    }
}

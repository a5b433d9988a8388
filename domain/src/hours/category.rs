//! What a second of a machine was.

use crate::machine_state::Meaning;
use std::ops::{Index, IndexMut};

/// In the order of precedence; attended and unattended stand beside each other where they are told apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Category {
    InCycleAttended,
    InCycleUnattended,
    Off,
    Down,
    NotKnown,
    StoppedInRun,
    IdleAttended,
    IdleUnattended,
}

impl Category {
    pub const ALL: [Self; 8] = [
        Self::InCycleAttended,
        Self::InCycleUnattended,
        Self::Off,
        Self::Down,
        Self::NotKnown,
        Self::StoppedInRun,
        Self::IdleAttended,
        Self::IdleUnattended,
    ];

    pub const fn name(self) -> &'static str {
        match self {
            Self::InCycleAttended => "in_cycle_attended",
            Self::InCycleUnattended => "in_cycle_unattended",
            Self::Off => "off",
            Self::Down => "down",
            Self::NotKnown => "not_known",
            Self::StoppedInRun => "stopped_in_run",
            Self::IdleAttended => "idle_attended",
            Self::IdleUnattended => "idle_unattended",
        }
    }

    pub const fn is_in_cycle(self) -> bool {
        matches!(self, Self::InCycleAttended | Self::InCycleUnattended)
    }
}

/// All that is known of one instant of a machine.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Moment {
    pub says: Meaning,
    /// How many of the device's finished cycles lie over it.
    pub cycles: u32,
    pub covered: bool,
    pub down: bool,
    pub attended: bool,
}

impl Moment {
    pub fn in_cycle(self) -> bool {
        self.says == Meaning::InCycle || self.cycles > 0
    }

    /// The first that applies. The machine outranks the person: a spindle that cuts is not down.
    pub fn category(self) -> Category {
        let by_people = |attended, unattended| if self.attended { attended } else { unattended };
        if self.in_cycle() {
            by_people(Category::InCycleAttended, Category::InCycleUnattended)
        } else if self.says == Meaning::Off {
            Category::Off
        } else if self.down {
            Category::Down
        } else if self.says == Meaning::NotKnown && !self.covered {
            Category::NotKnown
        } else if self.says == Meaning::StoppedInRun {
            Category::StoppedInRun
        } else {
            by_people(Category::IdleAttended, Category::IdleUnattended)
        }
    }
}

/// An amount of time for each category; the name of the field says whether in seconds or microseconds.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct ByCategory(pub [i64; 8]);

impl ByCategory {
    pub fn sum(&self) -> i64 {
        self.0.iter().sum()
    }

    pub fn in_cycle(&self) -> i64 {
        self[Category::InCycleAttended] + self[Category::InCycleUnattended]
    }

    pub fn add(&mut self, other: &Self) {
        for (mine, theirs) in self.0.iter_mut().zip(other.0) {
            *mine += theirs;
        }
    }
}

impl Index<Category> for ByCategory {
    type Output = i64;

    fn index(&self, category: Category) -> &i64 {
        &self.0[category as usize]
    }
}

impl IndexMut<Category> for ByCategory {
    fn index_mut(&mut self, category: Category) -> &mut i64 {
        &mut self.0[category as usize]
    }
}

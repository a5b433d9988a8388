//! What a second of a machine was.

use super::book::{TellsOfRun, Told};
use super::pool::PoolState;
use crate::machine_state::Meaning;
use std::ops::{Index, IndexMut};

macro_rules! categories {
    ($($(#[$doc:meta])* $category:ident = $name:literal),+ $(,)?) => {
        /// In the order of precedence; attended and unattended stand beside each other where they are told apart.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Category {
            $($(#[$doc])* $category,)+
        }

        impl Category {
            pub const ALL: [Self; CATEGORIES] = [$(Self::$category),+];

            pub const fn name(self) -> &'static str {
                match self { $(Self::$category => $name,)+ }
            }
        }

        const CATEGORIES: usize = [$($name),+].len();
    };
}

categories! {
    InCycleAttended = "in_cycle_attended",
    InCycleUnattended = "in_cycle_unattended",
    Off = "off",
    Down = "down",
    NotKnown = "not_known",
    StoppedInRun = "stopped_in_run",
    PalletExchange = "pallet_exchange",
    SetupAtSpindle = "setup_at_spindle",
    WaitingForInspection = "waiting_for_inspection",
    ReadyNotStarted = "ready_not_started",
    WaitingForLoad = "waiting_for_load",
    UnattendedRunOut = "unattended_run_out",
    NoWork = "no_work",
    /// Nothing ran, and nothing says why.
    IdleAttended = "idle_attended",
    IdleUnattended = "idle_unattended",
}

impl Category {
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
    /// Before its first word a machine is not silent: people's book alone tells of it.
    pub has_spoken: bool,
    /// The position of the mark that set the machine down.
    pub down: Option<u32>,
    pub attended: bool,
    pub told: Told,
    pub pool: PoolState,
}

impl Moment {
    pub fn machine_in_cycle(self) -> bool {
        self.says == Meaning::InCycle || self.cycles > 0
    }

    /// The first that applies. The machine outranks the person: a spindle that cuts is not down.
    pub fn category(self) -> Category {
        if self.machine_in_cycle() {
            return self.in_cycle();
        }
        if self.says == Meaning::Off {
            return Category::Off;
        }
        if self.down.is_some() {
            return Category::Down;
        }
        let machine_speaks = self.says != Meaning::NotKnown || self.covered;
        match self.told.run {
            TellsOfRun::InCycle if !machine_speaks => self.in_cycle(),
            TellsOfRun::Paused => Category::StoppedInRun,
            TellsOfRun::NotProven if !machine_speaks => Category::NotKnown,
            _ if self.says == Meaning::StoppedInRun => Category::StoppedInRun,
            _ if machine_speaks || (!self.has_spoken && self.told.book_begun) => self.nothing_runs(),
            _ => Category::NotKnown,
        }
    }

    fn in_cycle(self) -> Category {
        if self.attended {
            Category::InCycleAttended
        } else {
            Category::InCycleUnattended
        }
    }

    fn nothing_runs(self) -> Category {
        if self.told.exchange {
            return Category::PalletExchange;
        }
        let pool = self.pool;
        let may_run = pool.ready > 0 || (self.attended && pool.ready_attended_only > 0);
        match (self.attended, pool.work_open) {
            _ if pool.in_setup_here > 0 => Category::SetupAtSpindle,
            _ if !may_run && pool.held > 0 => Category::WaitingForInspection,
            _ if may_run => Category::ReadyNotStarted,
            (true, Some(true)) => Category::WaitingForLoad,
            (false, _) if pool.is_known => Category::UnattendedRunOut,
            (true, Some(false)) => Category::NoWork,
            (true, None) => Category::IdleAttended,
            (false, _) => Category::IdleUnattended,
        }
    }

    /// In cycle, and only people say so.
    pub fn is_by_people(self) -> bool {
        !self.machine_in_cycle() && self.category().is_in_cycle()
    }

    /// People have a run in cycle while the machine says that nothing runs, or the reverse. A machine whose runs
    /// nobody records contradicts nobody.
    pub fn people_and_machine_disagree(self) -> bool {
        let says_nothing_runs = match self.says {
            Meaning::NothingRuns | Meaning::Off => true,
            Meaning::NotKnown => self.covered,
            Meaning::InCycle | Meaning::StoppedInRun => false,
        };
        match self.told.run {
            TellsOfRun::InCycle => !self.machine_in_cycle() && says_nothing_runs,
            TellsOfRun::Paused | TellsOfRun::Nothing => self.told.runs_begun && self.machine_in_cycle(),
            TellsOfRun::NotProven => false,
        }
    }
}

/// An amount of time for each category; the name of the field says whether in seconds or microseconds.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct ByCategory(pub [i64; CATEGORIES]);

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

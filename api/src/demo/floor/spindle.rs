//! What a spindle does, and how its control tells of it.

use crate::demo::log::Log;
use spindlebook_domain::ids::{CellId, MachineId, PalletId, RunId};
use spindlebook_domain::machine_state::MachineState;
use spindlebook_domain::time::{Timestamp, Window};

/// Nobody switches a machine off for a night.
const LONG_GAP_S: i64 = 20 * 3_600;

pub struct Spindle {
    pub machine: MachineId,
    pub cell: CellId,
    pub log: Log,
    pub busy: Busy,
    /// What truly happened, whoever told of it.
    pub cut: Vec<Window>,
    pub stopped: Vec<Window>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Busy {
    Free,
    /// A pallet is being exchanged, or its program has begun and nobody has told so yet.
    Begins {
        pallet: PalletId,
        at: Timestamp,
    },
    Runs {
        run: RunId,
        ends_at: Timestamp,
    },
    Down,
}

/// One passage through the spindle.
pub struct Passage {
    pub begins_at: Timestamp,
    /// In the order of time, none touching another.
    pub stops: Vec<(Window, MachineState)>,
    pub ends_at: Timestamp,
}

impl Spindle {
    pub const fn new(machine: MachineId, cell: CellId) -> Self {
        Self {
            machine,
            cell,
            log: Log { rows: Vec::new() },
            busy: Busy::Free,
            cut: Vec::new(),
            stopped: Vec::new(),
        }
    }

    /// After a while a control that has finished says that it is ready, and over a weekend it is switched off.
    pub fn waited_until(&mut self, at: Timestamp, people_come_at: Timestamp) {
        let Some(&(since, MachineState::ProgramCompleted)) = self.log.rows.last() else {
            return;
        };
        let waited_s = at.since_us(since) / 1_000_000;
        if waited_s <= 240 {
            return;
        }
        self.log.says(since.plus_s(110), MachineState::Ready);
        if waited_s > LONG_GAP_S {
            self.log.says(since.plus_s(1_800), MachineState::Off);
            if people_come_at < at {
                self.log.says(people_come_at, MachineState::Ready);
            }
        }
    }

    pub fn passes(&mut self, passage: &Passage) {
        let mut from = passage.begins_at;
        for (stop, state) in &passage.stops {
            self.cut.push(Window::new(from, stop.from));
            self.stopped.push(*stop);
            self.log.says(stop.from, *state);
            self.log.says(stop.to, MachineState::Active);
            from = stop.to;
        }
        self.cut.push(Window::new(from, passage.ends_at));
        self.log.says(passage.ends_at, MachineState::ProgramCompleted);
    }

    /// From `at` on it does not do what was planned.
    pub fn breaks_off(&mut self, at: Timestamp) {
        self.log.rows.retain(|(row, _)| *row < at);
        for windows in [&mut self.cut, &mut self.stopped] {
            windows.retain_mut(|window| {
                window.to = window.to.min(at);
                window.from < at
            });
        }
    }
}

//! What is going to happen, in the order of time.

use spindlebook_domain::ids::{CellId, HoldId, JobId, MachineId, OrderId, PalletId, RunId};
use spindlebook_domain::run::PauseReason;
use spindlebook_domain::time::Timestamp;
use std::collections::BTreeMap;

#[derive(Clone, Copy, Debug)]
pub enum Due {
    /// What stands on the pallets on day one is told.
    Opening,
    /// The office begins its day.
    Orders,
    Release(OrderId),
    Material(OrderId, u32),
    /// The lead puts the ready pallets in order.
    Queues,
    /// Manual steps are handed out and what is finished is shipped.
    Steps,
    Back(JobId, u32, u32),
    /// The inspector judges what lies on the table.
    Judge,
    Accept(HoldId),
    /// The operator of a cell looks for what to do next.
    Hands(CellId),
    SetupEnds(CellId, PalletId),
    Load(CellId, PalletId),
    Unload(CellId, PalletId),
    /// A machine is free.
    Free(MachineId),
    /// The program begins; that it has begun is told a little later.
    Begins(MachineId, PalletId),
    Start(MachineId),
    Pause(RunId, PauseReason),
    Resume(RunId),
    Finish(MachineId),
    /// A run that was found broken off in the morning.
    Abort(MachineId),
    Breaks,
    Repaired,
    Rush,
    Doubt,
}

#[derive(Default)]
pub struct Agenda {
    due: BTreeMap<(Timestamp, u64), Due>,
    count: u64,
}

impl Agenda {
    /// What is due at the same instant happens in the order in which it was planned.
    pub fn at(&mut self, at: Timestamp, due: Due) {
        self.count += 1;
        self.due.insert((at, self.count), due);
    }

    pub fn next(&mut self) -> Option<(Timestamp, Due)> {
        self.due.pop_first().map(|((at, _), due)| (at, due))
    }
}

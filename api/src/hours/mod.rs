//! The hours of a cell as they are served: marks from the read tables, rows cut by the cell's calendar, and closed
//! rows kept in memory until an entry touches them.

mod keep;
mod layout;
mod load;
mod of_job;
mod past_runs;
mod serve;
#[cfg(test)]
mod tests;

pub use serve::{Hours, HoursRequest, HoursSource};

use spindlebook_domain::ids::{CellId, MachineId};
use spindlebook_store::StoreError;

/// Why there is no report.
#[derive(Debug, thiserror::Error)]
pub enum HoursError {
    #[error("this site's ledger is empty")]
    NotOpened,
    #[error("there is no cell {0} at this site")]
    UnknownCell(CellId),
    #[error("there is no machine {0} in this cell")]
    UnknownMachine(MachineId),
    #[error(transparent)]
    Store(#[from] StoreError),
    #[error("the computation was stopped: {0}")]
    Stopped(String),
}

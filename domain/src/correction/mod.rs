//! Corrections: an entry that was wrong is put right by another one, which names it. Both stay readable. A correction is
//! decided against the shop as it is now; if what it would change has moved on, it is refused and says what stands on it.

mod apply;
mod command;
mod decide;
mod event;
mod recount;
mod refusal;
mod retime;
#[cfg(test)]
mod tests;
mod withdraw;

pub use command::{Change, Correct};
pub use event::{ActWithdrawn, BookedPieces, Edge, PalletRecounted, RetimedStart, RunRetimed, Withdrawn};
pub use refusal::CorrectionRefusal;

pub(crate) use apply::apply;
pub(crate) use decide::decide;
pub(crate) use recount::rows as rows_to_recount;
pub(crate) use retime::rows as rows_to_retime;

use crate::command::Command;
use crate::shop::Shop;
use crate::stretches::RowKey;
use std::collections::BTreeSet;

/// For so long whoever told something may say that it was wrong; later it is the lead's.
pub const QUICK_S: i64 = 15 * 60;
/// How far a time may be moved by one correction.
pub const RETIME_MAX_S: i64 = 7 * 86_400;

/// The rows that a correction is decided on.
pub(crate) fn rows(shop: &Shop, command: &Command) -> BTreeSet<RowKey> {
    match command {
        Command::Correct(command) => match &command.change {
            Change::Time(at) => rows_to_retime(&command.event, *at),
            Change::Counts(_) => rows_to_recount(shop, &command.event),
            Change::Withdraw => BTreeSet::new(),
        },
        _ => BTreeSet::new(),
    }
}

//! Why the book did not take a command, or could not be kept.

use super::fold::FoldError;
use spindlebook_domain::ids::{Seq, SiteId};
use spindlebook_domain::refusal::Refusal;
use spindlebook_domain::time::Timestamp;
use spindlebook_store::StoreError;

/// What a caller of [`super::Book::submit`] hears instead of an answer. Nothing of it is stored: the same key can be
/// sent again.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum BookError {
    #[error("too many commands are waiting")]
    Busy { retry_after_s: u32 },
    #[error("this key was used for another request")]
    KeyReused {
        first_given_at: Timestamp,
        /// What the first request led to.
        entries: Option<(Seq, Seq)>,
    },
    #[error("the ledger of this site takes no commands: {reason}")]
    Halted { reason: String },
    /// Whether the command was taken may not be known; sending it again under its key tells.
    #[error("the database is not available")]
    StorageUnavailable { retry_after_s: u32 },
    #[error("the database has no space left")]
    StorageFull,
    /// Told to whoever looks after the service in its log, with the name of the file.
    #[error("the database's file is gone")]
    StorageGone { retry_after_s: u32 },
    #[error("there is no site {0}")]
    UnknownSite(SiteId),
    #[error("a fault while the command was taken: {0}")]
    Fault(String),
}

pub(super) const RETRY_AFTER_S: u32 = 1;
/// Somebody has to put it back.
const GONE_RETRY_AFTER_S: u32 = 60;

impl From<&StoreError> for BookError {
    fn from(error: &StoreError) -> Self {
        match error {
            StoreError::Unavailable(_) | StoreError::CommitUnknown(_) => Self::StorageUnavailable {
                retry_after_s: RETRY_AFTER_S,
            },
            StoreError::Full(_) => Self::StorageFull,
            StoreError::Gone(_) => Self::StorageGone {
                retry_after_s: GONE_RETRY_AFTER_S,
            },
            other => Self::Fault(other.to_string()),
        }
    }
}

/// Why opening, creating, verifying or rebuilding a ledger failed.
#[derive(Debug, thiserror::Error)]
pub enum LedgerError {
    #[error(transparent)]
    Store(#[from] StoreError),
    #[error(transparent)]
    Fold(#[from] FoldError),
    #[error("there is no site {0}")]
    UnknownSite(SiteId),
    #[error("a site with the code {0} exists already")]
    CodeTaken(String),
    #[error(transparent)]
    Refused(#[from] Refusal),
    #[error(transparent)]
    Book(#[from] BookError),
}

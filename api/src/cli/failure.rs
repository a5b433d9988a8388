//! Why a command ends with another exit code than 0.

use crate::auth::KeyError;
use crate::book::{BookError, LedgerError};
use crate::hours::HoursError;
use spindlebook_store::StoreError;
use std::io;

#[derive(Debug, thiserror::Error)]
pub enum Failure {
    /// It was refused, or a check did not hold: exit code 1.
    #[error("{0}")]
    Refused(String),
    /// It was asked for in a way that cannot be right: exit code 2.
    #[error("{0}")]
    Usage(String),
    /// Whoever read our output has gone (`| head`): not worth a word, and no failure.
    #[error("the output was closed")]
    NobodyReads,
}

impl Failure {
    pub fn refused(message: impl Into<String>) -> Self {
        Self::Refused(message.into())
    }

    pub fn usage(message: impl Into<String>) -> Self {
        Self::Usage(message.into())
    }

    pub const fn exit_code(&self) -> u8 {
        match self {
            Self::NobodyReads => 0,
            Self::Refused(_) => 1,
            Self::Usage(_) => 2,
        }
    }
}

impl From<io::Error> for Failure {
    fn from(error: io::Error) -> Self {
        if error.kind() == io::ErrorKind::BrokenPipe {
            Self::NobodyReads
        } else {
            Self::Refused(error.to_string())
        }
    }
}

impl From<serde_json::Error> for Failure {
    fn from(error: serde_json::Error) -> Self {
        error.io_error_kind().map_or_else(
            || Self::Refused(error.to_string()),
            |kind| io::Error::from(kind).into(),
        )
    }
}

macro_rules! refused_with_its_own_words {
    ($($error:ty),+) => {$(
        impl From<$error> for Failure {
            fn from(error: $error) -> Self {
                Self::Refused(error.to_string())
            }
        }
    )+};
}

refused_with_its_own_words!(StoreError, BookError, LedgerError, KeyError, HoursError);

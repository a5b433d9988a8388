//! What can go wrong with a database, sorted by what the caller can do about it.

use std::borrow::Cow;

#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum StoreError {
    /// It is away, busy or restarting: the same again later can succeed.
    #[error("the database is not available: {0}")]
    Unavailable(String),
    #[error("the database has no space left: {0}")]
    Full(String),
    /// The file of the database was deleted or replaced; what is written into it is lost.
    #[error("the database's file is gone: {0}")]
    Gone(String),
    /// COMMIT was sent and its answer did not come or was no: whether the transaction stands is not known.
    #[error("the answer to COMMIT did not arrive: {0}")]
    CommitUnknown(String),
    /// A key exists already, or a trigger refused the change.
    #[error("the database refused the change: {0}")]
    Constraint(String),
    /// What is stored cannot be read as what it should be.
    #[error("stored data does not read: {0}")]
    Unreadable(String),
    /// The database would acknowledge before it is durable, or cannot be opened as configured.
    #[error("{0}")]
    Refused(String),
    #[error("the database failed: {0}")]
    Failed(String),
}

impl StoreError {
    /// Whether the same request can succeed later without anybody changing it.
    pub const fn is_transient(&self) -> bool {
        matches!(
            self,
            Self::Unavailable(_) | Self::Full(_) | Self::Gone(_) | Self::CommitUnknown(_)
        )
    }
}

impl From<sqlx::Error> for StoreError {
    fn from(error: sqlx::Error) -> Self {
        let text = error.to_string();
        match &error {
            sqlx::Error::Database(reported) => {
                by_code(reported.code().unwrap_or(Cow::Borrowed("")).as_ref(), text)
            }
            sqlx::Error::Io(_)
            | sqlx::Error::Tls(_)
            | sqlx::Error::Protocol(_)
            | sqlx::Error::PoolTimedOut
            | sqlx::Error::PoolClosed
            | sqlx::Error::WorkerCrashed => Self::Unavailable(text),
            sqlx::Error::ColumnDecode { .. } | sqlx::Error::Decode(_) | sqlx::Error::RowNotFound => {
                Self::Unreadable(text)
            }
            _ => Self::Failed(text),
        }
    }
}

impl From<sea_orm::DbErr> for StoreError {
    fn from(error: sea_orm::DbErr) -> Self {
        use sea_orm::{DbErr, RuntimeErr};
        match &error {
            DbErr::ConnectionAcquire(_) => Self::Unavailable(error.to_string()),
            DbErr::Conn(RuntimeErr::SqlxError(cause))
            | DbErr::Exec(RuntimeErr::SqlxError(cause))
            | DbErr::Query(RuntimeErr::SqlxError(cause)) => match cause.as_ref() {
                sqlx::Error::Database(reported) => by_code(
                    reported.code().unwrap_or(Cow::Borrowed("")).as_ref(),
                    cause.to_string(),
                ),
                sqlx::Error::Io(_) | sqlx::Error::Tls(_) | sqlx::Error::PoolTimedOut => {
                    Self::Unavailable(cause.to_string())
                }
                _ => Self::Failed(cause.to_string()),
            },
            _ => Self::Failed(error.to_string()),
        }
    }
}

/// SQLSTATE has five characters; SQLite's extended result code is a number whose low byte is the primary code.
fn by_code(code: &str, text: String) -> StoreError {
    if code.len() == 5 {
        return by_sqlstate(code, text);
    }
    match code.parse::<u32>().map(|number| number & 0xff) {
        // BUSY, LOCKED, READONLY, INTERRUPT, IOERR, CANTOPEN, PROTOCOL
        Ok(5 | 6 | 8 | 9 | 10 | 14 | 15) => StoreError::Unavailable(text),
        Ok(13) => StoreError::Full(text),
        Ok(19) => StoreError::Constraint(text),
        // CORRUPT, NOTADB
        Ok(11 | 26) => StoreError::Unreadable(text),
        _ => StoreError::Failed(text),
    }
}

fn by_sqlstate(code: &str, text: String) -> StoreError {
    match (code, &code[..2]) {
        ("53100", _) => StoreError::Full(text),
        // Connection lost, out of resources, shutting down or starting, statement or transaction ended from outside,
        // read-only while a standby takes over, deadlock and serialisation, lock not available, idle for too long.
        (_, "08" | "53" | "57" | "40") | ("55P03" | "25P03" | "25006", _) => StoreError::Unavailable(text),
        (_, "23") => StoreError::Constraint(text),
        ("XX001" | "XX002", _) => StoreError::Unreadable(text),
        _ => StoreError::Failed(text),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn kind(code: &str) -> StoreError {
        by_code(code, String::new())
    }

    // The codes: PostgreSQL manual, appendix A; SQLite, "Result and Error Codes".
    #[test]
    fn codes_of_both_engines_are_sorted_by_what_one_can_do() {
        for code in [
            "08006", "57P01", "57P03", "53300", "40001", "40P01", "25P03", "5", "6", "517", "778", "14",
        ] {
            assert_eq!(kind(code), StoreError::Unavailable(String::new()), "{code}");
        }
        for code in ["53100", "13"] {
            assert_eq!(kind(code), StoreError::Full(String::new()), "{code}");
        }
        for code in ["23505", "23000", "1555", "2067", "1811"] {
            assert_eq!(kind(code), StoreError::Constraint(String::new()), "{code}");
        }
        for code in ["42601", "1", ""] {
            assert_eq!(kind(code), StoreError::Failed(String::new()), "{code}");
        }
    }
}

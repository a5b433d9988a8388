//! A copy of the database as of one moment.

use crate::connection::{Pool, Store};
use crate::error::StoreError;
use std::path::Path;

impl Store {
    /// Writes a SQLite database to a file that must not be there yet. Others read and write meanwhile.
    pub async fn backup_to(&self, file: &Path) -> Result<(), StoreError> {
        let Pool::Sqlite(pool, _) = &self.pool else {
            return Err(StoreError::Refused(
                "a PostgreSQL database is backed up by pg_dump, not from here".to_owned(),
            ));
        };
        let file = file.to_str().ok_or_else(|| {
            StoreError::Refused(format!("{}: the name of the file is not UTF-8", file.display()))
        })?;
        sqlx::query("VACUUM INTO $1").bind(file).execute(pool).await?;
        Ok(())
    }
}

//! What both protected tables need: SQL that the builder has no words for, one text for each engine.

use sea_orm_migration::prelude::*;
use sea_orm_migration::sea_orm::{ConnectionTrait, DbBackend};

/// SQLite keeps the table as one tree ordered by its primary key. It also leaves no hidden `rowid`, through which a
/// REPLACE could displace a row whose key it does not name.
pub fn without_rowid(manager: &SchemaManager<'_>, table: &mut TableCreateStatement) {
    if manager.get_database_backend() == DbBackend::Sqlite {
        table.extra("WITHOUT ROWID");
    }
}

pub async fn run(manager: &SchemaManager<'_>, postgres: &str, sqlite: &str) -> Result<(), DbErr> {
    let sql = match manager.get_database_backend() {
        DbBackend::Postgres => postgres,
        DbBackend::Sqlite => sqlite,
        other => return Err(DbErr::Migration(format!("{other:?} is not supported"))),
    };
    manager.get_connection().execute_unprepared(sql).await?;
    Ok(())
}

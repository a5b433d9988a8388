//! Until when an outcome is kept, and the way to those whose time is over.

use sea_orm_migration::prelude::*;
use sea_orm_migration::schema::big_integer;

#[derive(DeriveMigrationName)]
pub struct Migration;

#[derive(DeriveIden)]
enum Outcome {
    Table,
    KeptUntil,
}

const BY_KEPT_UNTIL: &str = "outcome_by_kept_until";

/// 90 days for what machine clients were answered, a day for everybody else.
const OF_THOSE_THAT_ARE_THERE: &str = "UPDATE outcome SET kept_until = given_at + \
    CASE WHEN principal LIKE 'client:%' THEN 7776000000000 ELSE 86400000000 END";

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        let add = Table::alter()
            .table(Outcome::Table)
            .add_column(big_integer(Outcome::KeptUntil).default(0))
            .to_owned();
        manager.alter_table(add).await?;
        manager
            .get_connection()
            .execute_unprepared(OF_THOSE_THAT_ARE_THERE)
            .await?;
        let index = Index::create()
            .name(BY_KEPT_UNTIL)
            .table(Outcome::Table)
            .col(Outcome::KeptUntil)
            .to_owned();
        manager.create_index(index).await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        let index = Index::drop().name(BY_KEPT_UNTIL).table(Outcome::Table).to_owned();
        manager.drop_index(index).await?;
        let column = Table::alter()
            .table(Outcome::Table)
            .drop_column(Outcome::KeptUntil)
            .to_owned();
        manager.alter_table(column).await
    }
}

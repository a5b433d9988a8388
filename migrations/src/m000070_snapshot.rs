//! Pictures of the folded state, kept to start quickly. They are a cache and can be deleted at any time.

use sea_orm_migration::prelude::*;
use sea_orm_migration::schema::{big_integer, blob, text, uuid};

#[derive(DeriveMigrationName)]
pub struct Migration;

#[derive(DeriveIden)]
enum Snapshot {
    Table,
    SiteId,
    Seq,
    Schema,
    Body,
    Sha256,
}

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .create_table(
                Table::create()
                    .table(Snapshot::Table)
                    .col(uuid(Snapshot::SiteId))
                    .col(big_integer(Snapshot::Seq))
                    .col(text(Snapshot::Schema))
                    .col(blob(Snapshot::Body))
                    .col(blob(Snapshot::Sha256))
                    .primary_key(Index::create().col(Snapshot::SiteId).col(Snapshot::Seq))
                    .to_owned(),
            )
            .await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .drop_table(Table::drop().table(Snapshot::Table).to_owned())
            .await
    }
}

//! Posted plans; `slots` is packed. In force from the recording of its publishing.

use sea_orm_migration::prelude::*;
use sea_orm_migration::schema::{big_integer, big_integer_null, blob, uuid};

#[derive(DeriveMigrationName)]
pub struct Migration;

#[derive(DeriveIden)]
enum Plan {
    Table,
    SiteId,
    Id,
    PostedSeq,
    PublishedAt,
    PublishedSeq,
    Slots,
}

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .create_table(
                Table::create()
                    .table(Plan::Table)
                    .col(uuid(Plan::SiteId))
                    .col(uuid(Plan::Id))
                    .col(big_integer(Plan::PostedSeq))
                    .col(big_integer_null(Plan::PublishedAt))
                    .col(big_integer_null(Plan::PublishedSeq))
                    .col(blob(Plan::Slots))
                    .primary_key(Index::create().col(Plan::SiteId).col(Plan::Id))
                    .to_owned(),
            )
            .await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .drop_table(Table::drop().table(Plan::Table).to_owned())
            .await
    }
}

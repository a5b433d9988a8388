//! What the shop works with and on, one row each: pallets, fixtures, parts, customers, vendors.

use sea_orm_migration::prelude::*;
use sea_orm_migration::schema::{big_integer, text, uuid};

#[derive(DeriveMigrationName)]
pub struct Migration;

#[derive(DeriveIden)]
enum Thing {
    Table,
    SiteId,
    Id,
    Kind,
    Code,
    Name,
    Body,
    ChangedSeq,
}

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .create_table(
                Table::create()
                    .table(Thing::Table)
                    .col(uuid(Thing::SiteId))
                    .col(uuid(Thing::Id))
                    .col(text(Thing::Kind))
                    .col(text(Thing::Code))
                    .col(text(Thing::Name))
                    .col(text(Thing::Body))
                    .col(big_integer(Thing::ChangedSeq))
                    .primary_key(Index::create().col(Thing::SiteId).col(Thing::Id))
                    .to_owned(),
            )
            .await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .drop_table(Table::drop().table(Thing::Table).to_owned())
            .await
    }
}

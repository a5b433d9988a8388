//! Working calendars: the site's own has the site's id, a cell's override the cell's.

use sea_orm_migration::prelude::*;
use sea_orm_migration::schema::{big_integer, text, uuid};

#[derive(DeriveMigrationName)]
pub struct Migration;

#[derive(DeriveIden)]
enum Calendar {
    Table,
    SiteId,
    Id,
    Body,
    ChangedSeq,
}

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .create_table(
                Table::create()
                    .table(Calendar::Table)
                    .col(uuid(Calendar::SiteId))
                    .col(uuid(Calendar::Id))
                    .col(text(Calendar::Body))
                    .col(big_integer(Calendar::ChangedSeq))
                    .primary_key(Index::create().col(Calendar::SiteId).col(Calendar::Id))
                    .to_owned(),
            )
            .await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .drop_table(Table::drop().table(Calendar::Table).to_owned())
            .await
    }
}

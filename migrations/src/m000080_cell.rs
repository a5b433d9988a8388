//! Cells as they are now. The key holds the site: ids of cells come from clients.

use sea_orm_migration::prelude::*;
use sea_orm_migration::schema::{big_integer, text, uuid};

#[derive(DeriveMigrationName)]
pub struct Migration;

#[derive(DeriveIden)]
enum Cell {
    Table,
    SiteId,
    Id,
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
                    .table(Cell::Table)
                    .col(uuid(Cell::SiteId))
                    .col(uuid(Cell::Id))
                    .col(text(Cell::Code))
                    .col(text(Cell::Name))
                    .col(text(Cell::Body))
                    .col(big_integer(Cell::ChangedSeq))
                    .primary_key(Index::create().col(Cell::SiteId).col(Cell::Id))
                    .to_owned(),
            )
            .await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .drop_table(Table::drop().table(Cell::Table).to_owned())
            .await
    }
}

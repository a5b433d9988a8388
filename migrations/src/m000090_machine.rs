//! Machines as they are now.

use sea_orm_migration::prelude::*;
use sea_orm_migration::schema::{big_integer, text, uuid};

#[derive(DeriveMigrationName)]
pub struct Migration;

#[derive(DeriveIden)]
enum Machine {
    Table,
    SiteId,
    Id,
    CellId,
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
                    .table(Machine::Table)
                    .col(uuid(Machine::SiteId))
                    .col(uuid(Machine::Id))
                    .col(uuid(Machine::CellId))
                    .col(text(Machine::Code))
                    .col(text(Machine::Name))
                    .col(text(Machine::Body))
                    .col(big_integer(Machine::ChangedSeq))
                    .primary_key(Index::create().col(Machine::SiteId).col(Machine::Id))
                    .to_owned(),
            )
            .await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .drop_table(Table::drop().table(Machine::Table).to_owned())
            .await
    }
}

//! What was reported of a cell's day, and what was reported of it later. No picture of the ledger: nothing in it is ever
//! changed or made anew.

use sea_orm_migration::prelude::*;
use sea_orm_migration::schema::{big_integer, integer, text, uuid};

#[derive(DeriveMigrationName)]
pub struct Migration;

#[derive(DeriveIden)]
enum DailyReport {
    Table,
    SiteId,
    CellId,
    Day,
    Version,
    Seq,
    ComputedAt,
    Body,
}

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .create_table(
                Table::create()
                    .table(DailyReport::Table)
                    .col(uuid(DailyReport::SiteId))
                    .col(uuid(DailyReport::CellId))
                    .col(text(DailyReport::Day))
                    .col(integer(DailyReport::Version))
                    .col(big_integer(DailyReport::Seq))
                    .col(big_integer(DailyReport::ComputedAt))
                    .col(text(DailyReport::Body))
                    .primary_key(
                        Index::create()
                            .col(DailyReport::SiteId)
                            .col(DailyReport::CellId)
                            .col(DailyReport::Day)
                            .col(DailyReport::Version),
                    )
                    .to_owned(),
            )
            .await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .drop_table(Table::drop().table(DailyReport::Table).to_owned())
            .await
    }
}

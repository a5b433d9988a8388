//! What hours are computed from: the marks of a machine, a pallet, a cell or a job, packed, for each layer and UTC day
//! in one row or, where a day has many, in several.

use sea_orm_migration::prelude::*;
use sea_orm_migration::schema::{big_integer, blob, integer, small_integer, uuid};

#[derive(DeriveMigrationName)]
pub struct Migration;

#[derive(DeriveIden)]
enum Stretch {
    Table,
    SiteId,
    TrackId,
    Layer,
    Day,
    Part,
    Packed,
    ChangedSeq,
}

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .create_table(
                Table::create()
                    .table(Stretch::Table)
                    .col(uuid(Stretch::SiteId))
                    .col(uuid(Stretch::TrackId))
                    .col(small_integer(Stretch::Layer))
                    .col(integer(Stretch::Day))
                    .col(integer(Stretch::Part))
                    // Before the long column: SQLite reads a row from its beginning.
                    .col(big_integer(Stretch::ChangedSeq))
                    .col(blob(Stretch::Packed))
                    .primary_key(
                        Index::create()
                            .col(Stretch::SiteId)
                            .col(Stretch::TrackId)
                            .col(Stretch::Layer)
                            .col(Stretch::Day)
                            .col(Stretch::Part),
                    )
                    .to_owned(),
            )
            .await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .drop_table(Table::drop().table(Stretch::Table).to_owned())
            .await
    }
}

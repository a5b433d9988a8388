//! Plans that are being computed, and what came of it. No picture of the ledger: a plan is in it once it is published.

use sea_orm_migration::prelude::*;
use sea_orm_migration::schema::{big_integer, big_integer_null, binary, text, text_null, uuid};

#[derive(DeriveMigrationName)]
pub struct Migration;

#[derive(DeriveIden)]
enum Computation {
    Table,
    SiteId,
    Id,
    Fingerprint,
    State,
    StopAsked,
    AskedBy,
    AskedAt,
    BeatAt,
    EndedAt,
    Progress,
    Result,
    Plan,
    Failure,
}

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .create_table(
                Table::create()
                    .table(Computation::Table)
                    .col(uuid(Computation::SiteId))
                    .col(uuid(Computation::Id))
                    .col(binary(Computation::Fingerprint))
                    .col(text(Computation::State))
                    .col(big_integer(Computation::StopAsked))
                    .col(text(Computation::AskedBy))
                    .col(big_integer(Computation::AskedAt))
                    .col(big_integer(Computation::BeatAt))
                    .col(big_integer_null(Computation::EndedAt))
                    .col(text_null(Computation::Progress))
                    .col(text_null(Computation::Result))
                    .col(text_null(Computation::Plan))
                    .col(text_null(Computation::Failure))
                    .primary_key(Index::create().col(Computation::SiteId).col(Computation::Id))
                    .to_owned(),
            )
            .await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .drop_table(Table::drop().table(Computation::Table).to_owned())
            .await
    }
}

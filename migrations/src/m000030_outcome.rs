//! What was answered to each command, refusals too: the same key gets the same bytes again.

use sea_orm_migration::prelude::*;
use sea_orm_migration::schema::{big_integer, big_integer_null, blob, integer, text, text_null, uuid};

#[derive(DeriveMigrationName)]
pub struct Migration;

#[derive(DeriveIden)]
enum Outcome {
    Table,
    SiteId,
    Principal,
    Key,
    Fingerprint,
    Status,
    Body,
    Etag,
    Location,
    FirstSeq,
    LastSeq,
    GivenAt,
}

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .create_table(
                Table::create()
                    .table(Outcome::Table)
                    .col(uuid(Outcome::SiteId))
                    .col(text(Outcome::Principal))
                    .col(uuid(Outcome::Key))
                    .col(blob(Outcome::Fingerprint))
                    .col(integer(Outcome::Status))
                    .col(blob(Outcome::Body))
                    .col(text_null(Outcome::Etag))
                    .col(text_null(Outcome::Location))
                    .col(big_integer_null(Outcome::FirstSeq))
                    .col(big_integer_null(Outcome::LastSeq))
                    .col(big_integer(Outcome::GivenAt))
                    .primary_key(
                        Index::create()
                            .col(Outcome::SiteId)
                            .col(Outcome::Principal)
                            .col(Outcome::Key),
                    )
                    .to_owned(),
            )
            .await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .drop_table(Table::drop().table(Outcome::Table).to_owned())
            .await
    }
}

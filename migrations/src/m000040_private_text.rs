//! Free texts apart from the ledger, so that one can be forgotten and the chain still verifies.

use sea_orm_migration::prelude::*;
use sea_orm_migration::schema::{big_integer_null, blob, text_null, uuid};

#[derive(DeriveMigrationName)]
pub struct Migration;

#[derive(DeriveIden)]
enum PrivateText {
    Table,
    SiteId,
    Id,
    Salt,
    Body,
    ForgottenAt,
}

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .create_table(
                Table::create()
                    .table(PrivateText::Table)
                    .col(uuid(PrivateText::SiteId))
                    .col(uuid(PrivateText::Id))
                    .col(blob(PrivateText::Salt))
                    .col(text_null(PrivateText::Body))
                    .col(big_integer_null(PrivateText::ForgottenAt))
                    .primary_key(Index::create().col(PrivateText::SiteId).col(PrivateText::Id))
                    .to_owned(),
            )
            .await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .drop_table(Table::drop().table(PrivateText::Table).to_owned())
            .await
    }
}

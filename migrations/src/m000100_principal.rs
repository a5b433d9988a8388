//! Who may do what, by opaque id; names are in `account`.

use sea_orm_migration::prelude::*;
use sea_orm_migration::schema::{big_integer, text, uuid};

#[derive(DeriveMigrationName)]
pub struct Migration;

#[derive(DeriveIden)]
enum Principal {
    Table,
    SiteId,
    Id,
    Kind,
    Roles,
    Body,
    ChangedSeq,
}

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .create_table(
                Table::create()
                    .table(Principal::Table)
                    .col(uuid(Principal::SiteId))
                    .col(uuid(Principal::Id))
                    .col(text(Principal::Kind))
                    .col(text(Principal::Roles))
                    .col(text(Principal::Body))
                    .col(big_integer(Principal::ChangedSeq))
                    .primary_key(Index::create().col(Principal::SiteId).col(Principal::Id))
                    .to_owned(),
            )
            .await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .drop_table(Table::drop().table(Principal::Table).to_owned())
            .await
    }
}

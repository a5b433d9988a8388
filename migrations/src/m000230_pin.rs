//! PINs for tablets, by the person: hashed, with what was counted of wrong ones.

use sea_orm_migration::prelude::*;
use sea_orm_migration::schema::{big_integer, big_integer_null, text, uuid};

#[derive(DeriveMigrationName)]
pub struct Migration;

#[derive(DeriveIden)]
enum Pin {
    Table,
    AccountId,
    SiteId,
    SecretHash,
    SetAt,
    Wrong,
    WaitUntil,
}

#[derive(DeriveIden)]
enum Account {
    Table,
    Id,
}

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .create_table(
                Table::create()
                    .table(Pin::Table)
                    .col(uuid(Pin::AccountId).primary_key())
                    .col(uuid(Pin::SiteId))
                    .col(text(Pin::SecretHash))
                    .col(big_integer(Pin::SetAt))
                    .col(big_integer(Pin::Wrong))
                    .col(big_integer_null(Pin::WaitUntil))
                    .foreign_key(
                        ForeignKey::create()
                            .from(Pin::Table, Pin::AccountId)
                            .to(Account::Table, Account::Id),
                    )
                    .to_owned(),
            )
            .await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .drop_table(Table::drop().table(Pin::Table).to_owned())
            .await
    }
}

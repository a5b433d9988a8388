//! Refresh tokens by their hash. Using one twice gives away that it was copied: its whole family is revoked.

use sea_orm_migration::prelude::*;
use sea_orm_migration::schema::{big_integer, big_integer_null, blob, uuid};

#[derive(DeriveMigrationName)]
pub struct Migration;

#[derive(DeriveIden)]
enum RefreshToken {
    Table,
    TokenHash,
    Family,
    AccountId,
    SiteId,
    IssuedAt,
    ExpiresAt,
    UsedAt,
    RevokedAt,
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
                    .table(RefreshToken::Table)
                    .col(
                        blob(RefreshToken::TokenHash)
                            .primary_key()
                            .check(Expr::cust("length(token_hash) = 32")),
                    )
                    .col(uuid(RefreshToken::Family))
                    .col(uuid(RefreshToken::AccountId))
                    .col(uuid(RefreshToken::SiteId))
                    .col(big_integer(RefreshToken::IssuedAt))
                    .col(big_integer(RefreshToken::ExpiresAt))
                    .col(big_integer_null(RefreshToken::UsedAt))
                    .col(big_integer_null(RefreshToken::RevokedAt))
                    .foreign_key(
                        ForeignKey::create()
                            .from(RefreshToken::Table, RefreshToken::AccountId)
                            .to(Account::Table, Account::Id),
                    )
                    .to_owned(),
            )
            .await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .drop_table(Table::drop().table(RefreshToken::Table).to_owned())
            .await
    }
}

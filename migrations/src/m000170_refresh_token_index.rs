//! A refresh token is found by its hash, its key; a session is ended by its family, and somebody's sessions by the
//! account. Without these each of that would read the whole table.

use sea_orm_migration::prelude::*;

#[derive(DeriveMigrationName)]
pub struct Migration;

#[derive(DeriveIden)]
enum RefreshToken {
    Table,
    Family,
    AccountId,
    IssuedAt,
    ExpiresAt,
}

const BY_FAMILY: &str = "refresh_token_by_family";
const BY_ACCOUNT: &str = "refresh_token_by_account";
const BY_EXPIRY: &str = "refresh_token_by_expiry";

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        let by_family = Index::create()
            .name(BY_FAMILY)
            .table(RefreshToken::Table)
            .col(RefreshToken::Family)
            .to_owned();
        manager.create_index(by_family).await?;
        let by_account = Index::create()
            .name(BY_ACCOUNT)
            .table(RefreshToken::Table)
            .col(RefreshToken::AccountId)
            .col(RefreshToken::IssuedAt)
            .to_owned();
        manager.create_index(by_account).await?;
        let by_expiry = Index::create()
            .name(BY_EXPIRY)
            .table(RefreshToken::Table)
            .col(RefreshToken::ExpiresAt)
            .to_owned();
        manager.create_index(by_expiry).await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        for name in [BY_EXPIRY, BY_ACCOUNT, BY_FAMILY] {
            let index = Index::drop().name(name).table(RefreshToken::Table).to_owned();
            manager.drop_index(index).await?;
        }
        Ok(())
    }
}

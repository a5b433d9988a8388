//! Whoever can sign in: names and secrets, which never stand in the ledger.

use sea_orm_migration::prelude::*;
use sea_orm_migration::schema::{big_integer_null, text, text_null, uuid};

#[derive(DeriveMigrationName)]
pub struct Migration;

#[derive(DeriveIden)]
enum Account {
    Table,
    Id,
    SiteId,
    Kind,
    Login,
    DisplayName,
    SecretHash,
    ForgottenAt,
}

#[derive(DeriveIden)]
enum Site {
    Table,
    Id,
}

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .create_table(
                Table::create()
                    .table(Account::Table)
                    .col(uuid(Account::Id).primary_key())
                    .col(uuid(Account::SiteId))
                    .col(text(Account::Kind).check(Expr::col(Account::Kind).is_in(["person", "client"])))
                    .col(text(Account::Login))
                    .col(text_null(Account::DisplayName))
                    .col(text_null(Account::SecretHash))
                    .col(big_integer_null(Account::ForgottenAt))
                    .index(
                        Index::create()
                            .unique()
                            .name("account_login")
                            .col(Account::SiteId)
                            .col(Account::Login),
                    )
                    .foreign_key(
                        ForeignKey::create()
                            .from(Account::Table, Account::SiteId)
                            .to(Site::Table, Site::Id),
                    )
                    .to_owned(),
            )
            .await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .drop_table(Table::drop().table(Account::Table).to_owned())
            .await
    }
}

//! Closed orders and jobs stay in the table for ever: they are found by when they closed, and jobs by their part.

use sea_orm_migration::prelude::*;

#[derive(DeriveMigrationName)]
pub struct Migration;

#[derive(DeriveIden)]
enum Thing {
    Table,
    SiteId,
    Kind,
    Name,
    ChangedSeq,
    Id,
}

const BY_KIND: &str = "thing_by_kind";
const BY_NAME: &str = "thing_by_name";

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        let by_kind = Index::create()
            .name(BY_KIND)
            .table(Thing::Table)
            .col(Thing::SiteId)
            .col(Thing::Kind)
            .col(Thing::ChangedSeq)
            .col(Thing::Id)
            .to_owned();
        manager.create_index(by_kind).await?;
        let by_name = Index::create()
            .name(BY_NAME)
            .table(Thing::Table)
            .col(Thing::SiteId)
            .col(Thing::Kind)
            .col(Thing::Name)
            .col(Thing::ChangedSeq)
            .col(Thing::Id)
            .to_owned();
        manager.create_index(by_name).await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        for name in [BY_NAME, BY_KIND] {
            let index = Index::drop().name(name).table(Thing::Table).to_owned();
            manager.drop_index(index).await?;
        }
        Ok(())
    }
}

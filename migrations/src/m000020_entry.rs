//! The ledger. Rows are added and never changed: a mistake is put right by another entry.
//!
//! No index on `command_id`: a key leads to its entries by its outcome, and the keys come in no order, so that each
//! entry would change a page of the index somewhere else.
//!
//! No foreign key to `site`: the writer holds the site's row locked while it appends, and a check for each row would
//! only repeat that.

use crate::append_only::{run, without_rowid};
use sea_orm_migration::prelude::*;
use sea_orm_migration::schema::{big_integer, blob, integer, text, text_null, uuid, uuid_uniq};

#[derive(DeriveMigrationName)]
pub struct Migration;

#[derive(DeriveIden)]
enum Entry {
    Table,
    SiteId,
    Seq,
    Id,
    CommandId,
    Kind,
    Schema,
    OccurredAt,
    RecordedAt,
    Actor,
    Device,
    Payload,
    Hash,
}

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    fn use_transaction(&self) -> Option<bool> {
        Some(true)
    }

    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        let mut table = Table::create();
        table
            .table(Entry::Table)
            .col(uuid(Entry::SiteId))
            .col(big_integer(Entry::Seq).check(Expr::col(Entry::Seq).gte(1)))
            .col(uuid_uniq(Entry::Id))
            .col(uuid(Entry::CommandId))
            .col(text(Entry::Kind))
            .col(integer(Entry::Schema))
            .col(big_integer(Entry::OccurredAt))
            .col(big_integer(Entry::RecordedAt))
            .col(text(Entry::Actor))
            .col(text_null(Entry::Device))
            .col(blob(Entry::Payload))
            .col(blob(Entry::Hash).check(Expr::cust("length(hash) = 32")))
            .primary_key(Index::create().col(Entry::SiteId).col(Entry::Seq));
        without_rowid(manager, &mut table);
        manager.create_table(table).await?;
        run(manager, POSTGRES_UP, SQLITE_UP).await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .drop_table(Table::drop().table(Entry::Table).to_owned())
            .await
    }
}

const POSTGRES_UP: &str = "
CREATE TRIGGER entry_no_change BEFORE UPDATE OR DELETE ON entry FOR EACH ROW EXECUTE FUNCTION append_only();
CREATE TRIGGER entry_no_truncate BEFORE TRUNCATE ON entry FOR EACH STATEMENT EXECUTE FUNCTION append_only();
ALTER TABLE entry ENABLE ALWAYS TRIGGER entry_no_change;
ALTER TABLE entry ENABLE ALWAYS TRIGGER entry_no_truncate;
";

// As for `site`: the guard before INSERT stops REPLACE whatever pragmas a client has set.
const SQLITE_UP: &str = "
CREATE TRIGGER entry_no_update BEFORE UPDATE ON entry
BEGIN SELECT RAISE(ABORT, 'append-only: UPDATE on table entry refused'); END;

CREATE TRIGGER entry_no_delete BEFORE DELETE ON entry
BEGIN SELECT RAISE(ABORT, 'append-only: DELETE on table entry refused'); END;

CREATE TRIGGER entry_no_replace BEFORE INSERT ON entry
WHEN EXISTS (SELECT 1 FROM entry WHERE site_id = NEW.site_id AND seq = NEW.seq)
    OR EXISTS (SELECT 1 FROM entry WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'append-only: this entry exists already'); END;
";

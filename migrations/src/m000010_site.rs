//! A site and the head of its ledger. The head never goes back and a site is never dropped.

use crate::append_only::{run, without_rowid};
use sea_orm_migration::prelude::*;
use sea_orm_migration::schema::{big_integer, blob, text_uniq, uuid};

#[derive(DeriveMigrationName)]
pub struct Migration;

#[derive(DeriveIden)]
enum Site {
    Table,
    Id,
    Code,
    CreatedAt,
    HeadSeq,
    HeadHash,
    HeadRecordedAt,
    Turn,
}

#[async_trait::async_trait]
impl MigrationTrait for Migration {
    fn use_transaction(&self) -> Option<bool> {
        Some(true)
    }

    async fn up(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        let mut table = Table::create();
        table
            .table(Site::Table)
            .col(uuid(Site::Id).primary_key())
            .col(text_uniq(Site::Code))
            .col(big_integer(Site::CreatedAt))
            .col(big_integer(Site::HeadSeq).check(Expr::col(Site::HeadSeq).gte(0)))
            .col(blob(Site::HeadHash).check(Expr::cust("length(head_hash) = 32")))
            .col(big_integer(Site::HeadRecordedAt))
            .col(big_integer(Site::Turn));
        without_rowid(manager, &mut table);
        manager.create_table(table).await?;
        run(manager, POSTGRES_UP, SQLITE_UP).await
    }

    async fn down(&self, manager: &SchemaManager) -> Result<(), DbErr> {
        manager
            .drop_table(Table::drop().table(Site::Table).to_owned())
            .await?;
        run(
            manager,
            "DROP FUNCTION site_protect(); DROP FUNCTION append_only()",
            "",
        )
        .await
    }
}

// ENABLE ALWAYS: an ordinary trigger does not fire for a session that calls itself a replica.
const POSTGRES_UP: &str = "
CREATE FUNCTION append_only() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'append-only: % on table % refused', TG_OP, TG_TABLE_NAME
        USING ERRCODE = 'integrity_constraint_violation';
END $$;

CREATE FUNCTION site_protect() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF NEW.id <> OLD.id OR NEW.created_at <> OLD.created_at OR NEW.head_seq < OLD.head_seq OR NEW.turn < OLD.turn
        OR NEW.head_recorded_at < OLD.head_recorded_at
        OR (NEW.head_seq = OLD.head_seq AND NEW.head_hash <> OLD.head_hash)
    THEN
        RAISE EXCEPTION 'append-only: the head of site % may only go forward', OLD.code
            USING ERRCODE = 'integrity_constraint_violation';
    END IF;
    RETURN NEW;
END $$;

CREATE TRIGGER site_forward BEFORE UPDATE ON site FOR EACH ROW EXECUTE FUNCTION site_protect();
CREATE TRIGGER site_no_delete BEFORE DELETE ON site FOR EACH ROW EXECUTE FUNCTION append_only();
CREATE TRIGGER site_no_truncate BEFORE TRUNCATE ON site FOR EACH STATEMENT EXECUTE FUNCTION append_only();
ALTER TABLE site ENABLE ALWAYS TRIGGER site_forward;
ALTER TABLE site ENABLE ALWAYS TRIGGER site_no_delete;
ALTER TABLE site ENABLE ALWAYS TRIGGER site_no_truncate;
";

// The guard before INSERT stops REPLACE for clients that have not set recursive_triggers: without that pragma the row
// that REPLACE displaces goes without firing a DELETE trigger.
const SQLITE_UP: &str = "
CREATE TRIGGER site_forward BEFORE UPDATE ON site
WHEN NEW.id <> OLD.id OR NEW.created_at <> OLD.created_at OR NEW.head_seq < OLD.head_seq OR NEW.turn < OLD.turn
    OR NEW.head_recorded_at < OLD.head_recorded_at
    OR (NEW.head_seq = OLD.head_seq AND NEW.head_hash <> OLD.head_hash)
    OR EXISTS (SELECT 1 FROM site WHERE code = NEW.code AND id <> OLD.id)
BEGIN SELECT RAISE(ABORT, 'append-only: the head of a site may only go forward'); END;

CREATE TRIGGER site_no_delete BEFORE DELETE ON site
BEGIN SELECT RAISE(ABORT, 'append-only: DELETE on table site refused'); END;

CREATE TRIGGER site_no_replace BEFORE INSERT ON site
WHEN EXISTS (SELECT 1 FROM site WHERE id = NEW.id OR code = NEW.code)
BEGIN SELECT RAISE(ABORT, 'append-only: this site exists already'); END;
";

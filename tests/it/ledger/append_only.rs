use super::{Ledger, signal};
use sea_orm::{ConnectionTrait, TransactionTrait};
use spindlebook_tests::engine::Engine;
use spindlebook_tests::on_both_engines;

/// Every way of SQL to change or drop what is there.
const ON_BOTH: &[&str] = &[
    "UPDATE entry SET payload = hash",
    "UPDATE entry SET seq = seq + 1000",
    "UPDATE entry SET kind = 'x' WHERE seq = 1",
    "DELETE FROM entry",
    "DELETE FROM entry WHERE seq = 1",
    "INSERT INTO entry SELECT * FROM entry WHERE seq = 1",
    "INSERT INTO entry SELECT * FROM entry WHERE seq = 1 ON CONFLICT (site_id, seq) DO UPDATE SET kind = 'x'",
    "INSERT INTO entry SELECT * FROM entry WHERE seq = 1 ON CONFLICT (id) DO UPDATE SET kind = 'x'",
    "UPDATE site SET head_seq = head_seq - 1",
    "UPDATE site SET turn = turn - 1",
    "UPDATE site SET head_recorded_at = head_recorded_at - 1",
    "UPDATE site SET created_at = 0",
    "DELETE FROM site",
];

const ON_SQLITE: &[&str] = &[
    "REPLACE INTO entry SELECT * FROM entry WHERE seq = 1",
    "INSERT OR REPLACE INTO entry (site_id, seq, id, command_id, kind, schema, occurred_at, recorded_at, actor, \
     payload, hash) SELECT site_id, 1, randomblob(16), command_id, 'x', schema, occurred_at, recorded_at, actor, \
     payload, hash FROM entry WHERE seq = 2",
    "INSERT OR REPLACE INTO entry (site_id, seq, id, command_id, kind, schema, occurred_at, recorded_at, actor, \
     payload, hash) SELECT site_id, 1000, id, command_id, 'x', schema, occurred_at, recorded_at, actor, payload, hash \
     FROM entry WHERE seq = 2",
    "UPDATE OR REPLACE entry SET seq = 2 WHERE seq = 1",
    "UPDATE OR IGNORE entry SET kind = 'x'",
    "REPLACE INTO site SELECT * FROM site",
    "UPDATE site SET head_hash = zeroblob(32)",
    "INSERT INTO entry (rowid, site_id) VALUES (1, zeroblob(16))",
];

const ON_POSTGRES: &[&str] = &[
    "TRUNCATE entry",
    "TRUNCATE site CASCADE",
    "UPDATE site SET head_hash = decode(repeat('00', 32), 'hex')",
    "MERGE INTO entry USING (SELECT 1 AS seq) AS other ON entry.seq = other.seq WHEN MATCHED THEN DELETE",
    "MERGE INTO entry USING (SELECT 1 AS seq) AS other ON entry.seq = other.seq \
     WHEN MATCHED THEN UPDATE SET kind = 'x'",
    "WITH gone AS (DELETE FROM entry RETURNING seq) SELECT count(*) FROM gone",
    "SET LOCAL session_replication_role = 'replica'; DELETE FROM entry",
    "SET LOCAL session_replication_role = 'replica'; UPDATE site SET head_seq = 0",
    "SET LOCAL session_replication_role = 'replica'; TRUNCATE entry",
];

/// Triggers, the primary key where nothing is to be replaced, and that there is no hidden row number.
const REASONS: &[&str] = &["append-only", "duplicate key value", "no column named rowid"];

on_both_engines! {
    async fn the_database_refuses_every_change(engine) {
        let ledger = Ledger::new(engine).await;
        for at_s in 0..3 {
            ledger.does(signal(ledger.machine, at_s)).await;
        }
        let before = ledger.book.entries_after(ledger.site, 0, 100).await.unwrap();
        let raw = ledger.raw().await;
        let own = match engine {
            Engine::Sqlite => ON_SQLITE,
            Engine::Postgres => ON_POSTGRES,
        };
        for pragma in ["ON", "OFF"] {
            if engine == Engine::Sqlite {
                raw.execute_unprepared(&format!("PRAGMA recursive_triggers = {pragma}")).await.unwrap();
            }
            for sql in ON_BOTH.iter().chain(own) {
                let transaction = raw.begin().await.unwrap();
                let refused = transaction.execute_unprepared(sql).await.unwrap_err().to_string();
                assert!(REASONS.iter().any(|reason| refused.contains(reason)), "{sql}: {refused}");
                transaction.rollback().await.unwrap();
            }
        }
        assert_eq!(ledger.book.entries_after(ledger.site, 0, 100).await.unwrap(), before);
        assert_eq!(before.len(), 6);
    }
}

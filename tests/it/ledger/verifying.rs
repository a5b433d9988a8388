use super::{Ledger, signal};
use sea_orm::ConnectionTrait;
use spindlebook::book::{ExportedHead, Fault, RowFault, verify};
use spindlebook_tests::engine::Engine;
use spindlebook_tests::on_both_engines;

/// Each is one tampering past the triggers, as the engine's SQL, and a word of the fault that must be told.
/// `{zeros}` is 32 zero bytes.
const TAMPERINGS: &[(&str, &str)] = &[
    ("UPDATE entry SET payload = {zeros} WHERE seq = 5", "entry 5"),
    ("UPDATE entry SET hash = {zeros} WHERE seq = 5", "entry 5"),
    (
        "UPDATE entry SET occurred_at = occurred_at + 1 WHERE seq = 5",
        "entry 5",
    ),
    (
        "UPDATE entry SET recorded_at = recorded_at - 1 WHERE seq = 5",
        "entry 5",
    ),
    ("UPDATE entry SET kind = 'cell.added' WHERE seq = 5", "entry 5"),
    ("UPDATE entry SET schema = 2 WHERE seq = 5", "entry 5"),
    ("UPDATE entry SET schema = 70000 WHERE seq = 5", "entry 5"),
    ("UPDATE entry SET actor = 'system' WHERE seq = 5", "entry 5"),
    ("UPDATE entry SET actor = 'nobody' WHERE seq = 5", "nobody"),
    ("UPDATE entry SET actor = upper(actor) WHERE seq = 5", "entry 5"),
    ("UPDATE entry SET device = 'tablet' WHERE seq = 5", "entry 5"),
    ("UPDATE entry SET command_id = id WHERE seq = 5", "entry 5"),
    (
        "DELETE FROM entry WHERE seq = 1",
        "expected entry 1, found entry 2",
    ),
    (
        "DELETE FROM entry WHERE seq = 5",
        "expected entry 5, found entry 6",
    ),
    (
        "DELETE FROM entry WHERE seq > 5",
        "the ledger ends otherwise, with entry 5",
    ),
    ("DELETE FROM entry", "with entry 0"),
    ("UPDATE entry SET seq = 500 WHERE seq = 5", "entry 500"),
    ("UPDATE site SET head_hash = {zeros}", "head row"),
    ("UPDATE site SET head_seq = head_seq - 1", "head row"),
    ("UPDATE site SET head_recorded_at = 0", "head row"),
    ("DELETE FROM cell", "cell "),
    ("UPDATE machine SET body = '{}'", "machine "),
    (
        "UPDATE machine SET name = 'Lathe'",
        "is not what the ledger gives",
    ),
    ("DELETE FROM calendar", "the row is missing"),
    (
        "UPDATE plan SET published_at = 1 WHERE published_at IS NULL",
        "plan ",
    ),
    (
        "UPDATE plan SET published_at = published_at + 1, published_seq = published_seq + 1",
        "plan ",
    ),
    ("UPDATE plan SET slots = {zeros}", "plan"),
    ("UPDATE stretch SET packed = {zeros} WHERE layer = 3", "stretch"),
    ("UPDATE stretch SET changed_seq = changed_seq + 1", "stretch"),
    (
        "UPDATE stretch SET day = day + 100 WHERE layer = 1",
        "the ledger knows of no such thing",
    ),
    (
        "UPDATE stretch SET layer = 99 WHERE layer = 1",
        "there is no layer 9",
    ),
    ("DELETE FROM stretch WHERE layer = 4", "layer Readings"),
];

async fn faults(ledger: &Ledger, exported: Option<ExportedHead>) -> Vec<Fault> {
    verify(&ledger.store, ledger.site, exported, &mut |_| {})
        .await
        .unwrap()
        .faults
}

on_both_engines! {
    async fn a_sound_ledger_verifies(engine) {
        let ledger = Ledger::new(engine).await;
        ledger.some_history().await;
        super::read_rows::everything_else(&ledger).await;
        let head = ledger.book.current(ledger.site).unwrap().head;
        let exported = ExportedHead { seq: head.seq, hash: head.hash };
        let report = verify(&ledger.store, ledger.site, Some(exported), &mut |_| {}).await.unwrap();
        assert_eq!((report.faults, report.head), (vec![], head));
        assert!(report.rows_compared > 15);
        assert_eq!(report.code, "one");
        // It may have gone on since it was exported.
        ledger.does(signal(ledger.machine, 700_000)).await;
        assert_eq!(faults(&ledger, Some(exported)).await, []);
    }

    async fn each_tampering_with_the_database_is_found(engine) {
        let ledger = Ledger::new(engine).await;
        ledger.some_history().await;
        let raw = ledger.drop_triggers().await;
        let zeros = match engine {
            Engine::Sqlite => "zeroblob(32)",
            Engine::Postgres => "decode(repeat('00', 32), 'hex')",
        };
        let kept = Kept::new(&raw).await;
        for (sql, told) in TAMPERINGS {
            raw.execute_unprepared(&sql.replace("{zeros}", zeros)).await.unwrap();
            let faults: Vec<_> = faults(&ledger, None).await.iter().map(ToString::to_string).collect();
            assert!(faults.iter().any(|fault| fault.contains(told)), "{sql}: {faults:?}");
            kept.restore(&raw).await;
            assert_eq!(self::faults(&ledger, None).await, [], "put back after: {sql}");
        }
    }

    async fn a_cut_tail_with_a_fitting_head_row_is_found_against_an_export(engine) {
        let ledger = Ledger::new(engine).await;
        ledger.does(signal(ledger.machine, 0)).await;
        ledger.does(signal(ledger.machine, -60)).await;
        let head = ledger.book.current(ledger.site).unwrap().head;
        ledger.book.stop().await;
        let raw = ledger.drop_triggers().await;
        raw.execute_unprepared(
            "DELETE FROM entry WHERE seq = 5; UPDATE site SET head_seq = 4, \
             head_hash = (SELECT hash FROM entry WHERE seq = 4), \
             head_recorded_at = (SELECT recorded_at FROM entry WHERE seq = 4)",
        )
        .await
        .unwrap();
        spindlebook::book::rebuild(&ledger.store, ledger.site, &mut |_| {}).await.unwrap();
        assert_eq!(faults(&ledger, None).await, [], "by itself it is a sound ledger");
        let exported = ExportedHead { seq: head.seq, hash: head.hash };
        assert_eq!(faults(&ledger, Some(exported)).await, [Fault::CutShort { exported: 5, found: 4 }]);
    }

    async fn a_row_of_another_site_is_no_fault_of_this_one(engine) {
        let ledger = Ledger::new(engine).await;
        let other = spindlebook_domain::ids::SiteId(uuid::Uuid::now_v7());
        spindlebook::book::create_site(&ledger.store, ledger.clock.as_ref(), super::open_site(other, "two")).await.unwrap();
        assert_eq!(faults(&ledger, None).await, []);
        let report = verify(&ledger.store, other, None, &mut |_| {}).await.unwrap();
        assert_eq!((report.head.seq, report.faults), (1, vec![]));
        let taken = spindlebook::book::create_site(
            &ledger.store,
            ledger.clock.as_ref(),
            super::open_site(spindlebook_domain::ids::SiteId(uuid::Uuid::now_v7()), "two"),
        )
        .await;
        assert!(matches!(taken, Err(spindlebook::book::LedgerError::CodeTaken(code)) if code == "two"));
    }
}

#[test]
fn faults_are_told_in_sentences() {
    let row = |what| {
        Fault::Row {
            name: "cell 1".to_owned(),
            what,
        }
        .to_string()
    };
    assert_eq!(row(RowFault::Missing), "cell 1: the row is missing");
    assert_eq!(
        Fault::Gap {
            expected: 4,
            found: 6
        }
        .to_string(),
        "expected entry 4, found entry 6"
    );
}

/// Copies of the tables, to put everything back after each tampering.
struct Kept;

const TABLES: [&str; 8] = [
    "entry",
    "site",
    "cell",
    "machine",
    "principal",
    "calendar",
    "plan",
    "stretch",
];

impl Kept {
    async fn new(raw: &sea_orm::DatabaseConnection) -> Self {
        for table in TABLES {
            raw.execute_unprepared(&format!("CREATE TABLE kept_{table} AS SELECT * FROM {table}"))
                .await
                .unwrap();
        }
        Self
    }

    async fn restore(&self, raw: &sea_orm::DatabaseConnection) {
        for table in TABLES {
            // A site that accounts may refer to is not deleted but put back.
            let sql = match table {
                "site" => "UPDATE site SET head_seq = kept.head_seq, head_hash = kept.head_hash, \
                           head_recorded_at = kept.head_recorded_at FROM kept_site AS kept WHERE kept.id = site.id"
                    .to_owned(),
                _ => format!("DELETE FROM {table}; INSERT INTO {table} SELECT * FROM kept_{table}"),
            };
            raw.execute_unprepared(&sql).await.unwrap();
        }
    }
}

use super::{Ledger, signal};
use sea_orm::ConnectionTrait;
use serde_json::Value;
use spindlebook::book::{snapshot_schema, verify};
use spindlebook_domain::shop::SHOP_SCHEMA;
use spindlebook_store::snapshot;
use spindlebook_tests::on_both_engines;
use std::collections::{BTreeMap, BTreeSet};
use std::ffi::OsStr;

/// Each leaves the snapshot unfit in another way.
const SPOILS: &[&str] = &[
    "DELETE FROM snapshot",
    "UPDATE snapshot SET schema = '0.0.0/0'",
    "UPDATE snapshot SET sha256 = body",
    "UPDATE snapshot SET body = sha256",
    "UPDATE snapshot SET seq = seq - 1",
    "UPDATE snapshot SET seq = seq + 1000",
];

on_both_engines! {
    async fn an_orderly_stop_leaves_a_snapshot_that_the_next_start_uses(engine) {
        let ledger = Ledger::new(engine).await;
        ledger.some_history().await;
        let before = ledger.book.current(ledger.site).unwrap();
        ledger.book.stop().await;
        let mut session = ledger.store.session().await.unwrap();
        let kept = snapshot::newest_first(&mut session, ledger.site, &snapshot_schema(), u64::MAX >> 1).await.unwrap();
        assert_eq!(kept.iter().map(|snapshot| snapshot.seq).collect::<Vec<_>>(), [before.head.seq]);
        // Proof that it is used: with its entries unreadable the start would halt. It does not even read them.
        let raw = ledger.drop_triggers().await;
        raw.execute_unprepared("UPDATE entry SET kind = 'unknown' WHERE seq < 5").await.unwrap();
        let again = ledger.opened_again().await;
        assert_eq!(again.shop(ledger.site).unwrap(), before.shop);
        assert_eq!(again.current(ledger.site).unwrap().halted, None);
        assert!(!verify(&ledger.store, ledger.site, None, &mut |_| {}).await.unwrap().is_sound());
    }

    async fn a_snapshot_that_does_not_fit_is_passed_over(engine) {
        let ledger = Ledger::new(engine).await;
        ledger.some_history().await;
        let before = ledger.book.current(ledger.site).unwrap();
        let raw = ledger.raw().await;
        for spoil in SPOILS {
            let book = ledger.opened_again().await;
            book.stop().await;
            raw.execute_unprepared(spoil).await.unwrap();
            let again = ledger.opened_again().await.current(ledger.site).unwrap();
            assert_eq!((again.shop, again.head), (before.shop.clone(), before.head), "{spoil}");
            assert_eq!(again.halted, None);
        }
    }

    /// So many entries that one is due. They come as fast as the queue takes them.
    async fn a_snapshot_is_kept_every_ten_thousand_entries(engine) {
        let ledger = Ledger::new(engine).await;
        ledger.clock.set(super::START.plus_s(86_400));
        for round in 0..5 {
            let sent = (0..2_000).map(|n| super::submission(super::new_key(), signal(ledger.machine, round * 2_000 + n)));
            let sent = sent.map(|submission| ledger.book.submit(ledger.site, submission));
            let answers = futures_util::future::join_all(sent).await;
            assert!(answers.iter().all(Result::is_ok));
        }
        let found = async {
            loop {
                let mut session = ledger.store.session().await.unwrap();
                let kept = snapshot::newest_first(&mut session, ledger.site, &snapshot_schema(), 20_000).await.unwrap();
                if let Some(newest) = kept.first() {
                    return newest.seq;
                }
                tokio::time::sleep(std::time::Duration::from_millis(20)).await;
            }
        };
        let seq = tokio::time::timeout(std::time::Duration::from_secs(5), found).await.unwrap();
        assert!((10_000..10_004).contains(&seq), "{seq}");
    }

    async fn two_snapshots_are_kept(engine) {
        let ledger = Ledger::new(engine).await;
        for n in 0..4 {
            let book = ledger.opened_again().await;
            let sent = super::submission(super::new_key(), signal(ledger.machine, n));
            book.submit(ledger.site, sent).await.unwrap();
            book.stop().await;
        }
        let mut session = ledger.store.session().await.unwrap();
        let kept = snapshot::newest_first(&mut session, ledger.site, &snapshot_schema(), 1_000).await.unwrap();
        assert_eq!(kept.iter().map(|snapshot| snapshot.seq).collect::<Vec<_>>(), [7, 6]);
    }

    /// When this fails, the serialised shape of the shop has changed: raise `SHOP_SCHEMA` in `domain/src/shop`, and
    /// keep the new shape under the new number. Snapshots of the old shape are then passed over.
    async fn the_shape_of_a_snapshot_changes_only_with_its_number(engine) {
        let ledger = Ledger::new(engine).await;
        ledger.some_history().await;
        super::read_rows::everything_else(&ledger).await;
        let shop = serde_json::to_value(&*ledger.book.shop(ledger.site).unwrap()).unwrap();
        let mut shape = BTreeSet::new();
        shape_of("", &shop, &mut shape);
        let shape = shape.into_iter().collect::<Vec<_>>().join("\n") + "\n";
        let folder = format!("{}/data/shop_shapes", env!("CARGO_MANIFEST_DIR"));
        let mut kept = BTreeMap::new();
        for file in std::fs::read_dir(folder).unwrap() {
            let file = file.unwrap();
            kept.insert(file.file_name(), std::fs::read_to_string(file.path()).unwrap());
        }
        let newest = kept.remove(OsStr::new(&format!("{SHOP_SCHEMA}.txt"))).unwrap_or_default();
        assert_eq!(shape, newest, "what belongs in shop_shapes/{SHOP_SCHEMA}.txt");
        assert!(kept.values().all(|older| *older != shape), "an older number had this shape");
    }
}

/// The paths of a JSON value with their types; ids and numbers in the place of keys count as one.
fn shape_of(path: &str, value: &Value, shape: &mut BTreeSet<String>) {
    match value {
        Value::Object(members) => {
            for (key, member) in members {
                let key = if uuid::Uuid::parse_str(key).is_ok()
                    || key.starts_with("20")
                    || key.parse::<u64>().is_ok()
                {
                    "*"
                } else {
                    key
                };
                shape_of(&format!("{path}/{key}"), member, shape);
            }
        }
        Value::Array(items) => {
            for item in items {
                shape_of(&format!("{path}/-"), item, shape);
            }
        }
        Value::Null => {
            shape.insert(format!("{path}: null"));
        }
        Value::Bool(_) => {
            shape.insert(format!("{path}: boolean"));
        }
        Value::Number(_) => {
            shape.insert(format!("{path}: number"));
        }
        Value::String(_) => {
            shape.insert(format!("{path}: string"));
        }
    }
}

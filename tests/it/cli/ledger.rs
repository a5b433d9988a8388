//! `export ledger`, `verify`, `rebuild` and `backup`.

use super::shop::{Shop, folder, on};
use super::{binary, spindlebook};
use chrono_tz::Europe::Berlin;
use sha2::{Digest, Sha256};
use spindlebook::book::{Book, QUEUE_MAX};
use spindlebook::clock::SystemClock;
use spindlebook_domain::ids::{MachineId, SiteId};
use spindlebook_domain::machine::ReceiveSignals;
use spindlebook_domain::machine_state::MachineState;
use spindlebook_domain::time::Timestamp;
use spindlebook_store::Store;
use spindlebook_tests::postgres::DurableCluster;
use spindlebook_tests::site;
use sqlx::{AssertSqlSafe, Connection, PgConnection};
use std::collections::BTreeMap;
use std::fs;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// 2026-11-02T06:00:00Z.
const START: Timestamp = Timestamp(1_793_599_200_000_000);

async fn cut(book: &Book, shop: &Shop, number: i64) {
    cut_on(book, shop.site, shop.machine, number).await;
}

async fn cut_on(book: &Book, site: SiteId, machine: MachineId, number: i64) {
    let at = START.plus_s(number * 600);
    let signals = ReceiveSignals {
        machine,
        rows: vec![(at, MachineState::Active), (at.plus_s(500), MachineState::Ready)],
        cycles: Vec::new(),
        covers: None,
        clock: None,
    };
    site::submit(book, site, signals).await.unwrap();
}

fn a_shop_with(cuts: i64) -> Shop {
    let shop = Shop::new("north", Berlin);
    shop.with_book(async |book| {
        for number in 0..cuts {
            cut(book, &shop, number).await;
        }
    });
    shop
}

#[test]
fn an_exported_ledger_is_checked_alone_and_against_the_ledger_that_goes_on() {
    let shop = a_shop_with(5);
    let file = shop.path("north.jsonl").to_str().unwrap().to_owned();
    let said = shop.run(&["export", "ledger", "--out", &file]).ok();
    assert!(said.starts_with("8 entries written to "), "{said}");
    let again = shop.run(&["export", "ledger", "--out", &file]).refused(1);
    assert!(
        again.contains("is there already; nothing is ever written over"),
        "{again}"
    );
    // To standard output it is the same but for the instant of the export.
    let printed = shop.run(&["export", "ledger"]).ok();
    let (printed, written) = (printed.lines().skip(1), fs::read_to_string(&file).unwrap());
    assert!(printed.eq(written.lines().skip(1)));

    let alone = spindlebook(&["verify", "--file", &file, "--json"]).json();
    assert_eq!(
        (alone["sound"].as_bool(), alone["entries"].as_u64()),
        (Some(true), Some(8))
    );
    shop.with_book(async |book| cut(book, &shop, 5).await);
    assert!(
        shop.run(&["verify", "--against", &file])
            .ok()
            .starts_with("north: 9 entries")
    );
    let key = alone["signed_by"].as_str().unwrap();
    spindlebook(&["verify", "--file", &file, "--public-key", key]).ok();
    let other = "A".repeat(43) + "=";
    let signed_by_another = spindlebook(&["verify", "--file", &file, "--public-key", &other]);
    assert_eq!(signed_by_another.exit, 1);
    assert!(
        signed_by_another.out.contains("it is signed by another key"),
        "{}",
        signed_by_another.out
    );
}

#[test]
fn a_tampered_file_is_found_with_the_entry_that_was_changed() {
    let shop = a_shop_with(3);
    let file = shop.path("north.jsonl").to_str().unwrap().to_owned();
    shop.run(&["export", "ledger", "--out", &file]).ok();
    let text = fs::read_to_string(&file).unwrap();
    let tampered = |from: &str, to: &str| {
        assert!(text.contains(from), "{text}");
        let file = shop.write("tampered.jsonl", &text.replacen(from, to, 1));
        let ran = spindlebook(&["verify", "--file", &file]);
        assert_eq!(ran.exit, 1, "{}", ran.out);
        assert!(
            ran.err.contains("the ledger of north is not sound"),
            "{}",
            ran.err
        );
        ran.out
    };
    assert!(tampered("Mill 1", "Mill 2").contains("entry 3: its hash does not follow"));
    let without = text
        .lines()
        .filter(|line| !line.starts_with("{\"seq\":4,"))
        .collect::<Vec<_>>()
        .join("\n");
    let file = shop.write("tampered.jsonl", &without);
    assert!(
        spindlebook(&["verify", "--file", &file])
            .out
            .contains("expected entry 4, found entry 5")
    );
}

#[test]
fn a_ledger_that_is_not_the_exported_one_is_found() {
    let shop = a_shop_with(2);
    let backup = folder();
    let copy = backup
        .path()
        .join("spindlebook.sqlite")
        .to_str()
        .unwrap()
        .to_owned();
    shop.run(&["backup", "--to", &copy]).ok();
    fs::copy(
        shop.path("signing-key.pem"),
        backup.path().join("signing-key.pem"),
    )
    .ok();
    shop.with_book(async |book| cut(book, &shop, 2).await);
    let file = shop.path("north.jsonl").to_str().unwrap().to_owned();
    shop.run(&["export", "ledger", "--out", &file]).ok();
    fs::copy(
        shop.path("signing-key.pem"),
        backup.path().join("signing-key.pem"),
    )
    .unwrap();
    // The older copy is sound in itself, but what was exported is not all in it.
    on(backup.path(), &["verify"]).ok();
    let cut_short = on(backup.path(), &["verify", "--against", &file]);
    assert_eq!(cut_short.exit, 1);
    assert!(
        cut_short
            .out
            .contains("entry 6 was exported, but the ledger ends with entry 5"),
        "{}",
        cut_short.out
    );
    let other = a_shop_with(2);
    other.run(&["export", "ledger"]).ok();
    let refused = other.run(&["verify", "--against", &file]).refused(1);
    assert!(refused.contains("it is an export of another site"), "{refused}");
}

#[test]
fn rebuilding_gives_the_same_rows() {
    let shop = a_shop_with(3);
    let said = shop.run(&["rebuild"]).ok();
    assert!(said.contains("rows written from 6 entries"), "{said}");
    assert!(shop.run(&["verify"]).ok().contains("are sound"));
}

#[test]
fn a_backup_is_consistent_while_commands_go_on_and_is_never_written_over() {
    let shop = Shop::new("north", Berlin);
    let backup = folder();
    let copy = backup.path().join("spindlebook.sqlite");
    let stop = AtomicBool::new(false);
    let at_least = 20;
    let written = std::thread::scope(|threads| {
        let writer = threads.spawn(|| {
            shop.with_book(async |book| {
                let mut number = 0;
                while number < at_least || !stop.load(Ordering::SeqCst) {
                    cut(book, &shop, number).await;
                    number += 1;
                }
                u64::try_from(number).unwrap()
            })
        });
        let done = shop
            .binary()
            .run(&["backup", "--to", copy.to_str().unwrap()])
            .unwrap();
        stop.store(true, Ordering::SeqCst);
        assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
        writer.join().unwrap()
    });
    let copied = on(backup.path(), &["verify", "--json"]).json();
    let entries = copied["entries"].as_u64().unwrap();
    assert_eq!(copied["sound"], true, "{copied}");
    assert!((3..=3 + written).contains(&entries), "{entries} of {written}");
    let whole = shop.run(&["verify", "--json"]).json()["entries"]
        .as_u64()
        .unwrap();
    assert_eq!(whole, 3 + written);
    let before = fs::read(&copy).unwrap();
    let refused = shop.run(&["backup", "--to", copy.to_str().unwrap()]).refused(1);
    assert!(refused.contains("is there already"), "{refused}");
    assert_eq!(fs::read(&copy).unwrap(), before);
    let left = fs::read_dir(backup.path()).unwrap().filter(|file| {
        file.as_ref()
            .unwrap()
            .file_name()
            .to_str()
            .unwrap()
            .contains("draft")
    });
    assert_eq!(left.count(), 0);
}

/// Every table of the database, with a hash of all that is in it.
async fn tables(url: &str) -> BTreeMap<String, Option<String>> {
    let mut connection = PgConnection::connect(url).await.unwrap();
    let names: Vec<String> = sqlx::query_scalar(
        "SELECT table_name::text FROM information_schema.tables WHERE table_schema = 'public'",
    )
    .fetch_all(&mut connection)
    .await
    .unwrap();
    let mut tables = BTreeMap::new();
    for name in names {
        let rows = format!("SELECT md5(string_agg(t::text, '|' ORDER BY t::text)) FROM {name} AS t");
        let hash = sqlx::query_scalar(AssertSqlSafe(rows))
            .fetch_one(&mut connection)
            .await
            .unwrap();
        tables.insert(name, hash);
    }
    tables
}

/// The state that the entries give, in one number.
fn state_hash(book: &Book, site: SiteId) -> [u8; 32] {
    let shop = book.shop(site).unwrap();
    Sha256::digest(serde_json::to_vec(&*shop).unwrap()).into()
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_pg_restore_brings_back_is_the_same_ledger_and_goes_on() {
    let cluster = DurableCluster::start().await.unwrap();
    let data = folder();
    let opened = async |url: &str| {
        let store = Store::open(url, 4).await.unwrap();
        Book::open(store, Arc::new(SystemClock), QUEUE_MAX).await.unwrap()
    };
    let book = opened(&cluster.url()).await;
    let site = site::create(book.store(), &SystemClock, "north", Berlin)
        .await
        .unwrap();
    book.open_site(site).await.unwrap();
    let (_, machines) = site::add_cell_of(&book, site, 1).await.unwrap();
    for number in 0..20 {
        cut_on(&book, site, machines[0], number).await;
    }
    let whole = tables(&cluster.url()).await;
    let copy = data.path().join("north.dump");
    let ran = |url: &str, arguments: &[&str]| {
        let done = binary(data.path(), Some(url)).run(arguments).unwrap();
        assert!(
            done.status.success(),
            "{arguments:?}: {}",
            String::from_utf8_lossy(&done.stderr)
        );
        String::from_utf8(done.stdout).unwrap()
    };
    ran(&cluster.url(), &["backup", "--to", copy.to_str().unwrap()]);
    let then = state_hash(&book, site);
    // What comes after the backup is not in it.
    cut_on(&book, site, machines[0], 20).await;
    let url = cluster.restore(&copy, "restored").await.unwrap();
    assert_eq!(tables(&url).await, whole);
    let verified: serde_json::Value = serde_json::from_str(&ran(&url, &["verify", "--json"])).unwrap();
    assert_eq!(verified["sound"], true, "{verified}");
    let restored = opened(&url).await;
    assert_eq!(state_hash(&restored, site), then);
    cut_on(&restored, site, machines[0], 20).await;
    assert_eq!(
        restored.current(site).unwrap().head.seq,
        book.current(site).unwrap().head.seq
    );
    // Its triggers came with it.
    let mut raw = PgConnection::connect(&url).await.unwrap();
    let refused = sqlx::query("DELETE FROM entry")
        .execute(&mut raw)
        .await
        .unwrap_err()
        .to_string();
    assert!(refused.contains("append-only"), "{refused}");
}

/// Also the road of every other command onto PostgreSQL.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_postgres_is_backed_up_by_its_own_program() {
    let cluster = DurableCluster::start().await.unwrap();
    let (url, data) = (cluster.url(), folder());
    let program = binary(data.path(), Some(&url));
    let run = |arguments: &[&str]| {
        let done = program.run(arguments).unwrap();
        let said = String::from_utf8_lossy(&done.stderr).into_owned();
        assert!(done.status.success(), "{arguments:?}: {said}");
        String::from_utf8(done.stdout).unwrap()
    };
    run(&["site", "add", "north", "--zone", "Europe/Berlin"]);
    assert!(run(&["verify"]).starts_with("north: 1 entries"));
    let copy = data.path().join("north.dump");
    let said = run(&["backup", "--to", copy.to_str().unwrap(), "--json"]);
    assert!(said.contains("pg_dump custom"), "{said}");
    // The signature of pg_dump's custom format.
    assert!(fs::read(&copy).unwrap().starts_with(b"PGDMP"));
    let without = program
        .command(&["backup", "--to", "other.dump"])
        .env("PATH", "")
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&without.stderr).into_owned();
    assert_eq!(without.status.code(), Some(1));
    assert!(said.contains("there is none on the path"), "{said}");
}

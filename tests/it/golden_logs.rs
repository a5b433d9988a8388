//! R17: the ledger of every release is read for ever. Restored from its export it verifies, comes to the same shop and
//! to the same hours, on both engines.

use serde_json::Value;
use sha2::{Digest, Sha256};
use spindlebook::book::verify;
use spindlebook::cli::{Terminal, run_with};
use spindlebook_domain::event::Event;
use spindlebook_store::Store;
use spindlebook_tests::app::TestApp;
use spindlebook_tests::engine::{Engine, Storage};
use spindlebook_tests::golden::{Expected, GoldenLog, folder, hours, tell};
use std::collections::BTreeSet;
use std::ffi::OsString;
use std::fs;
use std::path::{Path, PathBuf};

/// Every release has its log. A new one adds a name here and never takes one away.
const RELEASES: [&str; 1] = ["release-0.1"];

/// Kinds that older ledgers hold and that no command gives any more.
const NO_LONGER_TOLD: [&str; 1] = ["hold.accepted"];

fn file(release: &str, ending: &str) -> PathBuf {
    folder().join(format!("{release}.{ending}"))
}

fn read(release: &str) -> (GoldenLog, Expected) {
    let expected = fs::read_to_string(file(release, "expected.json")).unwrap();
    (
        GoldenLog::read(&file(release, "jsonl")).unwrap(),
        serde_json::from_str(&expected).unwrap(),
    )
}

/// What stands in the columns of `kept`; later releases may add columns.
fn same_columns(kept: &str, now: &str) -> Vec<Vec<String>> {
    let columns = |text: &str| -> Vec<String> {
        text.lines()
            .next()
            .unwrap()
            .split(',')
            .map(str::to_owned)
            .collect()
    };
    let (wanted, there) = (columns(kept), columns(now));
    let places: Vec<usize> = wanted
        .iter()
        .map(|column| {
            there
                .iter()
                .position(|it| it == column)
                .unwrap_or_else(|| panic!("no column `{column}` any more"))
        })
        .collect();
    let mut rows = csv::ReaderBuilder::new()
        .has_headers(false)
        .from_reader(now.as_bytes());
    rows.records()
        .map(|row| row.unwrap())
        .map(|row| places.iter().map(|place| row[*place].to_owned()).collect())
        .collect()
}

/// Later releases may know more of a thing, never something else.
fn holds_all_of(place: &str, kept: &Value, now: &Value) {
    match (kept, now) {
        (Value::Object(kept), Value::Object(now)) => {
            for (name, kept) in kept {
                let place = format!("{place}/{name}");
                let now = now
                    .get(name)
                    .unwrap_or_else(|| panic!("{place} is there no more"));
                holds_all_of(&place, kept, now);
            }
        }
        (Value::Array(kept), Value::Array(now)) => {
            assert_eq!(kept.len(), now.len(), "{place}");
            for (position, (kept, now)) in kept.iter().zip(now).enumerate() {
                holds_all_of(&format!("{place}/{position}"), kept, now);
            }
        }
        _ => assert_eq!(kept, now, "{place}"),
    }
}

async fn a_log_comes_to_what_it_came_to_then(engine: Engine, release: &str) {
    let (log, expected) = read(release);
    assert_eq!(log.entries.len() as u64, expected.entries);
    assert_eq!(hex::encode(log.entries.last().unwrap().hash), expected.head_hash);
    let kept = fs::read(file(release, "shop.json")).unwrap();
    assert_eq!(hex::encode(Sha256::digest(&kept)), expected.shop_sha256);
    let kept: Value = serde_json::from_slice(&kept).unwrap();
    let now = serde_json::to_value(log.shop().unwrap()).unwrap();
    holds_all_of("shop", &kept, &now);
    let app = TestApp::new(engine).await;
    let now = hours(&app, &log, &expected).await.unwrap();
    let kept = fs::read_to_string(file(release, "hours.csv")).unwrap();
    let (then, now) = (same_columns(&kept, &kept), same_columns(&kept, &now));
    assert_eq!(then.len(), now.len(), "{release}: another number of rows");
    for (then, now) in then.iter().zip(&now) {
        assert_eq!(then, now, "{release}");
    }
    let report = verify(&app.store, log.site, None, &mut |_| {}).await.unwrap();
    assert!(report.is_sound(), "{:?}", report.faults);
    assert_eq!(report.head.seq, expected.entries);
}

fn verified_alone(path: &Path) -> (u8, String) {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let arguments = ["spindlebook", "verify", "--file"]
        .map(OsString::from)
        .into_iter()
        .chain([path.into()]);
    let code = run_with(
        arguments,
        &mut Terminal {
            out: &mut out,
            err: &mut err,
            watched: false,
        },
    );
    (code, String::from_utf8([out, err].concat()).unwrap())
}

spindlebook_tests::on_both_engines! {
    async fn every_release_is_read_for_ever(engine) {
        for release in RELEASES {
            a_log_comes_to_what_it_came_to_then(engine, release).await;
        }
    }

    async fn the_next_golden_log_will_hold_every_kind(engine) {
        let storage = Storage::new(engine).await.unwrap();
        let store = Store::open_for_tests(&storage.url, 4).await.unwrap();
        let told = tell(&store, "golden").await.unwrap();
        let entries = spindlebook_store::entry::after(&mut store.session().await.unwrap(), told.site, 0, 1_000).await.unwrap();
        let kinds: BTreeSet<&str> = entries.iter().map(|entry| entry.envelope.kind.as_str()).collect();
        let told_now = Event::KINDS.iter().map(|(kind, _)| *kind).filter(|kind| !NO_LONGER_TOLD.contains(kind));
        assert_eq!(kinds, told_now.collect(), "tell of it in golden/story.rs");
        let report = verify(&store, told.site, None, &mut |_| {}).await.unwrap();
        assert!(report.is_sound(), "{:?}", report.faults);
    }
}

#[test]
fn every_golden_log_is_tested_and_checks_without_a_database() {
    let logs: BTreeSet<String> = fs::read_dir(folder())
        .unwrap()
        .filter_map(|entry| {
            entry
                .unwrap()
                .file_name()
                .to_str()?
                .strip_suffix(".jsonl")
                .map(str::to_owned)
        })
        .collect();
    assert_eq!(
        logs,
        RELEASES.iter().map(|release| (*release).to_owned()).collect()
    );
    for release in RELEASES {
        let (code, said) = verified_alone(&file(release, "jsonl"));
        assert_eq!(code, 0, "{said}");
    }
}

#[test]
fn a_golden_log_that_was_touched_is_not_read() {
    let text = fs::read_to_string(file(RELEASES[0], "jsonl")).unwrap();
    let touched = text.replacen("ACTIVE", "READY", 1);
    assert_ne!(text, touched);
    let copy = tempfile::NamedTempFile::new().unwrap();
    fs::write(copy.path(), touched).unwrap();
    assert_eq!(verified_alone(copy.path()).0, 1);
}

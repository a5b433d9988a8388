//! `import signals` and `report hours`.

use super::nist::{self, closed_log, truth_by_day, truth_by_week};
use super::shop::Shop;
use chrono_tz::{America::New_York, Etc::GMTPlus5, Europe::Berlin};
use serde_json::Value;

const ALL: [&str; 6] = ["report", "hours", "--cell", "C1", "--from", "2016-05-02"];

/// The API takes 400 days at once; the command line has no such limit.
fn report(shop: &Shop, by: &str) -> Value {
    shop.run(&[&ALL[..], &["--to", "2020-12-31", "--by", by, "--json"]].concat())
        .json()
}

#[test]
fn machine_03_by_import_and_report_equals_the_truth_tables_by_day() {
    // Day files run from 05:00Z to 05:00Z all year, which is midnight five hours west of Greenwich.
    let shop = Shop::new("west", GMTPlus5);
    let file = shop.write("machine03.csv", &closed_log());
    let imported = shop
        .run(&["import", "signals", "--machine", "M1", &file, "--json"])
        .json();
    let count = |name: &str| imported[name].as_u64().unwrap();
    assert_eq!(
        count("new") + count("already_there") + count("superseded"),
        count("rows")
    );
    assert!(count("new") > 20_000, "{imported}");
    nist::assert_rows_equal(&report(&shop, "day"), &truth_by_day(), 0.0);
    assert!(shop.run(&["verify"]).ok().contains("are sound"));
}

#[test]
fn machine_03_by_import_and_report_equals_the_truth_tables_by_iso_week() {
    let shop = Shop::new("newyork", New_York);
    let file = shop.write("machine03.csv", &closed_log());
    shop.run(&["import", "signals", "--machine", "m1", &file]).ok();
    nist::assert_rows_equal(&report(&shop, "week"), &truth_by_week(), nist::WEEK_TABLE_S);
    let csv = shop
        .run(&[&ALL[..], &["--to", "2016-05-16", "--by", "week", "--csv"]].concat())
        .ok();
    assert!(csv.starts_with("row_kind,row,date,from,to,"), "{csv}");
    assert!(csv.contains("week,2016-W18,2016-05-02,"), "{csv}");
}

const LOG: &str = "timestamp,state\n\
    2026-11-10T06:00:00Z,ACTIVE\n\
    2026-11-10T07:00:00Z,READY\n\
    2026-11-10T06:30:00Z,FEED_HOLD\n\
    2026-11-10T06:40:00Z,ACTIVE\n\
    2026-11-10T07:00:00Z,STOPPED\n";

#[test]
fn a_second_import_of_a_file_changes_nothing_and_a_longer_one_adds_what_is_new() {
    let shop = Shop::new("north", Berlin);
    let file = shop.write("log.csv", LOG);
    let import = |file: &str| shop.run(&["import", "signals", "--machine", "M1", file]).ok();
    let entries = || {
        shop.run(&["site", "list", "--json"]).json()[0]["entries"]
            .as_u64()
            .unwrap()
    };
    let before = entries();
    assert_eq!(
        import(&file),
        format!(
            "M1: 4 new as entry {}, 0 already there, 1 replaced by a later row of the same instant; 1 of 5 rows were \
             out of order\n",
            before + 1
        )
    );
    assert!(import(&file).starts_with("M1: 0 new, 5 already there"));
    assert_eq!(entries(), before + 1);
    let longer = shop.write("longer.csv", &format!("{LOG}2026-11-10T08:00:00Z,ACTIVE\n"));
    assert!(import(&longer).starts_with(&format!("M1: 1 new as entry {}, 4 already there", before + 2)));
    assert_eq!(entries(), before + 2);
}

#[test]
fn with_one_bad_row_nothing_is_imported() {
    let shop = Shop::new("north", Berlin);
    let before = shop.run(&["site", "list", "--json"]).ok();
    let import = |machine: &str, content: &str| {
        let file = shop.write("log.csv", content);
        shop.run(&["import", "signals", "--machine", machine, &file])
            .refused(1)
    };
    let bad = import("M1", &format!("{LOG}2026-11-10T08:00:00Z,CUTTING\n"));
    assert!(
        bad.contains("nothing was imported") && bad.contains("line 7, column state: `CUTTING`"),
        "{bad}"
    );
    let early = import("M1", &format!("{LOG}2199-11-10T08:00:00Z,ACTIVE\n"));
    assert!(
        early.contains("lies in the future") && early.contains("Nothing was imported"),
        "{early}"
    );
    let unknown = import("M9", LOG);
    assert!(
        unknown.contains("there is no machine `M9` at this site; there are: M1"),
        "{unknown}"
    );
    assert_eq!(shop.run(&["site", "list", "--json"]).ok(), before);
}

#[test]
fn a_report_names_what_it_does_not_find() {
    let shop = Shop::new("north", Berlin);
    let asked = |cell: &str, from: &str, exit: u8| {
        shop.run(&[
            "report",
            "hours",
            "--cell",
            cell,
            "--from",
            from,
            "--to",
            "2026-11-11",
            "--by",
            "day",
        ])
        .refused(exit)
    };
    assert!(asked("C9", "2026-11-10", 1).contains("there is no cell `C9` at this site; there are: C1"));
    assert!(asked("C1", "2027-03-28T02:30", 2).contains("does not exist in Europe/Berlin"));
    assert!(asked("C1", "2026-11-11", 2).contains("is not before --to"));
    let nowhere =
        super::spindlebook(&["verify", "--data", shop.path("nothing").to_str().unwrap()]).refused(1);
    assert!(nowhere.contains("there is no ledger in"), "{nowhere}");
    assert!(!shop.path("nothing").exists(), "a wrong folder is not made");
}

#[test]
fn settings_come_from_a_file_too_and_what_is_typed_counts_more() {
    let shop = Shop::new("north", Berlin);
    shop.run(&["site", "add", "south", "--zone", "Asia/Kolkata"]).ok();
    let config = shop.write("spindlebook.toml", "data = \".\"\nsite = \"south\"\n");
    let verified =
        |more: &[&str]| super::spindlebook(&[&["verify", "--config", config.as_str()], more].concat());
    assert!(verified(&[]).ok().starts_with("south: 1 entries"));
    assert!(verified(&["--site", "north"]).ok().starts_with("north: "));
    let wrong = shop.write("spindlebook.toml", "datta = \".\"\n");
    let refused = super::spindlebook(&["verify", "--config", &wrong]).refused(2);
    assert!(refused.contains("unknown field `datta`"), "{refused}");
}

#[test]
fn of_several_sites_one_has_to_be_named() {
    let shop = Shop::new("north", Berlin);
    shop.run(&["site", "add", "south", "--zone", "Asia/Kolkata"]).ok();
    let taken = shop
        .run(&["site", "add", "South", "--zone", "Asia/Kolkata"])
        .refused(1);
    assert!(taken.contains("exists already"), "{taken}");
    let which = shop.run(&["verify"]).refused(2);
    assert!(which.contains("--site (north, south)"), "{which}");
    assert!(
        shop.run(&["verify", "--site", "SOUTH"])
            .ok()
            .starts_with("south: 1 entries")
    );
}

//! `spindlebook plan bench`. Sources of the problems: tests/data/scheduling/README.md.

use super::shop::Shop;
use super::spindlebook;
use flate2::Compression;
use flate2::write::GzEncoder;
use serde_json::Value;
use spindlebook_tests::tidy::source::root;
use std::fs;
use std::io::Write;

fn scheduling(name: &str) -> String {
    root()
        .join("tests/data/scheduling")
        .join(name)
        .display()
        .to_string()
}

fn lines(out: &str) -> Vec<Value> {
    out.lines()
        .map(|line| serde_json::from_str(line).unwrap())
        .collect()
}

#[test]
fn published_problems_are_solved_with_a_line_each() {
    let file = scheduling("jobshop.json");
    let ran = spindlebook(&[
        "plan",
        "bench",
        &file,
        "--seconds",
        "20",
        "--only",
        "la05",
        "--only",
        "la01",
    ]);
    let lines = lines(&ran.ok());
    assert_eq!(lines.len(), 2);
    // Lawrence 1984: 666 and 593, which the fullest machine proves, so the search ends as soon as it is there.
    for (line, (name, optimum)) in lines.iter().zip([("la01", 666), ("la05", 593)]) {
        assert_eq!(line["name"], name);
        assert_eq!(line["objective"], optimum);
        assert_eq!(line["published"], optimum);
        assert_eq!(line["lower_bound"], optimum);
        assert!(line["seconds"].as_f64().unwrap() < 20.0);
        assert_eq!(line.get("schedule"), None);
    }
}

#[test]
fn a_packed_file_and_the_schedule_of_a_pool() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("small.json.gz");
    let mut packed = GzEncoder::new(fs::File::create(&file).unwrap(), Compression::fast());
    // By hand: clamped 0 to 10, cut 10 to 40, unloaded 40 to 45, 5 late, times 3.
    let pool = r#"{"loads":[{"id":7,"fixture":"A","setup":10,"cut":30,"unload":5,"weight":3,"due":40}],
        "pallets":1,"fixtures":{"A":1},"attended":[[0,100]],"start":0}"#;
    packed.write_all(pool.as_bytes()).unwrap();
    packed.finish().unwrap();
    let file = file.display().to_string();
    let line = spindlebook(&[
        "plan",
        "bench",
        &file,
        "--seconds",
        "0.05",
        "--schedule",
        "--workers",
        "1",
    ])
    .json();
    assert_eq!(line["name"], "small");
    assert_eq!(line["objective"], 15);
    assert_eq!(line["lower_bound"], 15);
    assert_eq!(line["published"], Value::Null);
    let at = serde_json::json!([{"id": 7, "setup_start": 0, "cut_start": 10, "unload_start": 40}]);
    assert_eq!(line["schedule"], at);
}

#[test]
fn what_is_wrong_is_said_and_nothing_is_printed() {
    let file = scheduling("wt40.json");
    let said = spindlebook(&["plan", "bench", &file, "--only", "126"]).refused(2);
    assert!(said.contains("--only 126: no problem is called so"), "{said}");
    spindlebook(&["plan", "bench", &file, "--seconds", "0"]).refused(2);
    let said = spindlebook(&["plan", "bench", &scheduling("README.md")]).refused(1);
    assert!(said.contains("README.md: this is no JSON"), "{said}");
    spindlebook(&["plan", "bench", &scheduling("none.json")]).refused(1);
}

/// On a shop without work: the words and the exit codes. What plans say is tested in `planning`.
#[test]
fn a_shop_is_planned_from_the_command_line() {
    let shop = Shop::new("NORTH", chrono_tz::Europe::Berlin);
    let quick = ["--iterations", "50", "--seed", "2"];
    let run = |arguments: &[&str]| shop.run(&[arguments, &quick].concat());
    let plan = run(&["plan", "make"]).ok();
    assert!(
        plan.contains("C1: 0:00 spindle hours planned") && plan.contains("nothing to cut"),
        "{plan}"
    );
    let json: Value = serde_json::from_str(&run(&["plan", "make", "--json", "--publish"]).ok()).unwrap();
    assert_eq!(
        (&json["cells"][0]["cell_code"], &json["lines"]),
        (&Value::from("C1"), &Value::Array(Vec::new()))
    );
    let ledger = shop.run(&["export", "ledger"]).ok();
    assert!(ledger.contains("plan.published"), "{ledger}");
    let night = run(&["plan", "night", "--cell", "C1"]).ok();
    assert!(night.starts_with("Within two weeks"), "{night}");
    for (arguments, code, words) in [
        (&["plan", "night", "--cell", "C9"][..], 1, "there is no cell `C9`"),
        (
            &["plan", "rush", "--part", "4711", "--quantity", "4"],
            1,
            "there is no part `4711`",
        ),
        (
            &["plan", "promise", "--part", "4711", "--quantity", "4"],
            1,
            "there is no part `4711`",
        ),
        (
            &["plan", "promise", "--part", "4711", "--quantity", "0"],
            2,
            "--quantity",
        ),
        (&["plan", "make", "--days", "32"], 2, "--days"),
    ] {
        let ran = run(arguments);
        assert_eq!(ran.exit, code, "{arguments:?}");
        assert!(ran.err.contains(words), "{}", ran.err);
    }
}

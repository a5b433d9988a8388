//! Machine 03 of the NIST Smart Manufacturing Systems Test Bed: source, licence and convention in
//! tests/data/nist/README.md.

use super::spindlebook;
use chrono::{DateTime, Days, NaiveDate, NaiveTime, SecondsFormat, Utc};
use std::collections::BTreeMap;
use std::fmt::Write;
use std::fs;
use tempfile::TempDir;

/// Truth and report may differ by this much a row: reports are in whole seconds.
const TOLERANCE_S: f64 = 0.5;
/// The table by week is printed in hours with four digits: half of the last one.
pub const WEEK_TABLE_S: f64 = 0.18;

fn data(name: &str) -> String {
    fs::read_to_string(format!("{}/data/nist/{name}", env!("CARGO_MANIFEST_DIR"))).unwrap()
}

/// Day files end at 05:00Z all year; a state does not last beyond the end of its file.
fn end_of_file(day: &str) -> DateTime<Utc> {
    let day = NaiveDate::parse_from_str(day, "%Y%m%d").unwrap() + Days::new(1);
    day.and_time(NaiveTime::from_hms_opt(5, 0, 0).unwrap()).and_utc()
}

/// The log as a shop would hand it in, each day file closed with UNAVAILABLE.
pub fn closed_log() -> String {
    let text = data("machine03_execution.csv");
    let lines: Vec<(&str, DateTime<Utc>, &str)> = text
        .lines()
        .skip(1)
        .map(|line| {
            let [day, timestamp, state] = line.split(',').collect::<Vec<_>>().try_into().unwrap();
            (day, timestamp.parse().unwrap(), state)
        })
        .collect();
    let mut log = String::from("timestamp,state\n");
    let nexts = lines.iter().skip(1).map(Some).chain([None]);
    for ((day, at, state), next) in lines.iter().zip(nexts) {
        let micros = |at: DateTime<Utc>| at.to_rfc3339_opts(SecondsFormat::Micros, true);
        writeln!(log, "{},{state}", micros(*at)).unwrap();
        let end = end_of_file(day);
        if *at < end && next.is_none_or(|(next_day, _, _)| next_day != day) {
            writeln!(log, "{},UNAVAILABLE", micros(end)).unwrap();
        }
    }
    log
}

/// Seconds of ACTIVE by name of row.
fn truth(file: &str, name: impl Fn(&str) -> String, unit_s: f64) -> BTreeMap<String, f64> {
    let text = data(file);
    let row = |line: &str| {
        let mut fields = line.split(',');
        let key = name(fields.next().unwrap());
        (key, fields.next().unwrap().parse::<f64>().unwrap() * unit_s)
    };
    text.lines().skip(1).map(row).collect()
}

pub fn truth_by_day() -> BTreeMap<String, f64> {
    let dashed = |day: &str| format!("{}-{}-{}", &day[..4], &day[4..6], &day[6..]);
    truth("machine03_truth_day.csv", dashed, 1.0)
}

pub fn truth_by_week() -> BTreeMap<String, f64> {
    truth("machine03_truth_week.csv", str::to_owned, 3_600.0)
}

/// Every row of the report has the truth's seconds; a row that the truth does not know has none.
pub fn assert_rows_equal(report: &serde_json::Value, truth: &BTreeMap<String, f64>, printed_to_s: f64) {
    let rows = report["rows"].as_array().unwrap();
    let mut found = 0;
    for row in rows {
        let name = row["name"].as_str().unwrap();
        let expected = truth
            .get(name)
            .inspect(|_| found += 1)
            .copied()
            .unwrap_or_default();
        let figures = &row["total"];
        let realised_s = figures["realised_s"].as_f64().unwrap();
        assert!(
            (realised_s - expected).abs() <= TOLERANCE_S + printed_to_s,
            "{name}: {realised_s} s for {expected} s"
        );
        let spent = ["realised_s", "off_s", "down_s", "not_known_s", "stopped_in_run_s"];
        let spent: i64 = spent.iter().map(|name| figures[name].as_i64().unwrap()).sum();
        let idle_s = figures["idle_s"].as_i64().unwrap_or_else(|| {
            ["idle_attended_s", "idle_unattended_s"]
                .iter()
                .map(|name| figures[name].as_i64().unwrap())
                .sum()
        });
        assert_eq!(Some(spent + idle_s), figures["window_s"].as_i64(), "{name}");
    }
    assert_eq!(found, truth.len());
}

fn log_file() -> (TempDir, String) {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("machine03.csv");
    fs::write(&file, closed_log()).unwrap();
    let file = file.to_str().unwrap().to_owned();
    (folder, file)
}

#[test]
fn hours_straight_from_the_log_equal_the_truth_table_by_day() {
    let (_folder, file) = log_file();
    // Day files run from 05:00Z to 05:00Z all year, which is midnight five hours west of Greenwich.
    let report = spindlebook(&["hours", &file, "--zone", "Etc/GMT+5", "--by", "day", "--json"]).json();
    assert_rows_equal(&report, &truth_by_day(), 0.0);
    assert_eq!(report["calendar_known"], false);
}

#[test]
fn hours_straight_from_the_log_equal_the_truth_table_by_iso_week() {
    let (_folder, file) = log_file();
    let report = spindlebook(&[
        "hours",
        &file,
        "--zone",
        "America/New_York",
        "--by",
        "week",
        "--json",
    ])
    .json();
    assert_rows_equal(&report, &truth_by_week(), WEEK_TABLE_S);
}

#[test]
fn the_table_names_zone_rule_denominator_and_what_became_of_the_rows() {
    let (_folder, file) = log_file();
    let printed = spindlebook(&["hours", &file, "--zone", "America/New_York", "--by", "week"]).ok();
    for told in [
        "by ISO week of calendar days, from midnight to midnight",
        "times of America/New_York",
        "of window: realised ÷ window",
        "no shift calendar given: attended and unattended are not told apart",
        "rows read: ",
    ] {
        assert!(printed.contains(told), "{told}\n{printed}");
    }
    let row = |name: &str| printed.lines().find(|line| line.starts_with(name)).unwrap();
    assert!(row("2019-W05").contains(" 15.24 "), "{printed}");
    // The total of the truth table: 287.83 h.
    assert!(row("total ").contains(" 287.83 "), "{printed}");
}

/// Counted independently, with the truth tables: 150 rows step back in time, 1,040 share the instant of a later one, and
/// 1,250 repeat the state before them in time, those 1,040 included.
#[test]
fn out_of_order_and_repeated_rows_are_counted() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("machine03.csv");
    fs::write(&file, data("machine03_execution.csv")).unwrap();
    let file = file.to_str().unwrap();
    let report = spindlebook(&["hours", file, "--zone", "UTC", "--by", "month", "--json"]).json();
    let counts = [
        "rows_read",
        "rows_out_of_order",
        "rows_superseded",
        "rows_unchanged",
    ];
    assert_eq!(
        counts.map(|name| report[name].as_u64().unwrap()),
        [26_409, 150, 1_040, 1_250 - 1_040]
    );
    assert_eq!(report["columns_left_alone"][0], "file_day");
}

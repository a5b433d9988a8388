//! `spindlebook hours` on small logs.

use super::{Ran, spindlebook};
use std::fs;
use std::io::Write;
use std::process::Stdio;
use tempfile::TempDir;

struct Files(TempDir);

impl Files {
    fn new(log: &str) -> Self {
        let files = Self(tempfile::tempdir().unwrap());
        fs::write(files.0.path().join("log.csv"), format!("timestamp,state\n{log}")).unwrap();
        files
    }

    fn with_shifts(self, toml: &str) -> Self {
        fs::write(self.0.path().join("shifts.toml"), toml).unwrap();
        self
    }

    fn hours(&self, options: &[&str]) -> Ran {
        let path = |name: &str| self.0.path().join(name).to_str().unwrap().to_owned();
        let mut arguments = vec!["hours".to_owned(), path("log.csv")];
        arguments.extend(options.iter().map(|option| match *option {
            "shifts.toml" => path("shifts.toml"),
            other => other.to_owned(),
        }));
        spindlebook(&arguments)
    }
}

const NIGHT: &str = r#"
[[shift]]
name = "night"
days = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"]
starts = "22:00"
ends = "06:00"
breaks = [{ starts = "02:00", ends = "02:30" }]
"#;

/// Floor cases E07 and E09: a cut over midnight, and a night shift that cuts through its break.
#[test]
fn a_cut_over_midnight_belongs_to_two_days_or_to_one_shift_and_the_report_says_which() {
    let files =
        Files::new("2026-11-10T23:30:00+01:00,ACTIVE\n2026-11-11T01:10:00+01:00,READY\n").with_shifts(NIGHT);
    let rows = |options: &[&str]| -> Vec<(String, i64)> {
        let base = ["--zone", "Europe/Berlin", "--json", "--shifts", "shifts.toml"];
        let report = files.hours(&[&base[..], options].concat()).json();
        let rows = report["rows"].as_array().unwrap();
        rows.iter()
            .map(|row| {
                (
                    row["date"].as_str().unwrap().to_owned(),
                    row["total"]["realised_s"].as_i64().unwrap(),
                )
            })
            .collect()
    };
    let on = |date: &str, s| (date.to_owned(), s);
    assert_eq!(
        rows(&["--by", "day"]),
        [on("2026-11-10", 1_800), on("2026-11-11", 4_200)]
    );
    assert_eq!(
        rows(&["--by", "day", "--day-rule", "shift-date"]),
        [on("2026-11-10", 6_000)]
    );
    assert_eq!(rows(&["--by", "shift"]), [on("2026-11-10", 6_000)]);
    let table = files
        .hours(&[
            "--zone",
            "Europe/Berlin",
            "--by",
            "day",
            "--shifts",
            "shifts.toml",
        ])
        .ok();
    assert!(
        table.contains("by calendar day, from midnight to midnight: a night shift is cut in two"),
        "{table}"
    );
}

#[test]
fn a_night_that_cuts_through_its_break_is_more_than_its_staffed_hours_and_says_so() {
    let files =
        Files::new("2026-11-10T22:00:00+01:00,ACTIVE\n2026-11-11T06:00:00+01:00,READY\n").with_shifts(NIGHT);
    let options = [
        "--zone",
        "Europe/Berlin",
        "--by",
        "shift",
        "--shifts",
        "shifts.toml",
    ];
    let report = files.hours(&[&options[..], &["--json"]].concat()).json();
    let total = &report["total"];
    assert_eq!(
        (total["realised_s"].as_i64(), total["staffed_s"].as_i64()),
        (Some(28_800), Some(27_000))
    );
    let percents =
        ["realised_of_window", "realised_of_staffed"].map(|share| total[share]["percent"].as_f64().unwrap());
    assert_eq!(
        percents.map(|percent| format!("{percent:.2}")),
        ["100.00", "106.67"]
    );
    let table = files.hours(&options).ok();
    assert!(table.contains("106.7"), "{table}");
    assert!(table.contains("more than 100 %"), "{table}");
    assert!(table.contains("22:00 – 06:00 +1"), "{table}");
}

/// Floor case E02: the night on which Berlin's clocks go forward, from 22:55 to 06:00 + 1.
#[test]
fn a_night_over_a_clock_change_has_the_hours_that_passed() {
    let files = Files::new("2027-03-27T22:00:00+01:00,ACTIVE\n2027-03-28T06:05:00+02:00,READY\n");
    let report = files
        .hours(&["--zone", "Europe/Berlin", "--by", "week", "--json"])
        .json();
    assert_eq!(report["total"]["realised_s"], 7 * 3_600 + 5 * 60);
}

#[test]
fn a_bad_file_prints_nothing_as_if_it_were_right() {
    let files = Files::new("2026-11-10T22:00:00Z,ACTIVE\n2026-11-10 23:00,ready\n");
    let said = files
        .hours(&["--zone", "Europe/Berlin", "--by", "day"])
        .refused(1);
    assert!(said.contains("nothing was computed"), "{said}");
    assert!(
        said.contains("line 3, column timestamp: `2026-11-10 23:00` says no offset to UTC"),
        "{said}"
    );
    let missing = spindlebook(&["hours", "no-such.csv", "--zone", "Europe/Berlin", "--by", "day"]).refused(1);
    assert!(missing.contains("no-such.csv cannot be read"), "{missing}");
}

#[test]
fn wrong_usage_is_told_from_a_wrong_file() {
    let files = Files::new("2026-11-10T22:00:00Z,ACTIVE\n2026-11-10T23:00:00Z,READY\n");
    for (options, told) in [
        (
            &["--zone", "Europe/Berlin", "--by", "shift"][..],
            "--by shift needs the shifts",
        ),
        (&["--zone", "Mars/Olympus", "--by", "day"], "Mars/Olympus"),
        (
            &["--zone", "Europe/Berlin", "--by", "year"],
            "possible values: shift, day, week, month",
        ),
        (
            &[
                "--zone",
                "Europe/Berlin",
                "--by",
                "day",
                "--from",
                "2027-03-28T02:30",
            ],
            "does not exist",
        ),
        (
            &[
                "--zone",
                "Europe/Berlin",
                "--by",
                "day",
                "--to",
                "2026-11-10T21:00:00Z",
            ],
            "is not before --to",
        ),
        (&["--by", "day"], "--zone"),
    ] {
        let said = files.hours(options).refused(2);
        assert!(said.contains(told), "{said}");
    }
}

#[test]
fn a_log_comes_from_standard_input_too() {
    let folder = tempfile::tempdir().unwrap();
    let mut command = super::binary(folder.path(), None).command(&[
        "hours",
        "-",
        "--zone",
        "Europe/Berlin",
        "--by",
        "day",
        "--json",
    ]);
    let mut child = command
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let log = "timestamp,state\n2026-11-10T22:00:00Z,ACTIVE\n2026-11-10T22:20:00Z,READY\n";
    child.stdin.take().unwrap().write_all(log.as_bytes()).unwrap();
    let done = child.wait_with_output().unwrap();
    let report: serde_json::Value = serde_json::from_slice(&done.stdout).unwrap();
    assert_eq!(report["total"]["realised_s"], 1_200);
}

#[test]
fn the_window_can_be_chosen_and_the_last_state_lasts_until_its_end() {
    let files = Files::new("2026-11-10T22:00:00Z,READY\n2026-11-10T23:00:00Z,ACTIVE\n");
    let realised = |options: &[&str]| {
        let base = ["--zone", "Europe/Berlin", "--by", "week", "--json"];
        let total = &files.hours(&[&base[..], options].concat()).json()["total"];
        (
            total["realised_s"].as_i64().unwrap(),
            total["not_known_s"].as_i64().unwrap(),
        )
    };
    assert_eq!(realised(&[]), (0, 0));
    assert_eq!(realised(&["--to", "2026-11-11T00:30:00Z"]), (5_400, 0));
    assert_eq!(realised(&["--from", "2026-11-10"]), (0, 23 * 3_600));
}

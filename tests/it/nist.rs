//! Machine 03 of the NIST Smart Manufacturing Systems Test Bed through the API: signals in batches, hours by day and ISO
//! week. Source, licence and convention in tests/data/nist/README.md.

use crate::served::{Served, instant};
use serde_json::json;
use spindlebook_domain::time::Timestamp;
use spindlebook_tests::engine::Engine;
use spindlebook_tests::tidy::source;
use std::collections::BTreeMap;
use std::fs;

fn data(name: &str) -> Vec<Vec<String>> {
    let text = fs::read_to_string(source::root().join("tests/data/nist").join(name)).unwrap();
    text.lines()
        .skip(1)
        .map(|line| line.split(',').map(str::to_owned).collect())
        .collect()
}

/// Day files run from 05:00Z to 05:00Z all year; a state lasts at most until the end of its file.
fn end_of_file(day: &str) -> Timestamp {
    let date = format!("{}-{}-{}T05:00:00Z", &day[..4], &day[4..6], &day[6..]);
    instant(&date).plus_s(86_400)
}

fn log() -> Vec<(Timestamp, String)> {
    let mut lines: Vec<_> = data("machine03_execution.csv")
        .into_iter()
        .map(|line| (instant(&line[1]), end_of_file(&line[0]), line[2].clone()))
        .collect();
    lines.sort_by_key(|line| line.0);
    let nexts = lines.iter().skip(1).map(|line| line.0).chain([Timestamp::MAX]);
    let closings: Vec<_> = lines
        .iter()
        .zip(nexts)
        .filter(|((at, end, _), next)| at < end && end < next)
        .map(|((_, end, _), _)| (*end, "UNAVAILABLE".to_owned()))
        .collect();
    let mut all: Vec<_> = lines
        .into_iter()
        .map(|(at, _, state)| (at, state))
        .chain(closings)
        .collect();
    all.sort_by_key(|row| row.0);
    all
}

async fn rows_by(served: &Served, by: &str) -> BTreeMap<String, f64> {
    let mut found = BTreeMap::new();
    for (from, to) in [
        ("2016-04-25", "2017-05-01"),
        ("2017-05-01", "2018-05-07"),
        ("2018-05-07", "2019-05-13"),
        ("2019-05-13", "2020-06-01"),
    ] {
        let path = format!("/v1/hours?machine=M03&from={from}&to={to}&by={by}");
        let report = served.viewer().get(&path).await.expect_status(200).json();
        for row in report["rows"].as_array().unwrap() {
            found.insert(
                row["name"].as_str().unwrap().to_owned(),
                row["total"]["realised_s"].as_f64().unwrap(),
            );
        }
    }
    found
}

async fn days_and_weeks_are_those_of_the_truth_tables(engine: Engine) {
    // A zone in which days are those of the files.
    let served = Served::in_zone(engine, chrono_tz::Etc::GMTPlus5, "2026-11-02T12:00:00Z").await;
    let machine = served.add_machine("M03").await;
    let path = format!("/v1/machines/{machine}/signals");
    for batch in log().chunks(4_000) {
        let rows: Vec<_> = batch
            .iter()
            .map(|(at, state)| json!({ "at": at.to_string(), "state": state }))
            .collect();
        served
            .device()
            .post(&path, &json!({ "transitions": rows }))
            .await
            .expect_status(201);
    }
    let days = rows_by(&served, "day").await;
    let truth = data("machine03_truth_day.csv");
    assert_eq!(truth.len(), 250);
    for day in &truth {
        let name = format!("{}-{}-{}", &day[0][..4], &day[0][4..6], &day[0][6..]);
        let active_s: f64 = day[1].parse().unwrap();
        // Half a second, as far as whole seconds can be that near to a truth in thousandths.
        assert!(
            (days[&name] - active_s).abs() <= 0.5005,
            "{name}: {} and {active_s}",
            days[&name]
        );
    }
    let site = served.admin().get("/v1/site").await;
    let body = json!({ "name": "Invented shop", "zone": "America/New_York" });
    served
        .admin()
        .put("/v1/site", &site.etag(), &body)
        .await
        .expect_status(200);
    let weeks = rows_by(&served, "week").await;
    let truth = data("machine03_truth_week.csv");
    assert_eq!(truth.len(), 100);
    for week in &truth {
        let active_s = week[1].parse::<f64>().unwrap() * 3_600.0;
        // The table has four decimals of an hour, which is 0.36 s.
        assert!(
            (weeks[&week[0]] - active_s).abs() <= 0.5 + 0.18,
            "{}: {} and {active_s}",
            week[0],
            weeks[&week[0]]
        );
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 1)]
async fn on_sqlite() {
    days_and_weeks_are_those_of_the_truth_tables(Engine::Sqlite).await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 1)]
async fn on_postgres() {
    days_and_weeks_are_those_of_the_truth_tables(Engine::Postgres).await;
}

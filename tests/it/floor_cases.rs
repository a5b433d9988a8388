//! Cases from the shop floor, numbered E01 and on, asked of the API. What is right in each: common practice, no source.
//! Elapsed time on the nights of clock changes follows the IANA time zone database.
//! E06 (the staffed hours of such nights) stands in site.rs.

use crate::served::Served;
use serde_json::{Value, json};
use spindlebook_tests::on_both_engines;

const MINUTE_S: i64 = 60;
const HOUR_S: i64 = 3_600;
const AFTERWARDS: &str = "2027-06-01T06:00:00Z";

fn every_night() -> Value {
    let weekdays = [
        "monday",
        "tuesday",
        "wednesday",
        "thursday",
        "friday",
        "saturday",
        "sunday",
    ];
    let shifts = weekdays.map(|weekday| {
        json!({ "name": "Night", "weekday": weekday, "starts": "22:00", "ends": "06:00",
                "breaks": [{ "starts": "02:00", "ends": "02:30" }] })
    });
    json!({ "valid_from": "2026-01-01", "shifts": shifts })
}

/// A cut as a person reads it off the wall clock.
fn local_cut(from: &str, to: &str) -> Value {
    json!({ "cycles": [{ "from_local": { "local": from }, "to_local": { "local": to } }] })
}

fn rows(report: &Value) -> &[Value] {
    report["rows"].as_array().unwrap()
}

on_both_engines! {
    async fn e02_a_night_in_which_the_clocks_go_forward_is_an_hour_shorter(engine) {
        let served = Served::at(engine, AFTERWARDS).await;
        let machine = served.add_machine("M1").await;
        let cut = local_cut("2027-03-27T22:05", "2027-03-28T06:10");
        served
            .device()
            .post(&format!("/v1/machines/{machine}/signals"), &cut)
            .await
            .expect_status(201);
        let report = served.hours(&machine, "from=2027-03-27&to=2027-03-29").await;
        assert_eq!(report["total"]["realised_s"], 7 * HOUR_S + 5 * MINUTE_S);
        assert_eq!(
            report["total"]["window_s"],
            47 * HOUR_S,
            "that Sunday has 23 hours"
        );
    }

    async fn e04_a_local_time_that_does_not_exist_is_refused_with_its_neighbours(engine) {
        let served = Served::at(engine, AFTERWARDS).await;
        let machine = served.add_machine("M1").await;
        let before = served.seq();
        let cut = local_cut("2027-03-28T02:30", "2027-03-28T04:00");
        let refused = served
            .device()
            .post(&format!("/v1/machines/{machine}/signals"), &cut)
            .await;
        let problem = refused.expect_field_problem(400, "local-time.does-not-exist", "/cycles/0/from_local");
        assert_eq!(
            problem["earlier"],
            json!({ "at": "2027-03-28T00:30:00Z", "local": "2027-03-28T01:30:00+01:00" })
        );
        assert_eq!(
            problem["later"],
            json!({ "at": "2027-03-28T01:30:00Z", "local": "2027-03-28T03:30:00+02:00" })
        );
        let down = json!({ "at_local": { "local": "2027-03-28T02:30" }, "reason": "other" });
        let refused = served
            .operator()
            .post(&format!("/v1/machines/{machine}/down"), &down)
            .await;
        refused.expect_field_problem(400, "local-time.does-not-exist", "/at_local");
        assert_eq!(served.seq(), before, "nothing was stored");
    }

    async fn e05_a_local_time_that_comes_twice_is_asked_for(engine) {
        let served = Served::at(engine, AFTERWARDS).await;
        let (first, second) = (served.add_machine("M1").await, served.add_machine("M2").await);
        let signals = |machine: &str| format!("/v1/machines/{machine}/signals");
        let cut = local_cut("2026-10-25T02:30", "2026-10-25T04:00");
        let asked = served.device().post(&signals(&first), &cut).await;
        let problem = asked.expect_field_problem(400, "local-time.exists-twice", "/cycles/0/from_local");
        assert_eq!(problem["first"]["at"], "2026-10-25T00:30:00Z");
        assert_eq!(problem["second"]["at"], "2026-10-25T01:30:00Z");
        let mut realised = Vec::new();
        for (machine, occurrence) in [(&first, "first"), (&second, "second")] {
            let mut chosen = cut.clone();
            chosen["cycles"][0]["from_local"]["occurrence"] = json!(occurrence);
            served
                .device()
                .post(&signals(machine), &chosen)
                .await
                .expect_status(201);
            let report = served.hours(machine, "from=2026-10-25&to=2026-10-26").await;
            realised.push(report["total"]["realised_s"].as_i64().unwrap());
        }
        assert_eq!(realised, [2 * HOUR_S + 30 * MINUTE_S, HOUR_S + 30 * MINUTE_S]);
    }

    async fn e07_a_cut_over_midnight_is_split_by_calendar_day_and_whole_by_shift_date(engine) {
        let served = Served::at(engine, AFTERWARDS).await;
        served.set_site_calendar(&every_night()).await;
        let machine = served.add_machine("M1").await;
        let cut = local_cut("2026-06-10T23:30", "2026-06-11T01:10");
        served
            .device()
            .post(&format!("/v1/machines/{machine}/signals"), &cut)
            .await
            .expect_status(201);
        let by_calendar = served
            .hours(&machine, "from=2026-06-10&to=2026-06-12&by=day")
            .await;
        let realised: Vec<_> = rows(&by_calendar)
            .iter()
            .map(|row| row["total"]["realised_s"].as_i64().unwrap())
            .collect();
        assert_eq!(
            (by_calendar["day_rule"].as_str(), realised),
            (Some("calendar"), vec![30 * MINUTE_S, 70 * MINUTE_S])
        );
        let query =
            "from=2026-06-10T22:00:00%2B02:00&to=2026-06-11T22:00:00%2B02:00&by=day&day_rule=shift_date";
        let by_shift_date = served.hours(&machine, query).await;
        assert_eq!(by_shift_date["day_rule"], "shift_date");
        let [day] = rows(&by_shift_date) else {
            panic!("one shift date: {by_shift_date}")
        };
        assert_eq!(
            (&day["date"], &day["total"]["realised_s"]),
            (&json!("2026-06-10"), &json!(100 * MINUTE_S))
        );
        assert_eq!(
            by_calendar["total"]["realised_s"],
            by_shift_date["total"]["realised_s"]
        );
    }

    async fn e09_a_break_is_the_peoples_time_and_not_the_spindles(engine) {
        let served = Served::at(engine, AFTERWARDS).await;
        served.set_site_calendar(&every_night()).await;
        let machine = served.add_machine("M1").await;
        let cut = local_cut("2026-06-10T22:00", "2026-06-11T06:00");
        served
            .device()
            .post(&format!("/v1/machines/{machine}/signals"), &cut)
            .await
            .expect_status(201);
        let query = "from=2026-06-10T22:00:00%2B02:00&to=2026-06-11T06:00:00%2B02:00&by=shift";
        let report = served.hours(&machine, query).await;
        let [night] = rows(&report) else {
            panic!("one shift: {report}")
        };
        let figures = &night["total"];
        assert_eq!(
            (&night["kind"], &night["name"]),
            (&json!("shift"), &json!("Night"))
        );
        assert_eq!(
            (&figures["realised_s"], &figures["staffed_s"]),
            (&json!(8 * HOUR_S), &json!(27_000))
        );
        let of_window = &figures["realised_of_window"];
        assert_eq!(
            (&of_window["percent"], &of_window["of"]),
            (&json!(100.0), &json!("window"))
        );
        let of_staffed = &figures["realised_of_staffed"];
        assert_eq!(
            (&of_staffed["percent"], &of_staffed["of"]),
            (&json!(106.67), &json!("staffed"))
        );
        assert!(
            of_staffed["note"].as_str().unwrap().contains("breaks"),
            "{of_staffed}"
        );
    }

    async fn e15_a_clock_that_is_wrong_moves_instants_and_never_durations(engine) {
        // It is 10:00 in Berlin; the device's clock says 10:07.
        let served = Served::at(engine, "2026-11-02T09:00:30Z").await;
        let machine = served.add_machine("M1").await;
        let body = json!({
            "sent_at": "2026-11-02T09:07:30Z",
            "transitions": [
                { "at": "2026-11-02T08:22:00Z", "state": "ACTIVE" },
                { "at": "2026-11-02T09:07:00Z", "state": "READY" },
            ],
        });
        let path = format!("/v1/machines/{machine}/signals");
        let received = served.device().post(&path, &body).await.expect_status(201).json();
        assert_eq!(received["clock_offset_us"], -7 * 60 * 1_000_000);
        let path = format!(
            "/v1/hours/entries?machine={machine}&from=2026-11-02&to=2026-11-03&category=in_cycle_unattended"
        );
        let stretches = served.viewer().get(&path).await.expect_status(200).json();
        let [cut] = stretches["items"].as_array().unwrap().as_slice() else {
            panic!("one cut: {stretches}")
        };
        assert_eq!(
            (&cut["from"], &cut["to"]),
            (&json!("2026-11-02T08:15:00Z"), &json!("2026-11-02T09:00:00Z"))
        );
        assert_eq!(cut["length_us"], 45 * 60 * 1_000_000_i64);
    }

    async fn e18_cuts_that_overlap_count_once_and_the_overlap_is_told(engine) {
        let served = Served::at(engine, AFTERWARDS).await;
        let machine = served.add_machine("M1").await;
        let cuts = [
            ("2026-06-10T08:00:00Z", "2026-06-10T09:00:00Z"),
            ("2026-06-10T08:50:00Z", "2026-06-10T09:30:00Z"),
        ];
        served.send_cycles(&machine, &cuts).await;
        let report = served.hours(&machine, "from=2026-06-10&to=2026-06-11").await;
        assert_eq!(report["total"]["realised_s"], 90 * MINUTE_S);
        assert_eq!(report["total"]["cycle_overlap_s"], 10 * MINUTE_S);
    }

    async fn e20_a_total_is_the_sum_of_seconds(engine) {
        let served = Served::at(engine, AFTERWARDS).await;
        let machine = served.add_machine("M1").await;
        let cuts = [
            ("2026-06-10T08:00:00Z", "2026-06-10T08:20:00Z"),
            ("2026-06-10T10:00:00Z", "2026-06-10T10:20:00Z"),
            ("2026-06-10T12:00:00Z", "2026-06-10T12:20:00Z"),
        ];
        served.send_cycles(&machine, &cuts).await;
        let report = served.hours(&machine, "from=2026-06-10&to=2026-06-11").await;
        assert_eq!(report["total"]["realised_s"], HOUR_S);
        assert_eq!(report["machine_totals"][0]["figures"]["realised_s"], HOUR_S);
    }
}

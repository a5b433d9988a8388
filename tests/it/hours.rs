//! The served report: rows, sums, shares, what it rests on, and what is kept of it.

use crate::served::{Served, instant};
use serde_json::{Value, json};
use spindlebook_domain::hours::{Category, HoursReport};
use spindlebook_tests::on_both_engines;

const NOW: &str = "2026-11-04T08:00:00Z";

fn rows(report: &Value) -> &[Value] {
    report["rows"].as_array().unwrap()
}

fn named(report: &Value, figure: &str) -> Vec<(String, Value)> {
    rows(report)
        .iter()
        .map(|row| {
            (
                row["name"].as_str().unwrap().to_owned(),
                row["total"][figure].clone(),
            )
        })
        .collect()
}

/// Two machines in a pool, Monday to Friday 06:00 to 14:00 with a break; gives the machines' ids.
async fn a_cell_of_two(served: &Served) -> [String; 2] {
    let weekdays = ["monday", "tuesday", "wednesday", "thursday", "friday"];
    let shifts = weekdays.map(|weekday| {
        json!({ "name": "Day", "weekday": weekday, "starts": "06:00", "ends": "14:00",
                "breaks": [{ "starts": "09:00", "ends": "09:30" }] })
    });
    served
        .set_site_calendar(&json!({ "valid_from": "2026-01-01", "shifts": shifts }))
        .await;
    let cell = json!({ "code": "POOL-A", "name": "Pool", "kind": "pool", "load_stations": 1, "stands": 6, "exchange_s": 45 });
    let cell = served
        .planner()
        .post("/v1/cells", &cell)
        .await
        .expect_status(201)
        .string("/id");
    let mut machines = Vec::new();
    for code in ["M1", "M2"] {
        let body = json!({ "code": code, "name": "Mill", "cell": cell });
        machines.push(
            served
                .planner()
                .post("/v1/machines", &body)
                .await
                .expect_status(201)
                .string("/id"),
        );
    }
    machines.try_into().unwrap()
}

async fn cell_hours(served: &Served, query: &str) -> Value {
    served
        .viewer()
        .get(&format!("/v1/hours?cell=POOL-A&{query}"))
        .await
        .expect_status(200)
        .json()
}

on_both_engines! {
    async fn a_report_has_shifts_and_gaps_machines_and_sums(engine) {
        let served = Served::at(engine, NOW).await;
        let [one, two] = a_cell_of_two(&served).await;
        // 2026-11-02 is a Monday; Berlin is an hour before UTC.
        served
            .send_cycles(&one, &[("2026-11-02T06:00:00Z", "2026-11-02T10:00:00Z")])
            .await;
        served
            .send_cycles(&two, &[("2026-11-02T12:00:00Z", "2026-11-02T15:00:00Z")])
            .await;
        let report = cell_hours(&served, "from=2026-11-02&to=2026-11-03&by=shift").await;
        assert_eq!(
            named(&report, "realised_s"),
            [
                ("gap".to_owned(), json!(0)),
                ("Day".to_owned(), json!(18_000)),
                ("gap".to_owned(), json!(7_200)),
            ]
        );
        assert_eq!(
            (&report["total"]["window_s"], &report["total"]["realised_s"]),
            (&json!(2 * 86_400), &json!(25_200))
        );
        assert_eq!(
            (&report["seq"], &report["as_of"]),
            (&json!(served.seq()), &json!(NOW))
        );
        let day = &rows(&report)[1];
        assert_eq!(
            (&day["kind"], &day["date"], &day["clipped"]),
            (&json!("shift"), &json!("2026-11-02"), &json!(false))
        );
        assert_eq!(day["from_local"], "2026-11-02T06:00:00+01:00");
        assert_eq!(
            (&day["total"]["staffed_s"], &day["total"]["attended_s"]),
            (&json!(2 * 27_000), &json!(2 * 28_800))
        );
        let codes: Vec<_> = day["machines"]
            .as_array()
            .unwrap()
            .iter()
            .map(|machine| machine["code"].clone())
            .collect();
        assert_eq!(codes, ["M1", "M2"]);
        for row in rows(&report) {
            for figures in row["machines"]
                .as_array()
                .unwrap()
                .iter()
                .map(|machine| &machine["figures"])
                .chain([&row["total"]])
            {
                let all: i64 = Category::ALL
                    .iter()
                    .map(|category| figures[format!("{}_s", category.name())].as_i64().unwrap())
                    .sum();
                assert_eq!(json!(all), figures["window_s"], "each second has one category");
            }
        }
        let only = cell_hours(&served, "machine=M2&from=2026-11-02&to=2026-11-03&by=day").await;
        assert_eq!(
            (
                &only["total"]["realised_s"],
                rows(&only)[0]["machines"].as_array().unwrap().len()
            ),
            (&json!(10_800), 1)
        );
    }

    async fn every_figure_opens_to_its_entries(engine) {
        let served = Served::at(engine, NOW).await;
        let [one, _] = a_cell_of_two(&served).await;
        served
            .send_cycles(&one, &[("2026-11-02T06:00:00Z", "2026-11-02T07:00:00Z")])
            .await;
        let seq = served.seq();
        let down = json!({ "at": "2026-11-02T08:00:00Z", "reason": "tooling" });
        served
            .operator()
            .post(&format!("/v1/machines/{one}/down"), &down)
            .await
            .expect_status(200);
        let up = json!({ "at": "2026-11-02T09:00:00Z" });
        served
            .operator()
            .post(&format!("/v1/machines/{one}/up"), &up)
            .await
            .expect_status(200);
        let report = cell_hours(&served, "from=2026-11-02&to=2026-11-03").await;
        let machine = &rows(&report)[0]["machines"][0];
        assert_eq!(
            (&machine["figures"]["realised_s"], &machine["figures"]["down_s"]),
            (&json!(3_600), &json!(3_600))
        );
        assert_eq!(
            (&machine["entries"]["count"], &machine["entries"]["first_seq"]),
            (&json!(3), &json!(seq))
        );
        assert_eq!(
            rows(&report)[0]["machines"][1]["entries"],
            json!(null),
            "nothing has been said of the other"
        );
        let href = machine["entries_href"].as_str().unwrap();
        let opened = served.viewer().get(href).await.expect_status(200).json();
        let items = opened["items"].as_array().unwrap();
        let us: i64 = items
            .iter()
            .map(|stretch| stretch["length_us"].as_i64().unwrap())
            .sum();
        assert_eq!(us, 86_400_000_000, "the stretches fill the row");
        let cut = items
            .iter()
            .find(|stretch| stretch["category"] == "in_cycle_attended")
            .unwrap();
        assert_eq!(
            cut["entries"],
            json!([{ "seq": seq, "href": format!("/v1/ledger/{seq}") }])
        );
        let entry = served
            .viewer()
            .get(cut["entries"][0]["href"].as_str().unwrap())
            .await
            .expect_status(200)
            .json();
        assert_eq!(entry["kind"], "machine.cycles_received");
        let down = items
            .iter()
            .find(|stretch| stretch["category"] == "down")
            .unwrap();
        assert_eq!(
            (&down["down_reason"], &down["entries"][0]["seq"]),
            (&json!("tooling"), &json!(seq + 1))
        );
        let pages = format!("{href}&limit=2");
        let first = served.viewer().get(&pages).await.json();
        let second = served
            .viewer()
            .get(&format!(
                "{pages}&cursor={}",
                first["next_cursor"].as_str().unwrap()
            ))
            .await
            .json();
        assert_eq!(
            [&first["items"][0], &first["items"][1], &second["items"][0]],
            [&items[0], &items[1], &items[2]]
        );
    }

    async fn what_is_kept_is_the_same_as_what_is_computed(engine) {
        let served = Served::at(engine, NOW).await;
        let [one, two] = a_cell_of_two(&served).await;
        for (machine, cycles) in [
            (
                &one,
                [
                    ("2026-11-02T06:00:00Z", "2026-11-02T10:00:00Z"),
                    ("2026-11-03T06:00:00Z", "2026-11-03T07:00:00Z"),
                ],
            ),
            (
                &two,
                [
                    ("2026-11-02T22:00:00Z", "2026-11-03T04:00:00Z"),
                    ("2026-11-04T06:00:00Z", "2026-11-04T06:30:00Z"),
                ],
            ),
        ] {
            served.send_cycles(machine, &cycles).await;
        }
        let query = "from=2026-10-26&to=2026-11-09&by=day";
        let first = cell_hours(&served, query).await;
        assert_eq!(rows(&first).len(), 10, "rows that have not begun are left out");
        assert_eq!(
            (
                &rows(&first)[9]["in_progress"],
                &rows(&first)[9]["total"]["provisional"]
            ),
            (&json!(true), &json!(true))
        );
        assert_eq!(cell_hours(&served, query).await, first);
        // An entry about a closed day changes that day, and no other.
        served.clock.advance_s(3_600);
        served
            .send_cycles(&one, &[("2026-11-02T12:00:00Z", "2026-11-02T12:20:00Z")])
            .await;
        let changed = cell_hours(&served, query).await;
        let differing: Vec<_> = rows(&first)
            .iter()
            .zip(rows(&changed))
            .filter(|(was, is)| was != is)
            .map(|(_, is)| is["name"].clone())
            .collect();
        assert_eq!(differing, ["2026-11-02", "2026-11-04"], "today goes on");
        assert_eq!(
            changed["total"]["realised_s"].as_i64().unwrap() - first["total"]["realised_s"].as_i64().unwrap(),
            1_200
        );
        let touched = rows(&changed)
            .iter()
            .find(|row| row["name"] == "2026-11-02")
            .unwrap();
        assert_eq!(touched["total"]["restated_at"], "2026-11-04T09:00:00Z");
        // Another calendar moves what is staffed on closed days.
        served
            .set_site_calendar(&json!({ "valid_from": "2026-01-01", "shifts": [] }))
            .await;
        let unstaffed = cell_hours(&served, query).await;
        assert_eq!(
            (
                &unstaffed["total"]["staffed_s"],
                &unstaffed["total"]["realised_s"]
            ),
            (&json!(0), &changed["total"]["realised_s"])
        );
        // The same rows from a service that has kept nothing.
        let fresh = spindlebook::hours::Hours::new(served.service.book.store().clone());
        assert_same(&unstaffed, &computed(&fresh, &served).await);
    }

    async fn a_run_whose_end_is_not_told_is_provisional_and_never_kept(engine) {
        let served = Served::at(engine, NOW).await;
        let [one, _] = a_cell_of_two(&served).await;
        let path = format!("/v1/machines/{one}/signals");
        let active = json!({ "transitions": [{ "at": "2026-11-02T06:00:00Z", "state": "ACTIVE" }] });
        served.device().post(&path, &active).await.expect_status(201);
        let query = "machine=M1&from=2026-11-01&to=2026-11-03";
        let open = cell_hours(&served, query).await;
        let provisional: Vec<_> = named(&open, "provisional")
            .into_iter()
            .map(|(_, value)| value)
            .collect();
        assert_eq!(provisional, [json!(false), json!(true)]);
        assert_eq!(cell_hours(&served, query).await["rows"], open["rows"]);
        let ready = json!({ "transitions": [{ "at": "2026-11-02T09:00:00Z", "state": "READY" }] });
        served.device().post(&path, &ready).await.expect_status(201);
        let told = cell_hours(&served, query).await;
        assert_eq!(
            (&told["total"]["provisional"], &told["total"]["realised_s"]),
            (&json!(false), &json!(3 * 3_600))
        );
        // A machine that falls silent is not known any longer, once the time for that has passed.
        let machine = served.viewer().get(&format!("/v1/machines/{one}")).await;
        let body = json!({ "code": "M1", "name": "Mill", "silent_after_s": 3_600 });
        served
            .planner()
            .put(&format!("/v1/machines/{one}"), &machine.etag(), &body)
            .await
            .expect_status(200);
        let silent = cell_hours(&served, query).await;
        assert_eq!(
            (
                &silent["total"]["realised_s"],
                &silent["total"]["idle_attended_s"]
            ),
            (&json!(3_600), &json!(3_600))
        );
    }

    async fn the_first_reading_after_a_closed_day_reaches_into_it(engine) {
        let served = Served::at(engine, NOW).await;
        let [one, _] = a_cell_of_two(&served).await;
        let path = format!("/v1/machines/{one}/readings");
        let read = async |at: &str, powered_on_s: i64, in_cut_s: i64| {
            let reading = json!({ "at": at, "powered_on_s": powered_on_s, "in_cut_s": in_cut_s });
            let sent = served
                .operator()
                .post(&path, &json!({ "readings": [reading] }))
                .await;
            sent.expect_status(201);
        };
        let query = "machine=M1&from=2026-11-01&to=2026-11-03";
        read("2026-11-02T11:00:00Z", 100_000, 50_000).await;
        let before = cell_hours(&served, query).await;
        assert_eq!(before["total"]["in_cut_s"], json!(null));
        // Half of the 24 hours up to the next reading lie on the 2nd, which ends at 23:00Z.
        read("2026-11-03T11:00:00Z", 186_400, 57_200).await;
        let reached = cell_hours(&served, query).await;
        assert_eq!(
            (
                &reached["total"]["in_cut_s"],
                &reached["total"]["counters_over_s"]
            ),
            (&json!(3_600), &json!(43_200))
        );
        read("2026-11-04T07:00:00Z", 250_000, 60_000).await;
        let after = cell_hours(&served, query).await;
        assert_eq!(after["rows"], reached["rows"]);
    }

    async fn a_spreadsheet_gets_a_table_without_formulas(engine) {
        let served = Served::at(engine, NOW).await;
        served
            .set_site_calendar(&json!({ "valid_from": "2026-01-01", "shifts": [
            { "name": "=1+1", "weekday": "monday", "starts": "06:00", "ends": "14:00" }] }))
            .await;
        let machine = served.add_machine("-M1").await;
        served
            .send_cycles(&machine, &[("2026-11-02T06:00:00Z", "2026-11-02T07:00:00Z")])
            .await;
        let path = "/v1/hours?machine=-M1&from=2026-11-02&to=2026-11-03&by=shift";
        let viewer = served.viewer();
        let accept = viewer.send(reqwest::Method::GET, path, |request| {
            request.header("Accept", "text/csv")
        });
        let table = accept.await.expect_status(200);
        assert_eq!(
            table.header("content-type"),
            Some("text/csv; charset=utf-8; header=present")
        );
        assert_eq!(
            served.viewer().get(&format!("{path}&format=csv")).await.body,
            table.body
        );
        let text = table.text();
        assert!(
            text.ends_with("\r\n") && text.lines().count() == 7,
            "three rows, a machine and a sum in each: {text}"
        );
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let columns = reader.headers().unwrap().clone();
        let lines: Vec<_> = reader.records().map(|line| line.unwrap()).collect();
        let cell = |line: usize, column: &str| {
            lines[line]
                .get(columns.iter().position(|name| name == column).unwrap())
                .unwrap()
                .to_owned()
        };
        assert_eq!(
            (cell(2, "row"), cell(2, "machine"), cell(2, "realised_s")),
            ("'=1+1".to_owned(), "'-M1".to_owned(), "3600".to_owned())
        );
        assert_eq!(
            (cell(2, "realised_of_staffed_percent"), cell(2, "planned_s")),
            ("12.5".to_owned(), String::new())
        );
        let image = served
            .viewer()
            .send(reqwest::Method::GET, path, |request| {
                request.header("Accept", "image/png")
            })
            .await;
        image.expect_field_problem(406, "accept.unknown", "Accept");
    }

    async fn a_wrong_question_is_told_what_would_be_right(engine) {
        let served = Served::at(engine, NOW).await;
        a_cell_of_two(&served).await;
        served.add_machine("L1").await;
        for (query, status, code, parameter) in [
            ("from=2026-11-02&to=2026-11-03", 400, "query.invalid", "cell"),
            ("cell=POOL-A&to=2026-11-03", 400, "query.invalid", "from"),
            (
                "cell=POOL-A&from=2026-11-03&to=2026-11-02",
                400,
                "query.invalid",
                "to",
            ),
            (
                "cell=POOL-A&from=2020-11-03&to=2026-11-02",
                400,
                "query.invalid",
                "to",
            ),
            (
                "cell=POOL-A&from=2026-11-02&to=2026-11-03&by=hour",
                400,
                "query.invalid",
                "by",
            ),
            (
                "cell=POOL-A&from=2026-11-02&to=2026-11-03&bye=day",
                400,
                "query.invalid",
                "bye",
            ),
            (
                "cell=POOL-A&machine=L1&from=2026-11-02&to=2026-11-03",
                400,
                "query.invalid",
                "machine",
            ),
            (
                "cell=POOL-B&from=2026-11-02&to=2026-11-03",
                404,
                "resource.unknown",
                "cell",
            ),
            (
                "machine=M9&from=2026-11-02&to=2026-11-03",
                404,
                "resource.unknown",
                "machine",
            ),
        ] {
            served
                .viewer()
                .get(&format!("/v1/hours?{query}"))
                .await
                .expect_field_problem(status, code, parameter);
        }
    }
}

async fn computed(hours: &spindlebook::hours::Hours, served: &Served) -> HoursReport {
    let shop = served.service.book.shop(served.site).unwrap();
    let request = spindlebook::hours::HoursRequest {
        cell: shop.cell_by_code("POOL-A").unwrap().id,
        machine: None,
        window: spindlebook_domain::time::Window::new(
            instant("2026-10-25T23:00:00Z"),
            instant("2026-11-08T23:00:00Z"),
        ),
        by: spindlebook_domain::hours::rows::By::Day,
        rule: spindlebook_domain::hours::rows::DayRule::Calendar,
    };
    let as_of = served.service.book.now();
    let site = served.site;
    let source = spindlebook::hours::HoursSource {
        site,
        shop,
        as_of,
        rebuilds: served.service.book.rebuilds(site),
    };
    hours.report(&source, &request).await.unwrap()
}

#[track_caller]
fn assert_same(served: &Value, computed: &HoursReport) {
    let realised: Vec<_> = computed
        .rows
        .iter()
        .map(|row| (row.row.name.clone(), json!(row.cell.realised_s())))
        .collect();
    assert_eq!(named(served, "realised_s"), realised);
    assert_eq!(
        served["total"]["idle_unattended_s"],
        computed.total.seconds[Category::IdleUnattended]
    );
}

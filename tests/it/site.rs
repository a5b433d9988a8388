//! The site, its calendar and its staffed time by HTTP.

use crate::served::Served;
use serde_json::{Value, json};
use spindlebook_tests::on_both_engines;

const NOW: &str = "2026-11-02T06:00:00Z";

fn night(weekdays: &[&str]) -> Value {
    let shifts: Vec<_> = weekdays
        .iter()
        .map(|weekday| {
            json!({ "name": "Night", "weekday": weekday, "starts": "22:00", "ends": "06:00",
                    "breaks": [{ "starts": "02:00", "ends": "02:30" }] })
        })
        .collect();
    json!({ "valid_from": "2026-01-01", "shifts": shifts })
}

on_both_engines! {
    async fn the_site_is_shown_and_changed(engine) {
        let served = Served::at(engine, NOW).await;
        let admin = served.admin();
        let site = admin.get("/v1/site").await.expect_status(200);
        assert_eq!(site.json()["zone"], "Europe/Berlin");
        let body = json!({ "name": "Invented shop", "zone": "America/New_York" });
        let changed = admin
            .put("/v1/site", &site.etag(), &body)
            .await
            .expect_status(200);
        assert_eq!(
            (&changed.json()["zone"], &changed.json()["code"]),
            (&json!("America/New_York"), &json!("one"))
        );
        assert_ne!(changed.etag(), site.etag());
        let stale = admin.put("/v1/site", &site.etag(), &body).await;
        stale.expect_problem(412, "site.stale");
        assert_eq!(stale.etag(), changed.etag());
        let nowhere = json!({ "name": "Invented shop", "zone": "Europe/Bonn" });
        let refused = admin.put("/v1/site", &changed.etag(), &nowhere).await;
        let problem = refused.expect_field_problem(400, "body.invalid", "/zone");
        assert!(
            problem["errors"][0]["detail"]
                .as_str()
                .unwrap()
                .contains("Europe/Berlin")
        );
        served
            .planner()
            .put("/v1/site", &changed.etag(), &body)
            .await
            .expect_problem(403, "role.missing");
    }

    async fn a_version_that_the_reader_has_is_not_sent_again(engine) {
        let served = Served::at(engine, NOW).await;
        let viewer = served.viewer();
        let site = viewer.get("/v1/site").await;
        assert_eq!(site.header("cache-control"), Some("private, no-cache"));
        assert_eq!(site.header("x-site-seq").unwrap(), served.seq().to_string());
        let again = viewer.send(reqwest::Method::GET, "/v1/site", |request| {
            request.header("If-None-Match", site.etag())
        });
        let again = again.await.expect_status(304);
        assert!(again.body.is_empty() && again.etag() == site.etag());
        let other = viewer.send(reqwest::Method::GET, "/v1/site", |request| {
            request.header("If-None-Match", "\"0\"")
        });
        other.await.expect_status(200);
    }

    async fn a_read_waits_for_the_entry_it_asks_for(engine) {
        let served = Served::at(engine, NOW).await;
        let viewer = served.viewer();
        let ask = |seq: String| {
            viewer.send(reqwest::Method::GET, "/v1/site", move |request| {
                request.header("Min-Seq", seq)
            })
        };
        let next = (served.seq() + 1).to_string();
        let (answer, machine) = tokio::join!(ask(next.clone()), served.add_machine("M1"));
        assert!(!machine.is_empty());
        assert!(
            answer
                .expect_status(200)
                .header("x-site-seq")
                .unwrap()
                .parse::<u64>()
                .unwrap()
                >= next.parse().unwrap()
        );
        let never = ask((served.seq() + 100).to_string()).await;
        never.expect_problem(503, "min-seq.not-reached");
        assert!(never.header("retry-after").is_some());
        ask("soon".to_owned())
            .await
            .expect_field_problem(400, "header.invalid", "Min-Seq");
    }

    async fn a_calendar_has_versions(engine) {
        let served = Served::at(engine, NOW).await;
        let planner = served.planner();
        let empty = planner.get("/v1/site/calendar").await.expect_status(200);
        assert_eq!(empty.json()["versions"], json!([]));
        let first = planner
            .put("/v1/site/calendar", &empty.etag(), &night(&["monday"]))
            .await
            .expect_status(200);
        let mut second = night(&["monday", "tuesday"]);
        second["valid_from"] = json!("2026-12-01");
        second["exceptions"] = json!([
            { "kind": "holiday", "date": "2026-12-25", "name": "Christmas Day" },
            { "kind": "closed", "date": "2026-12-28" },
            { "kind": "overtime", "date": "2026-12-05", "name": "Saturday", "starts": "06:00", "ends": "12:00" },
        ]);
        planner
            .put("/v1/site/calendar", &first.etag(), &second)
            .await
            .expect_status(200);
        let all = planner.get("/v1/site/calendar").await.json();
        let dates: Vec<_> = all["versions"]
            .as_array()
            .unwrap()
            .iter()
            .map(|one| one["valid_from"].clone())
            .collect();
        assert_eq!(dates, ["2026-01-01", "2026-12-01"]);
        let then = planner.get("/v1/site/calendar?date=2026-11-30").await.json();
        assert_eq!(then["versions"].as_array().unwrap().len(), 1);
        assert_eq!(then["versions"][0]["shifts"].as_array().unwrap().len(), 1);
        let later = planner.get("/v1/site/calendar?date=2027-01-05").await.json();
        let kinds: Vec<_> = later["versions"][0]["exceptions"]
            .as_array()
            .unwrap()
            .iter()
            .map(|one| one["kind"].clone())
            .collect();
        assert_eq!(kinds, ["overtime", "holiday", "closed"]);
        // Without a date it applies from today on at the site.
        let mut undated = night(&["friday"]);
        undated.as_object_mut().unwrap().remove("valid_from");
        let etag = planner.get("/v1/site/calendar").await.etag();
        let set = planner
            .put("/v1/site/calendar", &etag, &undated)
            .await
            .expect_status(200)
            .json();
        assert_eq!(set["versions"][1]["valid_from"], "2026-11-02");
    }

    async fn a_calendar_that_is_none_is_refused_at_its_field(engine) {
        let served = Served::at(engine, NOW).await;
        let planner = served.planner();
        let etag = planner.get("/v1/site/calendar").await.etag();
        let before = served.seq();
        let mut outside = night(&["monday"]);
        outside["shifts"][0]["breaks"][0] = json!({ "starts": "07:00", "ends": "07:30" });
        let mut overlapping = night(&["monday"]);
        let late = json!({ "name": "Late", "weekday": "tuesday", "starts": "05:00", "ends": "13:00" });
        overlapping["shifts"].as_array_mut().unwrap().push(late);
        let mut closed_with_times = night(&["monday"]);
        closed_with_times["exceptions"] =
            json!([{ "kind": "closed", "date": "2026-12-28", "starts": "06:00" }]);
        let mut nameless = night(&["monday"]);
        nameless["exceptions"] =
            json!([{ "kind": "overtime", "date": "2026-12-28", "starts": "06:00", "ends": "09:00" }]);
        let mut late_night = night(&["monday"]);
        late_night["shifts"][0]["starts"] = json!("24:00");
        let mut someday = night(&["monday"]);
        someday["shifts"][0]["weekday"] = json!("someday");
        for (calendar, pointer) in [
            (outside, "/shifts/0/breaks/0/starts"),
            (overlapping, "/shifts/1/starts"),
            (closed_with_times, "/exceptions/0/starts"),
            (nameless, "/exceptions/0/name"),
            (late_night, "/shifts/0/starts"),
            (someday, "/shifts/0/weekday"),
        ] {
            planner
                .put("/v1/site/calendar", &etag, &calendar)
                .await
                .expect_field_problem(400, "body.invalid", pointer);
        }
        assert_eq!(served.seq(), before);
    }

    // Floor case E06: night shift 22:00 to 06:00 with one break of 30 minutes, Berlin; 8 h 30 and 6 h 30 in the nights
    // of the clock changes, 7 h 30 else. The clock changes are those of the IANA time zone database.
    async fn a_night_is_as_long_as_the_clocks_make_it(engine) {
        let served = Served::at(engine, NOW).await;
        served.set_site_calendar(&night(&["saturday", "sunday"])).await;
        for (from, to, minutes) in [
            ("2026-10-24", "2026-10-25T12:00:00Z", 510),
            ("2027-03-27", "2027-03-28T12:00:00Z", 390),
            ("2026-11-07", "2026-11-08T12:00:00Z", 450),
        ] {
            let path = format!("/v1/site/staffed-time?from={from}&to={to}");
            let time = served.viewer().get(&path).await.expect_status(200).json();
            assert_eq!(time["staffed_s"], 60 * minutes, "{from}");
            assert_eq!(time["attended_s"], 60 * (minutes + 30), "{from}");
            assert_eq!(time["shifts"].as_array().unwrap().len(), 1, "{time}");
            assert_eq!(time["shifts"][0]["shift_date"], from);
            assert_eq!(
                time["staffed"].as_array().unwrap().len(),
                2,
                "the break cuts it in two"
            );
        }
        let cell = json!({ "code": "C1", "name": "Pool", "kind": "pool", "load_stations": 1, "stands": 2, "exchange_s": 60 });
        served.planner().post("/v1/cells", &cell).await.expect_status(201);
        let of_cell = served
            .viewer()
            .get("/v1/site/staffed-time?from=2026-11-07&to=2026-11-08T12:00:00Z&cell=c1")
            .await;
        assert_eq!(
            (&of_cell.json()["cell"], &of_cell.json()["staffed_s"]),
            (&json!("C1"), &json!(27_000))
        );
        let nobody = served
            .viewer()
            .get("/v1/site/staffed-time?from=2026-11-07&to=2026-11-08&cell=C9")
            .await;
        nobody.expect_field_problem(404, "resource.unknown", "cell");
    }
}

//! Acts that are told of afterwards. What is right in each: common practice, no source.

use crate::floor::small_cell::SmallCell;
use crate::floor::working_cell::{Work, WorkingCell};
use crate::served::Served;
use serde_json::{Value, json};
use spindlebook_tests::answer::Answer;
use spindlebook_tests::on_both_engines;

const RUN: &str = "01936b5e-5c00-7000-8000-0000000007f1";

/// Loaded, and at the spindle: what comes next is told afterwards.
async fn at_spindle(cell: &WorkingCell) -> String {
    let (_, job) = cell.released(20).await;
    cell.load(0, &job, 8, false).await.expect_status(200);
    cell.to_spindle(0).await;
    job
}

fn reported(mut body: Value) -> Value {
    body["reported"] = json!(true);
    body
}

fn location(answer: &Answer) -> String {
    answer.header("location").unwrap().to_owned()
}

async fn parked(small: &SmallCell) -> Vec<Value> {
    small.get("/v1/parked-acts").await["items"]
        .as_array()
        .unwrap()
        .clone()
}

async fn last_entries(served: &Served, count: u64) -> Vec<Value> {
    let after = served.seq() - count;
    let page = served.viewer().get(&format!("/v1/ledger?after={after}")).await;
    page.expect_status(200).json()["items"]
        .as_array()
        .unwrap()
        .clone()
}

on_both_engines! {
    /// The tablet chose the run's id while it was off line.
    async fn e13_an_end_that_arrives_before_its_start_waits_for_it(engine) {
        let cell = WorkingCell::at(engine, "2026-11-02T20:00:00Z", &Work::default()).await;
        cell.small.mount(0).await;
        at_spindle(&cell).await;
        cell.clock("2026-11-03T06:20:00Z");
        let finish = format!("/v1/runs/{RUN}/finish");
        let operator = cell.small.operator();
        operator.post(&finish, &json!({ "at": "2026-11-03T06:10:00Z" })).await.expect_problem(404, "run.unknown");
        let told = operator.post(&finish, &reported(json!({ "at": "2026-11-03T06:10:00Z" }))).await;
        let waits = told.expect_status(202).json();
        assert_eq!((&waits["act"], &waits["at"]), (&json!("finish"), &json!("2026-11-03T06:10:00Z")));
        assert_eq!(waits["against_now"]["code"], "run.unknown");
        assert_eq!(parked(&cell.small).await, std::slice::from_ref(&waits));
        let one = cell.small.get(&format!("/v1/parked-acts/{}", waits["id"].as_str().unwrap())).await;
        assert_eq!(one, waits);

        let start = reported(json!({ "run": RUN, "at": "2026-11-02T22:05:00Z" }));
        let started = cell.start_at(&start).await.expect_status(201).json();
        assert_eq!((&started["id"], &started["state"]), (&json!(RUN), &json!("running")), "after its own entry");
        assert_eq!(parked(&cell.small).await, Vec::<Value>::new());
        let run = cell.small.get(&format!("/v1/runs/{RUN}")).await;
        assert_eq!((&run["state"], &run["ended_at"]), (&json!("finished"), &json!("2026-11-03T06:10:00Z")));
        let hours = cell.hours("2026-11-02T20:00:00Z", "2026-11-03T06:20:00Z").await;
        assert_eq!(hours["realised_s"], 8 * 3_600 + 300);

        // The entry that the finish became says when it happened and who told it.
        let entries = last_entries(&cell.small.served, 3).await;
        let kinds: Vec<_> = entries.iter().map(|entry| entry["kind"].as_str().unwrap()).collect();
        assert_eq!(kinds, ["run.started", "act.settled", "run.finished"]);
        assert_eq!(entries[2]["occurred_at"], "2026-11-03T06:10:00Z");
        assert_eq!(entries[2]["actor"], waits["told_by"]);
    }

    async fn a_held_load_that_was_cut_is_booked_and_named(engine) {
        let cell = WorkingCell::new(engine).await;
        at_spindle(&cell).await;
        cell.small.act(0, "hold", &json!({ "note": "Burr" })).await.expect_status(200);
        cell.start_at(&json!({})).await.expect_problem(409, "run.held");
        let told = cell.start_at(&reported(json!({}))).await.expect_status(201).json();
        assert_eq!(told["warnings"][0]["code"], "deviation");
        assert!(told["warnings"][0]["detail"].as_str().unwrap().starts_with("run.held: "));
        let deviations = cell.small.get("/v1/deviations").await;
        let deviation = &deviations["items"][0];
        assert_eq!((&deviation["rule"], &deviation["run"]), (&json!("run.held"), &told["id"]));
        assert_eq!(deviation["hold"], told["hold"]);
        assert_eq!(deviations["items"].as_array().unwrap().len(), 1);
    }

    async fn an_uncleared_night_start_is_booked_and_its_load_is_held(engine) {
        let cell = WorkingCell::at(engine, "2026-11-02T08:00:00Z", &Work::default()).await;
        cell.small.mount(0).await;
        let other = json!({ "code": "4712", "name": "Cover", "revision": { "revision": "A" } });
        let planner = cell.small.served.planner();
        let other = planner.post("/v1/parts", &other).await.expect_status(201).string("/id");
        let place = json!({ "cell": cell.small.cell, "cycle": { "per_load": { "cycle_s": 600 } } });
        let mill = json!({ "places": [place], "fixtures": [cell.small.fixture], "load_s": 600, "unload_s": 300,
            "pieces_per_load": 8 });
        let routing = json!({ "revision": "A", "operations": [{ "number": 10, "name": "Mill", "machining": mill }] });
        planner.put(&format!("/v1/parts/{other}/routing"), "*", &routing).await.expect_status(200);
        cell.set_shifts(&[("Early", "06:00", "14:00")]).await;
        let (_, job) = cell.released_line(crate::orders::line(&other, 8), 8).await;
        cell.load(0, &job, 8, false).await.expect_status(200);
        cell.to_spindle(0).await;
        cell.clock("2026-11-02T20:00:00Z");
        cell.start_at(&json!({})).await.expect_problem(409, "run.not-cleared-unattended");
        let run = cell.start_at(&reported(json!({}))).await.expect_status(201).json();
        assert_eq!(run["unattended"], true);
        let held = cell.small.get("/v1/holds").await["items"][0].clone();
        assert_eq!((&held["kind"], &held["id"]), (&json!("suspect"), &run["hold"]));
        assert_eq!(cell.small.line(0).await["pallet"]["load"]["hold"], run["hold"]);
    }

    async fn a_person_settles_what_cannot_be_true(engine) {
        let cell = WorkingCell::new(engine).await;
        let (_, job) = cell.released(20).await;
        let count = WorkingCell::count(&job, json!({ "good": 8 }), false);
        let body = reported(json!({ "counts": [count], "at": "2026-11-02T08:00:00Z" }));
        let waits = cell.small.act(0, "unload", &body).await.expect_status(202);
        let path = location(&waits);
        let waits = waits.json();
        assert_eq!(waits["against_then"]["code"], "unload.nothing-loaded");
        let settle = format!("{path}/settlement");
        let planner = cell.small.served.planner();
        cell.small.operator().post(&settle, &json!({ "choice": "drop" })).await.expect_problem(403, "role.missing");
        planner.post(&settle, &json!({ "choice": "book" })).await.expect_problem(409, "unload.nothing-loaded");
        assert_eq!(parked(&cell.small).await.len(), 1, "a refusal changes nothing");
        let dropped = planner.post(&settle, &json!({ "choice": "drop", "note": "Told twice" })).await;
        let dropped = dropped.expect_status(200).json();
        assert_eq!((&dropped["how"], &dropped["entries"]), (&json!("dropped"), &json!([cell.small.served.seq()])));
        planner.post(&settle, &json!({ "choice": "drop" })).await.expect_problem(404, "parked.unknown");
        cell.small.served.viewer().get(&path).await.expect_problem(404, "parked.unknown");
    }

    /// A tablet whose clock stood at 1970 says what happened, not when.
    async fn an_act_without_a_usable_time_is_booked_when_somebody_knows_it(engine) {
        let cell = WorkingCell::new(engine).await;
        at_spindle(&cell).await;
        let run = cell.start().await;
        cell.clock("2026-11-02T09:00:00Z");
        let finish = format!("/v1/runs/{run}/finish");
        let told = reported(json!({ "at": "1970-01-01T00:00:07Z" }));
        let waits = cell.small.operator().post(&finish, &told).await.expect_status(202);
        assert_eq!(waits.json()["against_now"]["code"], "time.out-of-range");
        let settle = json!({ "choice": "book", "at": "2026-11-02T08:48:00Z" });
        let planner = cell.small.served.planner();
        planner.post(&format!("{}/settlement", location(&waits)), &settle).await.expect_status(200);
        let hours = cell.hours("2026-11-02T08:00:00Z", "2026-11-02T09:00:00Z").await;
        assert_eq!(hours["realised_s"], 48 * 60);
    }

    async fn what_is_wrong_in_itself_is_refused(engine) {
        let cell = WorkingCell::new(engine).await;
        let job = at_spindle(&cell).await;
        let count = WorkingCell::count(&job, json!({ "good": 8 }), false);
        let twice = reported(json!({ "counts": [count, count] }));
        let run = cell.start().await;
        cell.run(&run, "finish", &json!({})).await;
        cell.to_station(0).await;
        let before = cell.small.served.seq();
        cell.small.act(0, "unload", &twice).await.expect_field_problem(400, "unload.repeated", "/counts/1");
        let start = reported(json!({ "overrides": [{ "rule": "run.not-next", "reason": "Waits" }] }));
        let path = format!("/v1/machines/{}/runs", cell.small.machine);
        let refused = cell.small.served.planner().post(&path, &start).await;
        refused.expect_field_problem(400, "body.invalid", "/overrides");
        let nobody = format!("/v1/pallets/{RUN}/unmount");
        cell.small.operator().post(&nobody, &reported(json!({}))).await.expect_problem(404, "pallet.unknown");
        assert_eq!(cell.small.served.seq(), before, "nothing was kept");
    }
}

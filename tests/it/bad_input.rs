//! Bad input: the problem names the field and what would be right, and nothing changes.

use crate::served::Served;
use reqwest::Method;
use serde_json::{Value, json};
use spindlebook_tests::on_both_engines;
use uuid::Uuid;

const NOW: &str = "2026-11-02T12:00:00Z";
const NOWHERE: &str = "01936b5e-5c00-7000-8000-00000000ffff";

struct Case {
    path: String,
    body: String,
    status: u16,
    code: &'static str,
    /// Pointer, parameter or header; none where no single field is wrong.
    place: Option<&'static str>,
    /// Part of what would be right.
    right: &'static str,
}

/// Path, body => status, code, place, what would be right.
macro_rules! cases {
    ($($path:expr, $body:expr => $status:literal, $code:literal, $place:expr, $right:literal;)+) => {
        vec![$(Case {
            path: $path.to_string(),
            body: $body.to_string(),
            status: $status,
            code: $code,
            place: Option::<&'static str>::from($place),
            right: $right,
        }),+]
    };
}

const NONE: Option<&str> = None;

fn about_cells() -> Vec<Case> {
    let path = "/v1/cells";
    let cell = |change: Value| {
        let mut cell = json!({
            "code": "A", "name": "Pool", "kind": "pool", "load_stations": 1, "stands": 2, "exchange_s": 60
        });
        cell.as_object_mut()
            .unwrap()
            .extend(change.as_object().unwrap().clone());
        cell
    };
    cases! {
        path, "" => 400, "body.invalid", "/code", "required";
        path, "{" => 400, "body.malformed", NONE, "not JSON";
        path, format!("{} and more", cell(json!({}))) => 400, "body.malformed", NONE, "not JSON";
        path, "[1,2]" => 400, "body.invalid", "", "expected";
        path, "null" => 400, "body.invalid", "", "expected";
        path, "{\"code\":\"A\",\"code\":\"B\"}" => 400, "body.invalid", "/code", "once";
        path, cell(json!({ "colour": "red" })) => 400, "body.invalid", "/colour", "Known:";
        path, cell(json!({ "load_stations": -1 })) => 400, "body.invalid", "/load_stations", "from 0 to 1000";
        path, cell(json!({ "exchange_s": 45.5 })) => 400, "body.invalid", "/exchange_s", "whole number";
        path, cell(json!({ "exchange_s": "45" })) => 400, "body.invalid", "/exchange_s", "whole number";
        path, cell(json!({ "code": "two words" })) => 400, "body.invalid", "/code", "1 to 32 letters";
        path, cell(json!({ "name": "" })) => 400, "body.invalid", "/name", "1 to 80 characters";
        path, cell(json!({ "kind": 5 })) => 400, "body.invalid", "/kind", "a string";
        path, cell(json!({ "kind": "pol" })) => 400, "body.invalid", "/kind", "did you mean `pool`?";
        "/v1/nothing", "{}" => 404, "route.unknown", NONE, "/openapi.json";
    }
}

fn about_machines(machine: &str) -> Vec<Case> {
    let (path, down) = ("/v1/machines", format!("/v1/machines/{machine}/down"));
    let added = |change: Value| {
        let mut added = json!({ "code": "M2", "name": "Mill" });
        added
            .as_object_mut()
            .unwrap()
            .extend(change.as_object().unwrap().clone());
        added
    };
    let slot =
        |starts_at: &str| json!({ "slots": [{ "machine": machine, "starts_at": starts_at, "cycle_s": 60 }] });
    cases! {
        path, added(json!({ "cell": "A" })) => 400, "body.invalid", "/cell", "UUID";
        path, added(json!({ "cell": NOWHERE })) => 409, "machine.cell-unknown", "/cell", "no cell";
        path, added(json!({ "silent_after_s": 0 })) => 400, "body.invalid", "/silent_after_s", "from 1 to 604800";
        down, json!({}) => 400, "body.invalid", "/reason", "required";
        down, json!({ "reason": "other", "at": "9999-01-01T00:00:00Z" }) =>
            400, "time.in-future", "/at", "only what has happened";
        down, json!({ "reason": "other", "note": "x".repeat(2_001) }) =>
            400, "body.invalid", "/note", "1 to 2000 characters";
        "/v1/plans", slot("9999-01-01T00:00:00Z") => 400, "plan.slot-out-of-range", "/slots/0/starts_at", "2200-01-01";
    }
}

fn about_signals(machine: &str) -> Vec<Case> {
    let signals = format!("/v1/machines/{machine}/signals");
    let readings = format!("/v1/machines/{machine}/readings");
    let row = |at: &str| json!({ "transitions": [{ "at": at, "state": "READY" }] });
    let reading = |at: &str, powered_on_s: i64| json!({ "readings": [{ "at": at, "powered_on_s": powered_on_s, "in_cut_s": 0 }] });
    let good = "2026-11-02T08:00:00Z";
    cases! {
        signals, row("1970-01-01T00:00:00Z") => 400, "time.out-of-range", "/transitions/0/at", "2000-01-01T00:00:00Z";
        signals, row("9999-12-31T23:59:59Z") => 400, "time.in-future", "/transitions/0/at", "only what has happened";
        signals, row("2026-11-31T00:00:00Z") => 400, "body.invalid", "/transitions/0/at", "RFC 3339";
        signals, row("1793599200") => 400, "body.invalid", "/transitions/0/at", "RFC 3339";
        signals, json!({ "transitions": "all" }) => 400, "body.invalid", "/transitions", "an array";
        format!("/v1/machines/{NOWHERE}/signals"), row(good) => 404, "machine.unknown", NONE, "no machine";
        "/v1/machines/M1/signals", row(good) => 400, "path.invalid", "id", "UUID";
        readings, reading(good, -5) => 400, "body.invalid", "/readings/0/powered_on_s", "from 0";
        readings, reading("1970-01-01T00:00:00Z", 5) => 400, "time.out-of-range", "/readings/0/at", "2000-01-01";
    }
}

fn about_the_catalogue() -> Vec<Case> {
    let size = json!({ "length_mm": 500, "width_mm": 500, "height_mm": 600 });
    let pallet = |name: &str, value: Value| {
        let mut pallet = json!({ "cell": NOWHERE, "code": "P1", "name": "Pallet", "size": size, "mass_max_g": 700_000,
            "interface": "GRID-50" });
        pallet[name] = value;
        pallet
    };
    let fixture = |name: &str, value: Value| {
        let mut fixture = json!({ "code": "F1", "name": "Vice", "interface": "GRID-50", "nests": 2, "mount_s": 600,
            "copies": [{ "code": "F1-1" }] });
        fixture[name] = value;
        fixture
    };
    let vendor = |workday: &str, closed: &str| json!({ "code": "V", "name": "Hardcoat", "workdays": [workday], "closed": [closed] });
    let part = |revision: Value| json!({ "code": "4711", "name": "Housing", "revision": revision });
    let flat = json!({ "length_mm": 500, "width_mm": 500 });
    cases! {
        "/v1/pallets", pallet("cell", json!(NOWHERE)) => 409, "pallet.cell-unknown", "/cell", "no cell";
        "/v1/pallets", pallet("size", flat) => 400, "body.invalid", "/size/height_mm", "required";
        "/v1/pallets", pallet("mass_max_g", json!("700 kg")) => 400, "body.invalid", "/mass_max_g", "whole number";
        "/v1/pallets", pallet("mass_max_g", json!(0)) => 400, "body.invalid", "/mass_max_g", "from 1 to 100000000";
        "/v1/pallets", pallet("mass_max_kg", json!(700)) => 400, "body.invalid", "/mass_max_kg", "did you mean `mass_max_g`?";
        "/v1/pallets", pallet("position", json!(3)) => 400, "body.invalid", "/position", "an object";
        "/v1/pallets", pallet("position", json!({ "kind": 3 })) => 400, "body.invalid", "/position/kind", "a string";
        "/v1/fixtures", fixture("nests", json!(501)) => 400, "body.invalid", "/nests", "from 1 to 500";
        "/v1/fixtures", fixture("mount_s", json!("0:30")) => 400, "body.invalid", "/mount_s", "whole number";
        "/v1/fixtures", fixture("copies", json!(2)) => 400, "body.invalid", "/copies", "an array";
        "/v1/vendors", vendor("mondays", "2026-12-25") => 400, "body.invalid", "/workdays/0", "did you mean `monday`?";
        "/v1/vendors", vendor("monday", "2026-02-30") => 400, "body.invalid", "/closed/0", "as in 2026-12-25";
        "/v1/vendors", vendor("monday", "25.12.2026") => 400, "body.invalid", "/closed/0", "as in 2026-12-25";
        "/v1/parts", part(json!({})) => 400, "body.invalid", "/revision/revision", "required";
        "/v1/parts", part(json!("A")) => 400, "body.invalid", "/revision", "an object";
        "/v1/parts", part(json!({ "revision": "A", "mass_g": 2.1 })) => 400, "body.invalid", "/revision/mass_g", "whole number";
    }
}

on_both_engines! {
    async fn the_problem_names_field_and_remedy_and_nothing_changes(engine) {
        let served = Served::at(engine, NOW).await;
        let machine = served.add_machine("M1").await;
        let before = served.seq();
        let cases = [about_cells(), about_machines(&machine), about_signals(&machine), about_the_catalogue()];
        for case in cases.into_iter().flatten() {
            let caller = if case.path.ends_with("/down") {
                served.operator()
            } else {
                served.planner()
            };
            let answer = caller
                .post_text(&case.path, Some(Uuid::now_v7()), &case.body)
                .await;
            let problem = match case.place {
                Some(place) => answer.expect_field_problem(case.status, case.code, place),
                None => answer.expect_problem(case.status, case.code),
            };
            assert!(
                problem.to_string().contains(case.right),
                "{} {}: {problem}",
                case.path,
                case.body
            );
            assert_eq!(served.seq(), before, "{} {}", case.path, case.body);
        }
        assert_eq!(
            served
                .service
                .book
                .entries_after(served.site, before, 10)
                .await
                .unwrap(),
            []
        );
    }

    async fn a_body_of_the_wrong_size_or_type_is_refused(engine) {
        let served = Served::at(engine, NOW).await;
        let machine = served.add_machine("M1").await;
        let (planner, before) = (served.planner(), served.seq());
        let huge = format!("{{\"code\":\"A\",\"name\":\"{}\"}}", "x".repeat(2 << 20));
        let refused = planner.post_text("/v1/cells", Some(Uuid::now_v7()), &huge).await;
        assert_eq!(
            refused.expect_problem(413, "body.too-large")["bytes_max"],
            1 << 20
        );
        let larger = format!("{{\"transitions\":[{}", " ".repeat(9 << 20));
        let refused = served
            .device()
            .post_text(
                &format!("/v1/machines/{machine}/signals"),
                Some(Uuid::now_v7()),
                &larger,
            )
            .await;
        assert_eq!(
            refused.expect_problem(413, "body.too-large")["bytes_max"],
            8 << 20
        );
        let deep = format!("{{\"code\":{}", "[".repeat(100_000));
        planner
            .post_text("/v1/cells", Some(Uuid::now_v7()), &deep)
            .await
            .expect_status(400);
        let key = || Uuid::now_v7().to_string();
        let form = planner.send(Method::POST, "/v1/cells", |request| {
            request.header("Idempotency-Key", key()).form(&[("code", "A")])
        });
        form.await.expect_problem(415, "body.media-type-unsupported");
        let packed = planner.send(Method::POST, "/v1/cells", |request| {
            request
                .header("Idempotency-Key", key())
                .header("Content-Type", "application/json")
                .header("Content-Encoding", "gzip")
                .body("{}")
        });
        packed.await.expect_problem(415, "body.media-type-unsupported");
        assert_eq!(served.seq(), before);
    }

    async fn a_command_needs_a_key_and_a_question_takes_no_unknown_parameter(engine) {
        let served = Served::at(engine, NOW).await;
        let planner = served.planner();
        let before = served.seq();
        let body = json!({ "code": "M1", "name": "Mill" }).to_string();
        planner
            .post_text("/v1/machines", None, &body)
            .await
            .expect_field_problem(400, "idempotency-key.missing", "Idempotency-Key");
        let odd = planner.send(Method::POST, "/v1/machines", |request| {
            request
                .header("Idempotency-Key", "again")
                .header("Content-Type", "application/json")
                .body(body.clone())
        });
        odd.await
            .expect_field_problem(400, "header.invalid", "Idempotency-Key");
        let problem =
            planner
                .get("/v1/cells?limt=3")
                .await
                .expect_field_problem(400, "query.invalid", "limt");
        assert!(problem.to_string().contains("did you mean `limit`?"), "{problem}");
        planner
            .get("/v1/cells?limit=0")
            .await
            .expect_field_problem(400, "query.invalid", "limit");
        planner.get("/v1/cells?limit=9999").await.expect_status(200);
        planner
            .get("/v1/cells/A")
            .await
            .expect_field_problem(400, "path.invalid", "id");
        planner
            .get(&format!("/v1/cells/{NOWHERE}"))
            .await
            .expect_problem(404, "cell.unknown");
        planner
            .get("/v1/site/staffed-time?from=1970-01-01&to=1970-02-01")
            .await
            .expect_field_problem(400, "query.invalid", "from");
        let wrong = planner.delete("/v1/cells").await;
        wrong.expect_problem(405, "method.not-allowed");
        assert_eq!(wrong.header("allow"), Some("GET, POST"));
        assert_eq!(served.seq(), before);
    }
}

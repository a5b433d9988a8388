//! R23: every operation, by every role, by nobody, and by every role of another site.

mod matrix;
mod operations;

use matrix::{MATRIX, Who};
use operations::Operation;
use serde_json::json;
use spindlebook_domain::role::Role;
use spindlebook_tests::app::TestApp;
use std::collections::{BTreeMap, BTreeSet};

/// One of each kind of thing at the site that the test is about, by the part of the path that names it.
async fn one_of_each(app: &TestApp) -> BTreeMap<&'static str, String> {
    let (planner, admin) = (app.planner(), app.admin());
    let added = |answer: spindlebook_tests::answer::Answer| answer.expect_status(201).string("/id");
    let pool = json!({ "code": "C1", "name": "Pool", "kind": "pool", "load_stations": 3, "stands": 4, "exchange_s": 60 });
    let cell = added(planner.post("/v1/cells", &pool).await);
    let mill = json!({ "code": "M1", "name": "Mill", "cell": cell });
    let machine = added(planner.post("/v1/machines", &mill).await);
    let down = json!({ "reason": "tooling", "note": "Spindle nose is scored" });
    let down = app
        .operator()
        .post(&format!("/v1/machines/{machine}/down"), &down)
        .await;
    let note = down.expect_status(200).string("/note");
    let slot = json!({ "machine": machine, "starts_at": "2026-11-03T06:00:00Z", "cycle_s": 600 });
    let plan = added(planner.post("/v1/plans", &json!({ "slots": [slot] })).await);
    let computation = planner
        .post("/v1/plans", &json!({ "search": { "iterations": 10 } }))
        .await;
    let computation = computation.expect_status(202).string("/id");
    let user = json!({ "login": "rita", "display_name": "Rita", "roles": ["viewer"], "password": "a long walk at night" });
    let user = added(admin.post("/v1/users", &user).await);
    let (device, badge) = tablet(app, &user).await;
    let client = json!({ "name": "Tool", "roles": ["viewer"] });
    let client = added(admin.post("/v1/clients", &client).await);
    let fixture = json!({ "code": "F1", "name": "Vice", "interface": "GRID-50", "nests": 8, "mount_s": 600,
        "copies": [{ "code": "F1-1" }, { "code": "F1-2" }, { "code": "F1-3" }] });
    let fixture = added(planner.post("/v1/fixtures", &fixture).await);
    let part = routed_part(app, &cell, &fixture).await;
    let customer = json!({ "code": "CU1", "name": "Nordwerk" });
    let customer = added(planner.post("/v1/customers", &customer).await);
    let vendor = json!({ "code": "VE1", "name": "Hardcoat", "workdays": ["monday"] });
    let vendor = added(planner.post("/v1/vendors", &vendor).await);
    let (order, job) = released_order(app, &part).await;
    let floor = Floor {
        app,
        cell: &cell,
        fixture: &fixture,
        job: &job,
    };
    let pallet = floor.pallet(1).await;
    let (run, hold) = (floor.run().await, floor.hold().await);
    let told = format!("/v1/runs/{}/finish", uuid::Uuid::now_v7());
    let told = app.operator().post(&told, &json!({ "reported": true })).await;
    let parked = told.expect_status(202).string("/id");
    // The examples tell of what has happened by then.
    app.clock.advance_s(8 * 86_400);
    BTreeMap::from([
        ("orders", order),
        ("jobs", job),
        ("runs", run),
        ("holds", hold),
        ("parked-acts", parked),
        ("pallets", pallet),
        ("fixtures", fixture),
        ("parts", part),
        ("customers", customer),
        ("vendors", vendor),
        ("cells", cell),
        ("machines", machine),
        ("plans", plan),
        ("computations", computation),
        ("users", user),
        ("clients", client),
        ("devices", device),
        ("acts", badge.clone()),
        ("badges", badge),
        ("notes", note),
    ])
}

/// With one line released, and one not.
async fn released_order(app: &TestApp, part: &str) -> (String, String) {
    let planner = app.planner();
    let line =
        |quantity: u32| json!({ "part": part, "revision": "A", "quantity": quantity, "due": "2026-11-20" });
    let order = json!({ "code": "SO-1", "lines": [line(40), line(2)] });
    let order = planner
        .post("/v1/orders", &order)
        .await
        .expect_status(201)
        .string("/id");
    let here = planner
        .post(
            &format!("/v1/orders/{order}/lines/1/material"),
            &json!({ "arrived": {} }),
        )
        .await;
    here.expect_status(200);
    let one = json!({ "lines": [{ "line": 1, "blanks": 100 }] });
    let released = planner.post(&format!("/v1/orders/{order}/release"), &one).await;
    let job = released.expect_status(200).string("/lines/0/jobs/0");
    (order, job)
}

/// One that is enrolled, and a badge of the user on another one.
async fn tablet(app: &TestApp, user: &str) -> (String, String) {
    let admin = app.admin();
    let pin = json!({ "pin": "730518" });
    let set = admin.post(&format!("/v1/users/{user}/pin"), &pin).await;
    set.expect_status(204);
    let device = admin
        .post("/v1/devices", &json!({ "name": "Load station" }))
        .await;
    let badge = json!({ "person": user, "pin": "730518" });
    let badge = app.with_role(Role::Device).post("/v1/badges", &badge).await;
    (
        device.expect_status(201).string("/id"),
        badge.expect_status(201).string("/id"),
    )
}

/// A part that is milled in the cell, then sawn.
async fn routed_part(app: &TestApp, cell: &str, fixture: &str) -> String {
    let planner = app.planner();
    let part = json!({ "code": "4711", "name": "Housing", "revision": { "revision": "A" } });
    let part = planner
        .post("/v1/parts", &part)
        .await
        .expect_status(201)
        .string("/id");
    let mill = json!({ "places": [{ "cell": cell, "cycle": { "per_load": { "cycle_s": 600 } } }], "fixtures": [fixture],
        "pieces_per_load": 8, "load_s": 60, "unload_s": 60 });
    let routing = json!({ "revision": "A", "operations": [
        { "number": 10, "name": "Mill", "machining": mill },
        { "number": 20, "name": "Saw", "manual": { "lead": { "working_days": { "lead_days": 1 } } } }] });
    let path = format!("/v1/parts/{part}/routing");
    planner.put(&path, "*", &routing).await.expect_status(200);
    part
}

/// Whose examples succeed for nobody here: what the operations before have left allows it no more (a run was aborted, a
/// pallet went to a stand, nobody has this password, a user was forgotten), and a rule says so. Each role is asked all the same.
const ANSWERED_BY_A_RULE: &[&str] = &[
    "getMetrics",
    "issueToken",
    "placeSetAsideAct",
    "beginBadge",
    "endBadge",
    "changeCell",
    "disposeHold",
    "giveHoldReference",
    "reportInspected",
    "reverseInspection",
    "reportStepOut",
    "reportStepBack",
    "correctEntry",
    "setMachineDown",
    "startRun",
    "stateOpening",
    "addLine",
    "cancelLine",
    "completeLine",
    "shipLine",
    "releaseOrder",
    "holdPallet",
    "loadPallet",
    "unloadPallet",
    "unmountFixture",
    "getCurrentPlan",
    "finishRun",
    "pauseRun",
    "resumeRun",
    "signIn",
    "changeOwnPassword",
    "setOwnPin",
    "refreshSession",
    "setUserPassword",
    "getUserPin",
    "setUserPin",
    "unlockUserPin",
];

/// What there is to do on the floor.
struct Floor<'a> {
    app: &'a TestApp,
    cell: &'a str,
    fixture: &'a str,
    job: &'a str,
}

impl Floor<'_> {
    /// Empty, at the load station of this number.
    async fn pallet(&self, number: u32) -> String {
        let pallet = json!({ "cell": self.cell, "code": format!("P{number}"), "name": "Pallet", "mass_max_g": 500_000,
            "interface": "GRID-50", "size": { "length_mm": 400, "width_mm": 400, "height_mm": 500 },
            "position": { "kind": "load_station", "number": number } });
        let added = self.app.planner().post("/v1/pallets", &pallet).await;
        added.expect_status(201).string("/id")
    }

    async fn loaded(&self, number: u32) -> String {
        let pallet = self.pallet(number).await;
        let pieces = json!([{ "job": self.job, "operation": 10, "pieces": 4 }]);
        for (act, body) in [
            ("mount", json!({ "fixture": self.fixture })),
            ("setup/finish", json!({})),
            ("load", json!({ "pieces": pieces })),
        ] {
            let path = format!("/v1/pallets/{pallet}/{act}");
            self.app.operator().post(&path, &body).await.expect_status(200);
        }
        pallet
    }

    /// One that goes on.
    async fn run(&self) -> String {
        let (planner, operator) = (self.app.planner(), self.app.operator());
        let mill = json!({ "code": "M2", "name": "Mill", "cell": self.cell });
        let machine = planner
            .post("/v1/machines", &mill)
            .await
            .expect_status(201)
            .string("/id");
        let pallet = self.loaded(2).await;
        let spindle = json!({ "to": { "kind": "spindle", "machine": machine } });
        let moved = operator
            .post(&format!("/v1/pallets/{pallet}/move"), &spindle)
            .await;
        moved.expect_status(200);
        let started = operator
            .post(&format!("/v1/machines/{machine}/runs"), &json!({}))
            .await;
        started.expect_status(201).string("/id")
    }

    /// One that waits for a decision.
    async fn hold(&self) -> String {
        let pallet = self.loaded(3).await;
        let held = self
            .app
            .inspector()
            .post(&format!("/v1/pallets/{pallet}/hold"), &json!({}))
            .await;
        held.expect_status(200).string("/load/hold")
    }
}

async fn operations(app: &TestApp) -> Vec<(Operation, Who)> {
    let document = app
        .anonymous()
        .get("/openapi.json")
        .await
        .expect_status(200)
        .json();
    let operations = operations::all(&document);
    let served: BTreeSet<&str> = operations.iter().map(|operation| operation.id.as_str()).collect();
    let rows: BTreeSet<&str> = MATRIX.iter().map(|(id, _)| *id).collect();
    assert_eq!(
        served, rows,
        "every operation has its row in matrix.rs, and every row its operation"
    );
    assert_eq!(rows.len(), MATRIX.len(), "an operation has one row");
    let who = |id: &str| {
        MATRIX
            .iter()
            .find(|(row, _)| *row == id)
            .map(|(_, who)| *who)
            .unwrap()
    };
    operations
        .into_iter()
        .map(|operation| {
            let who = who(&operation.id);
            (operation, who)
        })
        .collect()
}

spindlebook_tests::on_both_engines! {
    async fn nobody_does_without_signing_in_what_needs_it(engine) {
        let app = TestApp::new(engine).await;
        let (things, before) = (one_of_each(&app).await, app.seq());
        for (operation, who) in operations(&app).await {
            let answer = operation.sent_by(&app.anonymous(), &things).await;
            if who == Who::Anyone {
                let is_sent_away = answer.status == 401 && answer.json()["code"] == "sign-in.required";
                assert!(!is_sent_away, "{}: {}", operation.id, answer.text());
            } else {
                answer.expect_problem(401, "sign-in.required");
            }
        }
        assert_eq!(app.seq(), before, "nobody changed anything");
    }

    async fn every_role_does_what_it_may_and_nothing_else(engine) {
        let app = TestApp::new(engine).await;
        let things = one_of_each(&app).await;
        let mut never = Vec::new();
        for (operation, who) in operations(&app).await {
            let operation = operation.about(&things);
            let mut succeeded = false;
            for role in Role::ALL {
                let before = app.seq();
                let answer = operation.sent_by(&app.with_role(role), &things).await;
                let is_allowed = match who {
                    Who::Anyone | Who::SignedIn => true,
                    Who::Roles(roles) => roles.contains(&role),
                };
                let (id, status) = (&operation.id, answer.status.as_u16());
                if is_allowed {
                    succeeded |= status < 400;
                    assert!(status != 403 && status < 500, "{id} by {role}: {status} {}", answer.text());
                    // 401 is also what a wrong password gets where one signs in.
                    assert!(who == Who::Anyone || status != 401, "{id} by {role}: {}", answer.text());
                } else {
                    answer.expect_problem(403, "role.missing");
                    assert_eq!(app.seq(), before, "{id} by {role} was refused and changed something");
                }
            }
            if !succeeded {
                never.push(operation.id);
            }
        }
        assert_eq!(never, ANSWERED_BY_A_RULE);
    }

    async fn nobody_sees_or_changes_another_site(engine) {
        let app = TestApp::new(engine).await;
        let things = one_of_each(&app).await;
        let principals = Role::ALL.map(|role| app.principal(role).to_string());
        let secrets: Vec<String> =
            things.values().cloned().chain(principals).chain([app.site.to_string()]).collect();
        let before = app.seq();
        let all = operations(&app).await;
        let unfiltered: Vec<_> = all.iter().map(|(operation, who)| (operation.unfiltered(), *who)).collect();
        for (operation, who) in all.iter().chain(&unfiltered) {
            for role in Role::ALL {
                let answer = operation.sent_by(&app.from_other_site(role), &things).await;
                let (id, status, text) = (&operation.id, answer.status.as_u16(), answer.text());
                let is_allowed = matches!(who, Who::Roles(roles) if roles.contains(&role));
                if is_allowed && operation.names_a_thing() {
                    assert_eq!(status, 404, "{id} by {role} of another site: {text}");
                    continue;
                }
                assert!(status < 500, "{id} by {role} of another site: {status} {text}");
                if *who == Who::Anyone {
                    continue;
                }
                let seen = secrets.iter().find(|secret| text.contains(*secret));
                assert_eq!(seen, None, "{id} by {role} of another site: {text}");
            }
        }
        assert_eq!(app.seq(), before, "the site was changed from another one");
    }
}

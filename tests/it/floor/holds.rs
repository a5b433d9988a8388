//! Cases E50, E51 and E54 to E57: holds, and what is decided about them. What is right in each: common practice, no
//! source.

use super::small_cell::SmallCell;
use super::working_cell::{Work, WorkingCell};
use serde_json::{Value, json};
use spindlebook_domain::role::Role;
use spindlebook_tests::caller::Caller;
use spindlebook_tests::engine::Engine;
use spindlebook_tests::on_both_engines;

const NOW: &str = "2026-11-02T08:00:00Z";
const MINUTE_S: i64 = 60;

fn first_piece() -> Work {
    Work {
        first_piece: true,
        ..Work::default()
    }
}

/// The fixture on pallet 1; nothing is clamped. The customer's rules are those.
async fn cell(engine: Engine, rules: Value) -> (WorkingCell, String) {
    let cell = WorkingCell::at(engine, NOW, &first_piece()).await;
    cell.small.mount(0).await;
    let customer = json!({ "code": "NORD", "name": "Nordwerk" });
    let planner = cell.small.served.planner();
    let customer = planner
        .post("/v1/customers", &customer)
        .await
        .expect_status(201)
        .string("/id");
    let path = format!("/v1/customers/{customer}/inspection-rules");
    let set = planner
        .put(&path, "*", &json!({ "rules": [rules] }))
        .await
        .expect_status(200)
        .json();
    let shown = planner.get(&path).await;
    assert_eq!(shown.json(), set);
    (cell, customer)
}

/// An order of that customer, released; gives the job.
async fn ordered(cell: &WorkingCell, code: &str, quantity: u32, more: Value) -> String {
    let mut order = json!({ "code": code, "lines": [crate::orders::line(&cell.part, quantity)] });
    for (name, value) in more.as_object().unwrap() {
        order[name] = value.clone();
    }
    let planner = cell.small.served.planner();
    let order = planner
        .post("/v1/orders", &order)
        .await
        .expect_status(201)
        .string("/id");
    let released = planner
        .post(&format!("/v1/orders/{order}/release"), &json!({}))
        .await;
    released.expect_status(200).string("/lines/0/jobs/0")
}

/// Cuts so many pieces on pallet 1; gives the hold, if there is one.
async fn cut(cell: &WorkingCell, by: &Caller, job: &str, pieces: u32) -> Value {
    cell.load(0, job, pieces, false).await.expect_status(200);
    cell.to_spindle(0).await;
    let start = format!("/v1/machines/{}/runs", cell.small.machine);
    let run = by.post(&start, &json!({})).await.expect_status(201).string("/id");
    cell.run(&run, "finish", &json!({})).await["hold"].clone()
}

fn disposition(hold: &Value) -> String {
    format!("/v1/holds/{}/disposition", hold.as_str().unwrap())
}

/// Somebody who has both roles, as in a small shop.
async fn operator_and_inspector(small: &SmallCell) -> Caller {
    let user = json!({ "login": "jo", "display_name": "Jo", "roles": ["operator", "inspector"], "password": "a long walk at night" });
    let added = small
        .served
        .admin()
        .post("/v1/users", &user)
        .await
        .expect_status(201);
    small
        .served
        .as_principal(small.served.site, added.string("/id").parse().unwrap())
}

async fn holds(cell: &WorkingCell, query: &str) -> Vec<Value> {
    let page = cell.small.get(&format!("/v1/holds?{query}")).await;
    page["items"].as_array().unwrap().clone()
}

on_both_engines! {
    /// E50: pallet 1 waits for the inspector, pallet 2 carries the same work and waits for that, a third one goes on.
    async fn e50_the_rest_of_an_operation_waits_and_other_work_goes_on(engine) {
        let (cell, customer) = cell(engine, json!({})).await;
        let planner = cell.small.served.planner();
        let copies = format!("/v1/fixtures/{}/copies", cell.small.fixture);
        for copy in ["F7-2", "F7-3"] {
            planner.post(&copies, &json!({ "code": copy })).await.expect_status(201);
        }
        let checked = ordered(&cell, "SO-X", 16, json!({ "customer": customer })).await;
        let other = json!({ "code": "4712", "name": "Cover", "revision": { "revision": "A" } });
        let other = planner.post("/v1/parts", &other).await.expect_status(201).string("/id");
        cell.set_routing(&other, &Work::default()).await;
        let (_, free) = cell.released_line(crate::orders::line(&other, 8), 8).await;
        let third = json!({ "cell": cell.small.cell, "code": "P3", "name": "Pallet", "mass_max_g": 100_000,
            "interface": "GRID-50", "size": { "length_mm": 400, "width_mm": 400, "height_mm": 500 },
            "position": { "kind": "stand", "number": 2 } });
        let third = planner.post("/v1/pallets", &third).await.expect_status(201).string("/id");
        cut(&cell, &cell.small.operator(), &checked, 8).await;
        cell.clock("2026-11-02T08:48:00Z");
        let (planner, operator) = (cell.small.served.planner(), cell.small.operator());
        cell.to_station(1).await;
        cell.small.mount(1).await;
        cell.load(1, &checked, 8, false).await.expect_status(200);
        // The cut pallet goes to a stand, the third one to the load station and then to the spindle.
        let act = async |pallet: &str, act: &str, body: Value| {
            operator.post(&format!("/v1/pallets/{pallet}/{act}"), &body).await.expect_status(200);
        };
        act(&cell.small.pallets[1], "move", json!({ "to": { "kind": "stand", "number": 1 } })).await;
        act(&third, "move", json!({ "to": { "kind": "load_station", "number": 1 } })).await;
        act(&third, "mount", json!({ "fixture": cell.small.fixture })).await;
        act(&third, "setup/finish", json!({})).await;
        act(&third, "load", json!({ "pieces": [{ "job": free, "operation": 10, "pieces": 8 }] })).await;
        act(&cell.small.pallets[0], "move", json!({ "to": { "kind": "stand", "number": 2 } })).await;
        let queue = format!("/v1/cells/{}/queue", cell.small.cell);
        planner.put(&queue, "*", &json!({ "pallets": [cell.small.pallets[1], third] })).await.expect_status(200);
        let waits = cell.small.line(1).await["waits_for"].clone();
        assert_eq!(waits["code"], "first_piece");
        // 08:00 UTC is 09:00 in Berlin.
        let text = waits["text"].as_str().unwrap();
        assert!(text.contains("SO-X/1") && text.contains("in fixture F7") && text.contains("since 09:00 on pallet P1"), "{text}");
        let ahead = cell.small.get(&format!("/v1/cells/{}/cuts-until", cell.small.cell)).await;
        assert_eq!(ahead["machines"][0]["loads"][0]["pallet"], json!(third), "the next to the spindle");
        act(&third, "move", json!({ "to": { "kind": "spindle", "machine": cell.small.machine } })).await;
        cell.start().await;
        let [held] = &holds(&cell, "kind=first_piece&cell=POOL").await[..] else { panic!("one hold") };
        assert_eq!((&held["age_s"], &held["pallet"]), (&json!(48 * MINUTE_S), &json!(cell.small.pallets[0])));
        assert_eq!(holds(&cell, "kind=suspect").await, Vec::<Value>::new());
    }

    /// E51: revision B is approved; the staged pallet is revision C and stays held, and the message says for what the
    /// approval is.
    async fn e51_an_approval_is_for_its_revision(engine) {
        let (cell, customer) = cell(engine, json!({ "first_piece": ["new_setup", "new_revision"] })).await;
        let planner = cell.small.served.planner();
        let job = ordered(&cell, "SO-B", 8, json!({ "customer": customer })).await;
        let operator = cell.small.operator();
        let hold = cut(&cell, &operator, &job, 8).await;
        let accept = json!({ "disposition": "accept", "revision": "A" });
        let inspector = cell.small.served.inspector();
        let accepted = inspector.post(&disposition(&hold), &accept).await.expect_status(200).json();
        assert_eq!((&accepted["approved"][0]["revision"], &accepted["lifted"]), (&json!("A"), &json!(true)));
        cell.to_station(0).await;
        cell.unload(0, &job, json!({ "good": 8 }), false).await.expect_status(200);
        let next = json!({ "revision": "C" });
        planner.post(&format!("/v1/parts/{}/revisions", cell.part), &next).await.expect_status(201);
        let routing = planner.get(&format!("/v1/parts/{}/routing?revision=A", cell.part)).await.json();
        let routing = json!({ "revision": "C", "operations": routing["operations"] });
        planner.put(&format!("/v1/parts/{}/routing", cell.part), "*", &routing).await.expect_status(200);
        let mut line = crate::orders::line(&cell.part, 16);
        line["revision"] = json!("C");
        let body = json!({ "code": "SO-C", "customer": customer, "lines": [line] });
        let order = planner.post("/v1/orders", &body).await.expect_status(201).string("/id");
        let released = planner.post(&format!("/v1/orders/{order}/release"), &json!({})).await;
        let newer = released.expect_status(200).string("/lines/0/jobs/0");
        let hold = cut(&cell, &operator, &newer, 8).await;
        assert!(hold.is_string(), "the same setup, and yet its first piece is looked at");
        let refused = inspector.post(&disposition(&hold), &accept).await;
        let problem = refused.expect_field_problem(409, "disposition.revision-differs", "/revision");
        assert!(problem["detail"].as_str().unwrap().contains("is for revision A"), "{problem}");
        assert_eq!(cell.small.line(0).await["state"], "held");
    }

    /// E54: the operator is told why not; an inspector's "use as is" is kept as proposed until the customer has agreed.
    async fn e54_use_as_is_waits_for_the_customer(engine) {
        let (cell, customer) = cell(engine, json!({})).await;
        let needed = json!({ "customer": customer, "customer_approval_needed": true });
        let job = ordered(&cell, "SO-1", 8, needed).await;
        let operator = cell.small.operator();
        let hold = cut(&cell, &operator, &job, 8).await;
        let use_it = json!({ "disposition": "use_as_is", "note": "Bore 12.03: the gauge still goes through" });
        let before = cell.small.served.seq();
        let refused = operator.post(&disposition(&hold), &use_it).await.expect_problem(403, "role.missing");
        assert!(refused["detail"].as_str().unwrap().contains("inspector"), "{refused}");
        let inspector = cell.small.served.inspector();
        let accept = json!({ "disposition": "accept" });
        let refused = cell.small.served.planner().post(&disposition(&hold), &accept).await;
        refused.expect_field_problem(403, "disposition.role-missing", "/disposition");
        assert_eq!(cell.small.served.seq(), before, "nothing changed");
        let silent = json!({ "disposition": "use_as_is" });
        let refused = inspector.post(&disposition(&hold), &silent).await;
        refused.expect_field_problem(400, "disposition.note-missing", "/note");
        let proposed = inspector.post(&disposition(&hold), &use_it).await.expect_status(200).json();
        assert_eq!((&proposed["state"], &proposed["lifted"]), (&json!("proposed"), &json!(false)));
        cell.to_station(0).await;
        cell.unload(0, &job, json!({ "good": 8 }), false).await.expect_field_problem(409, "unload.held", "/counts/0/good");
        let [held] = &holds(&cell, "").await[..] else { panic!("one hold") };
        assert_eq!(held["proposal"]["disposition"], "use_as_is");
        assert!(cell.small.line(0).await["waits_for"]["text"].as_str().unwrap().contains("the customer's reference"));
        let reference = format!("/v1/holds/{}/reference", hold.as_str().unwrap());
        let agreed = json!({ "reference": "Mail of 2026-11-02, Mrs. Sommer" });
        let decided = cell.small.served.front_office().post(&reference, &agreed).await.expect_status(200).json();
        assert_eq!((&decided["state"], &decided["lifted"], &decided["authority"]), (&json!("decided"), &json!(true), &json!("inspector")));
        let text = cell.small.get(&format!("/v1/notes/{}", decided["reference"].as_str().unwrap())).await;
        assert_eq!(text["text"], agreed["reference"]);
        cell.unload(0, &job, json!({ "good": 8 }), false).await.expect_status(200);
        assert_eq!(cell.job(&job).await["made"], 8);
        cell.small.served.front_office().post(&reference, &agreed).await.expect_problem(404, "hold.unknown");
    }

    /// E55: the wrong piece was scrapped. A new entry takes that back; both are shown with who and when.
    async fn e55_a_scrap_is_reversed_and_nothing_is_deleted(engine) {
        let (cell, customer) = cell(engine, json!({})).await;
        let job = ordered(&cell, "SO-1", 8, json!({ "customer": customer })).await;
        let hold = cut(&cell, &cell.small.operator(), &job, 8).await;
        cell.to_station(0).await;
        cell.unload(0, &job, json!({ "to_inspection": 8 }), false).await.expect_status(200);
        let one = json!([{ "job": job, "operation": 10, "pieces": 1 }]);
        let scrap = json!({ "disposition": "scrap", "pieces": one, "note": "Chatter on the bore" });
        let before = cell.job(&job).await["operations"].clone();
        cell.clock("2026-11-02T09:00:00Z");
        let inspector = cell.small.served.inspector();
        inspector.post(&disposition(&hold), &scrap).await.expect_status(200);
        let entry = cell.small.served.seq();
        assert_eq!(cell.job(&job).await["operations"][0]["scrapped"], 1);
        cell.clock("2026-11-02T09:10:00Z");
        let reversal = format!("/v1/jobs/{job}/inspections/{entry}/reversal");
        let why = json!({ "note": "It was the piece beside it" });
        inspector.post(&reversal, &json!({})).await.expect_field_problem(400, "inspection.note-missing", "/note");
        cell.small.operator().post(&reversal, &why).await.expect_problem(403, "role.missing");
        let shown = inspector.post(&reversal, &why).await.expect_status(200).json();
        assert_eq!(shown["operations"], before, "as it was");
        inspector.post(&reversal, &why).await.expect_problem(409, "inspection.reversed-already");
        let results = cell.small.get(&format!("/v1/jobs/{job}/inspections")).await["items"].clone();
        let by = cell.small.served.principal(Role::Inspector).to_string();
        assert_eq!((&results[0]["seq"], &results[0]["scrapped"], &results[0]["by"]), (&json!(entry), &json!(1), &json!(by)));
        assert_eq!((&results[0]["at"], &results[0]["reversed_by"]), (&json!("2026-11-02T09:00:00Z"), &json!(entry + 1)));
        for (seq, kind, at) in [(entry, "hold.disposed", "2026-11-02T09:00:00Z"), (entry + 1, "inspection.reversed", "2026-11-02T09:10:00Z")] {
            let kept = cell.small.get(&format!("/v1/ledger/{seq}")).await;
            assert_eq!((&kept["kind"], &kept["occurred_at"], &kept["actor"]), (&json!(kind), &json!(at), &json!(format!("person:{by}"))));
        }
        // The other seven go on: that cannot be taken back once they are shipped.
        let seven = json!({ "disposition": "accept", "pieces": [{ "job": job, "operation": 10, "pieces": 7 }] });
        inspector.post(&disposition(&hold), &seven).await.expect_status(200);
        let entry = cell.small.served.seq();
        let order = cell.job(&job).await["order"].as_str().unwrap().to_owned();
        let office = cell.small.served.front_office();
        office.post(&format!("/v1/orders/{order}/lines/1/shipments"), &json!({ "pieces": 4 })).await.expect_status(200);
        let reversal = format!("/v1/jobs/{job}/inspections/{entry}/reversal");
        let problem = inspector.post(&reversal, &why).await.expect_problem(409, "inspection.moved-on");
        assert!(problem["detail"].as_str().unwrap().contains("shipped"), "{problem}");
    }

    /// E56: whoever ran it does not accept it where the customer says so; elsewhere the record says "self-checked".
    async fn e56_the_same_person_accepts_only_where_the_customer_lets_them(engine) {
        for independent in [true, false] {
            let (cell, customer) = cell(engine, json!({ "independent": independent })).await;
            let job = ordered(&cell, "SO-1", 8, json!({ "customer": customer })).await;
            let jo = operator_and_inspector(&cell.small).await;
            let hold = cut(&cell, &jo, &job, 8).await;
            let accept = json!({ "disposition": "accept" });
            let own = jo.post(&disposition(&hold), &accept).await;
            if independent {
                let problem = own.expect_problem(409, "disposition.not-independent");
                assert!(problem["detail"].as_str().unwrap().contains("somebody else"), "{problem}");
                let other = cell.small.served.inspector().post(&disposition(&hold), &accept).await;
                assert_eq!(other.expect_status(200).json()["self_checked"], false);
            } else {
                assert_eq!(own.expect_status(200).json()["self_checked"], true);
                let entry = cell.small.get(&format!("/v1/ledger/{}", cell.small.served.seq())).await;
                assert_eq!(entry["payload"]["self_checked"], true, "it stands in the record");
            }
        }
    }

    /// E57: finished on 2024-10-01 and ordered again on 2026-11-20, 780 days later: after 24 months the first article is
    /// due again. Finished on 2025-06-01 it is not.
    async fn e57_a_lapsed_first_article_is_told_at_order_entry(engine) {
        for (finished, days) in [("2024-10-01T10:00:00Z", Some(780)), ("2025-06-01T10:00:00Z", None)] {
            let cell = WorkingCell::at(engine, finished, &Work::default()).await;
            cell.small.mount(0).await;
            let (_, job) = cell.released(8).await;
            cell.cut(&job, 8, false, json!({ "good": 8 })).await;
            cell.clock("2026-11-20T09:00:00Z");
            let planner = cell.small.served.planner();
            let customer = json!({ "code": "NORD", "name": "Nordwerk" });
            let customer = planner.post("/v1/customers", &customer).await.expect_status(201).string("/id");
            let rules = json!({ "rules": [{ "first_article_after_months": 24 }] });
            planner.put(&format!("/v1/customers/{customer}/inspection-rules"), "*", &rules).await.expect_status(200);
            let order = json!({ "code": "SO-9", "customer": customer, "lines": [crate::orders::line(&cell.part, 8)] });
            let entered = planner.post("/v1/orders", &order).await.expect_status(201);
            let due = days.map(|days| json!({ "last_finished": "2024-10-01", "days": days, "after_months": 24 }));
            assert_eq!(entered.json()["lines"][0]["first_article_due"], json!(due));
            let released = planner.post(&format!("/v1/orders/{}/release", entered.string("/id")), &json!({})).await;
            let job = released.expect_status(200).string("/lines/0/jobs/0");
            let hold = cut(&cell, &cell.small.operator(), &job, 8).await;
            assert_eq!(hold.is_string(), days.is_some(), "and the floor knows it too");
            if days.is_some() {
                assert_eq!(holds(&cell, "").await[0]["kind"], "first_article");
            }
        }
    }

    /// Placed while it is cut: taken, with the word that it stops no machine; it holds what comes out.
    async fn a_hold_during_a_cut_stops_no_machine_and_holds_what_comes_out(engine) {
        let cell = WorkingCell::new(engine).await;
        let (_, job) = cell.released(8).await;
        cell.load(0, &job, 8, false).await.expect_status(200);
        cell.to_spindle(0).await;
        let run = cell.start().await;
        let held = cell.small.act(0, "hold", &json!({ "kind": "in_process", "note": "Measure bore 2" })).await;
        let held = held.expect_status(200).json();
        assert_eq!(held["warnings"][0]["code"], "machine_goes_on");
        let words = held["warnings"][0]["detail"].as_str().unwrap();
        assert!(words.contains("does not stop the machine") && words.contains("emergency stop is at the machine"), "{words}");
        let hold = held["load"]["hold"].clone();
        let accept = json!({ "disposition": "accept" });
        let inspector = cell.small.served.inspector();
        inspector.post(&disposition(&hold), &accept).await.expect_problem(409, "hold.still-cut");
        cell.run(&run, "finish", &json!({})).await;
        assert_eq!(cell.small.line(0).await["state"], "held");
        let formal = json!({ "kind": "first_article" });
        cell.small.act(0, "hold", &formal).await.expect_field_problem(400, "hold.kind-not-by-hand", "/kind");
        inspector.post(&disposition(&hold), &accept).await.expect_status(200);
        assert_eq!(cell.small.line(0).await["state"], "cut");
    }

    /// What a hold costs: the seconds that the hours report calls waiting for inspection, since it began.
    async fn a_hold_shows_its_age_and_the_spindle_time_it_costs(engine) {
        let (cell, customer) = cell(engine, json!({ "every_nest": true })).await;
        cell.set_shifts(&[("Early", "05:00", "13:00")]).await;
        let job = ordered(&cell, "SO-1", 20, json!({ "customer": customer })).await;
        let hold = cut(&cell, &cell.small.operator(), &job, 8).await;
        cell.clock("2026-11-02T08:50:00Z");
        let [held] = &holds(&cell, "limit=1").await[..] else { panic!("one hold") };
        assert_eq!((&held["age_s"], &held["spindle_s_waiting"]), (&json!(50 * MINUTE_S), &json!(50 * MINUTE_S)));
        assert_eq!(held["nests_approved"], json!([{ "job": job, "operation": 10, "approved": [], "nests": 8 }]));
        let five = json!({ "job": job, "operation": 10, "pieces": 5, "nests": [1, 2, 3, 4, 5] });
        let inspector = cell.small.served.inspector();
        let all = json!({ "disposition": "accept" });
        inspector.post(&disposition(&hold), &all).await.expect_field_problem(409, "disposition.nests-unnamed", "/pieces");
        let partly = json!({ "disposition": "accept", "pieces": [five] });
        let decided = inspector.post(&disposition(&hold), &partly).await.expect_status(200).json();
        assert_eq!((&decided["lifted"], &decided["approved"][0]["nests"]), (&json!(false), &json!([1, 2, 3, 4, 5])));
        let [held] = &holds(&cell, "").await[..] else { panic!("it stays") };
        assert_eq!((&held["nests_approved"][0]["approved"], &held["undecided"][0]["pieces"]), (&json!([1, 2, 3, 4, 5]), &json!(3)));
        cell.small.served.viewer().get("/v1/holds?kind=odd").await.expect_status(400);
        cell.small.served.viewer().get("/v1/holds?cell=NOWHERE").await.expect_status(404);
    }
}

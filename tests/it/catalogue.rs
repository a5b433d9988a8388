//! What the shop works with, by HTTP: pallets, fixtures, parts and routings, customers, vendors, tools, people.

use crate::served::Served;
use serde_json::{Value, json};
use spindlebook_domain::{customer, fixture, machine, pallet, part, site, size, vendor};
use spindlebook_tests::caller::Caller;
use spindlebook_tests::on_both_engines;

const NOW: &str = "2026-11-02T06:00:00Z";

fn room() -> Value {
    json!({ "length_mm": 500, "width_mm": 500, "height_mm": 600 })
}

fn a_pallet(cell: &str, code: &str) -> Value {
    json!({ "cell": cell, "code": code, "name": "Pallet", "size": room(), "mass_max_g": 700_000, "interface": "GRID-50" })
}

fn a_fixture(code: &str, nests: u32) -> Value {
    json!({ "code": code, "name": "Four sides", "interface": "GRID-50", "nests": nests, "mount_s": 1800,
        "copies": [{ "code": format!("{code}-1") }] })
}

/// A pool with one machine: the ids of both.
async fn pool(planner: &Caller) -> (String, String) {
    let cell = json!({ "code": "POOL-A", "name": "Pool", "kind": "pool", "load_stations": 1, "stands": 2, "exchange_s": 45 });
    let cell = planner
        .post("/v1/cells", &cell)
        .await
        .expect_status(201)
        .string("/id");
    let machine = json!({ "code": "M1", "name": "Mill", "cell": cell });
    let machine = planner
        .post("/v1/machines", &machine)
        .await
        .expect_status(201)
        .string("/id");
    (cell, machine)
}

fn without(mut body: Value, fields: &[&str]) -> Value {
    for field in fields {
        body.as_object_mut().unwrap().remove(*field);
    }
    body
}

/// Added, shown, listed, changed on its version, and not on an older one.
async fn lives(served: &Served, path: &str, body: &Value, stale: &str, not_in_a_change: &[&str]) -> Value {
    let planner = served.planner();
    let added = planner.post(path, body).await.expect_status(201);
    let one = format!("{path}/{}", added.string("/id"));
    assert_eq!(added.header("location"), Some(one.as_str()));
    let shown = served.viewer().get(&one).await.expect_status(200);
    assert_eq!((shown.json(), shown.etag()), (added.json(), added.etag()));
    let page = served.viewer().get(path).await.expect_status(200).json();
    assert_eq!(page["items"], json!([added.json()]));
    let mut changed = without(body.clone(), not_in_a_change);
    changed["name"] = json!("Another name");
    let answer = planner
        .put(&one, &shown.etag(), &changed)
        .await
        .expect_status(200);
    assert_eq!(answer.json()["name"], "Another name");
    planner
        .put(&one, &shown.etag(), &changed)
        .await
        .expect_problem(412, stale);
    planner
        .put(&format!("{path}/{}", uuid::Uuid::now_v7()), "*", &changed)
        .await
        .expect_status(404);
    let after = served.viewer().get(&one).await.expect_status(200);
    assert_eq!((after.json(), after.etag()), (answer.json(), answer.etag()));
    after.json()
}

on_both_engines! {
    async fn a_pallet_stands_at_one_place_of_its_cell(engine) {
        let served = Served::at(engine, NOW).await;
        let planner = served.planner();
        let (cell, machine) = pool(&planner).await;
        let first = lives(&served, "/v1/pallets", &a_pallet(&cell, "P1"), "pallet.stale", &["cell"]).await;
        assert_eq!(first["position"], json!({ "kind": "stand", "number": 1 }));
        assert_eq!(first["setup"], Value::Null);
        let before = served.seq();
        let at = |position: Value| {
            let mut body = a_pallet(&cell, "P2");
            body["position"] = position;
            body
        };
        let elsewhere = uuid::Uuid::now_v7();
        for (status, position, code, pointer) in [
            (409, json!({ "kind": "stand", "number": 1 }), "pallet.position-taken", "/position"),
            (409, json!({ "kind": "stand", "number": 3 }), "pallet.position-unknown", "/position"),
            (409, json!({ "kind": "spindle", "machine": elsewhere }), "pallet.position-machine-unknown", "/position/machine"),
            (400, json!({ "kind": "spindle", "number": 1 }), "body.invalid", "/position/number"),
            (400, json!({ "kind": "spindle" }), "body.invalid", "/position/machine"),
            (400, json!({ "kind": "stand" }), "body.invalid", "/position/number"),
            (400, json!({ "kind": "load_station", "number": 1, "machine": machine }), "body.invalid", "/position/machine"),
            (400, json!({ "kind": "stand", "number": 0 }), "body.invalid", "/position/number"),
        ] {
            planner.post("/v1/pallets", &at(position)).await.expect_field_problem(status, code, pointer);
        }
        let mut heavy = a_pallet(&cell, "P2");
        heavy["mass_max_g"] = json!(-5);
        planner.post("/v1/pallets", &heavy).await.expect_field_problem(400, "body.invalid", "/mass_max_g");
        assert_eq!(served.seq(), before, "what was refused changed nothing");
        let at_the_spindle = at(json!({ "kind": "spindle", "machine": machine }));
        let second = planner.post("/v1/pallets", &at_the_spindle).await.expect_status(201).json();
        assert_eq!(second["position"], json!({ "kind": "spindle", "machine": machine }));
        // The pool cannot lose the stand that P1 stands on.
        let smaller = json!({ "code": "POOL-A", "name": "Pool", "kind": "pool", "load_stations": 1, "stands": 0, "exchange_s": 45 });
        let answer = planner.put(&format!("/v1/cells/{cell}"), "*", &smaller).await;
        answer.expect_problem(409, "cell.place-in-use");
    }

    async fn a_fixture_exists_in_copies_and_each_once(engine) {
        let served = Served::at(engine, NOW).await;
        let planner = served.planner();
        let shown = lives(&served, "/v1/fixtures", &a_fixture("F7", 8), "fixture.stale", &["copies"]).await;
        assert_eq!((&shown["copies"][0]["code"], &shown["copies"][0]["pallet"]), (&json!("F7-1"), &Value::Null));
        assert_eq!(shown["mass_g"], Value::Null, "nobody has weighed it");
        let path = format!("/v1/fixtures/{}/copies", shown["id"].as_str().unwrap());
        let more = planner.post(&path, &json!({ "code": "F7-2" })).await.expect_status(201).json();
        assert_eq!(more["copies"].as_array().unwrap().len(), 2);
        planner.post(&path, &json!({ "code": "f7-1" })).await.expect_field_problem(409, "fixture.copy-code-taken", "/code");
        let mut twice = a_fixture("F8", 8);
        twice["copies"] = json!([{ "code": "F8-1" }, { "code": "F8-1" }]);
        let answer = planner.post("/v1/fixtures", &twice).await;
        answer.expect_field_problem(409, "fixture.copy-code-taken", "/copies/1/code");
        let mut none = a_fixture("F8", 8);
        none["copies"] = json!([]);
        planner.post("/v1/fixtures", &none).await.expect_field_problem(400, "fixture.no-copy", "/copies");
    }

    async fn a_customer_has_a_tolerance_and_a_vendor_its_days(engine) {
        let served = Served::at(engine, NOW).await;
        let customer = json!({ "code": "NORDWERK", "name": "Nordwerk", "over_percent": 5 });
        let shown = lives(&served, "/v1/customers", &customer, "customer.stale", &[]).await;
        assert_eq!((&shown["over_percent"], &shown["under_percent"]), (&json!(5), &json!(0)));
        let vendor = json!({ "code": "HARDCOAT", "name": "Hardcoat", "workdays": ["friday", "monday"], "closed": ["2026-12-25"] });
        let shown = lives(&served, "/v1/vendors", &vendor, "vendor.stale", &[]).await;
        assert_eq!(shown["workdays"], json!(["monday", "friday"]));
        let office = served.front_office();
        let other = json!({ "code": "SUEDWERK", "name": "Suedwerk" });
        let other = office.post("/v1/customers", &other).await.expect_status(201).json();
        assert_eq!((&other["over_percent"], &other["under_percent"]), (&json!(0), &json!(0)), "none by default");
        let never = json!({ "code": "NEVER", "name": "Never", "workdays": [] });
        served.planner().post("/v1/vendors", &never).await.expect_field_problem(400, "vendor.no-workday", "/workdays");
        let too_much = json!({ "code": "X", "name": "X", "over_percent": 101 });
        office.post("/v1/customers", &too_much).await.expect_field_problem(400, "body.invalid", "/over_percent");
    }

    async fn a_routing_belongs_to_a_revision_and_says_what_it_is_per(engine) {
        let served = Served::at(engine, NOW).await;
        let planner = served.planner();
        let (cell, machine) = pool(&planner).await;
        let fixture = planner.post("/v1/fixtures", &a_fixture("F7", 8)).await.expect_status(201).string("/id");
        let part = json!({ "code": "4711", "name": "Housing", "revision": { "revision": "A", "mass_g": 2100,
            "blank": { "name": "Bar 80 x 80", "mass_g": 3400 } } });
        let part = lives(&served, "/v1/parts", &part, "part.stale", &["revision"]).await;
        let one = format!("/v1/parts/{}", part["id"].as_str().unwrap());
        let path = format!("{one}/routing");
        served.viewer().get(&path).await.expect_field_problem(400, "query.invalid", "revision");
        served.viewer().get(&format!("{path}?revision=A")).await.expect_problem(404, "resource.unknown");
        served.viewer().get(&format!("{path}?revision=Z")).await.expect_problem(404, "part.revision-unknown");
        let milling = json!({ "places": [{ "cell": cell, "cycle": { "per_load": { "cycle_s": 2880 } },
                "tools": [{ "tool": "T12", "used_s_per_load": 900 }],
                "clearances": [{ "machine": machine, "checklist": ["Coolant level"] }] }],
            "fixtures": [fixture], "pieces_per_load": 6, "load_s": 600, "unload_s": 300.0, "first_piece": true });
        let routing = |milling: &Value| json!({ "revision": "A", "operations": [
            { "number": 10, "name": "Mill", "machining": milling },
            { "number": 20, "name": "Saw", "manual": { "lead": { "staffed_time": { "lead_s": 3600 } } } }] });
        let before = served.seq();
        let mut nine = milling.clone();
        nine["pieces_per_load"] = json!(9);
        let mut bare = milling.clone();
        bare["places"][0]["cycle"] = json!(2880);
        let mut two = milling.clone();
        two["places"][0]["cycle"] = json!({ "per_load": { "cycle_s": 2880 }, "per_piece": { "cycle_s": 480 } });
        let mut lead = routing(&milling);
        lead["operations"][1]["manual"]["lead"] = json!(5);
        let mut both = routing(&milling);
        both["operations"][1]["machining"] = milling.clone();
        let mut script = milling.clone();
        script["setup_sheet"] = json!("javascript:alert(1)");
        for (status, body, code, pointer) in [
            (409, routing(&nine), "routing.too-few-nests", "/operations/0/machining/fixtures/0"),
            (400, routing(&bare), "body.invalid", "/operations/0/machining/places/0/cycle"),
            (400, routing(&two), "body.invalid", "/operations/0/machining/places/0/cycle"),
            (400, lead, "body.invalid", "/operations/1/manual/lead"),
            (400, both, "body.invalid", "/operations/1/manual"),
            (400, routing(&script), "body.invalid", "/operations/0/machining/setup_sheet"),
        ] {
            planner.put(&path, "*", &body).await.expect_field_problem(status, code, pointer);
        }
        assert_eq!(served.seq(), before);
        // A number alone is the oldest mistake: minutes or seconds, of a pallet or of a piece?
        let answer = planner.put(&path, "*", &routing(&bare)).await.json();
        let detail = answer["detail"].as_str().unwrap();
        assert!(detail.contains("`per_load` or `per_piece`"), "{detail}");
        let set = planner.put(&path, "*", &routing(&milling)).await.expect_status(200);
        let shown = served.viewer().get(&format!("{path}?revision=A")).await.expect_status(200);
        assert_eq!((shown.json(), shown.etag()), (set.json(), set.etag()));
        let cycle = &shown.json()["operations"][0]["machining"]["places"][0]["cycle"];
        assert_eq!(*cycle, json!({ "per_load": { "cycle_s": 2880 } }));
        // A new revision begins without a routing; the old one keeps its own.
        let path_of_revisions = format!("{one}/revisions");
        let more = planner.post(&path_of_revisions, &json!({ "revision": "B" })).await.expect_status(201).json();
        assert_eq!(more["revisions"][1]["routing_seq"], Value::Null);
        assert_eq!(more["revisions"][0]["routing_seq"], set.json()["routing_seq"]);
        served.viewer().get(&format!("{path}?revision=B")).await.expect_problem(404, "resource.unknown");
        served.viewer().get(&format!("{path}?revision=a")).await.expect_status(200);
        let repeated = planner.post(&path_of_revisions, &json!({ "revision": "a" })).await;
        repeated.expect_field_problem(409, "part.revision-taken", "/revision");
    }

    async fn pages_give_everything_once_in_the_order_of_codes(engine) {
        let served = Served::at(engine, NOW).await;
        let planner = served.planner();
        let (cell, _) = pool(&planner).await;
        let part = |code: &str| json!({ "code": code, "name": "Part", "revision": { "revision": "A" } });
        let customer = |code: &str| json!({ "code": code, "name": "Customer" });
        let vendor = |code: &str| json!({ "code": code, "name": "Vendor", "workdays": ["monday"] });
        let mut cursors = Vec::new();
        for path in ["/v1/pallets", "/v1/fixtures", "/v1/parts", "/v1/customers", "/v1/vendors"] {
            for code in ["C", "A", "B"] {
                let body = match path {
                    "/v1/pallets" => a_pallet(&cell, code),
                    "/v1/fixtures" => a_fixture(code, 1),
                    "/v1/parts" => part(code),
                    "/v1/customers" => customer(code),
                    _ => vendor(code),
                };
                planner.post(path, &body).await.expect_status(201);
            }
            let first = served.viewer().get(&format!("{path}?limit=2")).await.expect_status(200).json();
            let cursor = first["next_cursor"].as_str().unwrap().to_owned();
            let rest = served.viewer().get(&format!("{path}?limit=2&cursor={cursor}")).await.expect_status(200).json();
            let items = [first["items"].as_array().unwrap().clone(), rest["items"].as_array().unwrap().clone()].concat();
            let codes: Vec<_> = items.iter().map(|item| item["code"].as_str().unwrap()).collect();
            assert_eq!((codes, &rest["next_cursor"]), (vec!["A", "B", "C"], &Value::Null), "{path}");
            cursors.push((path, cursor));
        }
        for ((_, cursor), (path, _)) in cursors.iter().zip(cursors.iter().skip(1)) {
            let elsewhere = served.viewer().get(&format!("{path}?cursor={cursor}")).await;
            elsewhere.expect_field_problem(400, "query.invalid", "cursor");
        }
    }

    async fn tools_and_people_are_set_on_their_version(engine) {
        let served = Served::at(engine, NOW).await;
        let planner = served.planner();
        let (_, machine) = pool(&planner).await;
        let path = format!("/v1/machines/{machine}/tools");
        let empty = served.viewer().get(&path).await.expect_status(200);
        assert_eq!(empty.json()["tools"], json!([]));
        let twins = json!({ "tools": [{ "tool": "T12", "life_left_s": 5400 }, { "tool": "T12", "life_left_s": 3600 }] });
        let set = planner.put(&path, &empty.etag(), &twins).await.expect_status(200);
        assert_eq!(set.json()["tools"], twins["tools"]);
        planner.put(&path, &empty.etag(), &twins).await.expect_problem(412, "machine.stale");
        let people = served.viewer().get("/v1/site/people").await.expect_status(200);
        let body = json!({ "headcount": [{ "shift": "Early", "people": 3 }],
            "inspectors": { "shifts": [{ "name": "Inspection", "weekday": "monday", "starts": "07:00", "ends": "15:30" }] } });
        let set = planner.put("/v1/site/people", &people.etag(), &body).await.expect_status(200);
        assert_eq!(set.json()["inspectors"]["shifts"][0]["starts"], "07:00");
        planner.put("/v1/site/people", &people.etag(), &body).await.expect_problem(412, "site.stale");
        let mut wrong = body;
        wrong["inspectors"]["exceptions"] = json!([{ "kind": "holiday", "date": "2026-12-25" }]);
        let answer = planner.put("/v1/site/people", "*", &wrong).await;
        answer.expect_field_problem(400, "body.invalid", "/inspectors/exceptions/0/name");
    }
}

#[test]
fn the_page_tells_the_limits_that_the_code_has() {
    let page =
        std::fs::read_to_string(format!("{}/../docs/catalogue.md", env!("CARGO_MANIFEST_DIR"))).unwrap();
    let mass_max = u64::from(size::MASS_G_MAX);
    for (what, limit) in [
        ("pallets of a site", pallet::PALLETS_MAX as u64),
        ("fixtures of a site", fixture::FIXTURES_MAX as u64),
        ("copies of a fixture", fixture::COPIES_MAX as u64),
        ("nests of a fixture", u64::from(fixture::NESTS_MAX)),
        ("parts of a site", part::PARTS_MAX as u64),
        ("revisions of a part", part::REVISIONS_MAX as u64),
        ("operations of a routing", part::OPERATIONS_MAX as u64),
        ("number of an operation", u64::from(part::OPERATION_NUMBER_MAX)),
        (
            "places of an operation, machines of a place",
            part::PLACES_MAX as u64,
        ),
        (
            "fixtures of an operation",
            part::FIXTURES_PER_OPERATION_MAX as u64,
        ),
        ("tools of a place", part::TOOLS_PER_PLACE_MAX as u64),
        ("checks of a clearance", part::CHECKS_PER_CLEARANCE_MAX as u64),
        ("characters of a link", part::LINK_CHARS_MAX as u64),
        ("tools of a machine", machine::TOOLS_MAX as u64),
        ("customers of a site", customer::CUSTOMERS_MAX as u64),
        ("vendors of a site", vendor::VENDORS_MAX as u64),
        ("closed days of a vendor", vendor::CLOSED_DAYS_MAX as u64),
        ("shifts with a headcount", site::HEADCOUNTS_MAX as u64),
        ("people of a shift", u64::from(site::PEOPLE_PER_SHIFT_MAX)),
        ("length, width, height in mm", u64::from(size::LENGTH_MM_MAX)),
        ("mass in g", mass_max),
    ] {
        assert!(
            page.contains(&format!("| {what} | {limit} |\n")),
            "| {what} | {limit} |"
        );
    }
}

//! Orders as they are entered, read and changed.

use super::{NOW, Shop, ids, line};
use serde_json::{Value, json};
use spindlebook_tests::on_both_engines;

on_both_engines! {
    async fn an_order_is_entered_shown_listed_and_changed(engine) {
        let shop = Shop::at(engine).await;
        let office = shop.served.front_office();
        let mut later = line(&shop.manual, 5);
        later["number"] = json!(20);
        later["material"] = json!({ "expected": "2026-11-09" });
        later["priority"] = json!("fill");
        later["quoted"] = json!([{ "operation": 10, "setup_s": 3600, "run_s": 1800 }]);
        let body = json!({ "code": "SO-1041", "reference": "PO 77-120", "lines": [line(&shop.machined, 24), later] });
        let entered = office.post("/v1/orders", &body).await.expect_status(201);
        let one = format!("/v1/orders/{}", entered.string("/id"));
        assert_eq!(entered.header("location"), Some(one.as_str()));
        let shown = shop.served.viewer().get(&one).await.expect_status(200);
        assert_eq!((shown.json(), shown.etag()), (entered.json(), entered.etag()));
        let shown = shown.json();
        assert_eq!((&shown["state"], &shown["entered_at"], &shown["customer"]), (&json!("open"), &json!(NOW), &Value::Null));
        let first = &shown["lines"][0];
        assert_eq!((&first["number"], &first["state"], &first["priority"]), (&json!(20), &json!("entered"), &json!("fill")));
        assert_eq!((&first["waits_for_material"], &first["material"]["expected"]), (&json!(true), &json!("2026-11-09")));
        assert_eq!(first["quoted"], json!([{ "operation": 10, "setup_s": 3600, "run_s": 1800 }]));
        assert_eq!((&shown["lines"][1]["number"], &shown["lines"][1]["still_to_make"]), (&json!(21), &json!(24)));
        let page = office.get("/v1/orders").await.expect_status(200).json();
        assert_eq!(page["items"], json!([shown]));

        let changed = office.put(&one, &entered.etag(), &json!({ "reference": "PO 77-121" })).await.expect_status(200);
        assert_eq!(changed.json()["reference"], "PO 77-121");
        office.put(&one, &entered.etag(), &json!({})).await.expect_problem(412, "order.stale");
        let more = office.post(&format!("{one}/lines"), &line(&shop.manual, 3)).await.expect_status(201).json();
        assert_eq!(more["lines"][2]["number"], 22);
        let body = json!({ "code": "so-1041", "lines": [line(&shop.manual, 1)] });
        office.post("/v1/orders", &body).await.expect_field_problem(409, "order.code-taken", "/code");
    }

    async fn a_list_goes_on_where_the_page_ended(engine) {
        let shop = Shop::at(engine).await;
        let mut orders = Vec::new();
        for number in 1..=5 {
            orders.push(shop.entered(&format!("SO-{number}"), json!([line(&shop.manual, 1)])).await);
        }
        let viewer = shop.served.viewer();
        let (mut seen, mut path) = (Vec::new(), "/v1/orders?limit=2".to_owned());
        loop {
            let page = viewer.get(&path).await.expect_status(200).json();
            seen.extend(ids(&page).into_iter().map(str::to_owned));
            let Some(cursor) = page["next_cursor"].as_str() else { break };
            path = format!("/v1/orders?limit=2&cursor={cursor}");
        }
        assert_eq!(seen, orders);
        viewer.get("/v1/orders?state=done").await.expect_problem(400, "query.invalid");
    }

    /// N12, N24: what is released keeps its routing and its revision.
    async fn the_routing_is_frozen_at_release(engine) {
        let shop = Shop::at(engine).await;
        let (order, job) = shop.released("SO-1", &shop.manual, 5).await;
        let before = shop.job(&job).await;
        let body = json!({ "revision": "A", "operations": [
            { "number": 99, "name": "Buy", "manual": { "lead": { "working_days": { "lead_days": 1 } } } }] });
        shop.planner.put(&format!("/v1/parts/{}/routing", shop.manual), "*", &body).await.expect_status(200);
        assert_eq!(shop.job(&job).await, before);
        let again = shop.planner.post(&format!("/v1/orders/{order}/release"), &json!({})).await;
        again.expect_problem(409, "order.nothing-to-release");
        let named = json!({ "lines": [{ "line": 1 }] });
        let again = shop.planner.post(&format!("/v1/orders/{order}/release"), &named).await;
        again.expect_problem(409, "order.line-already-released");
    }

    async fn all_named_lines_are_released_or_none(engine) {
        let shop = Shop::at(engine).await;
        let path = format!("/v1/parts/{}/revisions", shop.manual);
        shop.planner.post(&path, &json!({ "revision": "B" })).await.expect_status(201);
        let mut unrouted = line(&shop.manual, 2);
        unrouted["revision"] = json!("B");
        let order = shop.entered("SO-1", json!([line(&shop.manual, 1), unrouted])).await;
        let release = format!("/v1/orders/{order}/release");
        let before = shop.served.seq();
        shop.planner.post(&release, &json!({})).await.expect_problem(409, "order.no-routing");
        assert_eq!(shop.served.seq(), before);
        let one = json!({ "lines": [{ "line": 1, "blanks": 3 }] });
        let released = shop.planner.post(&release, &one).await.expect_status(200).json();
        let states: Vec<_> = released["lines"].as_array().unwrap().iter().map(|line| line["state"].clone()).collect();
        assert_eq!(states, ["released", "entered"]);
        let page = shop.served.viewer().get("/v1/jobs").await.expect_status(200).json();
        assert_eq!((&page["items"][0]["released"], &page["items"][0]["quantity"]), (&json!(3), &json!(1)));
    }

    /// N24: a change is decided on what was seen, and pieces that have moved since are seen too.
    async fn pieces_that_moved_make_a_change_stale(engine) {
        let shop = Shop::at(engine).await;
        let (order, job) = shop.released("SO-1", &shop.manual, 20).await;
        let line = format!("/v1/orders/{order}/lines/1");
        let preview = format!("{line}/change-preview");
        let seen = shop.served.viewer().get(&preview).await.expect_status(200);
        assert_eq!((&seen.json()["quantity_now"], &seen.json()["waiting"]), (&json!(20), &json!(20)));
        shop.makes(&job, 4, 0).await;
        let office = shop.served.front_office();
        let body = json!({ "quantity": 2, "due": "2026-12-01", "priority": "rush" });
        office.put(&line, &seen.etag(), &body).await.expect_problem(412, "order.stale");
        let again = shop.served.viewer().get(&preview).await.expect_status(200);
        assert_eq!(again.json()["made"], 4);
        let changed = office.put(&line, &again.etag(), &body).await.expect_status(200).json();
        assert_eq!((&changed["state"], &changed["line"]["due"]), (&json!("in_progress"), &json!("2026-12-01")));
        shop.ships(&order, 1).await;
        let refused = office.put(&line, "*", &json!({ "quantity": 0, "due": "2026-12-01", "priority": "rush" })).await;
        refused.expect_field_problem(400, "body.invalid", "/quantity");
        shop.changes(&order, 3).await;
        shop.ships(&order, 1).await;
        let body = json!({ "quantity": 1, "due": "2026-12-01", "priority": "rush" });
        office.put(&line, "*", &body).await.expect_field_problem(409, "order.quantity-under-shipped", "/quantity");
        let asked = format!("{preview}?quantity=1");
        let told = shop.served.viewer().get(&asked).await.expect_status(200).json();
        assert_eq!(told["refused_by"], "order.quantity-under-shipped");
    }

    /// N25: nothing waits to be loaded that is not here.
    async fn material_is_waited_for_and_seen(engine) {
        let shop = Shop::at(engine).await;
        let mut waits = line(&shop.manual, 5);
        waits.as_object_mut().unwrap().remove("material");
        let order = shop.entered("SO-1", json!([waits])).await;
        let released = shop.planner.post(&format!("/v1/orders/{order}/release"), &json!({})).await;
        let job = released.expect_status(200).string("/lines/0/jobs/0");
        assert_eq!(shop.job(&job).await["waits_for_material"], true);
        let out = json!({ "operation": 10, "pieces": 5 });
        let steps = format!("/v1/jobs/{job}/steps");
        shop.served.operator().post(&steps, &out).await.expect_problem(409, "job.material-not-arrived");
        let office = shop.served.front_office();
        let material = format!("/v1/orders/{order}/lines/1/material");
        let told = office.post(&material, &json!({ "expected": "2026-11-12" })).await.expect_status(200).json();
        assert_eq!((&told["material"]["expected"], &told["waits_for_material"]), (&json!("2026-11-12"), &json!(true)));
        let arrived = json!({ "arrived": { "at": "2026-11-02T05:30:00Z", "certificate": "Heat 7" } });
        let here = office.post(&material, &arrived).await.expect_status(200).json();
        assert_eq!(here["material"]["arrived"], json!({ "at": "2026-11-02T05:30:00Z", "certificate": "Heat 7" }));
        let shown = shop.job(&job).await;
        assert_eq!((&shown["waits_for_material"], &shown["certificate"]), (&json!(false), &json!("Heat 7")));
        shop.served.operator().post(&steps, &out).await.expect_status(200);
        office.post(&material, &arrived).await.expect_problem(409, "order.material-already-arrived");
    }
}

//! How orders end, and that what is closed stays to be read.

use super::{Shop, ids, line};
use serde_json::{Value, json};
use spindlebook_tests::on_both_engines;

on_both_engines! {
    /// N27: shipped in parts; full, it closes by itself; closed, it stays.
    async fn an_order_ships_in_parts_and_stays_to_be_read(engine) {
        let shop = Shop::at(engine).await;
        let (order, job) = shop.released("SO-1", &shop.manual, 10).await;
        shop.makes(&job, 10, 0).await;
        let part = shop.ships(&order, 4).await;
        assert_eq!((&part["state"], &part["order_closed"], &part["line"]["shipped"]), (&json!("in_progress"), &json!(false), &json!(4)));
        let path = format!("/v1/orders/{order}/lines/1/shipments");
        let office = shop.served.front_office();
        office.post(&path, &json!({ "pieces": 7 })).await.expect_field_problem(409, "order.not-made", "/pieces");
        let open = shop.job(&job).await;
        let last = shop.ships(&order, 6).await;
        assert_eq!(last, json!({ "order": order, "number": 1, "state": "complete", "order_closed": true, "line": null }));

        let viewer = shop.served.viewer();
        let shown = viewer.get(&format!("/v1/orders/{order}")).await.expect_status(200).json();
        assert_eq!((&shown["state"], &shown["lines"][0]["shipped"]), (&json!("complete"), &json!(10)));
        assert_eq!((&shown["lines"][0]["made"], &shown["lines"][0]["still_to_make"]), (&json!(10), &json!(0)));
        let closed = shop.job(&job).await;
        assert_eq!((&closed["state"], &closed["name"], &closed["shipped"]), (&json!("complete"), &json!("SO-1/1"), &json!(10)));
        assert_eq!(closed["operations"], open["operations"]);
        for (path, wanted) in [
            ("/v1/orders".to_owned(), vec![]),
            ("/v1/orders?state=closed".to_owned(), vec![order.as_str()]),
            ("/v1/jobs".to_owned(), vec![]),
            ("/v1/jobs?state=closed".to_owned(), vec![job.as_str()]),
            (format!("/v1/jobs?state=closed&order={order}"), vec![job.as_str()]),
            (format!("/v1/jobs?state=closed&part={}", shop.manual), vec![job.as_str()]),
            (format!("/v1/jobs?state=closed&part={}", shop.machined), vec![]),
        ] {
            let page = viewer.get(&path).await.expect_status(200).json();
            assert_eq!(ids(&page), wanted, "{path}");
        }
        office.post(&path, &json!({ "pieces": 1 })).await.expect_problem(404, "order.unknown");
        let steps = json!({ "operation": 10, "pieces": 1 });
        let late = shop.served.operator().post(&format!("/v1/jobs/{job}/steps"), &steps).await;
        late.expect_problem(404, "job.unknown");
    }

    async fn closed_ones_come_last_closed_first_in_pages(engine) {
        let shop = Shop::at(engine).await;
        let mut closed = Vec::new();
        for number in 1..=5 {
            let (order, job) = shop.released(&format!("SO-{number}"), &shop.manual, 1).await;
            shop.makes(&job, 1, 0).await;
            shop.ships(&order, 1).await;
            closed.push((order, job));
        }
        closed.reverse();
        let viewer = shop.served.viewer();
        for (list, wanted) in [
            ("/v1/orders?state=closed&limit=2", closed.iter().map(|(order, _)| order.clone()).collect::<Vec<_>>()),
            ("/v1/jobs?state=closed&limit=2", closed.iter().map(|(_, job)| job.clone()).collect()),
        ] {
            let (mut seen, mut path) = (Vec::new(), list.to_owned());
            loop {
                let page = viewer.get(&path).await.expect_status(200).json();
                seen.extend(ids(&page).into_iter().map(str::to_owned));
                let Some(cursor) = page["next_cursor"].as_str() else { break };
                path = format!("{list}&cursor={cursor}");
            }
            assert_eq!(seen, wanted, "{list}");
        }
    }

    async fn a_line_is_cancelled_unless_its_pieces_are_somewhere(engine) {
        let shop = Shop::at(engine).await;
        let order = shop.entered("SO-1", json!([line(&shop.manual, 5), line(&shop.manual, 6)])).await;
        let released = shop.planner.post(&format!("/v1/orders/{order}/release"), &json!({})).await.expect_status(200);
        let job = released.string("/lines/0/jobs/0");
        let steps = format!("/v1/jobs/{job}/steps");
        let operator = shop.served.operator();
        operator.post(&steps, &json!({ "operation": 10, "pieces": 3 })).await.expect_status(200);
        let office = shop.served.front_office();
        let cancel = format!("/v1/orders/{order}/lines/1/cancel");
        let refused = office.post(&cancel, &json!({})).await.expect_problem(409, "order.pieces-under-way");
        assert_eq!((&refused["out"], &refused["job"]), (&json!(3), &json!(job)));
        operator.post(&format!("{steps}/back"), &json!({ "step": 1, "good": 3 })).await.expect_status(200);
        let done = office.post(&cancel, &json!({})).await.expect_status(200).json();
        assert_eq!((&done["state"], &done["order_closed"]), (&json!("cancelled"), &json!(false)));
        assert_eq!(shop.job(&job).await["state"], "cancelled");
        let page = shop.served.viewer().get("/v1/jobs?state=closed").await.expect_status(200).json();
        assert_eq!(ids(&page), [job.as_str()], "its order is open still");
        let last = office.post(&format!("/v1/orders/{order}/lines/2/cancel"), &json!({})).await.expect_status(200).json();
        assert_eq!((&last["order_closed"], &last["line"]), (&json!(true), &Value::Null));
        let shown = shop.served.viewer().get(&format!("/v1/orders/{order}")).await.expect_status(200).json();
        assert_eq!(shown["state"], "cancelled");
    }

    async fn a_person_says_when_a_line_is_complete_within_the_tolerance(engine) {
        let shop = Shop::at(engine).await;
        let office = shop.served.front_office();
        let customer = json!({ "code": "K2", "name": "Gear works", "under_percent": 10 });
        let customer = office.post("/v1/customers", &customer).await.expect_status(201).string("/id");
        let body = json!({ "code": "SO-1", "customer": customer, "lines": [line(&shop.manual, 10)] });
        let order = office.post("/v1/orders", &body).await.expect_status(201).string("/id");
        let complete = format!("/v1/orders/{order}/lines/1/complete");
        office.post(&complete, &json!({})).await.expect_problem(409, "order.line-not-released");
        let released = shop.planner.post(&format!("/v1/orders/{order}/release"), &json!({})).await;
        let job = released.expect_status(200).string("/lines/0/jobs/0");
        shop.makes(&job, 9, 1).await;
        shop.ships(&order, 8).await;
        office.post(&complete, &json!({})).await.expect_problem(409, "order.not-full");
        assert_eq!(shop.ships(&order, 1).await["state"], "in_progress");
        assert_eq!(office.post(&complete, &json!({})).await.expect_status(200).json()["order_closed"], true);
    }
}

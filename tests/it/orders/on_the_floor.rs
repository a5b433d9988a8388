//! Jobs whose pieces are cut in a cell.

use super::line;
use crate::floor::working_cell::WorkingCell;
use serde_json::json;
use spindlebook_tests::on_both_engines;

on_both_engines! {
    /// E40, E43: 20 wanted; 4 good and 1 scrap; then 4 good and 1 to rework, which is good afterwards.
    async fn scrap_is_missed_and_rework_is_good_once(engine) {
        let floor = WorkingCell::new(engine).await;
        let (_, job) = floor.released(20).await;
        floor.cut(&job, 5, false, json!({ "good": 4, "scrapped": 1 })).await;
        let shown = floor.job(&job).await;
        assert_eq!((&shown["made"], &shown["still_to_make"], &shown["material_shortfall"]), (&json!(4), &json!(16), &json!(1)));
        floor.cut(&job, 5, false, json!({ "good": 4, "to_rework": 1 })).await;
        let at = floor.job(&job).await["operations"][0].clone();
        assert_eq!((&at["good"], &at["rework"], &at["waiting"]), (&json!(8), &json!(1), &json!(10)));
        floor.cut(&job, 1, true, json!({ "good": 1 })).await;
        let shown = floor.job(&job).await;
        assert_eq!((&shown["made"], &shown["operations"][0]["rework"]), (&json!(9), &json!(0)));
        assert_eq!(shown["operations"][0]["came"], 20);
    }

    /// E45: a change sees what is clamped, is stale when it moves, and nothing unwanted is offered for loading.
    async fn a_reduction_sees_what_is_clamped(engine) {
        let floor = WorkingCell::new(engine).await;
        let (order, job) = floor.released(20).await;
        floor.cut(&job, 8, false, json!({ "good": 8 })).await;
        floor.cut(&job, 6, false, json!({ "good": 6 })).await;
        let path = format!("/v1/orders/{order}/lines/1");
        let office = floor.small.served.front_office();
        let seen = office.get(&path).await.etag();
        assert_eq!(floor.offered().await[0]["waiting"], 6);
        floor.load(0, &job, 2, false).await.expect_status(200);
        let body = json!({ "quantity": 12, "due": "2026-12-18", "priority": "normal" });
        office.put(&path, &seen, &body).await.expect_problem(412, "order.stale");
        let preview = office.get(&format!("{path}/change-preview?quantity=12")).await;
        let shown = preview.json();
        assert_eq!((&shown["made"], &shown["clamped"], &shown["waiting"], &shown["surplus"]), (&json!(14), &json!(2), &json!(4), &json!(2)));
        let changed = office.put(&path, &preview.etag(), &body).await.expect_status(200).json();
        assert_eq!((&changed["line"]["still_to_make"], &changed["line"]["surplus"]), (&json!(0), &json!(2)));
        assert_eq!(floor.offered().await, json!([]));
        let refused = office.post(&format!("{path}/cancel"), &json!({})).await.expect_problem(409, "order.pieces-under-way");
        assert_eq!((&refused["clamped"], &refused["job"]), (&json!(2), &json!(job)));
    }

    /// N25: what is not here is not offered, and its arrival makes it appear without anybody planning again.
    async fn material_that_is_not_here_is_not_offered(engine) {
        let floor = WorkingCell::new(engine).await;
        let mut waits = line(&floor.part, 8);
        waits["material"] = json!({ "expected": "2026-11-20" });
        let (order, job) = floor.released_line(waits, 8).await;
        let offered = floor.offered().await;
        assert_eq!((&offered[0]["waits_for"]["code"], &offered[0]["pallets"]), (&json!("material"), &json!([])));
        floor.load(0, &job, 5, false).await.expect_problem(409, "load.material-not-arrived");
        let material = format!("/v1/orders/{order}/lines/1/material");
        let planner = floor.small.served.planner();
        planner.post(&material, &json!({ "arrived": {} })).await.expect_status(200);
        assert_eq!(floor.offered().await[0]["waits_for"]["code"], "load");
        floor.load(0, &job, 5, false).await.expect_status(200);
    }
}

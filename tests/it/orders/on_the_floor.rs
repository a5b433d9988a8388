//! Jobs whose pieces are cut in a cell.

use super::line;
use crate::floor::small_cell::SmallCell;
use serde_json::{Value, json};
use spindlebook_tests::engine::Engine;
use spindlebook_tests::on_both_engines;

/// A pool whose fixture is set up on pallet 1 at the load station, and a part that it holds.
struct Floor {
    small: SmallCell,
    part: String,
}

impl Floor {
    async fn new(engine: Engine) -> Self {
        let small = SmallCell::new(engine).await;
        small.mount(0).await;
        let planner = small.served.planner();
        let part = json!({ "code": "4711", "name": "Housing", "revision": { "revision": "A" } });
        let part = planner
            .post("/v1/parts", &part)
            .await
            .expect_status(201)
            .string("/id");
        let mill = json!({ "places": [{ "cell": small.cell, "cycle": { "per_load": { "cycle_s": 2880 } } }],
            "fixtures": [small.fixture], "pieces_per_load": 8, "load_s": 600, "unload_s": 300 });
        let routing =
            json!({ "revision": "A", "operations": [{ "number": 10, "name": "Mill", "machining": mill }] });
        let path = format!("/v1/parts/{part}/routing");
        planner.put(&path, "*", &routing).await.expect_status(200);
        Self { small, part }
    }

    /// The ids of an order with one line and of its job.
    async fn released(&self, mut line: Value, quantity: u32) -> (String, String) {
        line["quantity"] = json!(quantity);
        let planner = self.small.served.planner();
        let body = json!({ "code": "SO-1", "lines": [line] });
        let order = planner
            .post("/v1/orders", &body)
            .await
            .expect_status(201)
            .string("/id");
        let release = format!("/v1/orders/{order}/release");
        let released = planner.post(&release, &json!({})).await.expect_status(200);
        (order, released.string("/lines/0/jobs/0"))
    }

    async fn load(&self, job: &str, pieces: u32, rework: bool) -> spindlebook_tests::answer::Answer {
        let pieces = json!([{ "job": job, "operation": 10, "pieces": pieces, "rework": rework }]);
        self.small.act(0, "load", &json!({ "pieces": pieces })).await
    }

    /// Clamps, cuts, and counts what came of it.
    async fn cut(&self, job: &str, pieces: u32, rework: bool, count: Value) {
        self.load(job, pieces, rework).await.expect_status(200);
        let spindle = json!({ "to": { "kind": "spindle", "machine": self.small.machine } });
        self.small.act(0, "move", &spindle).await.expect_status(200);
        let operator = self.small.operator();
        let start = format!("/v1/machines/{}/runs", self.small.machine);
        let run = operator
            .post(&start, &json!({}))
            .await
            .expect_status(201)
            .string("/id");
        let finish = format!("/v1/runs/{run}/finish");
        operator.post(&finish, &json!({})).await.expect_status(200);
        let station = json!({ "to": { "kind": "load_station", "number": 1 } });
        self.small.act(0, "move", &station).await.expect_status(200);
        let mut count = count;
        count["job"] = json!(job);
        count["operation"] = json!(10);
        count["rework"] = json!(rework);
        let unloaded = self.small.act(0, "unload", &json!({ "counts": [count] })).await;
        unloaded.expect_status(200);
    }

    async fn job(&self, job: &str) -> Value {
        self.small.get(&format!("/v1/jobs/{job}")).await
    }

    async fn offered(&self) -> Value {
        self.small
            .get(&format!("/v1/cells/{}/pool", self.small.cell))
            .await["jobs"]
            .clone()
    }
}

on_both_engines! {
    /// E40, E43: 20 wanted; 4 good and 1 scrap; then 4 good and 1 to rework, which is good afterwards.
    async fn scrap_is_missed_and_rework_is_good_once(engine) {
        let floor = Floor::new(engine).await;
        let (_, job) = floor.released(line(&floor.part, 20), 20).await;
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
        let floor = Floor::new(engine).await;
        let (order, job) = floor.released(line(&floor.part, 20), 20).await;
        floor.cut(&job, 8, false, json!({ "good": 8 })).await;
        floor.cut(&job, 6, false, json!({ "good": 6 })).await;
        let path = format!("/v1/orders/{order}/lines/1");
        let office = floor.small.served.front_office();
        let seen = office.get(&path).await.etag();
        assert_eq!(floor.offered().await[0]["waiting"], 6);
        floor.load(&job, 2, false).await.expect_status(200);
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
        let floor = Floor::new(engine).await;
        let mut waits = line(&floor.part, 8);
        waits["material"] = json!({ "expected": "2026-11-20" });
        let (order, job) = floor.released(waits, 8).await;
        let offered = floor.offered().await;
        assert_eq!((&offered[0]["waits_for"]["code"], &offered[0]["pallets"]), (&json!("material"), &json!([])));
        floor.load(&job, 5, false).await.expect_problem(409, "load.material-not-arrived");
        let material = format!("/v1/orders/{order}/lines/1/material");
        let planner = floor.small.served.planner();
        planner.post(&material, &json!({ "arrived": {} })).await.expect_status(200);
        assert_eq!(floor.offered().await[0]["waits_for"]["code"], "load");
        floor.load(&job, 5, false).await.expect_status(200);
    }
}

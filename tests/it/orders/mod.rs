//! Orders and jobs by HTTP. Pieces are made at a manual step here; what the cells do with them is the floor's.

mod cases;
mod changes;
mod closing;
mod hours;
mod on_the_floor;
mod steps;

use crate::served::Served;
use serde_json::{Value, json};
use spindlebook_tests::caller::Caller;
use spindlebook_tests::engine::Engine;

pub const NOW: &str = "2026-11-02T06:00:00Z";

/// A service with a pool and two parts: `machined` (6 in 48 minutes at operation 10) and `turned` by hand (operation 10 in
/// the house, operation 20 at a vendor's who works Monday to Friday and needs five days).
pub struct Shop {
    pub served: Served,
    pub planner: Caller,
    pub machined: String,
    pub manual: String,
    pub vendor: String,
}

impl Shop {
    pub async fn at(engine: Engine) -> Self {
        let served = Served::at(engine, NOW).await;
        let planner = served.planner();
        let added = |answer: spindlebook_tests::answer::Answer| answer.expect_status(201).string("/id");
        let cell = json!({ "code": "POOL-A", "name": "Pool", "kind": "pool", "load_stations": 1, "stands": 2, "exchange_s": 45 });
        let cell = added(planner.post("/v1/cells", &cell).await);
        let fixture = json!({ "code": "F7", "name": "Four sides", "interface": "GRID-50", "nests": 6, "mount_s": 1800,
            "copies": [{ "code": "F7-1" }] });
        let fixture = added(planner.post("/v1/fixtures", &fixture).await);
        let vendor = json!({ "code": "HARDCOAT", "name": "Hardcoat",
            "workdays": ["monday", "tuesday", "wednesday", "thursday", "friday"] });
        let vendor = added(planner.post("/v1/vendors", &vendor).await);
        let part = |code: &str| json!({ "code": code, "name": "Housing", "revision": { "revision": "A" } });
        let machined = added(planner.post("/v1/parts", &part("4711")).await);
        let manual = added(planner.post("/v1/parts", &part("4712")).await);
        let mill = json!({ "places": [{ "cell": cell, "cycle": { "per_load": { "cycle_s": 2880 } } }],
            "fixtures": [fixture], "pieces_per_load": 6, "load_s": 600, "unload_s": 300 });
        let routing = |operations: Value| json!({ "revision": "A", "operations": operations });
        let by_machine = routing(json!([{ "number": 10, "name": "Mill", "machining": mill }]));
        let by_hand = routing(json!([
            { "number": 10, "name": "Turn", "manual": { "lead": { "staffed_time": { "lead_s": 3600 } } } },
            { "number": 20, "name": "Anodise", "manual": { "lead": { "working_days": { "lead_days": 5 } }, "vendor": vendor } }]));
        for (part, routing) in [(&machined, by_machine), (&manual, by_hand)] {
            let path = format!("/v1/parts/{part}/routing");
            planner.put(&path, "*", &routing).await.expect_status(200);
        }
        Self {
            served,
            planner,
            machined,
            manual,
            vendor,
        }
    }

    pub async fn entered(&self, code: &str, lines: Value) -> String {
        let order = json!({ "code": code, "lines": lines });
        let office = self.served.front_office();
        let entered = office.post("/v1/orders", &order).await.expect_status(201);
        entered.string("/id")
    }

    /// An order with one line: the ids of the order and of its job.
    pub async fn released(&self, code: &str, part: &str, quantity: u32) -> (String, String) {
        let order = self.entered(code, json!([line(part, quantity)])).await;
        let path = format!("/v1/orders/{order}/release");
        let released = self.planner.post(&path, &json!({})).await.expect_status(200);
        (order, released.string("/lines/0/jobs/0"))
    }

    /// Through both operations by hand.
    pub async fn makes(&self, job: &str, good: u32, scrapped: u32) {
        let operator = self.served.operator();
        for (operation, missing) in [(10, 0), (20, scrapped)] {
            let out = json!({ "operation": operation, "pieces": good + scrapped });
            let path = format!("/v1/jobs/{job}/steps");
            let shown = operator.post(&path, &out).await.expect_status(200).json();
            let steps = shown["operations"].as_array().unwrap().iter();
            let step = steps
                .flat_map(|at| at["steps"].as_array().unwrap())
                .map(|step| step["step"].as_u64().unwrap())
                .max();
            let back = json!({ "step": step, "good": good + scrapped - missing, "missing": missing });
            operator
                .post(&format!("{path}/back"), &back)
                .await
                .expect_status(200);
        }
    }

    pub async fn job(&self, job: &str) -> Value {
        let path = format!("/v1/jobs/{job}");
        self.served.viewer().get(&path).await.expect_status(200).json()
    }

    pub async fn line_of(&self, order: &str) -> Value {
        let path = format!("/v1/orders/{order}/lines/1");
        self.served.viewer().get(&path).await.expect_status(200).json()
    }

    pub async fn ships(&self, order: &str, pieces: u32) -> Value {
        let path = format!("/v1/orders/{order}/lines/1/shipments");
        let office = self.served.front_office();
        let shipped = office.post(&path, &json!({ "pieces": pieces })).await;
        shipped.expect_status(200).json()
    }

    /// On the version that is there now.
    pub async fn changes(&self, order: &str, quantity: u32) -> Value {
        let path = format!("/v1/orders/{order}/lines/1");
        let etag = self.served.viewer().get(&path).await.etag();
        let body = json!({ "quantity": quantity, "due": "2026-12-18", "priority": "normal" });
        let office = self.served.front_office();
        office.put(&path, &etag, &body).await.expect_status(200).json()
    }
}

pub fn line(part: &str, quantity: u32) -> Value {
    json!({ "part": part, "revision": "A", "quantity": quantity, "due": "2026-12-18",
        "material": { "arrived": { "certificate": "Heat 4482" } } })
}

pub fn ids(page: &Value) -> Vec<&str> {
    let items = page["items"].as_array().unwrap();
    items.iter().map(|item| item["id"].as_str().unwrap()).collect()
}

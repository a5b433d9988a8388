//! Plans, night fill, rush checks and promises by HTTP. The shops are small enough to be worked out by hand.

mod cases;
mod computing;
mod promises;

use crate::served::{Served, instant};
use serde_json::{Value, json};
use spindlebook_tests::answer::Answer;
use spindlebook_tests::engine::Engine;
use std::time::Duration;

/// A pool with one machine, and pallets at load stations that each carry a copy of fixture F7. An exchange takes 3 min.
pub struct Pool {
    pub served: Served,
    pub cell: String,
    pub machine: String,
    pub fixture: String,
    pub pallets: Vec<String>,
}

/// One operation, with one piece in a load.
pub struct Work {
    pub minutes: u32,
    pub is_cleared: bool,
    pub first_article: bool,
    pub tools: Value,
}

impl Work {
    pub fn of(minutes: u32) -> Self {
        Self {
            minutes,
            is_cleared: false,
            first_article: false,
            tools: json!([]),
        }
    }

    pub fn cleared(minutes: u32) -> Self {
        Self {
            is_cleared: true,
            ..Self::of(minutes)
        }
    }
}

fn added(answer: Answer) -> String {
    answer.expect_status(201).string("/id")
}

impl Pool {
    /// `copies` of the pallets carry the fixture.
    pub async fn new(engine: Engine, now: &str, pallets: usize, copies: usize) -> Self {
        let served = Served::at(engine, now).await;
        let planner = served.planner();
        let pool = json!({ "code": "POOL", "name": "Pool", "kind": "pool", "load_stations": pallets, "stands": 0,
            "exchange_s": 180 });
        let cell = added(planner.post("/v1/cells", &pool).await);
        let mill = json!({ "code": "M1", "name": "Mill", "cell": cell });
        let machine = added(planner.post("/v1/machines", &mill).await);
        let names: Vec<_> = (1..=copies.max(1))
            .map(|copy| json!({ "code": format!("F7-{copy}") }))
            .collect();
        let fixture = json!({ "code": "F7", "name": "Vice", "interface": "GRID-50", "nests": 1, "mount_s": 1_800,
            "copies": names });
        let fixture = added(planner.post("/v1/fixtures", &fixture).await);
        let mut pool = Self {
            served,
            cell,
            machine,
            fixture,
            pallets: Vec::new(),
        };
        for number in 1..=pallets {
            let pallet = json!({ "cell": pool.cell, "code": format!("P{number}"), "name": "Pallet", "mass_max_g": 500_000,
                "interface": "GRID-50", "size": { "length_mm": 400, "width_mm": 400, "height_mm": 500 },
                "position": { "kind": "load_station", "number": number } });
            pool.pallets
                .push(added(planner.post("/v1/pallets", &pallet).await));
        }
        for pallet in 0..copies {
            pool.act(pallet, "mount", json!({ "fixture": pool.fixture }))
                .await;
            pool.act(pallet, "setup/finish", json!({})).await;
        }
        pool
    }

    pub async fn act(&self, pallet: usize, act: &str, body: Value) {
        let path = format!("/v1/pallets/{}/{act}", self.pallets[pallet]);
        let operator = self.served.operator();
        operator.post(&path, &body).await.expect_status(200);
    }

    pub async fn part(&self, code: &str, work: &Work) -> String {
        let planner = self.served.planner();
        let part = json!({ "code": code, "name": "Housing", "revision": { "revision": "A" } });
        let part = added(planner.post("/v1/parts", &part).await);
        let clearances = if work.is_cleared {
            json!([{ "machine": self.machine, "checklist": ["Coolant level"] }])
        } else {
            json!([])
        };
        let place = json!({ "cell": self.cell, "cycle": { "per_load": { "cycle_s": work.minutes * 60 } },
            "tools": work.tools, "clearances": clearances });
        let mill = json!({ "places": [place], "fixtures": [self.fixture], "load_s": 600, "unload_s": 300,
            "pieces_per_load": 1, "first_article": work.first_article });
        let routing =
            json!({ "revision": "A", "operations": [{ "number": 10, "name": "Mill", "machining": mill }] });
        let path = format!("/v1/parts/{part}/routing");
        planner.put(&path, "*", &routing).await.expect_status(200);
        part
    }

    /// The ids of an order with one line, which is released, and of its job.
    pub async fn order(&self, code: &str, part: &str, quantity: u32, due: &str) -> (String, String) {
        let planner = self.served.planner();
        let line = json!({ "part": part, "revision": "A", "quantity": quantity, "due": due,
            "material": { "arrived": {} } });
        let order = added(
            planner
                .post("/v1/orders", &json!({ "code": code, "lines": [line] }))
                .await,
        );
        let release = format!("/v1/orders/{order}/release");
        let released = planner.post(&release, &json!({})).await.expect_status(200);
        (order, released.string("/lines/0/jobs/0"))
    }

    pub async fn clamp(&self, pallet: usize, job: &str) {
        let pieces = json!([{ "job": job, "operation": 10, "pieces": 1 }]);
        self.act(pallet, "load", json!({ "pieces": pieces })).await;
    }

    /// The id of the run.
    pub async fn start(&self, pallet: usize) -> String {
        let spindle = json!({ "to": { "kind": "spindle", "machine": self.machine } });
        self.act(pallet, "move", spindle).await;
        let path = format!("/v1/machines/{}/runs", self.machine);
        let operator = self.served.operator();
        added(operator.post(&path, &json!({})).await)
    }

    pub fn clock(&self, now: &str) {
        self.served.clock.set(instant(now));
    }

    /// Every day, by the wall clock in Berlin.
    pub async fn one_shift(&self, starts: &str, ends: &str) {
        let days = [
            "monday",
            "tuesday",
            "wednesday",
            "thursday",
            "friday",
            "saturday",
            "sunday",
        ];
        let shift = |day: &&str| json!({ "name": "Day", "weekday": day, "starts": starts, "ends": ends });
        let shifts: Vec<_> = days.iter().map(shift).collect();
        let calendar = json!({ "valid_from": "2026-01-01", "shifts": shifts });
        self.served.set_site_calendar(&calendar).await;
    }

    pub async fn get(&self, path: &str) -> Value {
        self.served.viewer().get(path).await.expect_status(200).json()
    }

    /// The plan that was asked for so, as soon as it is done.
    pub async fn plan(&self, body: &Value) -> Value {
        let asked = self.served.planner().post("/v1/plans", body).await;
        let done = self.done(&asked.expect_status(202)).await;
        self.get(done["plan"].as_str().unwrap()).await
    }

    /// The computation as it ended.
    pub async fn done(&self, asked: &Answer) -> Value {
        let path = asked.header("location").unwrap();
        loop {
            let computation = self.get(path).await;
            match computation["state"].as_str().unwrap() {
                "done" => return computation,
                "waiting" | "running" => tokio::time::sleep(Duration::from_millis(20)).await,
                _ => panic!("{computation}"),
            }
        }
    }
}

/// The loads of the one cell that are cut.
pub fn runs(plan: &Value) -> Vec<Value> {
    let loads = plan["schedule"]["cells"][0]["loads"].as_array().unwrap();
    loads
        .iter()
        .filter(|load| !load["run_at"].is_null())
        .cloned()
        .collect()
}

/// Of a load, the minutes from `from` to the beginning and the end of a part of it.
pub fn minutes(load: &Value, part: &str, from: &str) -> (i64, i64) {
    let minute = |end: &str| {
        let at = instant(load[part][end].as_str().unwrap());
        at.since_us(instant(from)) / 60_000_000
    };
    (minute("from"), minute("to"))
}

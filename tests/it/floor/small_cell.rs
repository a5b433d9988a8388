//! A pool of one machine with two pallets and one fixture of one copy, made through the API.

use crate::served::Served;
use serde_json::{Value, json};
use spindlebook_tests::answer::Answer;
use spindlebook_tests::caller::Caller;
use spindlebook_tests::engine::Engine;

pub const NOW: &str = "2026-11-02T08:00:00Z";

pub struct SmallCell {
    pub served: Served,
    pub cell: String,
    pub machine: String,
    pub pallets: [String; 2],
    pub fixture: String,
    pub copy: String,
}

impl SmallCell {
    /// Pallet 1 at load station 1, pallet 2 at stand 1.
    pub async fn new(engine: Engine) -> Self {
        Self::at(engine, NOW).await
    }

    pub async fn at(engine: Engine, now: &str) -> Self {
        let served = Served::at(engine, now).await;
        let planner = served.planner();
        let added = |answer: Answer| answer.expect_status(201).string("/id");
        let pool = json!({ "code": "POOL", "name": "Pool", "kind": "pool", "load_stations": 1, "stands": 2,
            "exchange_s": 60 });
        let cell = added(planner.post("/v1/cells", &pool).await);
        let mill = json!({ "code": "M1", "name": "Mill", "cell": cell });
        let machine = added(planner.post("/v1/machines", &mill).await);
        let pallet = |code: &str, position: Value| {
            json!({ "cell": cell, "code": code, "name": "Pallet", "mass_max_g": 100_000, "interface": "GRID-50",
                "size": { "length_mm": 400, "width_mm": 400, "height_mm": 500 }, "position": position })
        };
        let first = pallet("P1", json!({ "kind": "load_station", "number": 1 }));
        let second = pallet("P2", json!({ "kind": "stand", "number": 1 }));
        let pallets = [
            added(planner.post("/v1/pallets", &first).await),
            added(planner.post("/v1/pallets", &second).await),
        ];
        let fixture = json!({ "code": "F7", "name": "Vice", "interface": "GRID-50", "nests": 8, "mount_s": 600,
            "copies": [{ "code": "F7-1" }] });
        let fixture = planner.post("/v1/fixtures", &fixture).await.expect_status(201);
        let (fixture, copy) = (fixture.string("/id"), fixture.string("/copies/0/id"));
        Self {
            served,
            cell,
            machine,
            pallets,
            fixture,
            copy,
        }
    }

    pub fn operator(&self) -> Caller {
        self.served.operator()
    }

    /// `pallet` is 0 or 1.
    pub async fn act(&self, pallet: usize, act: &str, body: &Value) -> Answer {
        let path = format!("/v1/pallets/{}/{act}", self.pallets[pallet]);
        self.operator().post(&path, body).await
    }

    pub async fn mount(&self, pallet: usize) {
        let body = json!({ "fixture": self.fixture });
        self.act(pallet, "mount", &body).await.expect_status(200);
        self.act(pallet, "setup/finish", &json!({}))
            .await
            .expect_status(200);
    }

    pub async fn get(&self, path: &str) -> Value {
        self.served.viewer().get(path).await.expect_status(200).json()
    }

    /// The pool's line of a pallet.
    pub async fn line(&self, pallet: usize) -> Value {
        let pool = self.get(&format!("/v1/cells/{}/pool", self.cell)).await;
        let lines = pool["pallets"].as_array().unwrap();
        let own = |line: &&Value| line["pallet"]["id"] == json!(self.pallets[pallet]);
        lines.iter().find(own).unwrap().clone()
    }
}

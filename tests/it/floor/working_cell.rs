//! A small cell that has work: a part that its fixture holds, orders for it, and people who tell what they do as they
//! do it, by a clock that the test sets.

use super::small_cell::{NOW, SmallCell};
use crate::served::instant;
use serde_json::{Value, json};
use spindlebook_tests::answer::Answer;
use spindlebook_tests::engine::Engine;

pub struct WorkingCell {
    pub small: SmallCell,
    pub part: String,
}

/// What the one operation of the part is like.
pub struct Work {
    pub pieces_per_load: u32,
    /// Of a load.
    pub cycle_s: u32,
    pub first_piece: bool,
}

impl Default for Work {
    fn default() -> Self {
        Self {
            pieces_per_load: 8,
            cycle_s: 2_880,
            first_piece: false,
        }
    }
}

impl WorkingCell {
    /// Its fixture is set up on pallet 1 at the load station.
    pub async fn new(engine: Engine) -> Self {
        let cell = Self::at(engine, NOW, &Work::default()).await;
        cell.small.mount(0).await;
        cell
    }

    /// Nothing is mounted yet. The part is cleared to be cut with nobody there.
    pub async fn at(engine: Engine, now: &str, work: &Work) -> Self {
        let small = SmallCell::at(engine, now).await;
        let planner = small.served.planner();
        let part = json!({ "code": "4711", "name": "Housing", "revision": { "revision": "A" } });
        let part = planner.post("/v1/parts", &part).await;
        let cell = Self {
            part: part.expect_status(201).string("/id"),
            small,
        };
        cell.set_routing(&cell.part, work).await;
        cell
    }

    pub async fn set_routing(&self, part: &str, work: &Work) {
        let place = json!({ "cell": self.small.cell, "cycle": { "per_load": { "cycle_s": work.cycle_s } },
            "clearances": [{ "machine": self.small.machine, "checklist": ["Coolant level"] }] });
        let mill = json!({ "places": [place], "fixtures": [self.small.fixture], "load_s": 600, "unload_s": 300,
            "pieces_per_load": work.pieces_per_load, "first_piece": work.first_piece });
        let routing =
            json!({ "revision": "A", "operations": [{ "number": 10, "name": "Mill", "machining": mill }] });
        let path = format!("/v1/parts/{part}/routing");
        let planner = self.small.served.planner();
        planner.put(&path, "*", &routing).await.expect_status(200);
    }

    pub fn clock(&self, now: &str) {
        self.small.served.clock.set(instant(now));
    }

    /// The ids of an order with one line and of its job.
    pub async fn released_line(&self, mut line: Value, quantity: u32) -> (String, String) {
        line["quantity"] = json!(quantity);
        let planner = self.small.served.planner();
        let body = json!({ "code": "SO-1", "lines": [line] });
        let order = planner.post("/v1/orders", &body).await.expect_status(201);
        let order = order.string("/id");
        let release = format!("/v1/orders/{order}/release");
        let released = planner.post(&release, &json!({})).await.expect_status(200);
        (order, released.string("/lines/0/jobs/0"))
    }

    pub async fn released(&self, quantity: u32) -> (String, String) {
        let line = crate::orders::line(&self.part, quantity);
        self.released_line(line, quantity).await
    }

    pub async fn load(&self, pallet: usize, job: &str, pieces: u32, rework: bool) -> Answer {
        let pieces = json!([{ "job": job, "operation": 10, "pieces": pieces, "rework": rework }]);
        let body = json!({ "pieces": pieces });
        self.small.act(pallet, "load", &body).await
    }

    pub async fn to_spindle(&self, pallet: usize) {
        let spindle = json!({ "to": { "kind": "spindle", "machine": self.small.machine }, "exchange": true });
        self.small.act(pallet, "move", &spindle).await.expect_status(200);
    }

    pub async fn to_station(&self, pallet: usize) {
        let station = json!({ "to": { "kind": "load_station", "number": 1 }, "exchange": true });
        self.small.act(pallet, "move", &station).await.expect_status(200);
    }

    /// The id of the run.
    pub async fn start(&self) -> String {
        self.start_at(&json!({})).await.expect_status(201).string("/id")
    }

    pub async fn start_at(&self, body: &Value) -> Answer {
        let start = format!("/v1/machines/{}/runs", self.small.machine);
        self.small.operator().post(&start, body).await
    }

    pub async fn run(&self, run: &str, act: &str, body: &Value) -> Value {
        let path = format!("/v1/runs/{run}/{act}");
        let acted = self.small.operator().post(&path, body).await;
        acted.expect_status(200).json()
    }

    /// `count` without job and operation.
    pub async fn unload(&self, pallet: usize, job: &str, count: Value, rework: bool) -> Answer {
        let body = json!({ "counts": [Self::count(job, count, rework)] });
        self.small.act(pallet, "unload", &body).await
    }

    pub fn count(job: &str, mut count: Value, rework: bool) -> Value {
        count["job"] = json!(job);
        count["operation"] = json!(10);
        count["rework"] = json!(rework);
        count
    }

    /// Clamps, cuts, and counts what came of it, all at once.
    pub async fn cut(&self, job: &str, pieces: u32, rework: bool, count: Value) {
        self.load(0, job, pieces, rework).await.expect_status(200);
        self.to_spindle(0).await;
        let run = self.start().await;
        self.run(&run, "finish", &json!({})).await;
        self.to_station(0).await;
        self.unload(0, job, count, rework).await.expect_status(200);
    }

    pub async fn job(&self, job: &str) -> Value {
        self.small.get(&format!("/v1/jobs/{job}")).await
    }

    pub async fn offered(&self) -> Value {
        let pool = format!("/v1/cells/{}/pool", self.small.cell);
        self.small.get(&pool).await["jobs"].clone()
    }

    /// Every day the same shifts, by the wall clock in Berlin.
    pub async fn set_shifts(&self, shifts: &[(&str, &str, &str)]) {
        let weekdays = [
            "monday",
            "tuesday",
            "wednesday",
            "thursday",
            "friday",
            "saturday",
            "sunday",
        ];
        let of_day = |weekday: &str| {
            let shift = |(name, starts, ends): &(&str, &str, &str)| json!({ "name": name, "weekday": weekday, "starts": starts, "ends": ends });
            shifts.iter().map(shift).collect::<Vec<_>>()
        };
        let shifts: Vec<_> = weekdays.iter().flat_map(|weekday| of_day(weekday)).collect();
        let calendar = json!({ "valid_from": "2026-01-01", "shifts": shifts });
        self.small.served.set_site_calendar(&calendar).await;
    }

    /// The sum of the machine's report between two instants, in Zulu time.
    pub async fn hours(&self, from: &str, to: &str) -> Value {
        self.report(&format!("from={from}&to={to}")).await["total"].clone()
    }

    pub async fn report(&self, query: &str) -> Value {
        self.small
            .get(&format!("/v1/hours?cell=POOL&machine=M1&{query}"))
            .await
    }

    /// The row of this name.
    pub async fn shift(&self, name: &str, from: &str, to: &str) -> Value {
        let report = self.report(&format!("from={from}&to={to}&by=shift")).await;
        let rows = report["rows"].as_array().unwrap();
        let row = rows.iter().find(|row| row["name"] == name);
        row.unwrap_or_else(|| panic!("no row {name}: {report}"))["total"].clone()
    }
}

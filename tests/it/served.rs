//! What the tests of the resources have in common: a service at an instant, and a few things in it.

use serde_json::{Value, json};
use spindlebook_domain::role::Role;
use spindlebook_domain::time::Timestamp;
use spindlebook_tests::app::{Options, TestApp};
use spindlebook_tests::caller::Caller;
use spindlebook_tests::engine::Engine;
use std::ops::Deref;

pub struct Served(TestApp);

impl Deref for Served {
    type Target = TestApp;
    fn deref(&self) -> &TestApp {
        &self.0
    }
}

impl Served {
    /// In Berlin, at this instant.
    pub async fn at(engine: Engine, now: &str) -> Self {
        Self::in_zone(engine, chrono_tz::Europe::Berlin, now).await
    }

    pub async fn in_zone(engine: Engine, zone: chrono_tz::Tz, now: &str) -> Self {
        let options = Options {
            zone,
            ..Options::default()
        };
        let app = TestApp::with(engine, options).await;
        app.clock.set(instant(now));
        Self(app)
    }

    /// A machine client that sends signals.
    pub fn device(&self) -> Caller {
        self.machine_client()
    }

    /// A planner of another site of the same service.
    pub fn planner_elsewhere(&self) -> Caller {
        self.from_other_site(Role::Planner)
    }

    /// A standalone machine with this code; gives its id.
    pub async fn add_machine(&self, code: &str) -> String {
        let body = json!({ "code": code, "name": format!("Mill {code}") });
        let added = self.planner().post("/v1/machines", &body).await;
        added.expect_status(201).string("/id")
    }

    pub async fn set_site_calendar(&self, calendar: &Value) {
        let planner = self.planner();
        let etag = planner.get("/v1/site/calendar").await.etag();
        let set = planner.put("/v1/site/calendar", &etag, calendar).await;
        set.expect_status(200);
    }

    /// The report of a machine; `query` without the machine.
    pub async fn hours(&self, machine: &str, query: &str) -> Value {
        let path = format!("/v1/hours?machine={machine}&{query}");
        self.viewer().get(&path).await.expect_status(200).json()
    }

    pub async fn send_cycles(&self, machine: &str, cycles: &[(&str, &str)]) {
        let cycles: Vec<_> = cycles
            .iter()
            .map(|(from, to)| json!({ "from": from, "to": to }))
            .collect();
        let path = format!("/v1/machines/{machine}/signals");
        let sent = self.device().post(&path, &json!({ "cycles": cycles })).await;
        sent.expect_status(201);
    }
}

pub fn instant(rfc3339: &str) -> Timestamp {
    Timestamp::from_utc(chrono::DateTime::parse_from_rfc3339(rfc3339).unwrap().to_utc())
}

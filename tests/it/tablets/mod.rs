//! Tablets: enrolled once, held by whoever badges in, heard whenever they are back.

mod badges;
mod delivery;
mod offline;

use crate::floor::working_cell::WorkingCell;
use serde_json::{Value, json};
use spindlebook_tests::app::TestApp;
use spindlebook_tests::caller::Caller;
use spindlebook_tests::engine::Engine;
use uuid::Uuid;

/// Invented, and without a pattern.
pub const PIN: &str = "730518";

/// A tablet with an access token of its own.
pub struct Tablet {
    pub id: String,
    pub caller: Caller,
}

/// Somebody's turn on a tablet.
pub struct Badge {
    pub id: String,
    pub caller: Caller,
}

pub async fn enrol(app: &TestApp, name: &str) -> Tablet {
    let added = app
        .admin()
        .post("/v1/devices", &json!({ "name": name }))
        .await
        .expect_status(201);
    let (id, key) = (added.string("/id"), added.string("/device_key"));
    let caller = sign_in(app, &id, &key).await.unwrap();
    Tablet { id, caller }
}

pub async fn sign_in(app: &TestApp, id: &str, key: &str) -> Option<Caller> {
    let form = [
        ("grant_type", "client_credentials"),
        ("client_id", id),
        ("client_secret", key),
    ];
    let token = app.anonymous().post_form("/oauth/token", &form).await;
    (token.status == 200).then(|| app.anonymous().with_token(token.string("/access_token")))
}

/// A user with a PIN; the id.
pub async fn person(app: &TestApp, login: &str, roles: &[&str]) -> String {
    let body = json!({ "login": login, "display_name": format!("Name of {login}"), "roles": roles,
        "password": format!("{login} likes long words") });
    let id = app
        .admin()
        .post("/v1/users", &body)
        .await
        .expect_status(201)
        .string("/id");
    let pin = format!("/v1/users/{id}/pin");
    app.admin()
        .post(&pin, &json!({ "pin": PIN }))
        .await
        .expect_status(204);
    id
}

impl Tablet {
    pub async fn badge_in(&self, app: &TestApp, person: &str) -> Badge {
        self.badge_in_with(app, &json!({ "person": person, "pin": PIN }))
            .await
    }

    pub async fn badge_in_with(&self, app: &TestApp, body: &Value) -> Badge {
        let begun = self.caller.post("/v1/badges", body).await.expect_status(201);
        Badge {
            id: begun.string("/id"),
            caller: app.anonymous().with_token(begun.string("/access_token")),
        }
    }

    /// The items of the answer.
    pub async fn deliver(&self, clock: &str, acts: &[Value]) -> Vec<Value> {
        let body = json!({ "clock": clock, "acts": acts });
        let delivered = self.caller.post_text("/v1/acts", None, &body.to_string()).await;
        delivered.expect_status(200).json()["items"]
            .as_array()
            .unwrap()
            .clone()
    }
}

pub fn act(key: Uuid, at: &str, badge: &Badge, path: &str, body: Value) -> Value {
    let mut act = json!({ "key": key, "at": at, "badge": badge.id, "path": path });
    act["body"] = body;
    act
}

/// A cell with a job, its fixture set up on pallet 1 at the load station; the job's id.
pub async fn a_cell_with_work(engine: Engine) -> (WorkingCell, String) {
    let cell = WorkingCell::new(engine).await;
    let (_, job) = cell.released(40).await;
    (cell, job)
}

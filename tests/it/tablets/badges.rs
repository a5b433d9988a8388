use super::{PIN, enrol, person, sign_in};
use serde_json::{Value, json};
use spindlebook_domain::role::Role;
use spindlebook_tests::app::TestApp;
use spindlebook_tests::on_both_engines;
use uuid::Uuid;

fn guess(person: &str, pin: &str) -> Value {
    json!({ "person": person, "pin": pin })
}

on_both_engines! {
    async fn a_tablet_is_enrolled_once_and_its_key_is_shown_once(engine) {
        let app = TestApp::new(engine).await;
        let key = Uuid::now_v7();
        let body = json!({ "name": "Load station 1" });
        let first = app.admin().post_with_key("/v1/devices", key, &body).await.expect_status(201);
        let again = app.admin().post_with_key("/v1/devices", key, &body).await.expect_status(201);
        assert!(again.json()["device_key"].is_null(), "{}", again.text());
        let (id, secret) = (first.string("/id"), first.string("/device_key"));
        assert!(sign_in(&app, &id, "a guess").await.is_none());
        let tablet = sign_in(&app, &id, &secret).await.unwrap();
        tablet.get("/v1/cells").await.expect_status(200);
        // It does nothing in its own name.
        let cell = json!({ "code": "C1", "name": "Pool", "kind": "pool", "load_stations": 1, "stands": 4, "exchange_s": 60 });
        tablet.post("/v1/cells", &cell).await.expect_problem(403, "role.missing");
        let path = format!("/v1/devices/{id}");
        let shown = app.planner().get(&path).await.expect_status(200).json();
        assert_eq!((&shown["name"], &shown["last_contact"], &shown["badge"]), (&json!("Load station 1"), &json!(null), &json!(null)));
        let listed = app.planner().get("/v1/devices").await.expect_status(200).json();
        assert!(listed["items"].as_array().unwrap().iter().any(|device| device["id"] == id.as_str()), "{listed}");
        app.admin().delete(&path).await.expect_status(204);
        tablet.get("/v1/cells").await.expect_problem(401, "sign-in.session-ended");
        assert!(sign_in(&app, &id, &secret).await.is_none());
        let user = person(&app, "ana", &["operator"]).await;
        app.planner().get(&format!("/v1/devices/{user}")).await.expect_problem(404, "device.unknown");
    }

    /// N14's test: two people in turn on one tablet, ten acts, every one under the right name.
    async fn two_people_in_turn_act_under_their_own_names(engine) {
        let app = TestApp::new(engine).await;
        let machine = app.planner().post("/v1/machines", &json!({ "code": "M1", "name": "Mill" })).await;
        let machine = format!("/v1/machines/{}", machine.expect_status(201).string("/id"));
        let tablet = enrol(&app, "Hall").await;
        let people = [person(&app, "ana", &["operator"]).await, person(&app, "ben", &["operator"]).await];
        for turn in 0..10 {
            app.clock.advance_s(12);
            let who = &people[turn % 2];
            let badge = tablet.badge_in(&app, who).await;
            let (act, body) = if turn % 2 == 0 { ("down", json!({ "reason": "tooling" })) } else { ("up", json!({})) };
            badge.caller.post(&format!("{machine}/{act}"), &body).await.expect_status(200);
            let entry = app.viewer().get(&format!("/v1/ledger/{}", app.seq())).await.expect_status(200).json();
            assert_eq!((&entry["actor"], &entry["device"]), (&json!(format!("person:{who}")), &json!(tablet.id)));
        }
    }

    async fn a_badge_ends_by_taking_over_by_dropping_out_and_by_time(engine) {
        let app = TestApp::new(engine).await;
        let tablet = enrol(&app, "Hall").await;
        let (ana, ben) = (person(&app, "ana", &["operator"]).await, person(&app, "ben", &["operator"]).await);
        let first = tablet.badge_in(&app, &ana).await;
        first.caller.get("/v1/cells").await.expect_status(200);
        let who = first.caller.get("/v1/session").await.expect_status(200).json();
        assert_eq!(who["display_name"], "Name of ana");
        let second = tablet.badge_in(&app, &ben).await;
        first.caller.get("/v1/cells").await.expect_problem(401, "sign-in.session-ended");
        let held = app.planner().get(&format!("/v1/devices/{}", tablet.id)).await.json();
        assert_eq!((&held["badge"]["id"], &held["badge"]["person"]), (&json!(second.id), &json!(ben)));
        // Another tablet may not end it; the person and the tablet itself may.
        let path = format!("/v1/badges/{}", second.id);
        enrol(&app, "Other").await.caller.delete(&path).await.expect_problem(404, "resource.unknown");
        app.admin().delete(&path).await.expect_problem(404, "resource.unknown");
        second.caller.delete(&path).await.expect_status(204);
        second.caller.get("/v1/cells").await.expect_problem(401, "sign-in.session-ended");
        tablet.caller.delete(&path).await.expect_problem(409, "badge.already-ended");
        let third = tablet.badge_in(&app, &ana).await;
        tablet.caller.delete(&format!("/v1/badges/{}", third.id)).await.expect_status(204);
        let last = tablet.badge_in(&app, &ana).await;
        app.clock.advance_s(899);
        last.caller.get("/v1/cells").await.expect_status(200);
        app.clock.advance_s(1);
        last.caller.get("/v1/cells").await.expect_problem(401, "sign-in.session-ended");
    }

    async fn a_persons_roles_count_and_a_pin_is_no_password(engine) {
        let app = TestApp::new(engine).await;
        let tablet = enrol(&app, "Hall").await;
        let viewer = person(&app, "vera", &["viewer"]).await;
        let admin = person(&app, "ada", &["admin", "operator"]).await;
        let cell = json!({ "code": "C1", "name": "Pool", "kind": "pool", "load_stations": 1, "stands": 4, "exchange_s": 60 });
        tablet.badge_in(&app, &viewer).await.caller.post("/v1/cells", &cell).await.expect_problem(403, "role.missing");
        let badge = tablet.badge_in(&app, &admin).await;
        badge.caller.post("/v1/cells", &cell).await.expect_status(201);
        badge.caller.get("/v1/users").await.expect_problem(403, "badge.not-enough");
        let pin = json!({ "current_password": "ada likes long words", "pin": "402917" });
        badge.caller.post("/v1/session/pin", &pin).await.expect_problem(403, "badge.not-enough");
        badge.caller.delete("/v1/session").await.expect_problem(403, "badge.not-enough");
        // Only a tablet badges people in.
        for role in [Role::Admin, Role::Operator, Role::Integration] {
            app.with_role(role).post("/v1/badges", &guess(&admin, PIN)).await.expect_problem(403, "role.missing");
        }
    }

    async fn wrong_pins_slow_the_person_down_and_not_the_tablet(engine) {
        let app = TestApp::new(engine).await;
        let (tablet, other) = (enrol(&app, "Hall").await, enrol(&app, "Other").await);
        let (ana, ben) = (person(&app, "ana", &["operator"]).await, person(&app, "ben", &["operator"]).await);
        for _ in 0..2 {
            tablet.caller.post("/v1/badges", &guess(&ana, "111112")).await.expect_problem(409, "pin.wrong");
        }
        tablet.caller.post("/v1/badges", &guess(&ana, "111112")).await.expect_problem(409, "pin.wrong");
        // From now on ana waits, on whichever tablet; ben does not.
        let waits = other.caller.post("/v1/badges", &guess(&ana, PIN)).await;
        waits.expect_problem(429, "pin.too-many");
        assert!(waits.header("Retry-After").unwrap().parse::<u64>().unwrap() <= 3);
        tablet.badge_in(&app, &ben).await;
        for wait_s in [2, 4, 8, 16, 32, 64, 128] {
            app.clock.advance_s(wait_s);
            tablet.caller.post("/v1/badges", &guess(&ana, "111112")).await.expect_problem(409, "pin.wrong");
        }
        app.clock.advance_s(600);
        let tablet = sign_in_again(&app, &tablet);
        tablet.post("/v1/badges", &guess(&ana, PIN)).await.expect_problem(409, "pin.locked");
        let pin = format!("/v1/users/{ana}/pin");
        let stands = app.admin().get(&pin).await.expect_status(200).json();
        assert_eq!((&stands["wrong"], &stands["locked"]), (&json!(10), &json!(true)));
        app.admin().post(&format!("{pin}/unlock"), &json!({})).await.expect_status(204);
        tablet.post("/v1/badges", &guess(&ana, PIN)).await.expect_status(201);
        let stands = app.admin().get(&pin).await.expect_status(200).json();
        assert_eq!((&stands["wrong"], &stands["locked"]), (&json!(0), &json!(false)));
    }

    async fn fifty_wrong_ones_at_once_gain_no_more_than_ten(engine) {
        let app = TestApp::new(engine).await;
        let tablet = enrol(&app, "Hall").await;
        let ana = person(&app, "ana", &["operator"]).await;
        let pins = (0..50).map(|number| guess(&ana, &format!("4029{number:02}")));
        let answers = futures_util::future::join_all(pins.map(|body| {
            let caller = tablet.caller.clone();
            async move { caller.post("/v1/badges", &body).await }
        })).await;
        let looked_at = answers.iter().filter(|answer| answer.json()["code"] == "pin.wrong").count();
        assert!(looked_at <= 3, "{looked_at} were looked at");
        assert!(answers.iter().all(|answer| [409, 429].contains(&answer.status.as_u16())));
    }

    async fn whoever_cannot_badge_in_hears_one_text_and_is_not_on_the_list(engine) {
        let app = TestApp::new(engine).await;
        let tablet = enrol(&app, "Hall").await;
        let (ana, ben) = (person(&app, "ana", &["operator"]).await, person(&app, "ben", &["operator"]).await);
        let path = format!("/v1/users/{ben}");
        let etag = app.admin().get(&path).await.etag();
        let badge = tablet.badge_in(&app, &ben).await;
        app.admin().patch(&path, &etag, &json!({ "disabled": true })).await.expect_status(200);
        badge.caller.get("/v1/cells").await.expect_problem(401, "sign-in.session-ended");
        let mut said = Vec::new();
        for body in [guess(&ana, "402917"), guess(&ben, PIN), guess(&Uuid::now_v7().to_string(), PIN),
            guess(&app.principal(Role::Operator).to_string(), PIN)] {
            let problem = tablet.caller.post("/v1/badges", &body).await.expect_problem(409, "pin.wrong");
            said.push(problem["detail"].clone());
        }
        assert!(said.iter().all(|text| *text == said[0]), "{said:?}");
        let listed = tablet.caller.get("/v1/devices/people").await.expect_status(200);
        assert_eq!(listed.header("Cache-Control"), Some("no-store"));
        assert_eq!(listed.json()["items"], json!([{ "id": ana, "display_name": "Name of ana", "roles": ["operator"] }]));
        app.admin().get("/v1/devices/people").await.expect_problem(403, "role.missing");
    }

    async fn weak_pins_are_refused_and_a_new_one_ends_badges(engine) {
        let app = TestApp::new(engine).await;
        let tablet = enrol(&app, "Hall").await;
        let ana = person(&app, "ana", &["operator"]).await;
        let path = format!("/v1/users/{ana}/pin");
        for weak in ["000000", "123456", "654321", "121212", "112233"] {
            app.admin().post(&path, &json!({ "pin": weak })).await.expect_field_problem(400, "pin.weak", "/pin");
        }
        for none in ["12345", "1234567", "12a456"] {
            app.admin().post(&path, &json!({ "pin": none })).await.expect_field_problem(400, "body.invalid", "/pin");
        }
        let body = json!({ "login": "ana", "password": "ana likes long words", "site": "one" });
        let signed_in = app.anonymous().post("/v1/session", &body).await.expect_status(200);
        let signed_in = app.anonymous().with_token(signed_in.string("/access_token"));
        let badge = tablet.badge_in(&app, &ana).await;
        let own = |password: &str| json!({ "current_password": password, "pin": "402917" });
        let wrong = signed_in.post("/v1/session/pin", &own("a guess at it")).await;
        wrong.expect_field_problem(409, "password.wrong", "/current_password");
        signed_in.post("/v1/session/pin", &own("ana likes long words")).await.expect_status(204);
        badge.caller.get("/v1/cells").await.expect_problem(401, "sign-in.session-ended");
        tablet.caller.post("/v1/badges", &guess(&ana, PIN)).await.expect_problem(409, "pin.wrong");
        tablet.badge_in_with(&app, &guess(&ana, "402917")).await;
        // Neither stands in the ledger or in what is kept of it.
        let dump = app.viewer().get("/v1/ledger?limit=200").await.text();
        assert!(!dump.contains("402917") && !dump.contains(PIN));
    }

    async fn badging_in_again_under_its_key_gives_the_same_badge(engine) {
        let app = TestApp::new(engine).await;
        let tablet = enrol(&app, "Hall").await;
        let ana = person(&app, "ana", &["operator"]).await;
        let key = Uuid::now_v7();
        let first = tablet.caller.post_with_key("/v1/badges", key, &guess(&ana, PIN)).await.expect_status(201);
        let seq = app.seq();
        let again = tablet.caller.post_with_key("/v1/badges", key, &guess(&ana, PIN)).await.expect_status(201);
        assert_eq!((first.string("/id"), seq), (again.string("/id"), app.seq()));
        app.anonymous().with_token(again.string("/access_token")).get("/v1/cells").await.expect_status(200);
        // Another PIN under the key of a right one is a guess like any other.
        tablet.caller.post_with_key("/v1/badges", key, &guess(&ana, "402917")).await.expect_problem(409, "pin.wrong");
    }
}

/// A tablet's own token lives for a quarter of an hour.
fn sign_in_again(app: &TestApp, tablet: &super::Tablet) -> spindlebook_tests::caller::Caller {
    app.as_principal(app.site, tablet.id.parse().unwrap())
}

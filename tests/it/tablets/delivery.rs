use super::{PIN, a_cell_with_work, act, enrol, person};
use serde_json::{Value, json};
use spindlebook_tests::on_both_engines;
use std::time::Duration;
use uuid::Uuid;

async fn entries_of(app: &spindlebook_tests::app::TestApp, key: Uuid) -> Vec<Value> {
    let mut after = 0;
    let mut found = Vec::new();
    loop {
        let page = app
            .viewer()
            .get(&format!("/v1/ledger?after={after}&limit=200"))
            .await
            .json();
        let items = page["items"].as_array().unwrap();
        found.extend(
            items
                .iter()
                .filter(|entry| entry["command_id"] == json!(key))
                .cloned(),
        );
        match page["next_after"].as_u64() {
            Some(next) => after = next,
            None => return found,
        }
    }
}

fn problem_of(item: &Value) -> String {
    let code = item["body"]["code"]
        .as_str()
        .filter(|_| item["status"].as_u64() >= Some(400));
    code.unwrap_or_default().to_owned()
}

on_both_engines! {
    /// E15: 09:22 and 10:07 on a tablet that is seven minutes fast are 09:15 and 10:00, and 45 minutes.
    async fn a_fast_tablets_run_is_as_long_as_it_was(engine) {
        let (cell, job) = a_cell_with_work(engine).await;
        let app = &cell.small.served;
        cell.load(0, &job, 8, false).await.expect_status(200);
        cell.to_spindle(0).await;
        cell.clock("2026-11-02T09:10:00Z");
        let tablet = enrol(app, "Hall").await;
        let ana = person(app, "ana", &["operator"]).await;
        let badge = tablet.badge_in(app, &ana).await;
        cell.clock("2026-11-02T10:02:00Z");
        let tablet = super::Tablet { caller: app.as_principal(app.site, tablet.id.parse().unwrap()), ..tablet };
        // Its badge was good until 09:25; for the end she took the tablet again while it reached nobody.
        let claimed = json!({ "since": "2026-11-02T10:06:00Z", "clock": "2026-11-02T10:09:00Z" });
        let later = tablet.badge_in_with(app, &json!({ "person": ana, "pin": PIN, "claimed": claimed })).await;
        let (start, finish) = (Uuid::now_v7(), Uuid::now_v7());
        let runs = format!("/v1/machines/{}/runs", cell.small.machine);
        let began = tablet.deliver("2026-11-02T10:09:00Z", &[act(start, "2026-11-02T09:22:00Z", &badge, &runs, json!({}))]).await;
        assert_eq!(began[0]["status"], 201, "{began:?}");
        let run = began[0]["body"]["id"].as_str().unwrap().to_owned();
        let path = format!("/v1/runs/{run}/finish");
        let ended = tablet.deliver("2026-11-02T10:09:00Z", &[act(finish, "2026-11-02T10:07:00Z", &later, &path, json!({}))]).await;
        assert_eq!(ended[0]["status"], 200, "{ended:?}");
        let shown = cell.small.get(&format!("/v1/runs/{run}")).await;
        assert_eq!(shown["started_at"], "2026-11-02T09:15:00Z", "{shown}");
        assert_eq!(entries_of(app, finish).await[0]["occurred_at"], "2026-11-02T10:00:00Z");
        let hours = cell.hours("2026-11-02T09:00:00Z", "2026-11-02T10:02:00Z").await;
        assert_eq!(hours["realised_s"], 45 * 60, "{hours}");
        // The correction is shown, and what the tablet itself said is kept.
        let device = app.planner().get(&format!("/v1/devices/{}", tablet.id)).await.json();
        assert_eq!(device["last_contact"], json!({ "received_at": "2026-11-02T10:02:00Z", "clock": "2026-11-02T10:09:00Z", "ahead_ms": 420_000 }));
        let entry = &entries_of(app, start).await[0];
        assert_eq!((&entry["actor"], &entry["device"]), (&json!(format!("person:{ana}")), &json!(tablet.id)));
        let contacts = app.viewer().get("/v1/ledger?limit=200").await.json();
        let contacts: Vec<_> = contacts["items"].as_array().unwrap().iter().filter(|entry| entry["kind"] == "device.contacted").cloned().collect();
        let told = &contacts[0]["payload"]["acts"][0];
        assert_eq!((&told["key"], &told["at"]), (&json!(start), &json!(1_793_611_320_000_000_i64)), "09:22 by the tablet");
    }

    /// E64: a glove bounces after 300 ms; a lost answer is asked for again after 40 s, live or from the queue.
    async fn what_is_tapped_once_counts_once(engine) {
        let (cell, job) = a_cell_with_work(engine).await;
        let app = &cell.small.served;
        cell.load(0, &job, 8, false).await.expect_status(200);
        let tablet = enrol(app, "Hall").await;
        let ana = person(app, "ana", &["operator"]).await;
        let badge = tablet.badge_in(app, &ana).await;
        let path = format!("/v1/pallets/{}/unload", cell.small.pallets[0]);
        let body = json!({ "counts": [{ "job": job, "operation": 10, "uncut": 8 }] });
        let (key, before) = (Uuid::now_v7(), app.seq());
        let first = {
            let (caller, path, body) = (badge.caller.clone(), path.clone(), body.clone());
            tokio::spawn(async move { caller.post_with_key(&path, key, &body).await })
        };
        tokio::time::sleep(Duration::from_millis(300)).await;
        let second = badge.caller.post_with_key(&path, key, &body).await.expect_status(200);
        let first = first.await.unwrap().expect_status(200);
        assert_eq!((&first.body, app.seq()), (&second.body, before + 1));
        app.clock.advance_s(40);
        let third = badge.caller.post_with_key(&path, key, &body).await.expect_status(200);
        assert_eq!(third.body, first.body);
        let queued = act(key, "2026-11-02T08:00:00Z", &badge, &path, body);
        let delivered = tablet.deliver("2026-11-02T08:00:40Z", std::slice::from_ref(&queued)).await;
        assert_eq!((&delivered[0]["status"], delivered[0]["body"].to_string()), (&json!(200), first.json().to_string()));
        assert!(delivered[0]["first_given_at"].is_string());
        assert_eq!(entries_of(app, key).await.len(), 1);
    }

    /// E65: two tablets, two people, one pallet, two seconds apart.
    async fn the_second_who_unloads_hears_who_was_first(engine) {
        let (cell, job) = a_cell_with_work(engine).await;
        let app = &cell.small.served;
        cell.load(0, &job, 8, false).await.expect_status(200);
        cell.clock("2026-11-02T10:02:10Z");
        let (one, other) = (enrol(app, "One").await, enrol(app, "Other").await);
        let (ana, ben) = (person(app, "ana", &["operator"]).await, person(app, "ben", &["operator"]).await);
        let (first, second) = (one.badge_in(app, &ana).await, other.badge_in(app, &ben).await);
        let path = format!("/v1/pallets/{}/unload", cell.small.pallets[0]);
        let body = json!({ "counts": [{ "job": job, "operation": 10, "uncut": 8 }] });
        first.caller.post(&path, &body).await.expect_status(200);
        app.clock.advance_s(2);
        let problem = second.caller.post(&path, &body).await.expect_problem(409, "unload.already-unloaded");
        assert_eq!((&problem["by"], &problem["unloaded_at"]), (&json!(format!("person:{ana}")), &json!("2026-11-02T10:02:10Z")));
        assert!(problem["detail"].as_str().unwrap().contains("unloaded by person:"), "{problem}");
        let waiting = cell.job(&job).await;
        assert_eq!(waiting["operations"][0]["waiting"], 40, "{waiting}");
    }

    /// E66: the same key with 4 good for 5. Both are shown, and 5 stays.
    async fn a_key_with_another_count_is_refused_with_both(engine) {
        let (cell, job) = a_cell_with_work(engine).await;
        let app = &cell.small.served;
        cell.load(0, &job, 5, false).await.expect_status(200);
        cell.to_spindle(0).await;
        let run = cell.start().await;
        cell.run(&run, "finish", &json!({})).await;
        cell.to_station(0).await;
        let path = format!("/v1/pallets/{}/unload", cell.small.pallets[0]);
        let counts = |good: u32, scrapped: u32| json!({ "counts": [{ "job": job, "operation": 10, "good": good, "scrapped": scrapped }] });
        let key = Uuid::now_v7();
        app.operator().post_with_key(&path, key, &counts(5, 0)).await.expect_status(200);
        let before = app.seq();
        let refused = app.operator().post_with_key(&path, key, &counts(4, 1)).await;
        let problem = refused.expect_problem(422, "idempotency-key.reused");
        assert_eq!(problem["recorded"][0]["payload"]["counts"][0]["good"], 5, "{problem}");
        assert_eq!(problem["sent"]["counts"][0]["good"], 4, "{problem}");
        assert_eq!(problem["first_given_at"], "2026-11-02T08:00:00Z");
        assert_eq!(app.seq(), before);
        assert_eq!(cell.job(&job).await["operations"][0]["good"], 5);
    }

    async fn each_act_is_answered_as_its_own_operation_answers_it(engine) {
        let (cell, job) = a_cell_with_work(engine).await;
        let app = &cell.small.served;
        let tablet = enrol(app, "Hall").await;
        let (ana, vera) = (person(app, "ana", &["operator"]).await, person(app, "vera", &["viewer"]).await);
        let looks_on = tablet.badge_in(app, &vera).await;
        let badge = tablet.badge_in(app, &ana).await;
        let pallet = |act: &str| format!("/v1/pallets/{}/{act}", cell.small.pallets[0]);
        let load = json!({ "pieces": [{ "job": job, "operation": 10, "pieces": 4 }] });
        let (now, keys) = ("2026-11-02T08:00:00Z", [0; 8].map(|_| Uuid::now_v7()));
        let acts = [
            act(keys[0], now, &badge, &pallet("load"), load.clone()),
            act(keys[1], now, &badge, &pallet("load"), json!({ "peaces": [] })),
            act(keys[2], now, &badge, &pallet("mount"), json!({ "fixture": cell.small.fixture })),
            act(keys[3], now, &looks_on, &pallet("load"), load.clone()),
            act(keys[4], now, &badge, "/v1/cells", json!({ "code": "C2", "name": "Pool", "kind": "pool", "load_stations": 1, "stands": 1, "exchange_s": 60 })),
            act(keys[5], now, &badge, "/v1/session", json!({ "login": "ana", "password": "ana likes long words", "site": "one" })),
            act(keys[6], now, &badge, &pallet("no-such-act"), json!({})),
            act(keys[7], now, &badge, &pallet("load"), load.clone()),
        ];
        let before = app.seq();
        let items = tablet.deliver(now, &acts).await;
        let codes: Vec<_> = items.iter().map(|item| (item["status"].as_u64().unwrap(), problem_of(item))).collect();
        let expected = [(200, ""), (400, "body.invalid"), (202, ""), (403, "role.missing"),
            (400, "delivery.operation-not-taken"), (400, "delivery.operation-not-taken"), (404, "route.unknown"), (200, "")];
        let read: Vec<_> = codes.iter().map(|(status, code)| (*status, code.as_str())).collect();
        assert_eq!(read, expected, "{items:?}");
        assert_eq!(items[1]["body"]["errors"][0]["pointer"], "/peaces");
        assert_eq!(items[2]["body"]["against_now"]["code"], "mount.fixture-on", "it has happened: somebody has to settle it");
        assert_eq!(app.seq(), before + 4, "two loads, one parked and the contact");
        // The same as live, to the byte, and as often as it is asked.
        let live = badge.caller.post_with_key(&pallet("load"), keys[0], &load).await.expect_status(200);
        assert_eq!(items[0]["body"].to_string(), live.json().to_string());
        let again = tablet.deliver(now, &acts).await;
        let bodies = |items: &[Value]| items.iter().map(|item| item["body"].clone()).collect::<Vec<_>>();
        assert_eq!(bodies(&again), bodies(&items));
        assert_eq!(app.seq(), before + 5, "one more contact and nothing else");
    }

    async fn a_badge_counts_as_it_was_at_the_act(engine) {
        let (cell, job) = a_cell_with_work(engine).await;
        let app = &cell.small.served;
        let (tablet, other) = (enrol(app, "Hall").await, enrol(app, "Other").await);
        let ana = person(app, "ana", &["operator"]).await;
        let badge = tablet.badge_in(app, &ana).await;
        let load = json!({ "pieces": [{ "job": job, "operation": 10, "pieces": 1 }] });
        let path = format!("/v1/pallets/{}/load", cell.small.pallets[0]);
        let one = |at: &str| act(Uuid::now_v7(), at, &badge, &path, load.clone());
        app.clock.advance_s(600);
        // Disabled after the act: it was hers all the same.
        let user = format!("/v1/users/{ana}");
        let etag = app.admin().get(&user).await.etag();
        app.admin().patch(&user, &etag, &json!({ "disabled": true })).await.expect_status(200);
        app.clock.advance_s(600);
        let tablet = super::Tablet { caller: app.as_principal(app.site, tablet.id.parse().unwrap()), ..tablet };
        let now = "2026-11-02T08:20:00Z";
        let items = tablet.deliver(now, &[one("2026-11-02T08:05:00Z"), one("2026-11-02T08:15:00Z"), one("2026-11-02T07:55:00Z")]).await;
        let statuses: Vec<_> = items.iter().map(|item| item["status"].as_u64().unwrap()).collect();
        assert_eq!(statuses, [200, 409, 409], "{items:?}");
        assert_eq!(items[1]["body"]["code"], "delivery.not-badged-in");
        // On another tablet it is no badge at all.
        let other = super::Tablet { caller: app.as_principal(app.site, other.id.parse().unwrap()), ..other };
        let items = other.deliver(now, &[one("2026-11-02T08:05:00Z")]).await;
        assert_eq!(items[0]["body"]["code"], "badge.unknown");
    }

    async fn a_claimed_badge_brings_what_was_tapped_in_the_gap(engine) {
        let (cell, job) = a_cell_with_work(engine).await;
        let app = &cell.small.served;
        let tablet = enrol(app, "Hall").await;
        let (ana, ben) = (person(app, "ana", &["operator"]).await, person(app, "ben", &["operator"]).await);
        let old = tablet.badge_in(app, &ana).await;
        cell.clock("2026-11-02T12:00:00Z");
        let tablet = super::Tablet { caller: app.as_principal(app.site, tablet.id.parse().unwrap()), ..tablet };
        let path = format!("/v1/pallets/{}/load", cell.small.pallets[0]);
        let load = json!({ "pieces": [{ "job": job, "operation": 10, "pieces": 1 }] });
        let (key, at, now) = (Uuid::now_v7(), "2026-11-02T09:30:00Z", "2026-11-02T12:00:00Z");
        let items = tablet.deliver(now, &[act(key, at, &old, &path, load.clone())]).await;
        assert_eq!((&items[0]["status"], &items[0]["body"]["code"]), (&json!(409), &json!("delivery.not-badged-in")));
        let claimed = json!({ "since": "2026-11-02T09:29:00Z", "clock": now });
        let wrong = json!({ "person": ben, "pin": "402917", "claimed": claimed });
        tablet.caller.post("/v1/badges", &wrong).await.expect_problem(409, "pin.wrong");
        let badge = tablet.badge_in_with(app, &json!({ "person": ben, "pin": PIN, "claimed": claimed })).await;
        let items = tablet.deliver(now, &[act(key, at, &badge, &path, load.clone())]).await;
        assert_eq!(items[0]["status"], 200, "{items:?}");
        let entry = &entries_of(app, key).await[0];
        assert_eq!((&entry["actor"], &entry["occurred_at"]), (&json!(format!("person:{ben}")), &json!(at)));
        let ahead = json!({ "since": "2026-11-02T12:30:00Z", "clock": now });
        let ahead = tablet.caller.post("/v1/badges", &json!({ "person": ben, "pin": PIN, "claimed": ahead })).await;
        ahead.expect_field_problem(400, "badge.claimed-ahead", "/claimed/since");
        let long_ago = json!({ "since": "2026-10-10T12:30:00Z", "clock": now });
        let long_ago = tablet.caller.post("/v1/badges", &json!({ "person": ben, "pin": PIN, "claimed": long_ago })).await;
        long_ago.expect_field_problem(409, "badge.claimed-too-long-ago", "/claimed/since");
    }

    async fn a_time_that_cannot_be_waits_until_somebody_says_it(engine) {
        let (cell, job) = a_cell_with_work(engine).await;
        let app = &cell.small.served;
        let tablet = enrol(app, "Hall").await;
        let ana = person(app, "ana", &["operator"]).await;
        let badge = tablet.badge_in(app, &ana).await;
        app.clock.advance_s(60);
        let path = format!("/v1/pallets/{}/load", cell.small.pallets[0]);
        let load = |pieces: u32| json!({ "pieces": [{ "job": job, "operation": 10, "pieces": pieces }] });
        let keys = [Uuid::now_v7(), Uuid::now_v7()];
        let unset = |key: Uuid, pieces: u32| act(key, "1970-01-01T00:10:00Z", &badge, &path, load(pieces));
        let now = "2026-11-02T08:01:00Z";
        let items = tablet.deliver(now, &[unset(keys[0], 2), unset(keys[1], 90)]).await;
        for (item, key) in items.iter().zip(keys) {
            assert_eq!((&item["status"], &item["body"]), (&json!(202), &json!({ "set_aside": key })));
        }
        let again = tablet.deliver(now, &[unset(keys[1], 90), unset(keys[0], 2)]).await;
        assert_eq!((&again[1]["body"], &again[0]["body"]), (&items[0]["body"], &items[1]["body"]));
        assert_eq!(cell.job(&job).await["operations"][0]["waiting"], 40, "it counts nowhere yet");
        let waiting = app.viewer().get("/v1/acts/set-aside").await.expect_status(200).json();
        let listed: Vec<_> = waiting["items"].as_array().unwrap().iter().map(|item| (item["key"].clone(), item["body"].clone())).collect();
        assert_eq!(listed, [(json!(keys[0]), load(2)), (json!(keys[1]), load(90))], "in the order in which they came");
        assert_eq!((&waiting["items"][0]["device_time"], &waiting["items"][0]["person"]), (&json!("1970-01-01T00:10:00Z"), &json!(ana)));
        let say = |key: Uuid| format!("/v1/acts/set-aside/{key}/time");
        let at = json!({ "at": "2026-11-02T08:00:30Z" });
        let late = app.operator().post(&say(keys[0]), &json!({ "at": "2026-11-02T09:00:00Z" })).await;
        late.expect_field_problem(400, "device.act-placed-late", "/at");
        app.viewer().post(&say(keys[0]), &at).await.expect_problem(403, "role.missing");
        let said = Uuid::now_v7();
        let placed = app.planner().post_with_key(&say(keys[0]), said, &at).await.expect_status(200);
        assert_eq!(placed.json()["answer"]["load"]["pieces"][0]["pieces"], 2, "{}", placed.text());
        let once_more = app.planner().post_with_key(&say(keys[0]), said, &at).await.expect_status(200);
        assert_eq!(once_more.body, placed.body);
        app.planner().post(&say(keys[0]), &at).await.expect_problem(404, "device.act-unknown");
        // Whoever tapped did it, at the time that was said; who said so stands behind it.
        let entry = |seq: u64| { let viewer = app.viewer(); async move { viewer.get(&format!("/v1/ledger/{seq}")).await.json() } };
        let (done, told) = (entry(app.seq() - 1).await, entry(app.seq()).await);
        assert_eq!((&done["kind"], &done["actor"], &done["occurred_at"]), (&json!("pallet.loaded"), &json!(format!("person:{ana}")), &json!("2026-11-02T08:00:30Z")));
        assert_eq!((&told["kind"], &told["actor"]), (&json!("device.act_placed"), &json!(format!("person:{}", app.principal(spindlebook_domain::role::Role::Planner)))));
        // Ninety pieces do not wait: it has its time now, and waits for somebody who settles it.
        let placed = app.planner().post(&say(keys[1]), &at).await.expect_status(200).json();
        assert_eq!((&placed["status"], &placed["answer"]["against_now"]["code"]), (&json!(202), &json!("load.more-than-wait")));
        let left = app.viewer().get("/v1/acts/set-aside").await.json();
        assert_eq!(left["items"], json!([]));
        let parked = app.viewer().get("/v1/parked-acts").await.json();
        assert_eq!((&parked["items"][0]["act"], &parked["items"][0]["told_by"]), (&json!("load"), &json!(format!("person:{ana}"))));
        let acts = [unset(Uuid::now_v7(), 1)];
        // Its clock still says 1970 at sending: what lies between the two is good.
        let items = tablet.deliver("1970-01-01T00:10:30Z", &acts).await;
        assert_eq!(items[0]["status"], 200, "{items:?}");
        let body = json!({ "clock": "2026-11-02T08:00:00Z", "acts": vec![acts[0].clone(); 501] });
        let many = tablet.caller.post_text("/v1/acts", None, &body.to_string()).await;
        many.expect_field_problem(400, "device.too-many-acts", "/acts");
    }
}

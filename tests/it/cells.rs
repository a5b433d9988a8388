//! Cells and their own calendars by HTTP.

use crate::served::Served;
use serde_json::{Value, json};
use spindlebook_tests::on_both_engines;
use std::collections::BTreeSet;

const NOW: &str = "2026-11-02T06:00:00Z";

fn pool(code: &str) -> Value {
    json!({ "code": code, "name": format!("Pool {code}"), "kind": "pool", "load_stations": 1, "stands": 6, "exchange_s": 45 })
}

on_both_engines! {
    async fn a_cell_is_added_shown_and_changed(engine) {
        let served = Served::at(engine, NOW).await;
        let planner = served.planner();
        let added = planner
            .post("/v1/cells", &pool("POOL-A"))
            .await
            .expect_status(201);
        let path = format!("/v1/cells/{}", added.string("/id"));
        assert_eq!(added.header("location"), Some(path.as_str()));
        let shown = served.viewer().get(&path).await.expect_status(200);
        assert_eq!((shown.json(), shown.etag()), (added.json(), added.etag()));
        // JSON Schema takes 45.0 for the integer 45.
        let mut body = pool("POOL-A1");
        body["exchange_s"] = json!(50.0);
        let changed = planner.put(&path, &shown.etag(), &body).await.expect_status(200);
        assert_eq!(
            (&changed.json()["code"], &changed.json()["exchange_s"]),
            (&json!("POOL-A1"), &json!(50))
        );
        planner
            .put(&path, &shown.etag(), &body)
            .await
            .expect_problem(412, "cell.stale");
        let without = planner
            .send(reqwest::Method::PUT, &path, |request| request.json(&body))
            .await;
        without.expect_field_problem(428, "if-match.missing", "If-Match");
        planner.put(&path, "*", &pool("POOL-A2")).await.expect_status(200);
    }

    async fn what_belongs_to_a_pool_is_asked_of_a_pool_only(engine) {
        let served = Served::at(engine, NOW).await;
        let before = served.seq();
        let mut without = pool("A");
        without.as_object_mut().unwrap().remove("stands");
        let mut standalone = pool("A");
        standalone["kind"] = json!("standalone");
        let mut no_station = pool("A");
        no_station["load_stations"] = json!(0);
        for (body, code, pointer) in [
            (without, "body.invalid", "/stands"),
            (standalone, "body.invalid", "/load_stations"),
            (no_station, "cell.no-load-station", "/load_stations"),
        ] {
            served
                .planner()
                .post("/v1/cells", &body)
                .await
                .expect_field_problem(400, code, pointer);
        }
        assert_eq!(served.seq(), before);
        served
            .planner()
            .post("/v1/cells", &pool("A"))
            .await
            .expect_status(201);
        let taken = served.planner().post("/v1/cells", &pool("a")).await;
        taken.expect_field_problem(409, "cell.code-taken", "/code");
    }

    async fn the_same_key_gives_the_same_answer_once(engine) {
        let served = Served::at(engine, NOW).await;
        let (planner, key) = (served.planner(), uuid::Uuid::now_v7());
        let first = planner
            .post_with_key("/v1/cells", key, &pool("A"))
            .await
            .expect_status(201);
        let head = served.seq();
        let again = planner
            .post_with_key("/v1/cells", key, &pool("A"))
            .await
            .expect_status(201);
        assert_eq!(
            (again.body.clone(), again.etag()),
            (first.body.clone(), first.etag())
        );
        assert!(
            again.header("outcome-first-given").is_some() && first.header("outcome-first-given").is_none()
        );
        planner
            .post_with_key("/v1/cells", key, &pool("B"))
            .await
            .expect_problem(422, "idempotency-key.reused");
        // A refusal is kept as well.
        let key = uuid::Uuid::now_v7();
        let refused = planner.post_with_key("/v1/cells", key, &pool("A")).await;
        refused.expect_problem(409, "cell.code-taken");
        assert_eq!(
            planner.post_with_key("/v1/cells", key, &pool("A")).await.body,
            refused.body
        );
        assert_eq!(served.seq(), head);
    }

    async fn pages_give_every_cell_once(engine) {
        let served = Served::at(engine, NOW).await;
        for number in 0..7 {
            served
                .planner()
                .post("/v1/cells", &pool(&format!("C{number}")))
                .await
                .expect_status(201);
        }
        let (mut codes, mut path) = (Vec::new(), "/v1/cells?limit=3".to_owned());
        loop {
            let page = served.viewer().get(&path).await.expect_status(200).json();
            codes.extend(
                page["items"]
                    .as_array()
                    .unwrap()
                    .iter()
                    .map(|cell| cell["code"].as_str().unwrap().to_owned()),
            );
            match page["next_cursor"].as_str() {
                Some(cursor) => path = format!("/v1/cells?limit=3&cursor={cursor}"),
                None => break,
            }
            // One that is added meanwhile never makes another one come twice or not at all.
            served
                .planner()
                .post("/v1/cells", &pool(&format!("A{}", codes.len())))
                .await
                .expect_status(201);
        }
        let before: Vec<_> = codes.iter().filter(|code| code.starts_with('C')).collect();
        assert_eq!(
            (before.len(), before.iter().collect::<BTreeSet<_>>().len()),
            (7, 7)
        );
        let forged = served.viewer().get("/v1/cells?cursor=AAAA").await;
        forged.expect_field_problem(400, "query.invalid", "cursor");
        let elsewhere = served.viewer().get("/v1/cells?limit=1").await.json();
        let path = format!("/v1/plans?cursor={}", elsewhere["next_cursor"].as_str().unwrap());
        served
            .viewer()
            .get(&path)
            .await
            .expect_field_problem(400, "query.invalid", "cursor");
    }

    async fn a_cell_works_by_its_own_calendar_until_it_is_cleared(engine) {
        let served = Served::at(engine, NOW).await;
        let planner = served.planner();
        let day = |ends: &str| {
            json!({ "valid_from": "2026-01-01",
            "shifts": [{ "name": "Day", "weekday": "monday", "starts": "06:00", "ends": ends }] })
        };
        served.set_site_calendar(&day("14:00")).await;
        let cell = planner.post("/v1/cells", &pool("A")).await.string("/id");
        let path = format!("/v1/cells/{cell}/calendar");
        let inherited = planner.get(&path).await.expect_status(200);
        assert_eq!(inherited.json()["of"], "site");
        // What an inheriting cell shows changes with the site's calendar, and so does its ETag.
        served.set_site_calendar(&day("15:00")).await;
        let changed = planner.get(&path).await;
        assert_ne!(changed.etag(), inherited.etag());
        planner
            .put(&path, &inherited.etag(), &day("22:00"))
            .await
            .expect_problem(412, "cell.stale");
        let own = planner
            .put(&path, &changed.etag(), &day("22:00"))
            .await
            .expect_status(200);
        assert_eq!(own.json()["of"], "cell");
        assert_eq!(planner.get(&path).await.etag(), own.etag());
        let clear = |etag: String| {
            planner.send(reqwest::Method::DELETE, &path, move |request| {
                request.header("If-Match", etag)
            })
        };
        clear(changed.etag()).await.expect_problem(412, "cell.stale");
        clear(own.etag()).await.expect_status(204);
        let again = planner.get(&path).await;
        assert_eq!(again.json()["of"], "site");
        clear(again.etag())
            .await
            .expect_problem(409, "cell.no-own-calendar");
        let without = planner.delete(&path).await;
        without.expect_field_problem(428, "if-match.missing", "If-Match");
    }

    async fn nobody_sees_another_site(engine) {
        let served = Served::at(engine, NOW).await;
        let cell = served
            .planner()
            .post("/v1/cells", &pool("A"))
            .await
            .expect_status(201);
        let machine = served.add_machine("M1").await;
        let stranger = served.planner_elsewhere();
        let (seq, id) = (served.seq(), cell.string("/id"));
        stranger
            .get(&format!("/v1/cells/{id}"))
            .await
            .expect_problem(404, "cell.unknown");
        stranger
            .put(&format!("/v1/cells/{id}"), "*", &pool("B"))
            .await
            .expect_problem(404, "cell.unknown");
        stranger
            .get(&format!("/v1/machines/{machine}"))
            .await
            .expect_problem(404, "machine.unknown");
        let query = "from=2026-11-01&to=2026-11-02";
        stranger
            .get(&format!("/v1/hours?machine={machine}&{query}"))
            .await
            .expect_problem(404, "resource.unknown");
        stranger
            .get(&format!("/v1/hours?cell=A&{query}"))
            .await
            .expect_problem(404, "resource.unknown");
        stranger
            .post(
                &format!("/v1/machines/{machine}/down"),
                &json!({ "reason": "other" }),
            )
            .await
            .expect_problem(404, "machine.unknown");
        assert_eq!(stranger.get("/v1/cells").await.json()["items"], json!([]));
        stranger
            .get(&format!("/v1/ledger/{seq}"))
            .await
            .expect_problem(404, "resource.unknown");
        assert_eq!(served.seq(), seq);
    }
}

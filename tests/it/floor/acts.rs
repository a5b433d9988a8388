use super::small_cell::SmallCell;
use serde_json::json;
use spindlebook_tests::on_both_engines;

on_both_engines! {
    async fn a_fixture_is_mounted_and_taken_off(engine) {
        let small = SmallCell::new(engine).await;
        let body = json!({ "fixture": small.fixture, "at": "2026-11-02T07:30:00Z" });
        let begun = small.act(0, "mount", &body).await.expect_status(200).json();
        assert_eq!(begun["setup"]["copy"], json!(small.copy));
        assert_eq!(begun["setup"]["ended_at"], json!(null));
        // Nobody has weighed the fixture: its mass is unknown, not nothing.
        assert_eq!(begun["mass"], json!({ "known_g": 0, "is_all": false }));
        assert_eq!(begun["warnings"][0]["code"], "mass_unknown");
        assert_eq!(small.line(0).await["state"], "in_setup");
        let early = json!({ "at": "2026-11-02T07:29:59Z" });
        let refused = small.act(0, "setup/finish", &early).await;
        refused.expect_field_problem(409, "act.before-last", "/at");
        let ended = small.act(0, "setup/finish", &json!({ "at": "2026-11-02T07:45:00Z" })).await;
        assert_eq!(ended.expect_status(200).json()["setup"]["ended_at"], "2026-11-02T07:45:00Z");
        let entry = small.get(&format!("/v1/ledger/{}", small.served.seq())).await;
        assert_eq!((&entry["kind"], &entry["occurred_at"]), (&json!("setup.ended"), &json!("2026-11-02T07:45:00Z")));
        small.act(0, "unmount", &json!({})).await.expect_status(200);
        assert_eq!(small.line(0).await["pallet"]["setup"], json!(null));
    }

    /// E60: what exists once is in one place, and the refusal says where.
    async fn a_copy_on_another_pallet_is_named_with_its_place(engine) {
        let small = SmallCell::new(engine).await;
        small.mount(0).await;
        let aside = json!({ "to": { "kind": "stand", "number": 2 } });
        small.act(0, "move", &aside).await.expect_status(200);
        let here = json!({ "to": { "kind": "load_station", "number": 1 } });
        small.act(1, "move", &here).await.expect_status(200);
        let body = json!({ "fixture": small.fixture });
        let problem = small.act(1, "mount", &body).await.expect_field_problem(409, "mount.no-copy-free", "/fixture");
        assert!(problem["detail"].as_str().unwrap().contains("F7-1 is on pallet P1 at stand 2"), "{problem}");
    }

    async fn two_pallets_change_places(engine) {
        let small = SmallCell::new(engine).await;
        let to = json!({ "kind": "stand", "number": 1 });
        let refused = small.act(0, "move", &json!({ "to": to })).await;
        refused.expect_field_problem(409, "move.place-taken", "/to");
        let before = small.served.seq();
        small.act(0, "move", &json!({ "to": to, "exchange": true })).await.expect_status(200);
        assert_eq!(small.served.seq(), before + 2, "one entry for each pallet");
        assert_eq!(small.line(0).await["pallet"]["position"], to);
        assert_eq!(small.line(1).await["pallet"]["position"], json!({ "kind": "load_station", "number": 1 }));
        // What a reader had is out of date: the version moved with the pallet.
        let path = format!("/v1/pallets/{}", small.pallets[0]);
        let shown = small.served.viewer().get(&path).await;
        assert_eq!(shown.json()["position"], to);
        assert_eq!(shown.etag(), format!("\"{}\"", before + 1));
    }

    async fn the_queue_is_set_on_a_version(engine) {
        let small = SmallCell::new(engine).await;
        let path = format!("/v1/cells/{}/queue", small.cell);
        let planner = small.served.planner();
        let etag = planner.get(&path).await.etag();
        let body = json!({ "pallets": [small.pallets[1], small.pallets[0]] });
        let set = planner.put(&path, &etag, &body).await.expect_status(200).json();
        assert_eq!(set["pallets"], body["pallets"]);
        planner.put(&path, &etag, &body).await.expect_problem(412, "queue.stale");
        let twice = json!({ "pallets": [small.pallets[1], small.pallets[1]] });
        planner.put(&path, "*", &twice).await.expect_field_problem(400, "queue.repeated", "/pallets/1");
        small.operator().put(&path, "*", &body).await.expect_problem(403, "role.missing");
    }

    async fn a_run_needs_a_load_and_a_hold_too(engine) {
        let small = SmallCell::new(engine).await;
        let runs = format!("/v1/machines/{}/runs", small.machine);
        small.operator().post(&runs, &json!({})).await.expect_problem(409, "run.no-pallet");
        let spindle = json!({ "to": { "kind": "spindle", "machine": small.machine } });
        small.act(0, "move", &spindle).await.expect_status(200);
        small.operator().post(&runs, &json!({})).await.expect_problem(409, "run.nothing-loaded");
        small.act(0, "hold", &json!({})).await.expect_problem(409, "hold.nothing-loaded");
        let override_it = json!({ "overrides": [{ "rule": "run.not-next", "reason": "Customer waits" }] });
        // An override is a planner's decision.
        small.operator().post(&runs, &override_it).await.expect_problem(403, "role.missing");
        small.served.planner().post(&runs, &override_it).await.expect_problem(409, "run.nothing-loaded");
        let cuts = small.get(&format!("/v1/cells/{}/cuts-until", small.cell)).await;
        assert_eq!((&cuts["until"], &cuts["machines"][0]["ends_because"]["code"]), (&json!(null), &json!("queue")));
        assert_eq!(small.get("/v1/holds").await["items"], json!([]));
    }
}

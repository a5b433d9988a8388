//! What was quoted, planned and realised for a job.

use crate::floor::small_cell::SmallCell;
use serde_json::{Value, json};
use spindlebook_tests::on_both_engines;

on_both_engines! {
    /// 20 wanted, 8 in a load of 48 minutes: three loads are 2 h 24. The setup takes 15 minutes of the 10 planned; the run
    /// takes 48 min 20 around a minute of alarm; 7 come off good. Then 7 are enough, and the order is closed.
    async fn a_job_shows_what_was_quoted_planned_and_realised(engine) {
        let small = SmallCell::new(engine).await;
        let (clock, planner) = (&small.served.clock, small.served.planner());
        let part = json!({ "code": "4711", "name": "Housing", "revision": { "revision": "A" } });
        let part = planner.post("/v1/parts", &part).await.expect_status(201).string("/id");
        let mill = json!({ "places": [{ "cell": small.cell, "cycle": { "per_load": { "cycle_s": 2880 } } }],
            "fixtures": [small.fixture], "pieces_per_load": 8, "load_s": 600, "unload_s": 300 });
        let manual = json!({ "lead": { "staffed_time": { "lead_s": 3600 } } });
        let operations = json!([{ "number": 10, "name": "Mill", "machining": mill },
            { "number": 20, "name": "Deburr", "manual": manual }]);
        let routing = json!({ "revision": "A", "operations": operations });
        planner.put(&format!("/v1/parts/{part}/routing"), "*", &routing).await.expect_status(200);
        let line = json!({ "part": part, "revision": "A", "quantity": 20, "due": "2026-12-18", "priority": "normal",
            "material": { "arrived": {} }, "quoted": [{ "operation": 10, "setup_s": 3600, "run_s": 12_000 }] });
        let order = planner.post("/v1/orders", &json!({ "code": "SO-1", "lines": [line] })).await;
        let order = order.expect_status(201).string("/id");
        let released = planner.post(&format!("/v1/orders/{order}/release"), &json!({})).await.expect_status(200);
        let job = released.string("/lines/0/jobs/0");
        let path = format!("/v1/jobs/{job}/hours");

        let before = small.get(&path).await;
        assert_eq!(before["operations"].as_array().unwrap().len(), 1, "a manual step has no spindle hours");
        let nothing = &before["operations"][0];
        assert_eq!(nothing["planned"], json!({ "setup_s": 600, "run_s": 8640 }));
        assert_eq!((&nothing["realised"]["run_s"], &nothing["counts"]["setups"]), (&json!(0), &json!(0)));

        small.act(0, "mount", &json!({ "fixture": small.fixture })).await.expect_status(200);
        clock.advance_s(900);
        small.act(0, "setup/finish", &json!({})).await.expect_status(200);
        let pieces = json!([{ "job": job, "operation": 10, "pieces": 8 }]);
        small.act(0, "load", &json!({ "pieces": pieces })).await.expect_status(200);
        let spindle = json!({ "to": { "kind": "spindle", "machine": small.machine } });
        small.act(0, "move", &spindle).await.expect_status(200);
        let run = small.operator().post(&format!("/v1/machines/{}/runs", small.machine), &json!({})).await;
        let run = run.expect_status(201).string("/id");
        let acts = [(700, "pause", json!({ "reason": "alarm" })), (60, "resume", json!({})), (2200, "finish", json!({}))];
        for (after_s, act, body) in acts {
            clock.advance_s(after_s);
            if act == "finish" {
                assert_eq!(small.get(&path).await["operations"][0]["provisional"], true);
            }
            small.operator().post(&format!("/v1/runs/{run}/{act}"), &body).await.expect_status(200);
        }
        let station = json!({ "to": { "kind": "load_station", "number": 1 } });
        small.act(0, "move", &station).await.expect_status(200);
        let counts = json!([{ "job": job, "operation": 10, "good": 7, "scrapped": 1 }]);
        small.act(0, "unload", &json!({ "counts": counts })).await.expect_status(200);

        let done = small.get(&path).await;
        is_told(&done);
        let entries = done["operations"][0]["entries"].as_array().unwrap();
        let kinds = [small.get(entries[0]["href"].as_str().unwrap()).await, small.get(entries[1]["href"].as_str().unwrap()).await];
        assert_eq!(kinds.map(|entry| entry["kind"].clone()), [json!("pallet.loaded"), json!("run.started")]);

        let out = json!({ "operation": 20, "pieces": 7 });
        let (office, operator) = (small.served.front_office(), small.operator());
        let out = operator.post(&format!("/v1/jobs/{job}/steps"), &out).await;
        let step = out.expect_status(200).json()["operations"][1]["steps"][0]["step"].clone();
        let back = format!("/v1/jobs/{job}/steps/back");
        operator.post(&back, &json!({ "step": step, "good": 7 })).await.expect_status(200);
        let of_line = format!("/v1/orders/{order}/lines/1");
        let seen = office.get(&of_line).await.etag();
        let enough = json!({ "quantity": 7, "due": "2026-12-18", "priority": "normal" });
        office.put(&of_line, &seen, &enough).await.expect_status(200);
        let shipped = office.post(&format!("{of_line}/shipments"), &json!({ "pieces": 7 })).await.expect_status(200);
        assert_eq!(shipped.json()["order_closed"], true);
        is_told(&small.get(&path).await);
        small.served.viewer().get("/v1/jobs/00000000-0000-7000-8000-000000000000/hours").await
            .expect_problem(404, "job.unknown");
    }
}

fn is_told(hours: &Value) {
    let mill = &hours["operations"][0];
    assert_eq!(mill["quoted"], json!({ "setup_s": 3600, "run_s": 12_000 }));
    let realised = json!({ "setup_s": 900, "prove_out_s": 0, "run_s": 2900, "rework_s": 0, "stopped_s": 60,
        "by_people_s": 2900, "planned_for_runs_s": 2880 });
    assert_eq!(mill["realised"], realised);
    let counts = json!({ "setups": 1, "runs": 1, "mixed_runs": 0, "open_runs": 0, "good": 7, "scrapped": 1,
        "rework": 0, "inspection": 0 });
    assert_eq!(mill["counts"], counts);
    assert_eq!(mill["provisional"], false);
}

//! Plans that are computed in the background, and what becomes of them.

use super::{Pool, Work, runs};
use serde_json::json;
use spindlebook_tests::on_both_engines;
use uuid::Uuid;

const NOW: &str = "2026-11-02T07:00:00Z";

on_both_engines! {
    async fn a_computed_plan_counts_once_it_is_published(engine) {
        let pool = Pool::new(engine, NOW, 2, 2).await;
        let part = pool.part("4711", &Work::of(60)).await;
        let (_, late) = pool.order("SO-1", &part, 1, "2026-11-30").await;
        let (order, urgent) = pool.order("SO-2", &part, 1, "2026-10-01").await;
        pool.clamp(0, &late).await;
        pool.clamp(1, &urgent).await;
        let before = pool.served.seq();
        let plan = pool.plan(&json!({ "search": { "iterations": 2_000 }, "horizon_s": 86_400 })).await;
        assert_eq!((pool.served.seq(), &plan["plan"]["standing"]), (before, &json!("computed")));
        assert_eq!((&plan["plan"]["slot_count"], &plan["plan"]["posted_seq"]), (&json!(2), &json!(null)));
        assert_eq!(plan["schedule"]["until"], "2026-11-03T07:00:00Z");
        let cell = &plan["schedule"]["cells"][0];
        assert_eq!((&cell["cell_code"], &cell["spindle_s_planned"]), (&json!("POOL"), &json!(7_200)));
        assert_eq!(runs(&plan)[0]["pallet_code"], "P2");
        let planner = pool.served.planner();
        planner.get("/v1/plans/current").await.expect_problem(404, "resource.unknown");

        let path = format!("/v1/plans/{}", plan["plan"]["id"].as_str().unwrap());
        let publish = format!("{path}/publish");
        let key = Uuid::now_v7();
        let published = planner.post_with_key(&publish, key, &json!({})).await.expect_status(200).json();
        assert_eq!((&published["standing"], pool.served.seq()), (&json!("published"), before + 3));
        let again = planner.post_with_key(&publish, key, &json!({})).await.expect_status(200).json();
        assert_eq!((again, pool.served.seq()), (published, before + 3));
        planner.post(&publish, &json!({})).await.expect_problem(409, "plan.already-published");
        let queue = pool.get(&format!("/v1/cells/{}/queue", pool.cell)).await;
        assert_eq!(queue["pallets"], json!([pool.pallets[1], pool.pallets[0]]));
        let current = pool.get("/v1/plans/current").await;
        assert_eq!((&current["slots"], &current["schedule"]), (&plan["slots"], &plan["schedule"]));
        let entry = pool.get(&format!("/v1/ledger/{}", before + 1)).await;
        assert_eq!((&entry["kind"], &entry["payload"]["loads"].as_array().unwrap().len()), (&json!("plan.posted"), &2));
        let complete = entry["payload"]["lines"].as_array().unwrap();
        assert!(complete.iter().any(|line| line["order"] == json!(order) && line["complete"].is_i64()));

        // What nothing has changed stays where it was, and is marked so.
        let next = pool.plan(&json!({ "search": { "iterations": 2_000 } })).await;
        assert!(runs(&next).iter().all(|load| load["is_moved"] == json!(false)), "{next}");
        assert_eq!(next["schedule"]["objective"]["moved_loads"], 0);
        assert_eq!(runs(&next)[0]["is_frozen"], true);
    }

    async fn the_same_key_asks_for_the_same_plan(engine) {
        let pool = Pool::new(engine, NOW, 1, 1).await;
        let planner = pool.served.planner();
        let key = Uuid::now_v7();
        let body = json!({ "search": { "iterations": 10 } });
        let first = planner.post_with_key("/v1/plans", key, &body).await.expect_status(202);
        pool.done(&first).await;
        let second = planner.post_with_key("/v1/plans", key, &body).await.expect_status(202);
        assert_eq!(first.header("location"), second.header("location"));
        assert_eq!(second.json()["state"], "done");
        let other = json!({ "search": { "iterations": 11 } });
        planner.post_with_key("/v1/plans", key, &other).await.expect_problem(422, "idempotency-key.reused");
        let other = planner.post("/v1/plans", &body).await.expect_status(202);
        assert_ne!(first.header("location"), other.header("location"));
        pool.done(&other).await;
        let list = pool.get("/v1/computations").await;
        let mut listed: Vec<_> = list["items"].as_array().unwrap().iter().map(|item| item["id"].to_string()).collect();
        let mut asked = [&first, &other].map(|answer| answer.json()["id"].to_string());
        listed.sort_unstable();
        asked.sort_unstable();
        assert_eq!(listed, asked);
    }

    /// Who waits for a plan may have the best so far, and another one waits its turn.
    async fn a_computation_ends_early_with_its_best(engine) {
        let pool = Pool::new(engine, NOW, 2, 2).await;
        let part = pool.part("4711", &Work::of(60)).await;
        pool.order("SO-1", &part, 6, "2026-11-03").await;
        let planner = pool.served.planner();
        let long = json!({ "search": { "seconds": 600 } });
        let first = planner.post("/v1/plans", &long).await.expect_status(202);
        let second = planner.post("/v1/plans", &json!({})).await.expect_status(202);
        for asked in [&first, &second] {
            let stop = format!("{}/stop", asked.header("location").unwrap());
            pool.served.viewer().post(&stop, &json!({})).await.expect_problem(403, "role.missing");
            let stopping = planner.post(&stop, &json!({})).await.expect_status(200).json();
            assert!(stopping["is_stopping"] == json!(true) || stopping["state"] == "done", "{stopping}");
        }
        for asked in [&first, &second] {
            let done = pool.done(asked).await;
            assert!(done["best"]["schedules_built"].as_i64().unwrap() > 0, "{done}");
            let plan = pool.get(done["plan"].as_str().unwrap()).await;
            assert_eq!(runs(&plan).len(), 6);
        }
        let nowhere = format!("/v1/computations/{}", Uuid::now_v7());
        planner.get(&nowhere).await.expect_problem(404, "resource.unknown");
        planner.post(&format!("{nowhere}/stop"), &json!({})).await.expect_problem(404, "resource.unknown");
        pool.served.planner_elsewhere().get(first.header("location").unwrap()).await.expect_problem(404, "resource.unknown");
    }

    async fn a_wrong_wish_is_told(engine) {
        let pool = Pool::new(engine, NOW, 1, 1).await;
        let planner = pool.served.planner();
        let nowhere = "01936b5e-5c00-7000-8000-00000000ffff";
        for (body, place) in [
            (json!({ "horizon_s": 60 }), "/horizon_s"),
            (json!({ "search": { "seconds": 0 } }), "/search/seconds"),
            (json!({ "search": { "iterations": 10_000_001 } }), "/search/iterations"),
            (json!({ "search": { "cores": 2 } }), "/search/cores"),
            (json!({ "slots": [], "horizon_s": 86_400 }), "/slots"),
            (json!({ "due_times": [{ "order": nowhere, "line": 1, "due_at": NOW }] }), "/due_times/0/order"),
        ] {
            planner.post("/v1/plans", &body).await.expect_field_problem(400, "body.invalid", place);
        }
        assert_eq!(pool.get("/v1/computations").await["items"], json!([]));
    }

    /// Nothing to cut, and nothing that can be cut: a plan says so.
    async fn an_empty_shop_and_one_where_nothing_is_feasible_have_a_plan(engine) {
        let pool = Pool::new(engine, NOW, 1, 0).await;
        let body = json!({ "search": { "iterations": 50 } });
        let empty = pool.plan(&body).await;
        assert_eq!((&empty["schedule"]["lines"], runs(&empty).len()), (&json!([]), 0));
        // The only machine is down, and nobody knows until when.
        let down = format!("/v1/machines/{}/down", pool.machine);
        pool.served.operator().post(&down, &json!({ "reason": "breakdown" })).await.expect_status(200);
        let part = pool.part("4711", &Work::of(60)).await;
        pool.order("SO-1", &part, 1, "2026-10-01").await;
        let plan = pool.plan(&body).await;
        assert_eq!(plan["schedule"]["lines"][0]["complete"], json!(null));
        let out = &plan["schedule"]["left_out"][0];
        assert_eq!((&out["pieces"][0]["job_code"], &out["load"]), (&json!("SO-1/1"), &json!(null)));
        assert_eq!(out["because"]["code"], "machine");
        assert!(out["because"]["text"].as_str().unwrap().contains("M1"), "{out}");
    }
}

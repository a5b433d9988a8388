//! When an order could be there that nobody has entered.

use super::{Pool, Work};
use serde_json::{Value, json};
use spindlebook_tests::on_both_engines;

const NOW: &str = "2026-11-02T08:00:00Z";

async fn promised(pool: &Pool, lines: Value) -> Value {
    let body = json!({ "lines": lines, "samples": 20, "search": { "iterations": 50 } });
    let asked = pool.served.machine_client().post("/v1/promises", &body).await;
    asked.expect_status(200).json()
}

on_both_engines! {
    /// One piece of 60 min: clamped 10 min, exchange 3, cut 60, out 3, off 5: 81 min. Where a fixture is to be made and
    /// mounted, half an hour more. With five working days elsewhere, from the day after: the end of the next Monday.
    async fn a_promise_is_as_worked_out_by_hand(engine) {
        let pool = Pool::new(engine, NOW, 1, 1).await;
        let before = pool.served.seq();
        let part = pool.part("4711", &Work::of(60)).await;
        let known = promised(&pool, json!([{ "part": part, "quantity": 1 }])).await;
        assert_eq!(known["at_planned_speed"], "2026-11-02T09:21:00Z");
        assert_eq!((&known["past_runs"], &known["own_speed_per_mille"]), (&json!(0), &json!(null)));
        for date in ["at_own_speed", "p50", "p90"] {
            assert_eq!(known[date], known["at_planned_speed"], "without past runs nothing spreads");
        }
        let cut = json!({ "number": 10, "cell": pool.cell, "cycle_s": 3_600, "load_s": 600, "unload_s": 300, "mount_s": 1_800 });
        let new = promised(&pool, json!([{ "operations": [cut], "quantity": 1 }])).await;
        assert_eq!(new["at_planned_speed"], "2026-11-02T09:51:00Z");
        let both = promised(&pool, json!([{ "part": part, "quantity": 1 }, { "part": part, "quantity": 1 }])).await;
        let at = |line: usize| both["lines"][line]["at_planned_speed"].clone();
        // One pallet: clamped from 09:21, cut 09:34–10:34, off by 10:42.
        assert_eq!((at(0), at(1)), (json!("2026-11-02T09:21:00Z"), json!("2026-11-02T10:42:00Z")));
        assert_eq!(both["at_planned_speed"], at(1));
        // Asked about only.
        assert_eq!(pool.served.seq(), before + 3);
    }

    /// A run of an hour took an hour and a half: the shop's own speed.
    async fn past_runs_tell_how_honest_a_plan_is(engine) {
        let pool = Pool::new(engine, "2026-11-02T06:00:00Z", 1, 1).await;
        let part = pool.part("4711", &Work::of(60)).await;
        let (_, job) = pool.order("SO-1", &part, 1, "2026-11-30").await;
        pool.clamp(0, &job).await;
        let run = pool.start(0).await;
        pool.clock("2026-11-02T07:30:00Z");
        let operator = pool.served.operator();
        operator.post(&format!("/v1/runs/{run}/finish"), &json!({})).await.expect_status(200);
        let station = json!({ "to": { "kind": "load_station", "number": 1 } });
        pool.act(0, "move", station).await;
        let count = json!({ "counts": [{ "job": job, "operation": 10, "good": 1 }] });
        pool.act(0, "unload", count).await;
        pool.clock(NOW);
        let promise = promised(&pool, json!([{ "part": part, "quantity": 1 }])).await;
        assert_eq!((&promise["past_runs"], &promise["own_speed_per_mille"]), (&json!(1), &json!(1_500)));
        assert_eq!(promise["at_planned_speed"], "2026-11-02T09:21:00Z");
        for date in ["at_own_speed", "p50", "p90"] {
            assert_eq!(promise[date], "2026-11-02T09:51:00Z", "{date}");
        }
    }

    async fn what_cannot_be_promised_is_told(engine) {
        let pool = Pool::new(engine, NOW, 1, 1).await;
        let part = pool.part("4711", &Work::of(60)).await;
        let nowhere = "01936b5e-5c00-7000-8000-00000000ffff";
        let cut = json!({ "number": 10, "cell": pool.cell });
        let client = pool.served.machine_client();
        for (lines, status, code, place) in [
            (json!([]), 400, "body.invalid", "/lines"),
            (json!([{ "part": nowhere, "quantity": 1 }]), 400, "body.invalid", "/lines/0/part"),
            (json!([{ "part": part, "revision": "Z", "quantity": 1 }]), 400, "body.invalid", "/lines/0/revision"),
            (json!([{ "part": part, "quantity": 1, "operations": [cut] }]), 400, "body.invalid", "/lines/0/operations"),
            (json!([{ "quantity": 1, "operations": [cut] }]), 400, "body.invalid", "/lines/0/operations/0/cycle_s"),
            (json!([{ "quantity": 1, "operations": [{ "number": 10 }] }]), 400, "body.invalid", "/lines/0/operations/0/cell"),
            (json!([{ "quantity": 1 }]), 400, "routing.no-operation", "/operations"),
            (json!([{ "part": part, "quantity": 0 }]), 400, "body.invalid", "/lines/0/quantity"),
        ] {
            client.post("/v1/promises", &json!({ "lines": lines })).await.expect_field_problem(status, code, place);
        }
        pool.served.operator().post("/v1/promises", &json!({ "lines": [] })).await.expect_problem(403, "role.missing");
        let rush = json!({ "lines": [] });
        client.post("/v1/rush-checks", &rush).await.expect_field_problem(400, "body.invalid", "/lines");
    }
}

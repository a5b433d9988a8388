//! Bad input: the field and what would be right; nothing changes.

use super::small_cell::SmallCell;
use serde_json::json;
use spindlebook_tests::on_both_engines;

const NOWHERE: &str = "01936b5e-5c00-7000-8000-00000000ffff";

on_both_engines! {
    async fn a_problem_names_the_field(engine) {
        let small = SmallCell::new(engine).await;
        let before = small.served.seq();
        let rows = [
            ("mount", json!({}), 400, "body.invalid", "/fixture"),
            ("mount", json!({ "fixture": NOWHERE }), 409, "mount.fixture-unknown", "/fixture"),
            ("mount", json!({ "fixture": small.fixture, "copy": NOWHERE }), 409, "mount.copy-unknown", "/copy"),
            ("mount", json!({ "fixture": small.fixture, "at": "2027-01-01T00:00:00Z" }), 400, "time.in-future", "/at"),
            ("mount", json!({ "fixture": small.fixture, "at": "1999-01-01T00:00:00Z" }), 400, "time.out-of-range", "/at"),
            ("load", json!({ "pieces": [{ "job": NOWHERE, "operation": 0, "pieces": 1 }] }), 400, "body.invalid", "/pieces/0/operation"),
            ("load", json!({ "pieces": [{ "job": NOWHERE, "operation": 10, "pieces": -1 }] }), 400, "body.invalid", "/pieces/0/pieces"),
            ("load", json!({ "pieces": [] }), 400, "load.bad-count", "/pieces"),
            ("load", json!({ "pieces": [{ "job": NOWHERE, "operation": 10, "pieces": 1 }],
                "overrides": [{ "rule": "run.held", "reason": "no" }] }), 400, "body.invalid", "/overrides/0/rule"),
            ("move", json!({ "to": { "kind": "stand" } }), 400, "body.invalid", "/to/number"),
            ("move", json!({ "to": { "kind": "stand", "number": 3 } }), 409, "move.place-unknown", "/to"),
            ("unload", json!({ "counts": [{ "job": NOWHERE, "operation": 10, "bad": 1 }] }), 400, "body.invalid", "/counts/0/bad"),
            ("hold", json!({ "note": " " }), 400, "body.invalid", "/note"),
        ];
        for (act, body, status, code, place) in rows {
            small.act(0, act, &body).await.expect_field_problem(status, code, place);
        }
        let runs = format!("/v1/machines/{}/runs", small.machine);
        let odd = json!({ "purpose": "fun" });
        small.operator().post(&runs, &odd).await.expect_field_problem(400, "body.invalid", "/purpose");
        let gone = format!("/v1/runs/{NOWHERE}");
        small.served.viewer().get(&gone).await.expect_problem(404, "run.unknown");
        let reason = json!({ "reason": "bored" });
        let pause = format!("{gone}/pause");
        small.operator().post(&pause, &reason).await.expect_field_problem(400, "body.invalid", "/reason");
        let dispose = format!("/v1/holds/{NOWHERE}/disposition");
        let accept = json!({ "disposition": "accept" });
        small.served.inspector().post(&dispose, &accept).await.expect_problem(404, "hold.unknown");
        assert_eq!(small.served.seq(), before, "nothing changed");
    }
}

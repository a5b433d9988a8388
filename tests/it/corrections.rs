//! Putting entries right. What is right in each: common practice, no source.

use crate::floor::small_cell::SmallCell;
use crate::floor::working_cell::WorkingCell;
use serde_json::{Value, json};
use spindlebook_tests::answer::Answer;
use spindlebook_tests::caller::Caller;
use spindlebook_tests::on_both_engines;

async fn correct(by: &Caller, seq: u64, body: &Value) -> Answer {
    by.post(&format!("/v1/ledger/{seq}/corrections"), body).await
}

async fn entry(small: &SmallCell, seq: u64) -> Value {
    small.get(&format!("/v1/ledger/{seq}")).await
}

on_both_engines! {
    async fn a_wrong_count_is_put_right_and_both_entries_stay(engine) {
        let cell = WorkingCell::new(engine).await;
        let (_, job) = cell.released(20).await;
        cell.cut(&job, 8, false, json!({ "good": 7, "scrapped": 1 })).await;
        let seq = cell.small.served.seq();
        let right = json!({ "change": "counts", "counts": [WorkingCell::count(&job, json!({ "good": 8 }), false)],
            "note": "It was another piece" });
        let corrected = correct(&cell.small.operator(), seq, &right).await.expect_status(201).json();
        assert_eq!(corrected["kind"], "pallet.recounted");
        let at = cell.job(&job).await["operations"][0].clone();
        assert_eq!((&at["good"], &at["scrapped"]), (&json!(8), &json!(0)));
        assert_eq!(entry(&cell.small, seq).await["payload"]["counts"][0]["scrapped"], 1, "nothing was erased");
        let corrects = entry(&cell.small, corrected["entry"].as_u64().unwrap()).await;
        assert_eq!(corrects["payload"]["corrects"], json!(seq));
        let again = correct(&cell.small.operator(), seq, &right).await;
        let problem = again.expect_problem(409, "correction.corrected-already");
        assert_eq!(problem["by"], corrected["entry"]);
    }

    async fn a_time_is_put_right_and_the_report_says_so(engine) {
        let cell = WorkingCell::new(engine).await;
        let (_, job) = cell.released(20).await;
        cell.load(0, &job, 8, false).await.expect_status(200);
        cell.to_spindle(0).await;
        let run = cell.start().await;
        cell.clock("2026-11-02T09:00:00Z");
        cell.run(&run, "finish", &json!({})).await;
        let seq = cell.small.served.seq();
        let hours = || cell.hours("2026-11-02T08:00:00Z", "2026-11-02T09:00:00Z");
        assert_eq!((hours().await["realised_s"].as_i64(), hours().await["restated_at"].clone()), (Some(3_600), Value::Null));
        cell.clock("2026-11-02T12:00:00Z");
        let body = json!({ "change": "time", "at": "2026-11-02T08:48:00Z", "note": "Read off the control" });
        // Three hours later it is not whoever told it that puts it right.
        correct(&cell.small.operator(), seq, &body).await.expect_problem(409, "correction.not-yours");
        let planner = cell.small.served.planner();
        let corrected = correct(&planner, seq, &body).await.expect_status(201);
        assert_eq!(corrected.json()["kind"], "run.retimed");
        let after = hours().await;
        assert_eq!(after["realised_s"], 48 * 60);
        assert_eq!(after["restated_at"], "2026-11-02T12:00:00Z");
        let shown = cell.small.get(&format!("/v1/runs/{run}")).await;
        assert_eq!(shown["ended_at"], "2026-11-02T08:48:00Z");
    }

    async fn a_mistap_is_taken_back_by_whoever_made_it(engine) {
        let cell = WorkingCell::new(engine).await;
        let (_, job) = cell.released(20).await;
        cell.load(0, &job, 8, false).await.expect_status(200);
        cell.to_spindle(0).await;
        cell.start().await;
        let seq = cell.small.served.seq();
        let wrong = json!({ "change": "withdraw" });
        cell.small.served.inspector().post(&format!("/v1/ledger/{seq}/corrections"), &wrong).await
            .expect_problem(409, "correction.not-yours");
        correct(&cell.small.operator(), seq, &wrong).await.expect_status(201);
        assert_eq!(cell.small.line(0).await["state"], "ready");
        let hours = cell.hours("2026-11-02T08:00:00Z", "2026-11-02T08:00:01Z").await;
        assert_eq!(hours["realised_s"], 0);
        cell.start().await;
    }

    async fn a_correction_takes_its_own_members_only(engine) {
        let cell = WorkingCell::new(engine).await;
        let seq = cell.small.served.seq();
        let operator = cell.small.operator();
        for (body, field) in [
            (json!({ "change": "withdraw", "at": "2026-11-02T08:00:00Z" }), "/at"),
            (json!({ "change": "withdraw", "counts": [] }), "/counts"),
            (json!({ "change": "time", "counts": [] }), "/counts"),
            (json!({ "change": "time" }), "/at"),
            (json!({ "change": "counts" }), "/counts"),
        ] {
            correct(&operator, seq, &body).await.expect_field_problem(400, "body.invalid", field);
        }
        correct(&operator, 99_999, &json!({ "change": "withdraw" })).await.expect_problem(404, "resource.unknown");
        let opened = correct(&cell.small.served.planner(), 1, &json!({ "change": "withdraw" })).await;
        opened.expect_problem(409, "correction.not-for-this");
        assert_eq!(cell.small.served.seq(), seq, "nothing was kept");
    }
}

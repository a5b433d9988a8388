//! N26: outside steps with quantities and dates.

use super::Shop;
use serde_json::{Value, json};
use spindlebook_tests::on_both_engines;

fn instant(text: &str) -> spindlebook_domain::time::Timestamp {
    let at = chrono::DateTime::parse_from_rfc3339(text).unwrap();
    spindlebook_domain::time::Timestamp::from_utc(at.to_utc())
}

on_both_engines! {
    /// Out on Monday the 2nd, five working days: Tuesday to Friday and Monday the 9th. On the 10th it is overdue.
    async fn what_is_out_is_known_and_when_it_should_be_back(engine) {
        let shop = Shop::at(engine).await;
        let (_, job) = shop.released("SO-1", &shop.manual, 12).await;
        let operator = shop.served.operator();
        let steps = format!("/v1/jobs/{job}/steps");
        let in_the_house = json!({ "operation": 10, "pieces": 12, "due": "2026-11-03" });
        operator.post(&steps, &in_the_house).await.expect_status(200);
        operator.post(&format!("{steps}/back"), &json!({ "step": 1, "good": 12 })).await.expect_status(200);
        let out = operator.post(&steps, &json!({ "operation": 20, "pieces": 10 })).await.expect_status(200).json();
        let step = &out["operations"][1]["steps"][0];
        assert_eq!((&step["due"], &step["vendor"], &step["still_out"]), (&json!("2026-11-09"), &json!(shop.vendor), &json!(10)));
        let listed = |path: &'static str| {
            let viewer = shop.served.viewer();
            async move { viewer.get(path).await.expect_status(200).json()["items"].clone() }
        };
        let all = listed("/v1/steps").await;
        assert_eq!((&all[0]["job_name"], &all[0]["operation"], &all[0]["overdue"]), (&json!("SO-1/1"), &json!(20), &json!(false)));
        assert_eq!(listed("/v1/steps?state=overdue").await, json!([]));
        // 22:59 UTC on the 9th is a minute before midnight in Berlin.
        shop.served.clock.set(instant("2026-11-09T22:59:00Z"));
        assert_eq!(listed("/v1/steps?state=overdue").await, json!([]));
        shop.served.clock.set(instant("2026-11-09T23:00:00Z"));
        assert_eq!(listed("/v1/steps?state=overdue").await[0]["overdue"], true);
        // A week later everybody has signed in anew.
        let (viewer, operator) = (shop.served.viewer(), shop.served.operator());
        let elsewhere = viewer.get(&format!("/v1/steps?vendor={}", uuid::Uuid::now_v7())).await.expect_status(200).json();
        assert_eq!(elsewhere["items"], json!([]));

        let back = json!({ "step": 2, "good": 7, "damaged": 1, "missing": 1 });
        let shown = operator.post(&format!("{steps}/back"), &back).await.expect_status(200).json();
        let at = &shown["operations"][1];
        assert_eq!((&at["good"], &at["inspection"], &at["scrapped"], &at["out"]), (&json!(7), &json!(1), &json!(1), &json!(1)));
        assert_eq!((&shown["made"], &shown["material_shortfall"]), (&json!(7), &json!(1)));
        let more = json!({ "step": 2, "good": 2 });
        operator.post(&format!("{steps}/back"), &more).await.expect_problem(409, "job.more-back-than-out");
        operator.post(&format!("{steps}/back"), &json!({ "step": 9, "good": 1 })).await
            .expect_field_problem(409, "job.step-unknown", "/step");
        let inspected = format!("/v1/jobs/{job}/inspected");
        let judged = json!({ "operation": 20, "rework": 1 });
        operator.post(&inspected, &judged).await.expect_problem(403, "role.missing");
        let judged = shop.served.inspector().post(&inspected, &judged).await.expect_status(200).json();
        assert_eq!((&judged["operations"][1]["rework"], &judged["operations"][1]["inspection"]), (&json!(1), &json!(0)));
        let again = json!({ "operation": 20, "pieces": 1, "from_rework": true });
        operator.post(&steps, &again).await.expect_status(200);
        assert_eq!(listed("/v1/steps").await.as_array().unwrap().len(), 2);
    }

    async fn a_command_sent_twice_counts_once(engine) {
        let shop = Shop::at(engine).await;
        let (_, job) = shop.released("SO-1", &shop.manual, 12).await;
        let key = uuid::Uuid::now_v7();
        let body = json!({ "operation": 10, "pieces": 5 });
        let steps = format!("/v1/jobs/{job}/steps");
        let operator = shop.served.operator();
        let first = operator.post_with_key(&steps, key, &body).await.expect_status(200).json();
        let second = operator.post_with_key(&steps, key, &body).await.expect_status(200).json();
        assert_eq!(first, second);
        assert_eq!(shop.job(&job).await["operations"][0]["out"], 5);
        assert_eq!(first["operations"][0]["steps"][0]["due"], Value::Null, "the site has no calendar yet");
    }
}

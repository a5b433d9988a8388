//! The reports of closed days: kept as they were given, and given anew when their figures have changed.

use crate::served::Served;
use serde_json::{Value, json};
use spindlebook_tests::on_both_engines;

const NOW: &str = "2026-11-02T09:00:00Z";

async fn keeps(served: &Served) -> usize {
    let kept = spindlebook::daily::keep(&served.service.book, &served.service.hours).await;
    kept.unwrap()
}

async fn reports(served: &Served, query: &str) -> Vec<Value> {
    let path = format!("/v1/hours/daily?cell=M1&{query}");
    let page = served.viewer().get(&path).await.expect_status(200).json();
    page["items"].as_array().unwrap().clone()
}

fn realised_s(report: &Value) -> &Value {
    &report["row"]["total"]["realised_s"]
}

on_both_engines! {
    /// A cut of 30 minutes on Monday in Berlin; of another one of 20 the shop learns on Wednesday.
    async fn a_closed_day_is_reported_and_what_comes_late_is_reported_anew(engine) {
        let served = Served::at(engine, NOW).await;
        let machine = served.add_machine("M1").await;
        served.send_cycles(&machine, &[("2026-11-02T07:00:00Z", "2026-11-02T07:30:00Z")]).await;
        let monday = "from=2026-11-02&to=2026-11-03";
        assert_eq!(keeps(&served).await, 0, "the day is not over");

        served.clock.set(crate::served::instant("2026-11-02T23:14:59Z"));
        assert_eq!(keeps(&served).await, 0, "midnight in Berlin is 23:00Z; it settles for 15 minutes");
        served.clock.advance_s(1);
        assert_eq!(keeps(&served).await, 1);
        assert_eq!(keeps(&served).await, 0, "it says the same");
        let first = reports(&served, monday).await;
        assert_eq!(first.len(), 1);
        let one = &first[0];
        assert_eq!((&one["date"], &one["version"], &one["superseded"]), (&json!("2026-11-02"), &json!(1), &json!(false)));
        assert_eq!((realised_s(one), &one["row"]["total"]["restated_at"]), (&json!(1800), &Value::Null));
        let live = served.hours(&machine, &format!("{monday}&by=day&day_rule=shift_date")).await;
        assert_eq!(one["row"], live["rows"][0], "what is kept is what the report said");

        served.clock.set(crate::served::instant("2026-11-04T10:00:00Z"));
        assert_eq!(keeps(&served).await, 0, "of Tuesday nothing was said");
        served.send_cycles(&machine, &[("2026-11-02T12:00:00Z", "2026-11-02T12:20:00Z")]).await;
        assert_eq!(keeps(&served).await, 1);
        assert_eq!(reports(&served, monday).await.iter().map(realised_s).collect::<Vec<_>>(), [&json!(3000)]);
        let both = reports(&served, &format!("{monday}&superseded=true")).await;
        assert_eq!(both[0], json!({ "superseded": true, "date": one["date"], "version": 1, "computed_at": one["computed_at"],
            "seq": one["seq"], "row": one["row"] }), "what was said stays");
        let two = &both[1];
        assert_eq!((&two["version"], &two["superseded"], &two["computed_at"]), (&json!(2), &json!(false), &json!("2026-11-04T10:00:00Z")));
        assert_eq!(two["row"]["total"]["restated_at"], "2026-11-04T10:00:00Z");

        // The same cut again leaves every figure as it was.
        served.send_cycles(&machine, &[("2026-11-02T12:00:00Z", "2026-11-02T12:20:00Z")]).await;
        assert_eq!(keeps(&served).await, 0);
        let elsewhere = served.planner_elsewhere().get(&format!("/v1/hours/daily?cell=M1&{monday}")).await;
        elsewhere.expect_problem(404, "resource.unknown");
        let asked = served.viewer().get("/v1/hours/daily?cell=M1&from=2026-11-03&to=2026-11-02").await;
        asked.expect_problem(400, "query.invalid");
    }

    async fn reports_come_in_pages(engine) {
        let served = Served::at(engine, NOW).await;
        let machine = served.add_machine("M1").await;
        let days = ["2026-10-28", "2026-10-29", "2026-10-30"];
        for day in days {
            let cut = (format!("{day}T07:00:00Z"), format!("{day}T07:30:00Z"));
            served.send_cycles(&machine, &[(&cut.0, &cut.1)]).await;
        }
        assert_eq!(keeps(&served).await, 3);
        let path = "/v1/hours/daily?cell=M1&from=2026-10-01&to=2026-11-02&limit=2";
        let first = served.viewer().get(path).await.expect_status(200).json();
        let next = format!("{path}&cursor={}", first["next_cursor"].as_str().unwrap());
        let second = served.viewer().get(&next).await.expect_status(200).json();
        let dates = [&first, &second].map(|page| page["items"].as_array().unwrap().clone()).concat();
        assert_eq!(dates.iter().map(|report| report["date"].clone()).collect::<Vec<_>>(), days.map(|day| json!(day)));
        assert_eq!(second["next_cursor"], Value::Null);
    }
}

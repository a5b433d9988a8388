//! Cases from the shop floor, by their numbers. What is right in each: common practice, no source.

use super::{Pool, Work, minutes, runs};
use serde_json::{Value, json};
use spindlebook_tests::on_both_engines;

/// In winter, Berlin is an hour ahead.
const AT_17: &str = "2026-11-02T16:00:00Z";
const SEARCH: &str = "iterations=2000&seed=1";

fn search() -> Value {
    json!({ "search": { "iterations": 2_000 } })
}

on_both_engines! {
    /// E50: pallet 1's first article waits for the inspector; pallet 2 has the same work; pallet 3 is another order.
    async fn e50_the_plan_goes_on_with_other_work(engine) {
        let now = "2026-11-02T07:00:00Z";
        let pool = Pool::new(engine, now, 3, 3).await;
        let checked = Work { first_article: true, ..Work::of(60) };
        let (checked, free) = (pool.part("4711", &checked).await, pool.part("4712", &Work::of(60)).await);
        let (_, first) = pool.order("SO-X", &checked, 2, "2026-11-30").await;
        let (_, other) = pool.order("SO-Y", &free, 1, "2026-11-30").await;
        pool.clamp(0, &first).await;
        pool.clamp(1, &first).await;
        pool.clamp(2, &other).await;
        let run = pool.start(0).await;
        pool.clock("2026-11-02T08:00:00Z");
        let finish = format!("/v1/runs/{run}/finish");
        pool.served.operator().post(&finish, &json!({})).await.expect_status(200);
        let plan = pool.plan(&search()).await;
        let runs = runs(&plan);
        let pallets: Vec<_> = runs.iter().map(|run| run["pallet_code"].as_str().unwrap()).collect();
        assert_eq!(pallets, ["P3", "P2"], "{runs:#?}");
        assert_eq!(runs[1]["waits_for"]["code"], "first_article");
        let text = runs[1]["waits_for"]["text"].as_str().unwrap();
        assert!(text.contains("SO-X/1") && text.contains("since 09:00") && text.contains("P1"), "{text}");
        assert_eq!(runs[0]["waits_for"], Value::Null);
        // Thirty minutes of the inspector, from now on.
        assert_eq!(minutes(&plan["schedule"]["judged"][0], "inspect_at", "2026-11-02T08:00:00Z"), (0, 30));
    }

    /// E58: nobody is there from 17:00 to 06:00. Five ready pallets of 150 min, each takes 80 min of T12, which has 300 left.
    async fn e58_a_worn_tool_ends_the_night(engine) {
        let pool = Pool::new(engine, AT_17, 5, 5).await;
        pool.one_shift("06:00", "17:00").await;
        let tools = json!([{ "tool": "T12", "used_s_per_load": 4_800 }]);
        let part = pool.part("4711", &Work { tools, ..Work::cleared(150) }).await;
        let (_, job) = pool.order("SO-1", &part, 5, "2026-11-30").await;
        for pallet in 0..5 {
            pool.clamp(pallet, &job).await;
        }
        let magazine = async |tools: Value| {
            let path = format!("/v1/machines/{}/tools", pool.machine);
            pool.served.planner().put(&path, "*", &json!({ "tools": tools })).await.expect_status(200);
            pool.get(&format!("/v1/cells/{}/night-fill?{SEARCH}", pool.cell)).await
        };
        let one = magazine(json!([{ "tool": "T12", "life_left_s": 18_000 }])).await;
        assert_eq!(one["night"], json!({ "from": AT_17, "to": "2026-11-03T05:00:00Z" }));
        assert_eq!((one["cut"].as_array().unwrap().len(), one["spindle_s"].as_i64().unwrap()), (3, 3 * 9_000));
        let not_cut = one["not_cut"].as_array().unwrap();
        assert_eq!(not_cut.len(), 2);
        for load in not_cut {
            assert_eq!(load["because"]["code"], "tool");
            let text = load["because"]["text"].as_str().unwrap();
            assert!(text.contains("T12") && text.contains("short by 20 min"), "{text}");
        }
        let twin = json!({ "tool": "T12", "life_left_s": 18_000 });
        let twins = magazine(json!([twin, twin])).await;
        assert_eq!((&twins["not_cut"], twins["cut"].as_array().unwrap().len()), (&json!([]), 5));
        assert_eq!(twins["cuts_until"], "2026-11-03T04:45:00Z", "05:45 in Berlin");
    }

    /// E59: the most urgent pallet's program was never proven on this machine, and it is 17:00.
    async fn e59_what_is_not_proven_does_not_run_alone(engine) {
        let pool = Pool::new(engine, AT_17, 2, 2).await;
        pool.one_shift("06:00", "17:00").await;
        let (new, proven) = (pool.part("4711", &Work::of(150)).await, pool.part("4712", &Work::cleared(150)).await);
        let (_, urgent) = pool.order("SO-1", &new, 1, "2026-10-01").await;
        let (_, other) = pool.order("SO-2", &proven, 1, "2026-11-30").await;
        pool.clamp(0, &urgent).await;
        pool.clamp(1, &other).await;
        let night = pool.get(&format!("/v1/cells/{}/night-fill?{SEARCH}", pool.cell)).await;
        assert_eq!(night["cut"].as_array().unwrap().len(), 1);
        assert_eq!(night["cut"][0]["pallet_code"], "P2");
        assert_eq!(night["not_cut"][0]["because"]["code"], "not_proven");
        assert_eq!(night["not_cut"][0]["pieces"][0]["job_code"], "SO-1/1");
        let plan = pool.plan(&search()).await;
        let runs = runs(&plan);
        assert_eq!((&runs[0]["pallet_code"], minutes(&runs[0], "run_at", AT_17)), (&json!("P2"), (3, 153)));
        // Tuesday 06:00 is 780 min after Monday 17:00.
        assert_eq!(minutes(&runs[1], "run_at", AT_17), (780, 930));
        assert_eq!(runs[1]["waits_for"]["code"], "not_proven");
        let text = runs[1]["waits_for"]["text"].as_str().unwrap();
        assert!(text.contains("not proven on machine M1"), "{text}");
    }

    /// E60: one F7, full of order A's pieces; B is not clamped before A has come off.
    async fn e60_one_fixture_is_never_in_two_places(engine) {
        let pool = Pool::new(engine, "2026-11-02T07:00:00Z", 3, 1).await;
        let part = pool.part("4711", &Work::of(60)).await;
        let (_, a) = pool.order("SO-A", &part, 1, "2026-11-30").await;
        let (_, b) = pool.order("SO-B", &part, 1, "2026-10-01").await;
        pool.clamp(0, &a).await;
        let plan = pool.plan(&search()).await;
        let loads = plan["schedule"]["cells"][0]["loads"].as_array().unwrap().clone();
        let of = |job: &str| loads.iter().find(|load| load["pieces"][0]["job"] == json!(job)).unwrap();
        let from = "2026-11-02T07:00:00Z";
        assert!(minutes(of(&b), "load_at", from).0 >= minutes(of(&a), "unload_at", from).1);
        assert_eq!((&of(&a)["copy_code"], &of(&b)["copy_code"]), (&json!("F7-1"), &json!("F7-1")));
        assert_eq!(of(&b)["waits_for"]["code"], "fixture");
        let text = of(&b)["waits_for"]["text"].as_str().unwrap();
        assert!(text.contains("fixture F7") && text.contains("P1"), "{text}");
        assert!(plan["schedule"]["lines"][0]["late_s"].as_i64().unwrap() > 0, "B was due in October");
        assert_eq!(plan["schedule"]["lines"][0]["order_code"], "SO-B");
    }

    /// E61: at 10:00 the pallet in the machine ends at 10:40. B 3 h 20, due 15:00; C 1 h, due 16:00. R 2 h 30, due 14:00, is
    /// asked about.
    async fn e61_a_rush_order_shows_who_pays(engine) {
        let pool = Pool::new(engine, "2026-11-02T09:00:00Z", 4, 4).await;
        let mut orders = Vec::new();
        for (number, minutes) in [40, 200, 60].into_iter().enumerate() {
            let part = pool.part(&format!("471{number}"), &Work::of(minutes)).await;
            let (order, job) = pool.order(&format!("SO-{number}"), &part, 1, "2026-11-02").await;
            pool.clamp(number, &job).await;
            orders.push(order);
        }
        pool.start(0).await;
        let rush = pool.part("4719", &Work::of(150)).await;
        let before = pool.served.seq();
        let due_time = |order: &str, at: &str| json!({ "order": order, "line": 1, "due_at": at });
        let asked = json!({
            "lines": [{ "line": { "part": rush, "quantity": 1, "due": "2026-11-02", "priority": "normal" },
                "due_at": "2026-11-02T13:00:00Z" }],
            "due_times": [due_time(&orders[1], "2026-11-02T14:00:00Z"), due_time(&orders[2], "2026-11-02T15:00:00Z")],
            "search": { "iterations": 2_000 } });
        let office = pool.served.front_office();
        let checked = office.post("/v1/rush-checks", &asked).await.expect_status(200).json();
        let choice = |place: &str| {
            let places = checked["places"].as_array().unwrap();
            places.iter().find(|choice| choice["place"] == place).unwrap().clone()
        };
        let ends = |choice: &Value, minutes: i64| {
            let runs = choice["runs"].as_array().unwrap();
            let length = |run: &Value| super::minutes(run, "run_at", "2026-11-02T09:00:00Z");
            let all = runs.iter().map(length);
            all.map(|(from, to)| (to - from, to)).find(|(length, _)| *length == minutes).unwrap().1
        };
        let first = choice("first");
        // Minutes from 10:00: not broken off; R 10:43–13:13; B until 16:36; C until 17:39.
        assert_eq!([40, 150, 200, 60].map(|minutes| ends(&first, minutes)), [40, 193, 396, 459]);
        // Or R, C, B: C until 14:16, B until 17:39.
        let best = choice("best");
        assert_eq!([150, 60, 200].map(|minutes| ends(&best, minutes)), [193, 256, 459]);
        assert_eq!(first["late_s"], 0);
        let line = |choice: &Value, order: &str| {
            let lines = choice["lines"].as_array().unwrap();
            lines.iter().find(|line| line["order"] == json!(order)).unwrap().clone()
        };
        // A line is complete when its piece is off the pallet: 8 min after its run, for exchange and unloading.
        let late = line(&first, &orders[1])["late_after_s"].as_i64().unwrap();
        assert_eq!(late, (96 + 8) * 60);
        assert_eq!(line(&best, &orders[2])["late_after_s"], 0);
        assert_eq!(pool.served.seq(), before, "nothing is changed");
    }
}

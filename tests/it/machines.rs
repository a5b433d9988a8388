//! Machines, and what people say of them, by HTTP.

use crate::served::Served;
use serde_json::json;
use spindlebook_tests::on_both_engines;

const NOW: &str = "2026-11-02T06:00:00Z";

on_both_engines! {
    async fn a_standalone_machine_brings_its_cell_along(engine) {
        let served = Served::at(engine, NOW).await;
        let before = served.seq();
        let body = json!({ "code": "LATHE-1", "name": "Long lathe" });
        let machine = served
            .planner()
            .post("/v1/machines", &body)
            .await
            .expect_status(201);
        assert_eq!(served.seq(), before + 2, "one answer, two entries");
        let cell = served
            .viewer()
            .get(&format!("/v1/cells/{}", machine.string("/cell")))
            .await
            .expect_status(200)
            .json();
        assert_eq!(
            (&cell["code"], &cell["kind"]),
            (&json!("LATHE-1"), &json!("standalone"))
        );
        let second = json!({ "code": "LATHE-2", "name": "Short lathe", "cell": machine.string("/cell") });
        let refused = served.planner().post("/v1/machines", &second).await;
        refused.expect_field_problem(409, "machine.cell-is-standalone", "/cell");
        let nowhere = json!({ "code": "LATHE-2", "name": "Short lathe", "cell": "01936b5e-5c00-7000-8000-00000000ffff" });
        served
            .planner()
            .post("/v1/machines", &nowhere)
            .await
            .expect_field_problem(409, "machine.cell-unknown", "/cell");
    }

    async fn a_machine_is_changed_and_listed_by_cell(engine) {
        let served = Served::at(engine, NOW).await;
        let planner = served.planner();
        let cell = json!({ "code": "A", "name": "Pool", "kind": "pool", "load_stations": 1, "stands": 2, "exchange_s": 60 });
        let cell = planner.post("/v1/cells", &cell).await.string("/id");
        for code in ["M2", "M1"] {
            let body = json!({ "code": code, "name": "Mill", "cell": cell, "silent_after_s": 600 });
            planner.post("/v1/machines", &body).await.expect_status(201);
        }
        served.add_machine("L1").await;
        let list = planner.get("/v1/machines?cell=A").await.json();
        let codes: Vec<_> = list["items"]
            .as_array()
            .unwrap()
            .iter()
            .map(|machine| machine["code"].clone())
            .collect();
        assert_eq!(codes, ["M1", "M2"]);
        let path = format!("/v1/machines/{}", list["items"][0]["id"].as_str().unwrap());
        let shown = planner.get(&path).await;
        let body = json!({ "code": "M1", "name": "Five-axis mill" });
        let changed = planner
            .put(&path, &shown.etag(), &body)
            .await
            .expect_status(200)
            .json();
        assert_eq!(
            (&changed["name"], &changed["silent_after_s"]),
            (&json!("Five-axis mill"), &json!(null))
        );
        planner
            .put(&path, &shown.etag(), &body)
            .await
            .expect_problem(412, "machine.stale");
        served
            .operator()
            .put(&path, "*", &body)
            .await
            .expect_problem(403, "role.missing");
        served
            .viewer()
            .get("/v1/machines?cell=Z")
            .await
            .expect_field_problem(404, "resource.unknown", "cell");
    }

    async fn a_machine_is_set_down_and_up_by_a_person(engine) {
        let served = Served::at(engine, NOW).await;
        let machine = served.add_machine("M1").await;
        let (down, up) = (
            format!("/v1/machines/{machine}/down"),
            format!("/v1/machines/{machine}/up"),
        );
        let body =
            json!({ "at": "2026-11-02T05:30:00Z", "reason": "breakdown", "note": "Smells of burnt oil" });
        let set = served
            .operator()
            .post(&down, &body)
            .await
            .expect_status(200)
            .json();
        assert_eq!(
            set["condition"],
            json!({ "down": true, "since": "2026-11-02T05:30:00Z", "reason": "breakdown" })
        );
        // The note is kept apart from the ledger, which holds a salted hash.
        let entry = served
            .viewer()
            .get(&format!("/v1/ledger/{}", served.seq()))
            .await
            .json();
        assert!(!entry.to_string().contains("burnt oil"), "{entry}");
        assert_eq!(entry["payload"]["note"]["sha256"].as_str().unwrap().len(), 64);
        assert_eq!(
            (&entry["kind"], &entry["occurred_at"]),
            (&json!("machine.set_down"), &json!("2026-11-02T05:30:00Z"))
        );
        served
            .operator()
            .post(&down, &body)
            .await
            .expect_problem(409, "machine.already-down");
        let early = json!({ "at": "2026-11-02T05:00:00Z" });
        served.operator().post(&up, &early).await.expect_field_problem(
            409,
            "machine.before-last-change",
            "/at",
        );
        // Nothing at all is taken for {}: now.
        let operator = served.operator();
        let up_again = operator.send(reqwest::Method::POST, &up, |request| {
            request.header("Idempotency-Key", uuid::Uuid::now_v7().to_string())
        });
        let up_again = up_again.await.expect_status(200).json();
        assert_eq!(
            up_again["condition"],
            json!({ "down": false, "since": NOW, "reason": null })
        );
        served
            .operator()
            .post(&up, &json!({}))
            .await
            .expect_problem(409, "machine.not-down");
        served
            .device()
            .post(&down, &body)
            .await
            .expect_problem(403, "role.missing");
        let odd = json!({ "reason": "bored" });
        let problem =
            served
                .operator()
                .post(&down, &odd)
                .await
                .expect_field_problem(400, "body.invalid", "/reason");
        assert!(
            problem["errors"][0]["detail"]
                .as_str()
                .unwrap()
                .contains("planned_maintenance")
        );
        let blank = json!({ "reason": "other", "note": "   " });
        served
            .operator()
            .post(&down, &blank)
            .await
            .expect_field_problem(400, "body.invalid", "/note");
    }
}

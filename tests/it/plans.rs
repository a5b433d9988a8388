//! Plans by HTTP, and what they are the measure of.

use crate::served::Served;
use serde_json::{Value, json};
use spindlebook_tests::on_both_engines;

const NOW: &str = "2026-11-09T04:00:00Z";

fn slots(machine: &str, starts: &[(&str, i64)]) -> Value {
    let slots: Vec<_> = starts
        .iter()
        .map(|(starts_at, cycle_s)| json!({ "machine": machine, "starts_at": starts_at, "cycle_s": cycle_s }))
        .collect();
    json!({ "slots": slots })
}

on_both_engines! {
    async fn a_plan_is_posted_shown_and_published_once(engine) {
        let served = Served::at(engine, NOW).await;
        let (planner, machine) = (served.planner(), served.add_machine("M1").await);
        planner
            .get("/v1/plans/current")
            .await
            .expect_problem(404, "resource.unknown");
        let body = slots(
            &machine,
            &[("2026-11-09T08:00:00Z", 3_600), ("2026-11-09T06:00:00Z", 3_720)],
        );
        let posted = planner.post("/v1/plans", &body).await.expect_status(201);
        assert_eq!(
            (&posted.json()["slot_count"], &posted.json()["standing"]),
            (&json!(2), &json!("posted"))
        );
        let path = format!("/v1/plans/{}", posted.string("/id"));
        let shown = served.viewer().get(&path).await.expect_status(200);
        assert_eq!(
            (shown.json()["plan"].clone(), shown.etag()),
            (posted.json(), posted.etag())
        );
        let starts: Vec<_> = shown.json()["slots"]
            .as_array()
            .unwrap()
            .iter()
            .map(|slot| slot["starts_at"].clone())
            .collect();
        assert_eq!(starts, ["2026-11-09T06:00:00Z", "2026-11-09T08:00:00Z"]);
        let published = planner
            .post(&format!("{path}/publish"), &json!({}))
            .await
            .expect_status(200)
            .json();
        assert_eq!(
            (&published["standing"], &published["published_at"]),
            (&json!("published"), &json!(NOW))
        );
        planner
            .post(&format!("{path}/publish"), &json!({}))
            .await
            .expect_problem(409, "plan.already-published");
        let current = served.viewer().get("/v1/plans/current").await.expect_status(200);
        assert_eq!(current.json()["plan"], published);
        assert_ne!(current.etag(), shown.etag());
        planner
            .post("/v1/plans", &slots(&machine, &[]))
            .await
            .expect_status(201);
        let list = served
            .viewer()
            .get("/v1/plans?limit=1")
            .await
            .expect_status(200)
            .json();
        assert_eq!(
            (&list["items"][0]["slot_count"], list["next_cursor"].is_string()),
            (&json!(0), true)
        );
        let next = served
            .viewer()
            .get(&format!(
                "/v1/plans?limit=1&cursor={}",
                list["next_cursor"].as_str().unwrap()
            ))
            .await
            .json();
        assert_eq!(next["items"], json!([published]));
    }

    async fn a_plan_that_cannot_be_is_refused(engine) {
        let served = Served::at(engine, NOW).await;
        let (planner, machine) = (served.planner(), served.add_machine("M1").await);
        let before = served.seq();
        let nowhere = "01936b5e-5c00-7000-8000-00000000ffff";
        for (body, status, code, place) in [
            (
                slots(
                    &machine,
                    &[("2026-11-09T06:00:00Z", 3_600), ("2026-11-09T06:30:00Z", 3_600)],
                ),
                409,
                "plan.slots-overlap",
                "/slots/1/starts_at",
            ),
            (
                slots(nowhere, &[("2026-11-09T06:00:00Z", 3_600)]),
                409,
                "plan.machine-unknown",
                "/slots/0/machine",
            ),
            (
                slots(&machine, &[("1970-01-01T00:00:00Z", 3_600)]),
                400,
                "plan.slot-out-of-range",
                "/slots/0/starts_at",
            ),
            (
                slots(&machine, &[("2026-11-09T06:00:00Z", 0)]),
                400,
                "body.invalid",
                "/slots/0/cycle_s",
            ),
            (
                slots(&machine, &[("2026-11-09T06:00:00Z", -60)]),
                400,
                "body.invalid",
                "/slots/0/cycle_s",
            ),
            (
                slots("M1", &[("2026-11-09T06:00:00Z", 60)]),
                400,
                "body.invalid",
                "/slots/0/machine",
            ),
            (json!({ "slots": 1 }), 400, "body.invalid", "/slots"),
        ] {
            planner
                .post("/v1/plans", &body)
                .await
                .expect_field_problem(status, code, place);
        }
        planner
            .post(&format!("/v1/plans/{nowhere}/publish"), &json!({}))
            .await
            .expect_problem(404, "plan.unknown");
        planner
            .get(&format!("/v1/plans/{nowhere}"))
            .await
            .expect_problem(404, "plan.unknown");
        served
            .admin()
            .post("/v1/plans", &slots(&machine, &[]))
            .await
            .expect_problem(403, "role.missing");
        assert_eq!(served.seq(), before);
    }

    // The plan in force when a shift began is its measure, whatever is published later (design of the hours).
    async fn a_shift_is_measured_by_the_plan_that_was_in_force_when_it_began(engine) {
        let served = Served::at(engine, NOW).await;
        let machine = served.add_machine("M1").await;
        let shift = |name: &str, starts: &str, ends: &str| json!({ "name": name, "weekday": "monday", "starts": starts, "ends": ends });
        let calendar = json!({ "valid_from": "2026-01-01", "shifts": [shift("Early", "06:00", "14:00"), shift("Late", "14:00", "22:00")] });
        served.set_site_calendar(&calendar).await;
        let publish = async |body: Value| {
            // Tokens expire as the clock goes on.
            let planner = served.planner();
            let id = planner
                .post("/v1/plans", &body)
                .await
                .expect_status(201)
                .string("/id");
            planner
                .post(&format!("/v1/plans/{id}/publish"), &json!({}))
                .await
                .expect_status(200);
        };
        publish(slots(
            &machine,
            &[("2026-11-09T06:00:00Z", 3_600), ("2026-11-09T14:00:00Z", 7_200)],
        ))
        .await;
        served.clock.set(crate::served::instant("2026-11-09T07:00:00Z"));
        publish(slots(
            &machine,
            &[("2026-11-09T08:00:00Z", 1_800), ("2026-11-09T15:00:00Z", 900)],
        ))
        .await;
        served.clock.set(crate::served::instant("2026-11-09T22:00:00Z"));
        let report = served
            .hours(&machine, "from=2026-11-09&to=2026-11-10&by=shift")
            .await;
        let planned: Vec<_> = report["rows"]
            .as_array()
            .unwrap()
            .iter()
            .map(|row| (row["name"].as_str().unwrap(), row["total"]["planned_s"].clone()))
            .collect();
        assert_eq!(
            planned,
            [
                ("gap", json!(null)),
                ("Early", json!(3_600)),
                ("Late", json!(900)),
                ("gap", json!(0))
            ]
        );
        assert_eq!(report["total"]["planned_s"], 4_500);
        assert_eq!(
            report["total"]["planned_over_s"],
            17 * 3_600,
            "the gap before the first plan had none"
        );
        assert_eq!(
            report["total"]["realised_of_planned"],
            json!(null),
            "the two sides do not belong together"
        );
    }
}

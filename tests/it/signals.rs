//! What machines tell, by HTTP: states, cycles, readings.

use crate::served::Served;
use futures_util::{StreamExt, stream};
use reqwest::Method;
use serde_json::{Value, json};
use spindlebook_tests::on_both_engines;
use std::convert::Infallible;
use std::future::ready;
use std::sync::Arc;
use std::time::Duration;
use uuid::Uuid;

const NOW: &str = "2026-11-02T12:00:00Z";

fn states(rows: &[(&str, &str)]) -> Value {
    let rows: Vec<_> = rows
        .iter()
        .map(|(at, state)| json!({ "at": at, "state": state }))
        .collect();
    json!({ "transitions": rows })
}

/// A body in two parts, of which the second comes when the clock has gone on by so many seconds.
fn delayed(served: &Served, body: &Value, by_s: i64) -> reqwest::Body {
    let text = body.to_string();
    let (head, tail) = text.split_at(text.len() / 2);
    let (head, tail) = (head.to_owned(), tail.to_owned());
    let clock = Arc::clone(&served.clock);
    let tail = async move {
        // Time for the service to read the head of the request.
        tokio::time::sleep(Duration::from_millis(500)).await;
        clock.advance_s(by_s);
        Ok::<_, Infallible>(tail)
    };
    let parts = stream::once(ready(Ok(head))).chain(stream::once(tail));
    reqwest::Body::wrap_stream(parts)
}

on_both_engines! {
    // Common practice, no source: the sender's clock is right here, only its line is slow.
    async fn a_body_that_takes_long_makes_no_clock_wrong(engine) {
        let served = Served::at(engine, NOW).await;
        let machine = served.add_machine("M1").await;
        let mut states = states(&[("2026-11-02T08:00:00Z", "ACTIVE")]);
        states["sent_at"] = json!(NOW);
        let readings = json!({ "sent_at": "2026-11-02T12:01:40Z",
            "readings": [{ "at": "2026-11-02T08:00:00Z", "powered_on_s": 100, "in_cut_s": 50 }] });
        // The second request begins when the first one's hundred seconds have passed.
        for (what, body) in [("signals", &states), ("readings", &readings)] {
            let path = format!("/v1/machines/{machine}/{what}");
            let body = delayed(&served, body, 100);
            let device = served.device();
            let sent = device.send(Method::POST, &path, |request| {
                request
                    .header("Idempotency-Key", Uuid::now_v7().to_string())
                    .header("Content-Type", "application/json")
                    .body(body)
            });
            let received = sent.await.expect_status(201).json();
            assert_eq!(received["clock_offset_us"], 0, "{what}: {received}");
        }
    }

    async fn rows_are_counted_and_the_same_call_twice_changes_nothing(engine) {
        let served = Served::at(engine, NOW).await;
        let machine = served.add_machine("M1").await;
        let path = format!("/v1/machines/{machine}/signals");
        let batch = states(&[
            ("2026-11-02T08:00:00Z", "ACTIVE"),
            ("2026-11-02T09:00:00+00:00", "READY"),
            ("2026-11-02T08:30:00Z", "FEED_HOLD"),
            ("2026-11-02T09:00:00Z", "READY"),
        ]);
        let head = served.seq();
        let received = served.device().post(&path, &batch).await.expect_status(201);
        assert_eq!(
            received.json(),
            json!({
                "rows": 4, "new_rows": 3, "repeated": 1, "out_of_order": 1, "cycles": 0,
                "entries": [head + 1], "clock_offset_us": 0,
            })
        );
        assert_eq!(
            received.header("location").unwrap(),
            format!("/v1/ledger/{}", head + 1)
        );
        let again = served
            .device()
            .post(&path, &batch)
            .await
            .expect_status(201)
            .json();
        assert_eq!(
            (&again["new_rows"], &again["repeated"], &again["entries"]),
            (&json!(0), &json!(4), &json!([]))
        );
        assert_eq!(served.seq(), head + 1);
        let late = states(&[("2026-11-02T07:00:00Z", "STOPPED")]);
        let late = served.device().post(&path, &late).await.expect_status(201).json();
        assert_eq!((&late["new_rows"], &late["out_of_order"]), (&json!(1), &json!(1)));
        let report = served
            .hours(&machine, "from=2026-11-02T07:00:00Z&to=2026-11-02T10:00:00Z")
            .await;
        let figures = &report["total"];
        assert_eq!(
            (&figures["realised_s"], &figures["stopped_in_run_s"]),
            (&json!(1_800), &json!(1_800))
        );
        assert_eq!(
            (&figures["idle_unattended_s"], &figures["not_known_s"]),
            (&json!(7_200), &json!(0))
        );
    }

    async fn a_large_batch_is_packed_into_entries_of_five_thousand_rows(engine) {
        let served = Served::at(engine, NOW).await;
        let machine = served.add_machine("M1").await;
        let row = |index: i64| {
            let at = spindlebook_domain::time::Timestamp(1_793_000_000_000_000 + index * 1_000_000);
            json!({ "at": at.to_string(), "state": if index % 2 == 0 { "ACTIVE" } else { "READY" } })
        };
        let path = format!("/v1/machines/{machine}/signals");
        let rows: Vec<_> = (0..12_000).map(row).collect();
        let received = served
            .device()
            .post(&path, &json!({ "transitions": rows }))
            .await
            .expect_status(201)
            .json();
        assert_eq!(
            (
                &received["new_rows"],
                received["entries"].as_array().unwrap().len()
            ),
            (&json!(12_000), 3)
        );
        let too_many: Vec<_> = (0..50_001).map(row).collect();
        let refused = served
            .device()
            .post(&path, &json!({ "transitions": too_many }))
            .await;
        refused.expect_field_problem(400, "body.invalid", "/transitions");
    }

    async fn a_row_that_cannot_be_is_refused_and_nothing_of_its_batch_is_kept(engine) {
        let served = Served::at(engine, NOW).await;
        let machine = served.add_machine("M1").await;
        let path = format!("/v1/machines/{machine}/signals");
        let before = served.seq();
        let good = ("2026-11-02T08:00:00Z", "ACTIVE");
        for (rows, code, place) in [
            (
                states(&[good, ("2026-11-02T09:00:00Z", "RUNNING")]),
                "body.invalid",
                "/transitions/1/state",
            ),
            (
                states(&[good, ("2026-11-02 09:00", "READY")]),
                "body.invalid",
                "/transitions/1/at",
            ),
            (
                json!({ "transitions": [{ "state": "READY" }] }),
                "body.invalid",
                "/transitions/0/at",
            ),
            (
                json!({ "transitions": [{ "at": good.0, "at_local": { "local": "2026-11-02T09:00" }, "state": "READY" }] }),
                "body.invalid",
                "/transitions/0/at_local",
            ),
            (json!({}), "body.invalid", "/transitions"),
            (
                states(&[good, ("1970-01-01T00:00:00Z", "READY")]),
                "time.out-of-range",
                "/transitions/1/at",
            ),
            (
                states(&[good, ("9999-12-31T23:59:59Z", "READY")]),
                "time.in-future",
                "/transitions/1/at",
            ),
            (
                states(&[good, ("2026-11-02T12:06:00Z", "READY")]),
                "time.in-future",
                "/transitions/1/at",
            ),
            (
                json!({ "cycles": [{ "from": "2026-11-02T09:00:00Z", "to": "2026-11-02T08:00:00Z" }] }),
                "cycle.empty",
                "/cycles/0/to",
            ),
            (
                json!({ "cycles": [{ "from": "2026-10-01T09:00:00Z", "to": "2026-11-02T08:00:00Z" }] }),
                "cycle.too-long",
                "/cycles/0/to",
            ),
            (
                json!({ "sent_at": "1970-01-01T00:10:00Z", "transitions": [{ "at": "1970-01-01T00:00:00Z", "state": "READY" }] }),
                "time.device-clock-unusable",
                "/sent_at",
            ),
        ] {
            let refused = served.device().post(&path, &rows).await;
            refused.expect_field_problem(400, code, place);
        }
        assert_eq!(served.seq(), before);
        served
            .viewer()
            .post(&path, &states(&[good]))
            .await
            .expect_problem(403, "role.missing");
        served
            .anonymous()
            .post(&path, &states(&[good]))
            .await
            .expect_problem(401, "sign-in.required");
    }

    async fn readings_are_held_against_each_other(engine) {
        let served = Served::at(engine, NOW).await;
        let machine = served.add_machine("M1").await;
        let path = format!("/v1/machines/{machine}/readings");
        let reading = |at: &str, powered_on_s: i64, in_cut_s: i64| json!({ "at": at, "powered_on_s": powered_on_s, "in_cut_s": in_cut_s });
        let two = json!({ "readings": [reading("2026-11-01T23:00:00Z", 360_000, 100_000), reading("2026-11-02T07:00:00Z", 388_800, 110_080)] });
        let received = served
            .operator()
            .post(&path, &two)
            .await
            .expect_status(201)
            .json();
        assert_eq!(
            (&received["new_rows"], &received["repeated"]),
            (&json!(2), &json!(0))
        );
        // Common practice, no source: 10 080 s of 28 800 s are 35 %.
        let report = served
            .hours(&machine, "from=2026-11-02&to=2026-11-02T07:00:00Z")
            .await;
        let figures = &report["total"];
        assert_eq!(
            (&figures["powered_on_s"], &figures["in_cut_s"]),
            (&json!(28_800), &json!(10_080))
        );
        assert_eq!(
            (&figures["utilisation"]["percent"], &figures["utilisation"]["of"]),
            (&json!(35.0), &json!("powered on, by the counter"))
        );
        let head = served.seq();
        for (body, status, code, place) in [
            (
                json!({ "readings": [reading("2026-11-02T08:00:00Z", 380_000, 110_100)] }),
                409,
                "reading.counter-went-back",
                "/readings/0/powered_on_s",
            ),
            (
                json!({ "readings": [reading("2026-11-02T07:00:00Z", 388_800, 110_081)] }),
                409,
                "reading.not-newer",
                "/readings/0/at",
            ),
            (
                json!({ "readings": [reading("2026-11-02T08:00:00Z", 500_000, 110_100)] }),
                409,
                "reading.faster-than-time",
                "/readings/0/powered_on_s",
            ),
            (
                json!({ "readings": [reading("2026-11-02T08:00:00Z", -1, 110_100)] }),
                400,
                "body.invalid",
                "/readings/0/powered_on_s",
            ),
            (json!({ "readings": [] }), 400, "body.invalid", "/readings"),
        ] {
            served
                .operator()
                .post(&path, &body)
                .await
                .expect_field_problem(status, code, place);
        }
        assert_eq!(served.seq(), head);
        let mut reset = reading("2026-11-02T09:00:00Z", 0, 0);
        reset["reset"] = json!(true);
        served
            .operator()
            .post(&path, &json!({ "readings": [reset] }))
            .await
            .expect_status(201);
        let page = served
            .viewer()
            .get(&format!("{path}?limit=2"))
            .await
            .expect_status(200)
            .json();
        assert_eq!(
            page["items"][1],
            json!({ "at": "2026-11-02T07:00:00Z", "powered_on_s": 388_800, "in_cut_s": 110_080, "reset": false, "seq": head })
        );
        let rest = served
            .viewer()
            .get(&format!(
                "{path}?limit=2&cursor={}",
                page["next_cursor"].as_str().unwrap()
            ))
            .await
            .json();
        assert_eq!(
            (
                rest["items"].as_array().unwrap().len(),
                &rest["items"][0]["reset"],
                &rest["next_cursor"]
            ),
            (1, &json!(true), &json!(null))
        );
        let one = served
            .viewer()
            .get(&format!("{path}?from=2026-11-02&to=2026-11-02T08:00:00Z"))
            .await
            .json();
        assert_eq!(
            one["items"].as_array().unwrap().len(),
            2,
            "23:00Z is midnight in Berlin"
        );
    }
}

//! A disk that fills up under SQLite refuses what does not fit, and nothing else.

use crate::served::instant;
use serde_json::json;
use spindlebook_tests::app::{Options, TestApp};
use spindlebook_tests::engine::Engine;

/// Some 2.4 MB, of which the ballast takes 1 MB.
const PAGES_MAX: u32 = 600;

/// Five thousand states that nobody has sent before.
fn batch(number: i64) -> serde_json::Value {
    let begins = instant("2026-11-02T06:00:00Z").plus_s(number * 5_000);
    let row = |n: i64| {
        let state = ["ACTIVE", "READY"][usize::from(n % 2 == 0)];
        json!({ "at": begins.plus_s(n).to_string(), "state": state })
    };
    json!({ "transitions": (0..5_000).map(row).collect::<Vec<_>>() })
}

#[tokio::test]
async fn on_a_full_disk_the_answer_is_507_and_with_room_again_work_goes_on() {
    let options = Options {
        pages_max: Some(PAGES_MAX),
        ..Options::default()
    };
    let app = TestApp::with(Engine::Sqlite, options).await;
    app.clock.set(instant("2026-12-02T06:00:00Z"));
    // Not through the service's connections, so it may grow.
    let raw = sea_orm::Database::connect(&app.storage.url).await.unwrap();
    let run = |sql| sea_orm::ConnectionTrait::execute_unprepared(&raw, sql);
    run("CREATE TABLE ballast AS SELECT zeroblob(1000000) AS bytes")
        .await
        .unwrap();
    let body = json!({ "code": "M1", "name": "Mill" });
    let machine = app
        .planner()
        .post("/v1/machines", &body)
        .await
        .expect_status(201)
        .string("/id");
    let path = format!("/v1/machines/{machine}/signals");
    // Another batch may still find room on pages that are half full: the disk is full when none does. Whichever
    // connection it gets, it is the disk that refuses.
    let (mut number, mut refused_in_a_row) = (0, 0);
    while refused_in_a_row < 3 {
        let answer = app.machine_client().post(&path, &batch(number)).await;
        if answer.status == 201 {
            refused_in_a_row = 0;
        } else {
            answer.expect_problem(507, "storage.full");
            refused_in_a_row += 1;
        }
        number += 1;
        assert!(number < 400, "it never gets full");
    }
    assert!(number > 3, "there was room for something");
    app.viewer().get("/v1/machines").await.expect_status(200);
    run("DROP TABLE ballast").await.unwrap();
    for later in 0..3 {
        let answer = app.machine_client().post(&path, &batch(number + later)).await;
        answer.expect_status(201);
    }
}

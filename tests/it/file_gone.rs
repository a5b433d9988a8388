//! The file of a SQLite database is taken away under a running service: it says so, acknowledges nothing, and goes on
//! when the file is back.

use serde_json::{Value, json};
use spindlebook_tests::app::TestApp;
use spindlebook_tests::engine::Engine;
use std::fs;
use uuid::Uuid;

fn pool(code: &str) -> Value {
    json!({ "code": code, "name": "Pool", "kind": "pool", "load_stations": 1, "stands": 4, "exchange_s": 60 })
}

#[tokio::test]
async fn without_its_file_nothing_is_acknowledged_and_the_answer_says_why() {
    let app = TestApp::new(Engine::Sqlite).await;
    let (planner, folder) = (app.planner(), app.storage.folder());
    planner.post("/v1/cells", &pool("C1")).await.expect_status(201);
    let (key, before) = (Uuid::now_v7(), app.seq());
    for name in ["spindlebook.sqlite", "spindlebook.sqlite-wal"] {
        let (file, away) = (folder.join(name), folder.join("elsewhere"));
        fs::rename(&file, &away).unwrap();
        let answer = planner.post_with_key("/v1/cells", key, &pool("C2")).await;
        let problem = answer.expect_problem(503, "storage.gone");
        assert_eq!(problem["title"], "The database's file is gone");
        assert_eq!(answer.header("Retry-After"), Some("60"));
        assert!(
            !answer.text().contains("spindlebook.sqlite"),
            "its place is for the log"
        );
        assert_eq!(app.seq(), before);
        if name == "spindlebook.sqlite" {
            app.anonymous()
                .get("/health/ready")
                .await
                .expect_problem(503, "storage.gone");
            // Another file in its place is no database of this service.
            fs::write(&file, fs::read(&away).unwrap()).unwrap();
            let answer = planner.post_with_key("/v1/cells", key, &pool("C2")).await;
            answer.expect_problem(503, "storage.gone");
        }
        fs::rename(&away, &file).unwrap();
        app.anonymous().get("/health/ready").await.expect_status(200);
    }
    // What was committed into the log while that had another name is there with it, once.
    planner
        .post_with_key("/v1/cells", key, &pool("C2"))
        .await
        .expect_status(201);
    planner.post("/v1/cells", &pool("C3")).await.expect_status(201);
    assert_eq!(app.seq(), before + 2);
}

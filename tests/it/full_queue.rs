//! A site whose queue is full turns away what it cannot take, says when to come again, and loses nothing.

use futures_util::future::join_all;
use serde_json::{Value, json};
use spindlebook_store::site;
use spindlebook_tests::app::{Options, TestApp};
use std::time::Duration;
use uuid::Uuid;

const QUEUE_MAX: usize = 8;
const SENT: usize = 20;

fn pool(code: &str) -> Value {
    json!({ "code": code, "name": "Pool", "kind": "pool", "load_stations": 1, "stands": 4, "exchange_s": 60 })
}

spindlebook_tests::on_both_engines! {
    // Common practice, no source: 503 with Retry-After, RFC 9110, sections 15.6.4 and 10.2.3.
    async fn past_a_full_queue_the_answer_is_503_and_the_same_key_is_taken_later(engine) {
        let app = TestApp::with(engine, Options { queue_max: QUEUE_MAX, ..Options::default() }).await;
        let (planner, before) = (app.planner(), app.seq());
        let commands: Vec<_> = (0..=SENT)
            .map(|n| (Uuid::now_v7(), pool(&format!("C{n}"))))
            .collect();
        // As if another process were in the middle of a batch: the writer waits for the head of the site.
        let mut lock = app.store.begin().await.unwrap();
        site::lock(&mut lock, app.site).await.unwrap();
        let send = |n: usize| {
            let (planner, (key, body)) = (planner.clone(), commands[n].clone());
            tokio::spawn(async move { planner.post_with_key("/v1/cells", key, &body).await })
        };
        let first = send(0);
        tokio::time::sleep(Duration::from_millis(300)).await;
        let waiting: Vec<_> = (1..=SENT).map(send).collect();
        tokio::time::sleep(Duration::from_millis(700)).await;
        let turned_away = waiting.iter().filter(|sent| sent.is_finished()).count();
        assert_eq!(turned_away, SENT - QUEUE_MAX, "they are told at once");
        app.viewer().get("/v1/cells").await.expect_status(200);
        drop(lock);
        first.await.unwrap().expect_status(201);
        let mut again = Vec::new();
        for (n, answer) in (1..).zip(join_all(waiting).await) {
            let answer = answer.unwrap();
            if answer.status == 201 {
                continue;
            }
            let problem = answer.expect_problem(503, "service.busy");
            assert_eq!(problem["title"], "Too much is waiting to be written");
            assert_eq!(answer.header("Retry-After"), Some("1"));
            again.push(n);
        }
        assert_eq!(again.len(), SENT - QUEUE_MAX);
        assert_eq!(app.seq(), before + 1 + QUEUE_MAX as u64, "what was turned away left nothing");
        for n in again {
            let (key, body) = &commands[n];
            let taken = planner.post_with_key("/v1/cells", *key, body).await.expect_status(201);
            assert_eq!(taken.header("Outcome-First-Given"), None, "a 503 is not kept under the key");
        }
        assert_eq!(app.seq(), before + 1 + SENT as u64, "each command counts once");
    }
}

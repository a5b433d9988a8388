//! R7: two at once. One wins, the other hears why not, and nothing happens twice.

use futures_util::future::join_all;
use serde_json::{Value, json};
use spindlebook_tests::answer::Answer;
use spindlebook_tests::app::TestApp;
use spindlebook_tests::caller::Caller;
use std::collections::BTreeSet;
use uuid::Uuid;

const AT_ONCE: usize = 50;
/// The figure of the nightly run is 1,000; `CRASH_ROUNDS` says so there.
const RACES: usize = 100;

fn races() -> usize {
    std::env::var("CRASH_ROUNDS")
        .ok()
        .and_then(|count| count.parse().ok())
        .unwrap_or(RACES)
}

fn pool(code: &str) -> Value {
    json!({ "code": code, "name": "Pool", "kind": "pool", "load_stations": 1, "stands": 4, "exchange_s": 60 })
}

async fn standalone(planner: &Caller) -> String {
    let added = planner
        .post("/v1/machines", &json!({ "code": "M1", "name": "Mill" }))
        .await;
    format!("/v1/machines/{}", added.expect_status(201).string("/id"))
}

/// How many of the answers were given for the first time.
fn firsts(answers: &[Answer]) -> usize {
    answers
        .iter()
        .filter(|answer| answer.header("Outcome-First-Given").is_none())
        .count()
}

spindlebook_tests::on_both_engines! {
    async fn one_key_sent_fifty_times_at_once_has_one_effect(engine) {
        let app = TestApp::new(engine).await;
        let planner = app.planner();
        for round in 0..races() / 20 {
            let (before, key, body) = (app.seq(), Uuid::now_v7(), pool(&format!("C{round}")));
            let answers = join_all((0..AT_ONCE).map(|_| planner.post_with_key("/v1/cells", key, &body))).await;
            assert_eq!(app.seq(), before + 1, "one command, one entry");
            let different: BTreeSet<_> = answers.iter().map(|answer| (answer.status.as_u16(), answer.text())).collect();
            assert_eq!(different.len(), 1, "{different:?}");
            assert!(answers.iter().all(|answer| answer.status == 201));
            assert_eq!(firsts(&answers), 1, "the others say when the outcome was first given");
        }
    }

    async fn a_key_with_another_body_is_refused_even_while_the_first_is_under_way(engine) {
        let app = TestApp::new(engine).await;
        let planner = app.planner();
        for round in 0..races() / 20 {
            let (before, key) = (app.seq(), Uuid::now_v7());
            let bodies = [pool(&format!("A{round}")), pool(&format!("B{round}"))];
            let sent = (0..AT_ONCE).map(|n| planner.post_with_key("/v1/cells", key, &bodies[n % 2]));
            let answers = join_all(sent).await;
            assert_eq!(app.seq(), before + 1);
            let taken = answers.iter().position(|answer| answer.status == 201).expect("one of the two was taken");
            for (n, answer) in answers.iter().enumerate() {
                if n % 2 == taken % 2 {
                    assert_eq!((answer.status.as_u16(), &answer.body), (201, &answers[taken].body));
                } else {
                    answer.expect_problem(422, "idempotency-key.reused");
                }
            }
        }
    }

    async fn of_two_who_change_the_same_version_one_wins(engine) {
        let app = TestApp::new(engine).await;
        let planner = app.planner();
        let machine = standalone(&planner).await;
        let mut etag = planner.get(&machine).await.etag();
        for round in 0..races() {
            let bodies = [0, 1].map(|who| json!({ "code": "M1", "name": format!("Mill {round} of {who}") }));
            let answers = join_all(bodies.iter().map(|body| planner.put(&machine, &etag, body))).await;
            let (won, lost): (Vec<_>, Vec<_>) = answers.iter().partition(|answer| answer.status == 200);
            assert_eq!((won.len(), lost.len()), (1, 1), "{} and {}", answers[0].text(), answers[1].text());
            lost[0].expect_problem(412, "machine.stale");
            assert_eq!(lost[0].etag(), won[0].etag(), "the loser hears which version there is now");
            etag = won[0].etag();
        }
    }

    async fn of_two_who_set_a_machine_down_one_wins(engine) {
        let app = TestApp::new(engine).await;
        let machine = standalone(&app.planner()).await;
        for _ in 0..races() / 2 {
            app.clock.advance_s(2);
            let (operator, inspector) = (app.operator(), app.inspector());
            let (path, body) = (format!("{machine}/down"), json!({ "reason": "tooling" }));
            let answers = join_all([operator.post(&path, &body), inspector.post(&path, &body)]).await;
            let (won, lost): (Vec<_>, Vec<_>) = answers.iter().partition(|answer| answer.status == 200);
            assert_eq!((won.len(), lost.len()), (1, 1), "{} and {}", answers[0].text(), answers[1].text());
            lost[0].expect_problem(409, "machine.already-down");
            app.clock.advance_s(2);
            operator.post(&format!("{machine}/up"), &json!({})).await.expect_status(200);
        }
    }
}

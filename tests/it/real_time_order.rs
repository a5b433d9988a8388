//! R20: what was acknowledged before something else was sent stands before it, and whoever reads after an
//! acknowledgement reads it.

use spindlebook_tests::app::TestApp;
use spindlebook_tests::site;
use std::collections::BTreeMap;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use uuid::Uuid;

const CLIENTS: usize = 8;
/// Of each client. The figure of the nightly run is 100,000 in all; `CRASH_ROUNDS` says how many there.
const ROUNDS: usize = 25;

fn rounds() -> usize {
    std::env::var("CRASH_ROUNDS")
        .ok()
        .and_then(|count| count.parse().ok())
        .unwrap_or(ROUNDS)
}

struct Done {
    key: Uuid,
    sent: u64,
    acknowledged: u64,
}

/// The entry that the answer shows the site at.
fn site_seq(answer: &spindlebook_tests::answer::Answer) -> u64 {
    answer.header("x-site-seq").unwrap().parse().unwrap()
}

spindlebook_tests::on_both_engines! {
    async fn what_was_acknowledged_first_stands_first(engine) {
        let app = Arc::new(TestApp::new(engine).await);
        let (_, machines) = site::add_cell_of(&app.service.book, app.site, CLIENTS).await.unwrap();
        let begin = app.seq();
        // Instants of the test's own, and the newest entry that anybody was told of.
        let (instants, newest) = (Arc::new(AtomicU64::new(0)), Arc::new(AtomicU64::new(0)));
        let clients = machines.into_iter().map(|machine| {
            let (app, instants, newest) = (Arc::clone(&app), Arc::clone(&instants), Arc::clone(&newest));
            tokio::spawn(async move {
                let mut done = Vec::new();
                for round in 0..rounds() {
                    app.clock.advance_s(1);
                    let (act, body) = if round % 2 == 0 {
                        ("down", serde_json::json!({ "reason": "other" }))
                    } else {
                        ("up", serde_json::json!({}))
                    };
                    let (key, sent) = (Uuid::now_v7(), instants.fetch_add(1, Ordering::SeqCst));
                    let path = format!("/v1/machines/{machine}/{act}");
                    let answer = app.operator().post_with_key(&path, key, &body).await.expect_status(200);
                    let acknowledged = instants.fetch_add(1, Ordering::SeqCst);
                    newest.fetch_max(site_seq(&answer), Ordering::SeqCst);
                    done.push(Done { key, sent, acknowledged });
                    let known = newest.load(Ordering::SeqCst);
                    let read = app.viewer().get(&format!("/v1/machines/{machine}")).await.expect_status(200);
                    assert!(site_seq(&read) >= known, "a read after entry {known} shows {}", site_seq(&read));
                }
                done
            })
        });
        let clients: Vec<_> = clients.collect();
        let mut done = Vec::new();
        for client in clients {
            done.extend(client.await.unwrap());
        }
        let mut seqs = BTreeMap::new();
        let mut after = begin;
        while after < app.seq() {
            let page = app.viewer().get(&format!("/v1/ledger?after={after}&limit=200")).await.json();
            for entry in page["items"].as_array().unwrap() {
                after = entry["seq"].as_u64().unwrap();
                seqs.insert(entry["command_id"].as_str().unwrap().to_owned(), after);
            }
        }
        let seq = |one: &Done| seqs[&one.key.to_string()];
        let mut pairs = 0;
        for first in &done {
            for second in done.iter().filter(|second| first.acknowledged < second.sent) {
                assert!(seq(first) < seq(second), "{} before {}", first.key, second.key);
                pairs += 1;
            }
        }
        assert!(pairs > done.len(), "there were acts one after the other");
        assert_eq!(seqs.len(), CLIENTS * rounds());
    }
}

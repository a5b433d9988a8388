//! R1: SIGKILL under load, again and again.

use super::workshop::{CLIENTS, Workshop, answers};
use super::{any_moment, rounds};
use spindlebook_tests::postgres::DurableCluster;
use std::time::Duration;

const ROUNDS: usize = 20;

/// From the start of the process to the first whole 2xx. The figure to reach is two seconds at 100,000 entries with an
/// optimised build; tests are not optimised and share two cores with 64 clients.
const BACK_WITHIN: Duration = Duration::from_secs(20);

async fn nothing_is_lost_by_killing(mut workshop: Workshop, engine: &str) {
    workshop.service.start().await.unwrap();
    let load = workshop.load(CLIENTS);
    answers(&load, CLIENTS, BACK_WITHIN).await;
    let mut first_answers = Vec::new();
    for _ in 0..rounds(ROUNDS) {
        tokio::time::sleep(any_moment(300)).await;
        workshop.service.kill().unwrap();
        let ready = workshop.service.start().await.unwrap();
        first_answers.push(ready + answers(&load, CLIENTS, BACK_WITHIN).await);
    }
    let tally = load.finish().await;
    workshop.service.stop().unwrap();
    workshop.check(&tally).await;
    first_answers.sort();
    let twice = tally.acknowledged.iter().filter(|one| one.tries > 1).count();
    println!(
        "{engine}: {} kills, {} answers ({twice} after more than one try), none lost; first answer after {:?} (median), {:?} (worst)",
        first_answers.len(),
        tally.acknowledged.len(),
        first_answers[first_answers.len() / 2],
        first_answers[first_answers.len() - 1],
    );
    assert!(twice > 0, "no client was ever in doubt: the kills hit nothing");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn on_sqlite() {
    nothing_is_lost_by_killing(Workshop::on_sqlite().await, "SQLite").await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn on_postgres() {
    let cluster = DurableCluster::start().await.unwrap();
    let workshop = Workshop::on_postgres(&cluster, &cluster.url()).await;
    nothing_is_lost_by_killing(workshop, "PostgreSQL").await;
}

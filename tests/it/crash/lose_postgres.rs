//! R2: PostgreSQL dies, wholly or in part, while the service goes on.

use super::workshop::{Workshop, answers};
use super::{any_moment, rounds};
use reqwest::header::AUTHORIZATION;
use spindlebook_tests::cut_proxy::{Cut, CutProxy};
use spindlebook_tests::http_client;
use spindlebook_tests::postgres::DurableCluster;
use spindlebook_tests::signal::Signal;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};
use tokio::task::JoinHandle;

const ROUNDS: usize = 20;
/// Of all clients together between two losses: 5,000 in CI, 125,000 in `tests/soak`.
const ANSWERS_A_ROUND: usize = 250;
const CUTS: usize = 20;
const CLIENTS: usize = 32;

const AWAY: Duration = Duration::from_secs(8);

/// From the moment in which PostgreSQL takes queries again.
const BACK_WITHIN: Duration = Duration::from_secs(5);
/// The first answers of all, while everything is still cold.
const WARM_WITHIN: Duration = Duration::from_secs(30);

#[derive(Clone, Copy, Debug)]
enum Loss {
    BackendKilled,
    BackendQuit,
    ServerKilled,
    /// Stopped in good order, and away for longer than the service is ready to wait.
    ServerAway,
}

const QUICK: [Loss; 3] = [Loss::BackendKilled, Loss::ServerKilled, Loss::BackendQuit];
/// The long one comes once in so many rounds: it would take most of the time.
const AWAY_EVERY: usize = 10;

fn loss_of(round: usize) -> Loss {
    if round % AWAY_EVERY == AWAY_EVERY - 1 {
        Loss::ServerAway
    } else {
        QUICK[round % QUICK.len()]
    }
}

impl Loss {
    /// Afterwards PostgreSQL takes queries again.
    async fn strike(self, cluster: &mut DurableCluster) {
        let mut canary = cluster.connect().await.unwrap();
        match self {
            Self::BackendKilled => drop(cluster.signal_backend(Signal::Kill).await.unwrap()),
            Self::BackendQuit => drop(cluster.signal_backend(Signal::Quit).await.unwrap()),
            Self::ServerKilled => cluster.kill().unwrap(),
            Self::ServerAway => cluster.stop().unwrap(),
        }
        let away = match self {
            Self::BackendKilled | Self::BackendQuit => None,
            Self::ServerKilled => Some(any_moment(1_500)),
            Self::ServerAway => Some(AWAY),
        };
        if let Some(away) = away {
            tokio::time::sleep(away).await;
            cluster.restart().unwrap();
        }
        // After the loss of a backend PostgreSQL throws everybody else out too, but takes its time to notice.
        while sqlx::query("SELECT 1").execute(&mut canary).await.is_ok() {
            tokio::time::sleep(Duration::from_millis(1)).await;
        }
        while cluster.connect().await.is_err() {
            tokio::time::sleep(Duration::from_millis(10)).await;
        }
    }
}

/// Reads the cells again and again, as a page does.
struct Reader {
    stopping: Arc<AtomicBool>,
    reading: JoinHandle<(usize, Duration)>,
}

impl Reader {
    fn start(workshop: &Workshop) -> Self {
        let stopping = Arc::new(AtomicBool::new(false));
        let url = format!("{}/v1/cells", workshop.service.base_url());
        let (stop, token, http) = (
            Arc::clone(&stopping),
            Arc::clone(&workshop.token),
            http_client::new().unwrap(),
        );
        let reading = tokio::spawn(async move {
            let (mut reads, mut slowest) = (0, Duration::ZERO);
            while !stop.load(Ordering::SeqCst) {
                let began = Instant::now();
                let answer = http
                    .get(&url)
                    .header(AUTHORIZATION, format!("Bearer {}", token(CLIENTS)))
                    .send()
                    .await
                    .unwrap();
                assert_eq!(answer.status().as_u16(), 200, "{:?}", answer.text().await);
                assert!(
                    answer.headers().contains_key("X-Site-Seq"),
                    "a read says up to which entry it was made"
                );
                reads += 1;
                slowest = slowest.max(began.elapsed());
                tokio::time::sleep(Duration::from_millis(10)).await;
            }
            (reads, slowest)
        });
        Self { stopping, reading }
    }

    async fn finish(self) -> (usize, Duration) {
        self.stopping.store(true, Ordering::SeqCst);
        self.reading.await.unwrap()
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn postgres_dies_and_the_service_goes_on() {
    let mut cluster = DurableCluster::start().await.unwrap();
    let mut workshop = Workshop::on_postgres(&cluster, &cluster.url()).await;
    workshop.service.start().await.unwrap();
    let (load, reader) = (workshop.load(CLIENTS), Reader::start(&workshop));
    answers(&load, CLIENTS, WARM_WITHIN).await;
    let mut worst = Duration::ZERO;
    for round in 0..rounds(ROUNDS) {
        tokio::time::sleep(any_moment(300)).await;
        loss_of(round).strike(&mut cluster).await;
        worst = worst.max(answers(&load, CLIENTS, BACK_WITHIN).await);
        answers(&load, ANSWERS_A_ROUND, WARM_WITHIN).await;
    }
    let tally = load.finish().await;
    let (reads, slowest_read) = reader.finish().await;
    println!(
        "{} answers and {} times 503 over {} losses; back after {worst:?} at most; {reads} reads, the slowest {slowest_read:?}",
        tally.acknowledged.len(),
        tally.busy,
        rounds(ROUNDS),
    );
    workshop.check(&tally).await;
    assert!(tally.acknowledged.len() >= ANSWERS_A_ROUND * rounds(ROUNDS));
    assert!(
        tally.busy > 0,
        "no write was ever turned away: the losses hit nothing"
    );
    assert_eq!(tally.busy_without_retry_after, 0, "a 503 says when to come again");
    assert_eq!(tally.unanswered, 0, "the service itself never went away");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_commit_whose_answer_is_lost_is_resolved_by_its_key() {
    let cluster = DurableCluster::start().await.unwrap();
    let proxy = CutProxy::start(cluster.socket()).await.unwrap();
    let mut workshop = Workshop::on_postgres(&cluster, &proxy.url("spindlebook")).await;
    workshop.service.start().await.unwrap();
    let load = workshop.load(4);
    answers(&load, 4, WARM_WITHIN).await;
    for cut in [Cut::AfterCommit, Cut::BeforeCommit]
        .into_iter()
        .cycle()
        .take(2 * rounds(CUTS))
    {
        let before = proxy.cuts();
        proxy.cut_next(cut);
        answers(&load, 8, BACK_WITHIN).await;
        assert_eq!(
            proxy.cuts(),
            before + 1,
            "the clients went on, so their commits passed here"
        );
    }
    let tally = load.finish().await;
    workshop.check(&tally).await;
    println!(
        "{} commits cut off, {} answers, each command kept once",
        proxy.cuts(),
        tally.acknowledged.len()
    );
}

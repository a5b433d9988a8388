//! Nothing is acknowledged before it is durable, and nothing is answered that may not be true.

use super::{body_of, new_key, signal, submission};
use spindlebook::book::{Book, BookError, QUEUE_MAX, Submitted, create_site, verify};
use spindlebook::clock::SetClock;
use spindlebook_domain::ids::{MachineId, SiteId};
use spindlebook_store::{Store, StoreError};
use spindlebook_tests::cut_proxy::{Cut, CutProxy};
use spindlebook_tests::postgres::DurableCluster;
use std::sync::Arc;
use std::time::{Duration, Instant};
use uuid::Uuid;

struct Durable {
    cluster: DurableCluster,
    book: Book,
    store: Store,
    site: SiteId,
    machine: MachineId,
}

/// A site on a Postgres with fsync, reached by `url`.
async fn durable(cluster: DurableCluster, url: &str) -> Durable {
    let store = Store::open(url, 4).await.unwrap();
    let clock = Arc::new(SetClock::at(super::START));
    let (site, machine) = (SiteId(Uuid::now_v7()), MachineId(Uuid::now_v7()));
    create_site(&store, clock.as_ref(), super::open_site(site, "one"))
        .await
        .unwrap();
    let book = Book::open(store.clone(), clock, QUEUE_MAX).await.unwrap();
    book.submit(site, submission(new_key(), super::add_machine(machine, "M1")))
        .await
        .unwrap();
    Durable {
        cluster,
        book,
        store,
        site,
        machine,
    }
}

#[tokio::test]
async fn a_postgres_that_acknowledges_too_early_is_refused() {
    for setting in ["fsync", "synchronous_commit", "full_page_writes"] {
        let cluster = DurableCluster::with_settings(&format!("{setting} = off"))
            .await
            .unwrap();
        let refused = Store::open(&cluster.url(), 2).await;
        assert!(
            matches!(&refused, Err(StoreError::Refused(why)) if why.contains(&format!("{setting} = off"))),
            "{refused:?}"
        );
    }
    let cluster = DurableCluster::with_settings("synchronous_commit = local")
        .await
        .unwrap();
    Store::open(&cluster.url(), 2).await.unwrap();
}

/// The answer to COMMIT is lost, half of the time after the server has committed: it is looked up, and each command
/// has its effect once.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_commit_whose_answer_is_lost_is_looked_up_before_anything_is_decided_again() {
    let cluster = DurableCluster::start().await.unwrap();
    let proxy = CutProxy::start(cluster.socket()).await.unwrap();
    let url = proxy.url("spindlebook");
    let durable = durable(cluster, &url).await;
    let rounds = 20;
    for round in 0..rounds {
        proxy.cut_next(if round % 2 == 0 {
            Cut::AfterCommit
        } else {
            Cut::BeforeCommit
        });
        let (key, at_s) = (new_key(), round * 10 - 10_000);
        let sent = || {
            durable
                .book
                .submit(durable.site, submission(key, signal(durable.machine, at_s)))
        };
        let answered = sent().await.unwrap();
        assert_eq!(
            body_of(&answered),
            format!("[{}]", round + 4),
            "once, and in its place"
        );
        let again = sent().await.unwrap();
        assert!(matches!(again, Submitted::Repeat { .. }));
        assert_eq!(body_of(&again), body_of(&answered));
    }
    assert_eq!(proxy.cuts(), usize::try_from(rounds).unwrap());
    let report = verify(&durable.store, durable.site, None, &mut |_| {})
        .await
        .unwrap();
    assert_eq!(
        (report.head.seq, report.faults),
        (3 + u64::try_from(rounds).unwrap(), vec![])
    );
}

/// While the database is away every command is told to come back, reading goes on, and all goes on by itself after.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_database_that_goes_away_is_told_and_found_again() {
    let cluster = DurableCluster::start().await.unwrap();
    let url = cluster.url();
    let mut durable = durable(cluster, &url).await;
    let before = durable.book.shop(durable.site).unwrap();
    durable.cluster.kill().unwrap();
    let key = new_key();
    let sent = || submission(key, signal(durable.machine, -5));
    let refused = durable.book.submit(durable.site, sent()).await;
    assert_eq!(refused, Err(BookError::StorageUnavailable { retry_after_s: 1 }));
    assert_eq!(
        durable.book.shop(durable.site).unwrap(),
        before,
        "reading goes on"
    );
    let seq = durable.book.current(durable.site).unwrap().head.seq;
    durable.cluster.restart().unwrap();
    let back = Instant::now();
    let answered = loop {
        match durable.book.submit(durable.site, sent()).await {
            Ok(submitted) => break submitted,
            Err(error) => assert_eq!(error, BookError::StorageUnavailable { retry_after_s: 1 }),
        }
        assert!(
            back.elapsed() < Duration::from_secs(5),
            "back within five seconds"
        );
        tokio::time::sleep(Duration::from_millis(100)).await;
    };
    assert_eq!(body_of(&answered), format!("[{}]", seq + 1));
    let report = verify(&durable.store, durable.site, None, &mut |_| {})
        .await
        .unwrap();
    assert_eq!(report.faults, []);
}

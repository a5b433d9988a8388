use super::{Ledger, new_key, signal, submission};
use spindlebook::book::{Book, BookError};
use spindlebook_domain::actor::Actor;
use spindlebook_domain::entry::{Entry, Envelope, hash};
use spindlebook_domain::ids::{CommandId, Seq};
use spindlebook_store::site::{self, Head};
use spindlebook_store::{Writes, entry, outcome};
use spindlebook_tests::engine::Engine;
use spindlebook_tests::on_both_engines;
use std::sync::Arc;
use std::time::Duration;
use uuid::Uuid;

/// As a newer version of the service would: a sound entry of another kind, and the head moved on.
async fn append(ledger: &Ledger, kind: &str, payload: &[u8]) {
    let mut transaction = ledger.store.begin().await.unwrap();
    let was = site::lock(&mut transaction, ledger.site).await.unwrap().unwrap();
    let envelope = Envelope {
        seq: was.head.seq + 1,
        id: Uuid::now_v7(),
        command_id: CommandId(Uuid::now_v7()),
        kind: kind.to_owned(),
        schema: 1,
        occurred_at: super::START,
        recorded_at: was.head.recorded_at,
        actor: Actor::System,
        device: None,
    };
    let hash = hash(&was.head.hash, &envelope, payload);
    let head = Head {
        seq: envelope.seq,
        hash,
        recorded_at: envelope.recorded_at,
    };
    let entry = Entry {
        envelope,
        payload: payload.to_vec(),
        hash,
    };
    let mut writes = Writes::default();
    entry::append(&mut writes, [&entry]).unwrap();
    assert!(
        site::advance(&mut transaction, &was, &head, &writes)
            .await
            .unwrap()
    );
    transaction.commit().await.unwrap();
}

async fn is_halted(book: &Book, ledger: &Ledger, why: &str) {
    let sent = book
        .submit(ledger.site, submission(new_key(), signal(ledger.machine, 9)))
        .await;
    assert!(
        matches!(&sent, Err(BookError::Halted { reason }) if reason.contains(why)),
        "{sent:?}"
    );
    let current = book.current(ledger.site).unwrap();
    assert!(current.halted.unwrap().contains(why));
    assert_eq!(current.shop.machines.len(), 1, "reading goes on");
    assert!(book.entries_after(ledger.site, 0, 10).await.unwrap().len() >= 3);
}

on_both_engines! {
    async fn an_unknown_kind_halts_the_writer_and_is_never_skipped(engine) {
        let ledger = Ledger::new(engine).await;
        append(&ledger, "pallet.teleported", b"{}").await;
        is_halted(&ledger.book, &ledger, "unknown entry kind `pallet.teleported`").await;
        is_halted(&ledger.opened_again().await, &ledger, "entry 4: unknown entry kind").await;
        assert_eq!(ledger.book.entries_after(ledger.site, 0, 10).await.unwrap().len(), 4);
    }

    async fn a_payload_that_does_not_read_halts_the_writer(engine) {
        let ledger = Ledger::new(engine).await;
        append(&ledger, "machine.changed", b"{\"machine\":1}").await;
        is_halted(&ledger.book, &ledger, "payload of a `machine.changed` entry").await;
    }

    async fn a_quiet_service_halts_too_as_soon_as_it_sees_the_entry(engine) {
        let ledger = Ledger::new(engine).await;
        append(&ledger, "pallet.teleported", b"{}").await;
        let mut current = ledger.book.watch(ledger.site).unwrap();
        let seen = tokio::time::timeout(Duration::from_secs(1), current.wait_for(|now| now.halted.is_some())).await;
        assert!(seen.unwrap().is_ok());
    }

    async fn past_its_queue_a_site_says_that_it_is_busy(engine) {
        let ledger = Ledger::new(engine).await;
        let clock = Arc::clone(&ledger.clock) as Arc<dyn spindlebook::clock::Clock>;
        let book = Book::open(ledger.store.clone(), clock, 2).await.unwrap();
        // Nothing gets through while somebody else holds the site.
        let mut held = ledger.store.begin().await.unwrap();
        site::lock(&mut held, ledger.site).await.unwrap();
        let mut waiting = tokio::task::JoinSet::new();
        let mut send = |at_s| {
            let (book, site, machine) = (book.clone(), ledger.site, ledger.machine);
            waiting.spawn(async move { book.submit(site, submission(new_key(), signal(machine, at_s))).await })
        };
        // One is in the writer's hands, two wait in the queue.
        for at_s in 0..3 {
            send(at_s);
            tokio::time::sleep(Duration::from_millis(50)).await;
        }
        let refused = book.submit(ledger.site, submission(new_key(), signal(ledger.machine, 3))).await;
        assert_eq!(refused, Err(BookError::Busy { retry_after_s: 1 }));
        drop(held);
        assert!(waiting.join_all().await.iter().all(Result::is_ok));
    }

    async fn a_site_that_is_not_there_is_told(engine) {
        let ledger = Ledger::new(engine).await;
        let other = spindlebook_domain::ids::SiteId(Uuid::now_v7());
        let sent = ledger.book.submit(other, submission(new_key(), signal(ledger.machine, 0))).await;
        assert_eq!(sent, Err(BookError::UnknownSite(other)));
        assert!(ledger.book.shop(other).is_none());
    }

    async fn an_orderly_stop_finishes_what_waits(engine) {
        let ledger = Ledger::new(engine).await;
        let sent: Vec<_> = (0..20)
            .map(|n| {
                let (book, site, sent) = (ledger.book.clone(), ledger.site, submission(new_key(), signal(ledger.machine, n)));
                tokio::spawn(async move { book.submit(site, sent).await })
            })
            .collect();
        tokio::task::yield_now().await;
        ledger.book.stop().await;
        let mut taken = 0;
        for answer in futures_util::future::join_all(sent).await {
            match answer.unwrap() {
                Ok(_) => taken += 1,
                Err(error) => assert!(matches!(error, BookError::Halted { .. }), "{error:?}"),
            }
        }
        let entries = ledger.book.entries_after(ledger.site, 3, 100).await.unwrap();
        assert_eq!(entries.len(), taken);
        let late = ledger.submit(new_key(), signal(ledger.machine, 99)).await;
        assert!(matches!(late, Err(BookError::Halted { .. })));
    }

    async fn an_answer_that_was_stored_is_never_lost_with_its_writer(engine) {
        let ledger = Ledger::new(engine).await;
        let (key, seq) = sent_and_left(&ledger).await;
        ledger.book.stop().await;
        let principal = Actor::Person(spindlebook_domain::ids::PrincipalId(Uuid::from_u128(7))).to_string();
        let mut session = ledger.store.session().await.unwrap();
        let found = outcome::find(&mut session, ledger.site, [(principal.as_str(), key)]).await.unwrap();
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].entries, Some((seq, seq)));
    }
}

/// A command whose sender went away before the answer, and the entry that it will give. On a busy machine the writer can
/// answer before anybody gets to leave; then another one is sent.
async fn sent_and_left(ledger: &Ledger) -> (CommandId, Seq) {
    for n in 0..100 {
        let key = new_key();
        let gone = ledger.submit(key, signal(ledger.machine, n));
        if tokio::time::timeout(Duration::ZERO, gone).await.is_err() {
            return (key, 4 + n.unsigned_abs());
        }
    }
    panic!("every one of a hundred commands was answered before its sender could leave");
}

#[tokio::test]
async fn a_ledger_that_went_back_halts_the_writer() {
    let ledger = Ledger::new(Engine::Sqlite).await;
    ledger.does(signal(ledger.machine, 0)).await;
    let raw = ledger.drop_triggers().await;
    sea_orm::ConnectionTrait::execute_unprepared(
        &raw,
        "DELETE FROM entry WHERE seq = 4; UPDATE site SET head_seq = 3, turn = turn + 1, \
         head_hash = (SELECT hash FROM entry WHERE seq = 3)",
    )
    .await
    .unwrap();
    is_halted(&ledger.book, &ledger, "went back from entry 4 to 3").await;
}

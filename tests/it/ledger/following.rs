use super::{Ledger, new_key, signal, submission};
use spindlebook_tests::on_both_engines;
use std::time::Duration;

const ONE_SECOND: Duration = Duration::from_secs(1);

on_both_engines! {
    async fn a_service_follows_what_another_one_writes(engine) {
        let ledger = Ledger::new(engine).await;
        let other = ledger.another_book().await;
        let mut published = other.subscribe(ledger.site).unwrap();
        ledger.does(signal(ledger.machine, 0)).await;
        let seq = ledger.seq();
        let current = other.current_at(ledger.site, seq, ONE_SECOND).await.unwrap();
        assert_eq!(current.shop, ledger.book.shop(ledger.site).unwrap());
        let entries = tokio::time::timeout(ONE_SECOND, published.recv()).await.unwrap().unwrap();
        assert_eq!(entries.last().unwrap().entry.envelope.seq, seq);
    }

    async fn listeners_get_the_entries_of_each_commit_in_order(engine) {
        let ledger = Ledger::new(engine).await;
        let mut published = ledger.book.subscribe(ledger.site).unwrap();
        let sent = (0..20).map(|n| ledger.book.submit(ledger.site, submission(new_key(), signal(ledger.machine, n))));
        futures_util::future::join_all(sent).await;
        let mut heard = Vec::new();
        while heard.len() < 20 {
            heard.extend(published.recv().await.unwrap().iter().map(|recorded| recorded.entry.clone()));
        }
        assert_eq!(heard, ledger.book.entries_after(ledger.site, 3, 100).await.unwrap());
    }

    async fn a_state_that_does_not_come_is_not_waited_for(engine) {
        let ledger = Ledger::new(engine).await;
        let none = ledger.book.current_at(ledger.site, 1_000, Duration::from_millis(50)).await;
        assert!(none.is_none());
    }
}

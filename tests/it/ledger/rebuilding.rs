//! What a running service keeps of the read tables does not outlive a rebuild by another process.

use super::{Ledger, START, new_key, signal, signals, state, submission};
use sea_orm::ConnectionTrait;
use spindlebook::book::{rebuild, verify};
use spindlebook::hours::{Hours, HoursRequest, HoursSource};
use spindlebook_domain::hours::rows::{By, DayRule};
use spindlebook_domain::time::Window;
use spindlebook_tests::on_both_engines;
use std::time::Duration;

const DAY_S: i64 = 86_400;

/// As after a fault on the disk, or a fault of an older version.
async fn lose_rows(ledger: &Ledger) {
    let raw = ledger.raw().await;
    raw.execute_unprepared("DELETE FROM stretch").await.unwrap();
}

/// In cut within the first two days.
async fn in_cut_s(ledger: &Ledger, hours: &Hours) -> i64 {
    let shop = ledger.book.shop(ledger.site).unwrap();
    let request = HoursRequest {
        cell: shop.machines.get(&ledger.machine).unwrap().cell,
        machine: None,
        window: Window::new(START, START.plus_s(2 * DAY_S)),
        by: By::Day,
        rule: DayRule::Calendar,
    };
    let source = HoursSource {
        site: ledger.site,
        shop,
        as_of: ledger.book.now(),
        rebuilds: ledger.book.rebuilds(ledger.site),
    };
    hours.report(&source, &request).await.unwrap().total.realised_s()
}

on_both_engines! {
    async fn hours_are_computed_anew_after_a_rebuild(engine) {
        let ledger = Ledger::new(engine).await;
        ledger.clock.set(START.plus_s(10 * DAY_S));
        let rows = (0..100).map(|n| (START.plus_s(n * 600), state(n))).collect();
        assert_eq!(ledger.does(signals(ledger.machine, rows)).await, 201);
        let right = in_cut_s(&ledger, &Hours::new(ledger.store.clone())).await;
        assert_eq!(right, 50 * 600);
        lose_rows(&ledger).await;
        let hours = Hours::new(ledger.store.clone());
        assert_eq!(in_cut_s(&ledger, &hours).await, 0);
        rebuild(&ledger.store, ledger.site, &mut |_| {}).await.unwrap();
        let mut current = ledger.book.watch(ledger.site).unwrap();
        let seen = tokio::time::timeout(Duration::from_secs(2), current.wait_for(|now| now.rebuilds == 1));
        assert!(seen.await.unwrap().is_ok());
        assert_eq!(in_cut_s(&ledger, &hours).await, right);
    }

    async fn a_writer_forgets_the_rows_that_it_knew_before_a_rebuild(engine) {
        let ledger = Ledger::new(engine).await;
        ledger.clock.set(START.plus_s(DAY_S));
        for at_s in 0..3 {
            ledger.does(signal(ledger.machine, at_s)).await;
        }
        lose_rows(&ledger).await;
        // This one has read that the day is empty.
        let other = ledger.another_book().await;
        for at_s in [3, 4] {
            other.submit(ledger.site, submission(new_key(), signal(ledger.machine, at_s))).await.unwrap();
            if at_s == 3 {
                rebuild(&ledger.store, ledger.site, &mut |_| {}).await.unwrap();
            }
        }
        let report = verify(&ledger.store, ledger.site, None, &mut |_| {}).await.unwrap();
        assert!(report.is_sound(), "{:?}", report.faults);
    }
}

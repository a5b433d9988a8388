use super::{Ledger, add_machine, new_key, signal, submission};
use spindlebook::book::{Book, Submitted};
use spindlebook_domain::ids::MachineId;
use spindlebook_tests::on_both_engines;
use std::time::Duration;
use uuid::Uuid;

/// What a submitter saw: the last seq that it knew of before it sent, and the seqs that it got.
struct Act {
    known_before: u64,
    got: Vec<u64>,
}

async fn submitter(book: Book, ledger: &Ledger, number: i64, count: i64) -> Vec<Act> {
    let mut acts = Vec::new();
    for n in 0..count {
        let known_before = book.current(ledger.site).unwrap().head.seq;
        // Every fifth command gives two entries: a machine and its cell.
        let sent = if n % 5 == 0 {
            submission(
                new_key(),
                add_machine(MachineId(Uuid::now_v7()), &format!("S{number}-{n}")),
            )
        } else {
            submission(new_key(), signal(ledger.machine, number * 1_000 + n))
        };
        let Submitted::First(answer) = book.submit(ledger.site, sent).await.unwrap() else {
            panic!("a new key is answered for the first time")
        };
        assert_eq!(answer.status, 201, "{:?}", String::from_utf8(answer.body));
        let got: Vec<u64> = serde_json::from_slice(&answer.body).unwrap();
        assert!(
            book.current(ledger.site).unwrap().head.seq >= got[0],
            "whoever was answered sees it"
        );
        acts.push(Act { known_before, got });
    }
    acts
}

async fn all_in_order(ledger: &Ledger, books: &[Book], each: i64) {
    ledger.clock.set(super::START.plus_s(86_400));
    let submitters = (0..8).map(|number| {
        let book = books[usize::try_from(number).unwrap() % books.len()].clone();
        submitter(book, ledger, number, each)
    });
    let acts: Vec<_> = futures_util::future::join_all(submitters)
        .await
        .into_iter()
        .flatten()
        .collect();
    let mut seqs: Vec<_> = acts.iter().flat_map(|act| act.got.clone()).collect();
    seqs.sort_unstable();
    let last = 3 + u64::try_from(8 * (each + each.div_euclid(5))).unwrap();
    assert_eq!(
        seqs,
        (4..=last).collect::<Vec<_>>(),
        "each seq once and none left out"
    );
    for act in &acts {
        assert!(
            act.got.is_sorted_by(|a, b| a + 1 == *b),
            "a command's entries stand together"
        );
        assert!(act.got[0] > act.known_before, "what was seen before comes before");
    }
    let entries = ledger.book.entries_after(ledger.site, 0, 10_000).await.unwrap();
    assert_eq!(entries.len() as u64, last);
    for book in books {
        let current = book
            .current_at(ledger.site, last, Duration::from_secs(2))
            .await
            .unwrap();
        assert_eq!(current.shop, books[0].shop(ledger.site).unwrap());
    }
    let again = ledger.opened_again().await;
    assert_eq!(again.shop(ledger.site), ledger.book.shop(ledger.site));
    let report = spindlebook::book::verify(&ledger.store, ledger.site, None, &mut |_| {})
        .await
        .unwrap();
    assert_eq!(report.faults, []);
}

on_both_engines! {
    async fn single_entries_are_found_by_their_numbers(engine) {
        let ledger = Ledger::new(engine).await;
        for at_s in 0..300 {
            ledger.submit(new_key(), signal(ledger.machine, at_s - 1_000)).await.unwrap();
        }
        let all = ledger.book.entries_after(ledger.site, 0, 1_000).await.unwrap();
        let wanted: Vec<u64> = (1..=303).rev().step_by(2).chain([5, 5, 9_999]).collect();
        let found = ledger.book.entries_at(ledger.site, &wanted).await.unwrap();
        let right: Vec<_> = all.into_iter().filter(|entry| entry.envelope.seq % 2 == 1).collect();
        assert_eq!(found, right);
    }

    async fn eight_submitters_leave_no_gap(engine) {
        let ledger = Ledger::new(engine).await;
        all_in_order(&ledger, std::slice::from_ref(&ledger.book), 50).await;
    }

    async fn two_services_on_one_database_leave_no_gap(engine) {
        let ledger = Ledger::new(engine).await;
        let books = [ledger.book.clone(), ledger.another_book().await];
        all_in_order(&ledger, &books, 25).await;
    }

    async fn recorded_at_never_goes_back_whatever_the_clock_does(engine) {
        let ledger = Ledger::new(engine).await;
        for (hours, at_s) in [(1, 1), (0, 2), (-24, 3), (0, 4), (2, 5)] {
            ledger.clock.set(super::START.plus_s(hours * 3_600));
            ledger.does(signal(ledger.machine, at_s - 100)).await;
        }
        let entries = ledger.book.entries_after(ledger.site, 3, 10).await.unwrap();
        let recorded: Vec<_> =
            entries.iter().map(|entry| entry.envelope.recorded_at.since_us(super::START) / 3_600_000_000).collect();
        assert_eq!(recorded, [1, 1, 1, 1, 2]);
    }
}

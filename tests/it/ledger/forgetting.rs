//! Outcomes are kept as long as the documents say, and nothing needs them afterwards.

use super::{Ledger, START, new_key, signal, submission};
use spindlebook::book::{Submission, Submitted, forget_outcomes, rebuild, verify};
use spindlebook::clock::Clock;
use spindlebook_domain::actor::Actor;
use spindlebook_domain::ids::{CommandId, PrincipalId};
use spindlebook_tests::on_both_engines;
use uuid::Uuid;

const DAY_S: i64 = 86_400;

/// From one of these, at so many seconds.
fn sent_by(actor: Actor, device: Option<&str>, key: CommandId, ledger: &Ledger, at_s: i64) -> Submission {
    Submission {
        actor,
        device: device.map(str::to_owned),
        ..submission(key, signal(ledger.machine, at_s))
    }
}

on_both_engines! {
    // 24 hours and 90 days: docs/http-api.md, common practice, no source.
    async fn an_outcome_is_kept_as_long_as_the_documents_say(engine) {
        let ledger = Ledger::new(engine).await;
        let (person, client) = (PrincipalId(Uuid::from_u128(7)), PrincipalId(Uuid::from_u128(8)));
        let senders = [
            (Actor::Person(person), None, DAY_S),
            (Actor::System, None, DAY_S),
            (Actor::Client(client), None, 90 * DAY_S),
            (Actor::Person(person), Some("tablet 3"), 90 * DAY_S),
        ];
        let keys = senders.map(|_| new_key());
        let send = async |number: usize, at_s: i64| {
            let (actor, device, _) = senders[number];
            let sent = sent_by(actor, device, keys[number], &ledger, i64::try_from(number).unwrap() + at_s);
            ledger.book.submit(ledger.site, sent).await.unwrap()
        };
        for number in 0..senders.len() {
            assert!(matches!(send(number, -100).await, Submitted::First(_)));
        }
        for after_s in [DAY_S, 90 * DAY_S] {
            ledger.clock.set(START.plus_s(after_s));
            forget_outcomes(&ledger.store, ledger.clock.now()).await.unwrap();
            for (number, (.., kept_s)) in senders.iter().enumerate() {
                // To the second on which its time is over it is there.
                if *kept_s >= after_s {
                    assert!(matches!(send(number, -100).await, Submitted::Repeat { .. }), "{number} after {after_s} s");
                }
            }
            ledger.clock.set(START.plus_s(after_s + 1));
            // The site's opening and the machine came from the system and from a person, at the start as well.
            let gone = if after_s == DAY_S { 2 + 2 } else { 2 };
            assert_eq!(forget_outcomes(&ledger.store, ledger.clock.now()).await.unwrap(), gone);
            assert_eq!(forget_outcomes(&ledger.store, ledger.clock.now()).await.unwrap(), 0);
        }
        for number in 0..senders.len() {
            assert!(matches!(send(number, -50).await, Submitted::First(_)), "the key counts as new: {number}");
        }
    }

    async fn without_any_outcome_the_ledger_verifies_and_its_rows_are_built_the_same(engine) {
        let ledger = Ledger::new(engine).await;
        ledger.some_history().await;
        let before = ledger.book.current(ledger.site).unwrap();
        // More than are removed at once.
        let many = (0..1_100).map(|n| ledger.submit(new_key(), signal(ledger.machine, 300_000 + n)));
        futures_util::future::join_all(many).await;
        let seq = ledger.seq();
        assert!(seq > before.head.seq);
        let far = ledger.clock.now().plus_s(91 * DAY_S);
        assert!(forget_outcomes(&ledger.store, far).await.unwrap() > 1_100);
        let report = verify(&ledger.store, ledger.site, None, &mut |_| {}).await.unwrap();
        assert!(report.is_sound(), "{:?}", report.faults);
        assert_eq!(report.head.seq, seq);
        let rebuilt = rebuild(&ledger.store, ledger.site, &mut |_| {}).await.unwrap();
        assert_eq!(rebuilt.rows, report.rows_compared);
        ledger.book.stop().await;
        let shop = ledger.book.shop(ledger.site).unwrap();
        // From the snapshot that stopping left, and from the entries alone.
        assert_eq!(ledger.opened_again().await.shop(ledger.site).unwrap(), shop);
        let raw = ledger.raw().await;
        sea_orm::ConnectionTrait::execute_unprepared(&raw, "DELETE FROM snapshot").await.unwrap();
        assert_eq!(ledger.opened_again().await.shop(ledger.site).unwrap(), shop);
    }
}

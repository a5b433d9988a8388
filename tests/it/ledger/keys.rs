use super::{Ledger, add_machine, body_of, new_key, signal, submission};
use spindlebook::book::{BookError, PrivateRows, Submitted};
use spindlebook_domain::access::{AddPrincipal, PrincipalKind};
use spindlebook_domain::actor::Actor;
use spindlebook_domain::ids::{MachineId, PrincipalId, TextId};
use spindlebook_domain::role::Role;
use spindlebook_store::private::{self, AccountChange, PrivateText};
use spindlebook_tests::on_both_engines;
use std::collections::BTreeSet;
use uuid::Uuid;

on_both_engines! {
    async fn a_repeated_key_gets_the_same_bytes_and_has_no_effect(engine) {
        let ledger = Ledger::new(engine).await;
        let key = new_key();
        let first = ledger.submit(key, signal(ledger.machine, 0)).await.unwrap();
        let seq = ledger.seq();
        ledger.clock.advance_s(60);
        let other = ledger.another_book().await;
        for book in [&ledger.book, &other, &ledger.opened_again().await] {
            let again = book.submit(ledger.site, submission(key, signal(ledger.machine, 0))).await.unwrap();
            let Submitted::Repeat { answer, first_given_at } = again else { panic!("{again:?}") };
            assert_eq!(Submitted::First(answer), first);
            assert_eq!(first_given_at, super::START);
        }
        assert_eq!(ledger.seq(), seq);
    }

    async fn a_refusal_is_kept_under_its_key_too(engine) {
        let ledger = Ledger::new(engine).await;
        let (key, unknown) = (new_key(), MachineId(Uuid::now_v7()));
        let refused = ledger.submit(key, signal(unknown, 0)).await.unwrap();
        assert_eq!(body_of(&refused), "machine.unknown");
        let seq = ledger.seq();
        // Now the machine exists, and the answer under the key is still the first one.
        assert_eq!(ledger.does(add_machine(unknown, "M2")).await, 201);
        let again = ledger.submit(key, signal(unknown, 0)).await.unwrap();
        assert!(matches!(again, Submitted::Repeat { .. }));
        assert_eq!(body_of(&again), "machine.unknown");
        assert_eq!(ledger.seq(), seq + 2);
    }

    async fn a_key_is_not_used_for_another_request(engine) {
        let ledger = Ledger::new(engine).await;
        let key = new_key();
        ledger.submit(key, signal(ledger.machine, 0)).await.unwrap();
        let other = ledger.submit(key, signal(ledger.machine, 1)).await;
        assert!(matches!(other, Err(BookError::KeyReused { .. })), "{other:?}");
        // The key belongs to who sent it: somebody else may have chosen the same one.
        let somebody_else = Actor::Client(PrincipalId(Uuid::from_u128(8)));
        let theirs = spindlebook::book::Submission {
            actor: somebody_else,
            ..submission(key, signal(ledger.machine, 1))
        };
        assert!(matches!(ledger.book.submit(ledger.site, theirs).await, Ok(Submitted::First(_))));
    }

    /// R7: fifty at once with one new key, among them some with another body, over two services.
    async fn of_fifty_at_once_with_one_key_one_has_an_effect(engine) {
        let ledger = Ledger::new(engine).await;
        let other = ledger.another_book().await;
        for round in 0..4 {
            let (key, seq) = (new_key(), ledger.seq());
            let sent = (0..50).map(|n| {
                let book = if n % 2 == 0 { &ledger.book } else { &other };
                let at_s = if n % 10 == 9 { round * 10 + 1 } else { round * 10 };
                book.submit(ledger.site, submission(key, signal(ledger.machine, at_s - 10_000)))
            });
            let answers = futures_util::future::join_all(sent).await;
            let firsts: Vec<_> = answers.iter().filter(|answer| matches!(answer, Ok(Submitted::First(_)))).collect();
            assert_eq!(firsts.len(), 1, "{answers:?}");
            let bodies: BTreeSet<_> = answers.iter().flatten().map(body_of).collect();
            assert_eq!(bodies.len(), 1);
            let reused = answers.iter().filter(|answer| matches!(answer, Err(BookError::KeyReused { .. }))).count();
            assert!(reused == 5 || reused == 45, "the other body is refused every time: {reused}");
            assert_eq!(answers.iter().flatten().count() + reused, 50);
            let entries = ledger.book.entries_after(ledger.site, seq, 10).await.unwrap();
            assert_eq!(entries.len(), 1);
        }
    }

    /// R7: two want the same code for a machine; one wins, the other is told why not.
    async fn of_two_at_once_for_one_code_one_wins(engine) {
        let ledger = Ledger::new(engine).await;
        let other = ledger.another_book().await;
        for round in 0..25 {
            let add = || submission(new_key(), add_machine(MachineId(Uuid::now_v7()), &format!("R{round}")));
            let (a, b) = tokio::join!(ledger.book.submit(ledger.site, add()), other.submit(ledger.site, add()));
            let mut bodies = [body_of(&a.unwrap()), body_of(&b.unwrap())];
            bodies.sort();
            assert!(bodies[0].starts_with('['), "{bodies:?}");
            assert!(bodies[1].ends_with("code-taken"), "{bodies:?}");
        }
    }

    async fn private_rows_stand_or_fall_with_their_command(engine) {
        let ledger = Ledger::new(engine).await;
        let add = |login: &str, roles: &[Role]| {
            let id = PrincipalId(Uuid::now_v7());
            let account = AccountChange::Add {
                id,
                kind: PrincipalKind::Person,
                login: login.to_owned(),
                display_name: Some("Somebody".to_owned()),
                secret_hash: None,
            };
            let command =
                AddPrincipal { principal: id, kind: PrincipalKind::Person, roles: roles.iter().copied().collect() };
            let text = PrivateText {
                id: TextId(id.0),
                salt: [1; 16],
                body: Some("a note".to_owned()),
                forgotten_at: None,
            };
            spindlebook::book::Submission {
                private: PrivateRows { texts: vec![text], account: Some(account) },
                ..submission(new_key(), command)
            }
        };
        let both = [add("ada", &[Role::Operator]), add("ada", &[Role::Planner])];
        let texts: Vec<_> = both.iter().map(|sent| sent.private.texts[0].id).collect();
        let answers =
            futures_util::future::join_all(both.map(|sent| ledger.book.submit(ledger.site, sent))).await;
        let bodies: Vec<_> = answers.iter().flatten().map(body_of).collect();
        assert_eq!(bodies, ["[4]", "principal.login-taken"]);
        let later = ledger.book.submit(ledger.site, add("ada", &[Role::Operator])).await.unwrap();
        assert_eq!(body_of(&later), "principal.login-taken");
        assert_eq!(body_of(&ledger.book.submit(ledger.site, add("eve", &[])).await.unwrap()), "principal.no-roles");
        let mut session = ledger.store.session().await.unwrap();
        assert!(private::is_login_taken(&mut session, ledger.site, "ada").await.unwrap());
        assert!(!private::is_login_taken(&mut session, ledger.site, "eve").await.unwrap());
        let kept = private::texts(&mut session, ledger.site, &texts).await.unwrap();
        assert_eq!(kept.iter().map(|text| text.id).collect::<Vec<_>>(), [texts[0]]);
    }

    /// A command that the database cannot take fails alone; those that waited beside it are taken.
    async fn a_command_that_the_database_refuses_fails_alone(engine) {
        let ledger = Ledger::new(engine).await;
        let text = |body: &str| PrivateText {
            id: TextId(Uuid::from_u128(1)),
            salt: [0; 16],
            body: Some(body.to_owned()),
            forgotten_at: None,
        };
        let with_text = |at_s: i64| spindlebook::book::Submission {
            private: PrivateRows { texts: vec![text("x")], account: None },
            ..submission(new_key(), signal(ledger.machine, at_s))
        };
        ledger.book.submit(ledger.site, with_text(1)).await.unwrap();
        // The same id for another text: the key of its row exists.
        let sent = [with_text(2), submission(new_key(), signal(ledger.machine, 3)), with_text(4)];
        let answers =
            futures_util::future::join_all(sent.map(|sent| ledger.book.submit(ledger.site, sent))).await;
        assert!(matches!(answers[0], Err(BookError::Fault(_))));
        assert_eq!(body_of(answers[1].as_ref().unwrap()), "[5]");
        assert!(matches!(answers[2], Err(BookError::Fault(_))));
    }
}

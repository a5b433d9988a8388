//! A writer that ends in a panic: nobody is told that all is well.

use serde_json::json;
use spindlebook::book::{BookError, PrivateRows, Submission};
use spindlebook_domain::actor::Actor;
use spindlebook_domain::ids::{CellId, CommandId, MachineId};
use spindlebook_domain::machine::{AddMachine, Placement};
use spindlebook_tests::app::TestApp;
use std::time::Duration;
use uuid::Uuid;

fn that_panics() -> Submission {
    Submission {
        actor: Actor::System,
        device: None,
        key: CommandId(Uuid::now_v7()),
        fingerprint: [7; 32],
        occurred_at: None,
        command: AddMachine {
            machine: MachineId(Uuid::now_v7()),
            placement: Placement::Standalone(CellId(Uuid::now_v7())),
            code: "M1".parse().unwrap(),
            name: "Mill".parse().unwrap(),
            silent_after_s: None,
        }
        .into(),
        private: PrivateRows::default(),
        answer: Box::new(|_| panic!("the answer fell over")),
    }
}

spindlebook_tests::on_both_engines! {
    async fn a_panic_in_the_writer_halts_its_site_and_readiness_says_so(engine) {
        let app = TestApp::new(engine).await;
        let book = &app.service.book;
        app.anonymous().get("/health/ready").await.expect_status(200);
        let sent = book.submit(app.site, that_panics()).await;
        assert!(matches!(sent, Err(BookError::Halted { .. })), "{sent:?}");
        let mut current = book.watch(app.site).unwrap();
        let seen = tokio::time::timeout(Duration::from_secs(2), current.wait_for(|now| now.halted.is_some())).await;
        assert!(seen.unwrap().is_ok());
        let later = book.submit(app.site, that_panics()).await;
        assert!(
            matches!(&later, Err(BookError::Halted { reason }) if reason.contains("the answer fell over")),
            "{later:?}"
        );
        let ready = app.anonymous().get("/health/ready").await.expect_status(503);
        ready.expect_problem(503, "service.halted");
        assert!(!ready.text().contains("the answer fell over"), "the reason is for the log: {}", ready.text());
        let body = json!({ "code": "M2", "name": "Mill" });
        app.planner().post("/v1/machines", &body).await.expect_status(503);
        // The other site has a writer of its own, and reading goes on.
        app.viewer().get("/v1/machines").await.expect_status(200);
        assert!(book.current(app.other_site).unwrap().halted.is_none());
    }
}

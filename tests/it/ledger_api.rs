//! The ledger by HTTP: anybody can check the chain with what is given.

use crate::served::Served;
use serde_json::json;
use sha2::{Digest, Sha256};
use spindlebook_tests::caller::Caller;
use spindlebook_tests::{http_client, on_both_engines};

const NOW: &str = "2026-11-02T12:00:00Z";

/// Written from the description of the hash, not from the code that makes it: every field preceded by its length.
fn hash_of(entry: &serde_json::Value) -> String {
    let mut digest = Sha256::new();
    let mut field = |bytes: &[u8]| {
        digest.update((bytes.len() as u64).to_be_bytes());
        digest.update(bytes);
    };
    let text = |name: &str| entry[name].as_str().unwrap();
    let uuid = |name: &str| *uuid::Uuid::parse_str(text(name)).unwrap().as_bytes();
    field(&hex::decode(text("previous_hash")).unwrap());
    field(&entry["seq"].as_u64().unwrap().to_be_bytes());
    field(&uuid("id"));
    field(&uuid("command_id"));
    field(text("kind").as_bytes());
    field(
        &u16::try_from(entry["schema"].as_u64().unwrap())
            .unwrap()
            .to_be_bytes(),
    );
    field(&entry["occurred_at_us"].as_i64().unwrap().to_be_bytes());
    field(&entry["recorded_at_us"].as_i64().unwrap().to_be_bytes());
    field(text("actor").as_bytes());
    assert!(entry["device"].is_null());
    digest.update(u64::MAX.to_be_bytes());
    digest.update((text("payload_text").len() as u64).to_be_bytes());
    digest.update(text("payload_text").as_bytes());
    hex::encode(digest.finalize())
}

/// As administrators ask on their own listener.
async fn details_of(served: &Served) -> serde_json::Value {
    let socket = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
    let bound = served.service.listen_for_metrics(socket).unwrap();
    let (handle, base_url) = (bound.server.handle(), format!("http://{}", bound.address));
    tokio::spawn(bound.server);
    let caller = Caller::anonymous(http_client::new().unwrap(), &base_url);
    let details = caller.get("/health/ready").await.expect_status(200).json();
    drop(handle.stop(false));
    details
}

on_both_engines! {
    async fn the_chain_can_be_checked_page_by_page(engine) {
        let served = Served::at(engine, NOW).await;
        for code in ["M1", "M2", "M3"] {
            served.add_machine(code).await;
        }
        let (mut after, mut previous, mut seen) = (0, "0".repeat(64), 0);
        loop {
            let page = served
                .viewer()
                .get(&format!("/v1/ledger?after={after}&limit=4"))
                .await
                .expect_status(200)
                .json();
            assert_eq!(page["head_seq"], served.seq());
            for entry in page["items"].as_array().unwrap() {
                seen += 1;
                assert_eq!(
                    (&entry["seq"], entry["previous_hash"].as_str()),
                    (&json!(seen), Some(previous.as_str()))
                );
                previous = entry["hash"].as_str().unwrap().to_owned();
                assert_eq!(hash_of(entry), previous, "{entry}");
                let read: serde_json::Value =
                    serde_json::from_str(entry["payload_text"].as_str().unwrap()).unwrap();
                assert_eq!(read, entry["payload"]);
            }
            match page["next_after"].as_u64() {
                Some(next) => after = next,
                None => break,
            }
        }
        assert_eq!(seen, served.seq());
        let details = details_of(&served).await;
        let site = served.site.to_string();
        let ready = details["sites"].as_array().unwrap().iter().find(|shown| shown["id"] == site).unwrap();
        assert_eq!((&ready["chain_head"], &ready["lag"]), (&json!(previous), &json!(0)));
        assert_eq!(ready["seq"], served.seq());
    }

    async fn readiness_tells_nothing_of_the_sites_to_whoever_asks(engine) {
        let served = Served::at(engine, NOW).await;
        let ready = served.anonymous().get("/health/ready").await.expect_status(200).json();
        assert_eq!(ready, json!({"status": "ready", "storage": engine.name()}));
    }

    async fn one_entry_is_shown_for_ever_the_same(engine) {
        let served = Served::at(engine, NOW).await;
        served.add_machine("M1").await;
        let head = served.seq();
        let entry = served
            .viewer()
            .get(&format!("/v1/ledger/{head}"))
            .await
            .expect_status(200);
        assert_eq!(
            (&entry.json()["kind"], entry.etag()),
            (&json!("machine.added"), format!("\"{head}\""))
        );
        assert!(entry.json()["actor"].as_str().unwrap().starts_with("person:"));
        let first = served
            .viewer()
            .get("/v1/ledger/1")
            .await
            .expect_status(200)
            .json();
        assert_eq!(
            (&first["kind"], &first["previous_hash"]),
            (&json!("site.opened"), &json!("0".repeat(64)))
        );
        for seq in ["0", &(head + 1).to_string()] {
            served
                .viewer()
                .get(&format!("/v1/ledger/{seq}"))
                .await
                .expect_problem(404, "resource.unknown");
        }
        served
            .viewer()
            .get("/v1/ledger/first")
            .await
            .expect_field_problem(400, "path.invalid", "seq");
        let beyond = served
            .viewer()
            .get(&format!("/v1/ledger?after={}", head + 5))
            .await
            .expect_status(200)
            .json();
        assert_eq!(
            (&beyond["items"], &beyond["next_after"]),
            (&json!([]), &json!(null))
        );
    }

    async fn problem_codes_say_what_they_mean(engine) {
        let served = Served::at(engine, NOW).await;
        let problem = served
            .viewer()
            .get("/v1/ledger/0")
            .await
            .expect_problem(404, "resource.unknown");
        let meaning = served
            .anonymous()
            .get(problem["type"].as_str().unwrap())
            .await
            .expect_status(200)
            .json();
        assert_eq!(
            (&meaning["code"], &meaning["status"]),
            (&json!("resource.unknown"), &json!(404))
        );
        let all = served
            .anonymous()
            .get("/problems")
            .await
            .expect_status(200)
            .json();
        assert!(
            all["items"]
                .as_array()
                .unwrap()
                .iter()
                .any(|row| row["code"] == "machine.already-down")
        );
        served
            .anonymous()
            .get("/problems/no.such")
            .await
            .expect_problem(404, "resource.unknown");
        served.anonymous().get("/health/live").await.expect_status(200);
    }
}

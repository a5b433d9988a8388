//! Notes: written with a command, read and forgotten by HTTP, and never in the ledger.

use crate::served::Served;
use reqwest::Method;
use serde_json::{Value, json};
use sha2::{Digest, Sha256};
use spindlebook::book::verify;
use spindlebook_domain::ids::TextId;
use spindlebook_domain::role::Role;
use spindlebook_store::private::{self, PrivateText};
use spindlebook_tests::engine::Engine;
use spindlebook_tests::on_both_engines;
use uuid::Uuid;

const NOW: &str = "2026-11-02T06:00:00Z";
const TEXT: &str = "Müller says: smells of burnt oil";

/// A machine that was set down with a note; gives the note's path and the entry that refers to it.
async fn with_note(engine: Engine) -> (Served, String, Value) {
    let served = Served::at(engine, NOW).await;
    let machine = served.add_machine("M1").await;
    let body = json!({ "reason": "breakdown", "note": TEXT });
    let down = served
        .operator()
        .post(&format!("/v1/machines/{machine}/down"), &body)
        .await;
    let path = format!("/v1/notes/{}", down.expect_status(200).string("/note"));
    let entry = entry(&served).await;
    (served, path, entry)
}

async fn entry(served: &Served) -> Value {
    let newest = format!("/v1/ledger/{}", served.seq());
    served.viewer().get(&newest).await.expect_status(200).json()
}

/// The row as it lies in the database.
async fn stored(served: &Served, path: &str) -> PrivateText {
    let id = TextId(path.rsplit('/').next().unwrap().parse().unwrap());
    let mut session = served.store.session().await.unwrap();
    private::texts(&mut session, served.site, &[id])
        .await
        .unwrap()
        .remove(0)
}

on_both_engines! {
    async fn a_note_is_read_by_whoever_reads_the_ledger(engine) {
        let (served, path, entry) = with_note(engine).await;
        let shown = served.viewer().get(&path).await.expect_status(200);
        assert_eq!(shown.header("Cache-Control"), Some("no-store"));
        let note = &entry["payload"]["note"];
        assert_eq!(
            shown.json(),
            json!({ "id": note["text"], "text": TEXT, "sha256": note["sha256"], "forgotten_at": null })
        );
        // The definition beside `NoteRef`, computed a second time.
        let salted = [&stored(&served, &path).await.salt[..], TEXT.as_bytes()].concat();
        assert_eq!(note["sha256"], hex::encode(Sha256::digest(salted)));
    }

    async fn without_a_note_there_is_none_to_read(engine) {
        let served = Served::at(engine, NOW).await;
        let machine = served.add_machine("M1").await;
        let body = json!({ "reason": "breakdown" });
        let down = served.operator().post(&format!("/v1/machines/{machine}/down"), &body).await;
        assert_eq!(down.expect_status(200).json()["note"], Value::Null);
    }

    async fn a_forgotten_note_leaves_its_entry_and_nothing_to_try_texts_against(engine) {
        let (served, path, entry_before) = with_note(engine).await;
        let seq = served.seq();
        assert_ne!(stored(&served, &path).await.salt, [0; 16]);
        served.admin().delete(&path).await.expect_status(204);
        let shown = served.viewer().get(&path).await.expect_status(200);
        assert_eq!(shown.header("Cache-Control"), Some("no-store"));
        let id = &entry_before["payload"]["note"]["text"];
        assert_eq!(shown.json(), json!({ "id": id, "text": null, "sha256": null, "forgotten_at": NOW }));
        let row = stored(&served, &path).await;
        assert_eq!((row.body, row.salt), (None, [0; 16]));

        served.clock.set(crate::served::instant("2026-11-02T07:00:00Z"));
        served.admin().delete(&path).await.expect_status(204);
        let again = served.viewer().get(&path).await.expect_status(200);
        assert_eq!(again.string("/forgotten_at"), NOW, "it was forgotten once");

        assert_eq!((served.seq(), entry(&served).await), (seq, entry_before));
        let report = verify(&served.store, served.site, None, &mut |_| {}).await.unwrap();
        assert!(report.is_sound(), "{:?}", report.faults);
    }

    async fn only_an_admin_forgets(engine) {
        let (served, path, _) = with_note(engine).await;
        for role in Role::ALL.into_iter().filter(|role| *role != Role::Admin) {
            served.with_role(role).delete(&path).await.expect_problem(403, "role.missing");
        }
        served.anonymous().delete(&path).await.expect_problem(401, "sign-in.required");
        assert_eq!(served.viewer().get(&path).await.expect_status(200).string("/text"), TEXT);
    }

    async fn what_is_not_at_this_site_is_not_found(engine) {
        let (served, path, _) = with_note(engine).await;
        let nowhere = format!("/v1/notes/{}", Uuid::now_v7());
        let (here, elsewhere) = (served.admin(), served.from_other_site(Role::Admin));
        for (caller, path) in [(&here, &nowhere), (&elsewhere, &path)] {
            for method in [Method::GET, Method::DELETE] {
                let answer = caller.send(method, path, |request| request).await;
                answer.expect_problem(404, "resource.unknown");
            }
        }
        assert_eq!(here.get(&path).await.expect_status(200).string("/text"), TEXT);
        for method in [Method::GET, Method::DELETE] {
            let answer = here.send(method, "/v1/notes/abc", |request| request).await;
            answer.expect_field_problem(400, "path.invalid", "id");
        }
    }
}

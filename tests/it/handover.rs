//! N23: the page of a cell is complete from what was entered, with at most one note, and the confirmation is an entry.

use crate::floor::working_cell::{Work, WorkingCell};
use serde_json::{Value, json};
use spindlebook_domain::role::Role;
use spindlebook_tests::on_both_engines;

async fn page(cell: &WorkingCell) -> Value {
    cell.small
        .get(&format!("/v1/cells/{}/handover", cell.small.cell))
        .await
}

fn path(cell: &WorkingCell, act: &str) -> String {
    format!("/v1/cells/{}/handover/{act}", cell.small.cell)
}

on_both_engines! {
    async fn the_page_says_all_that_was_entered(engine) {
        let work = Work { first_piece: true, ..Work::default() };
        let cell = WorkingCell::at(engine, "2026-11-02T08:00:00Z", &work).await;
        cell.small.mount(0).await;
        let (_, job) = cell.released(40).await;
        let empty = page(&cell).await;
        assert_eq!((&empty["last"], &empty["note"], &empty["odd"], &empty["held"]), (&json!(null), &json!(null), &json!([]), &json!([])));
        assert!(empty["caution"].as_str().unwrap().starts_with("This page supports talking to each other"));
        // A run is broken off, the machine goes down and up, the next run is still going.
        cell.load(0, &job, 1, false).await.expect_status(200);
        cell.to_spindle(0).await;
        let broken = cell.start().await;
        cell.clock("2026-11-02T08:10:00Z");
        cell.run(&broken, "abort", &json!({ "reason": "tool", "note": "Insert chipped" })).await;
        let machine = format!("/v1/machines/{}", cell.small.machine);
        cell.small.operator().post(&format!("{machine}/down"), &json!({ "reason": "tooling" })).await.expect_status(200);
        cell.clock("2026-11-02T08:30:00Z");
        cell.small.operator().post(&format!("{machine}/up"), &json!({})).await.expect_status(200);
        let run = cell.start().await;
        let shown = page(&cell).await;
        let odd: Vec<_> = shown["odd"].as_array().unwrap().iter().map(|odd| (odd["kind"].as_str().unwrap(), odd["at"].as_str().unwrap(), odd["reason"].as_str().unwrap_or_default())).collect();
        assert_eq!(odd, [("run.aborted", "2026-11-02T08:10:00Z", "tool"), ("machine.set_down", "2026-11-02T08:10:00Z", "tooling"),
            ("machine.set_up", "2026-11-02T08:30:00Z", "")]);
        assert!(shown["odd"][0]["note"].is_string() && shown["odd_is_all"] == true, "{shown}");
        let inside = &shown["machines"][0];
        assert_eq!((&inside["code"], &inside["pallet_code"], &inside["run"]["id"]), (&json!("M1"), &json!("P1"), &json!(run)));
        // The routing's 48 minutes from 08:30.
        assert_eq!(inside["run"]["ends_at"], "2026-11-02T09:18:00Z", "{shown}");
        assert_eq!((&shown["tonight"]["until"], &shown["seq"]), (&json!("2026-11-02T09:18:00Z"), &json!(cell.small.served.seq())));
        // Cut, it waits for the inspector: held, why, and since when.
        cell.clock("2026-11-02T09:18:00Z");
        cell.run(&run, "finish", &json!({})).await;
        let held = page(&cell).await["held"].clone();
        assert_eq!((&held[0]["kind"], &held[0]["since"]), (&json!("first_piece"), &json!("2026-11-02T09:18:00Z")), "{held}");
    }

    async fn one_note_is_read_and_confirmed_by_somebody_else(engine) {
        let cell = WorkingCell::new(engine).await;
        let served = &cell.small.served;
        let (goes, comes) = (served.operator(), served.planner());
        let note = |text: &str| json!({ "note": text });
        let confirm = |seq: &Value| json!({ "as_of_seq": seq });
        let before = page(&cell).await["seq"].clone();
        goes.post(&path(&cell, "note"), &note("Clamp 3 is loose")).await.expect_status(200);
        let unread = comes.post(&path(&cell, "confirm"), &confirm(&before)).await;
        unread.expect_field_problem(409, "handover.note-not-read", "/as_of_seq");
        goes.post(&path(&cell, "note"), &note("Clamp 3 torqued again")).await.expect_status(200);
        let read = page(&cell).await;
        assert_eq!((&read["note"]["text"], &read["note"]["by"]), (&json!("Clamp 3 torqued again"), &json!(format!("person:{}", served.principal(Role::Operator)))));
        goes.post(&path(&cell, "confirm"), &confirm(&read["seq"])).await.expect_problem(409, "handover.own-note");
        let ahead = comes.post(&path(&cell, "confirm"), &json!({ "as_of_seq": 9_000 })).await;
        ahead.expect_field_problem(400, "handover.ahead", "/as_of_seq");
        served.viewer().post(&path(&cell, "confirm"), &confirm(&read["seq"])).await.expect_problem(403, "role.missing");
        comes.post(&path(&cell, "confirm"), &confirm(&read["seq"])).await.expect_status(200);
        let entry = served.viewer().get(&format!("/v1/ledger/{}", served.seq())).await.json();
        assert_eq!((&entry["kind"], &entry["payload"]["as_of"]), (&json!("handover.confirmed"), &read["seq"]));
        let after = page(&cell).await;
        assert_eq!((&after["note"], &after["odd"], &after["last"]["seq"]), (&json!(null), &json!([]), &entry["seq"]));
        // No text of it stands in the ledger.
        let ledger = served.viewer().get("/v1/ledger?limit=200").await.text();
        assert!(!ledger.contains("Clamp 3"));
        served.viewer().get("/v1/cells/01936b5e-5c00-7000-8000-0000000000ff/handover").await.expect_problem(404, "cell.unknown");
    }
}

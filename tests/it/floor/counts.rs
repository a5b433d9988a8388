//! Floor cases about pieces, loads and fixtures, cut in a cell. What is right in each: common practice, no source.

use super::working_cell::{Work, WorkingCell};
use crate::orders::line;
use serde_json::{Value, json};
use spindlebook_tests::on_both_engines;

const SIX_IN_48_MIN: Work = Work {
    pieces_per_load: 6,
    cycle_s: 2_880,
    first_piece: false,
};

/// Another order for the same part: the ids of order and job.
async fn another(cell: &WorkingCell, code: &str, quantity: u32) -> (String, String) {
    let planner = cell.small.served.planner();
    let body = json!({ "code": code, "lines": [line(&cell.part, quantity)] });
    let order = planner
        .post("/v1/orders", &body)
        .await
        .expect_status(201)
        .string("/id");
    let release = format!("/v1/orders/{order}/release");
    let released = planner.post(&release, &json!({})).await.expect_status(200);
    (order, released.string("/lines/0/jobs/0"))
}

fn offer<'a>(offered: &'a Value, job: &str) -> &'a Value {
    let lines = offered.as_array().unwrap();
    let own = lines.iter().find(|line| line["job"] == job);
    own.unwrap_or_else(|| panic!("{job} is not offered: {offered}"))
}

on_both_engines! {
    /// E24, E25: four loads of six are 24 pieces and 3 h 12; the fifth of 25 has one piece and five empty nests, its
    /// program runs as long, and 25 come good.
    async fn e25_the_last_load_has_one_piece_and_takes_as_long(engine) {
        let cell = WorkingCell::at(engine, "2026-11-02T07:00:00Z", &SIX_IN_48_MIN).await;
        let (_, job) = cell.released(25).await;
        cell.small.mount(0).await;
        let to_run = cell.job(&job).await["operations"][0]["to_run"].clone();
        assert_eq!((&to_run["loads"], &to_run["cutting_s"]), (&json!(5), &json!(4 * 3_600)));
        for _ in 0..4 {
            cell.cut(&job, 6, false, json!({ "good": 6 })).await;
        }
        let last = cell.job(&job).await["operations"][0]["to_run"].clone();
        assert_eq!(last, json!({ "pieces_per_load": 6, "loads": 1, "pieces_in_last_load": 1,
            "empty_nests_in_last_load": 5, "cutting_s": 2_880 }));
        cell.load(0, &job, 2, false).await.expect_field_problem(409, "load.more-than-wait", "/pieces/0/pieces");
        cell.load(0, &job, 1, false).await.expect_status(200);
        cell.to_spindle(0).await;
        let started = cell.start_at(&json!({})).await.expect_status(201).json();
        assert_eq!((&started["cycle_s"], &started["pieces"][0]["pieces"]), (&json!(2_880), &json!(1)));
        cell.run(started["id"].as_str().unwrap(), "finish", &json!({})).await;
        cell.to_station(0).await;
        cell.unload(0, &job, json!({ "good": 1 }), false).await.expect_status(200);
        let shown = cell.job(&job).await;
        assert_eq!((&shown["made"], &shown["still_to_make"], &shown["surplus"]), (&json!(25), &json!(0), &json!(0)));
        assert_eq!(shown["operations"][0]["to_run"]["loads"], 0);
    }

    /// E25, where it is known how long one piece takes: the last load is shorter.
    async fn e25_a_time_for_each_piece_is_shared_out_by_pieces(engine) {
        let cell = WorkingCell::at(engine, "2026-11-02T07:00:00Z", &SIX_IN_48_MIN).await;
        let path = format!("/v1/parts/{}/routing", cell.part);
        let planner = cell.small.served.planner();
        let mut routing = planner.get(&format!("{path}?revision=A")).await.expect_status(200).json();
        let place = &mut routing["operations"][0]["machining"]["places"][0];
        place["cycle"] = json!({ "per_piece": { "cycle_s": 480 } });
        let body = json!({ "revision": "A", "operations": routing["operations"] });
        planner.put(&path, "*", &body).await.expect_status(200);
        let (_, job) = cell.released(25).await;
        let to_run = cell.job(&job).await["operations"][0]["to_run"].clone();
        assert_eq!((&to_run["loads"], &to_run["cutting_s"]), (&json!(5), &json!(25 * 480)));
        cell.small.mount(0).await;
        cell.load(0, &job, 1, false).await.expect_status(200);
        cell.to_spindle(0).await;
        assert_eq!(cell.start_at(&json!({})).await.expect_status(201).json()["cycle_s"], 480);
    }

    /// E39: eight nests, five of them loaded: five pieces come off, and nobody can count eight.
    async fn e39_empty_nests_are_no_pieces(engine) {
        let cell = WorkingCell::at(engine, "2026-11-02T07:00:00Z", &Work::default()).await;
        let (_, job) = cell.released(20).await;
        cell.small.mount(0).await;
        cell.load(0, &job, 5, false).await.expect_status(200);
        assert_eq!(cell.small.line(0).await["nests_empty"], 3);
        cell.to_spindle(0).await;
        cell.clock("2026-11-02T08:00:00Z");
        let run = cell.start().await;
        cell.clock("2026-11-02T08:48:00Z");
        cell.run(&run, "finish", &json!({})).await;
        cell.to_station(0).await;
        for count in [json!({ "good": 8 }), json!({ "good": 5, "scrapped": 3 }), json!({ "good": 4 })] {
            let refused = cell.unload(0, &job, count, false).await;
            let problem = refused.expect_field_problem(409, "unload.counts-open", "/counts/0");
            assert_eq!(problem["clamped"], 5);
        }
        cell.unload(0, &job, json!({ "good": 5 }), false).await.expect_status(200);
        let at = cell.job(&job).await["operations"][0].clone();
        assert_eq!((&at["good"], &at["waiting"], &at["clamped"]), (&json!(5), &json!(15), &json!(0)));
        let figures = cell.hours("2026-11-02T08:00:00Z", "2026-11-02T09:00:00Z").await;
        assert_eq!((&figures["produced"], &figures["good"]), (&json!(5), &json!(5)));
        assert_eq!(figures["earned_s"], 2_880, "the program ran once, and all that it cut is good");
    }

    /// E40: 4 good and 1 scrap of 20: 16 to make with 15 blanks, which is said where a planner looks, until one more blank
    /// is given out.
    async fn e40_scrap_leaves_a_blank_short(engine) {
        let cell = WorkingCell::new(engine).await;
        let (order, job) = cell.released(20).await;
        cell.cut(&job, 5, false, json!({ "good": 4, "scrapped": 1 })).await;
        let shown = cell.job(&job).await;
        assert_eq!((&shown["made"], &shown["operations"][0]["scrapped"]), (&json!(4), &json!(1)));
        assert_eq!((&shown["still_to_make"], &shown["material_shortfall"]), (&json!(16), &json!(1)));
        let seen = cell.small.get(&format!("/v1/orders/{order}")).await;
        assert_eq!((&seen["lines"][0]["still_to_make"], &seen["lines"][0]["material_shortfall"]), (&json!(16), &json!(1)));
        cell.cut(&job, 8, false, json!({ "good": 8 })).await;
        cell.cut(&job, 7, false, json!({ "good": 7 })).await;
        let shown = cell.job(&job).await;
        assert_eq!((&shown["still_to_make"], &shown["material_shortfall"]), (&json!(1), &json!(1)));
        cell.load(0, &job, 1, false).await.expect_field_problem(409, "load.more-than-wait", "/pieces/0/pieces");
        let blank = format!("/v1/jobs/{job}/blanks");
        cell.small.served.planner().post(&blank, &json!({ "pieces": 1 })).await.expect_status(200);
        cell.cut(&job, 1, false, json!({ "good": 1 })).await;
        let shown = cell.job(&job).await;
        assert_eq!((&shown["made"], &shown["still_to_make"], &shown["material_shortfall"]), (&json!(20), &json!(0), &json!(0)));
        assert_eq!(shown["released"], 21);
    }

    /// E46: of 20, 10 are cut and shipped; raised to 30, 20 are to be made, and what is offered follows.
    async fn e46_a_raise_keeps_what_was_cut_and_shipped(engine) {
        let cell = WorkingCell::new(engine).await;
        let (order, job) = cell.released(20).await;
        cell.cut(&job, 8, false, json!({ "good": 8 })).await;
        cell.cut(&job, 2, false, json!({ "good": 2 })).await;
        let path = format!("/v1/orders/{order}/lines/1");
        let shipped = cell.small.served.front_office().post(&format!("{path}/shipments"), &json!({ "pieces": 10 })).await;
        let shipments = shipped.expect_status(200).json()["line"]["shipments"].clone();
        cell.clock("2026-11-03T08:00:00Z");
        let office = cell.small.served.front_office();
        let body = json!({ "quantity": 30, "due": "2026-12-18", "priority": "normal" });
        let etag = office.get(&path).await.etag();
        let line = office.put(&path, &etag, &body).await.expect_status(200).json()["line"].clone();
        assert_eq!((&line["still_to_make"], &line["shipped"]), (&json!(20), &json!(10)));
        assert_eq!(line["shipments"], shipments, "with its date");
        let shown = cell.job(&job).await;
        assert_eq!((&shown["made"], &shown["still_to_make"], &shown["material_shortfall"]), (&json!(10), &json!(20), &json!(10)));
        assert_eq!(offer(&cell.offered().await, &job)["waiting"], 10, "more blanks have not been given out");
    }

    /// E47: a lot split in the middle of its work keeps every piece and its certificate, and each lot is clamped by itself.
    async fn e47_lots_are_cut_apart_and_nothing_is_lost(engine) {
        let cell = WorkingCell::new(engine).await;
        let (_, job) = cell.released(50).await;
        cell.cut(&job, 8, false, json!({ "good": 8 })).await;
        let body = json!({ "quantity": 20, "moved": [{ "operation": 10, "pieces": 20 }] });
        let planner = cell.small.served.planner();
        let split = planner.post(&format!("/v1/jobs/{job}/split"), &body).await.expect_status(201);
        let lot = split.string("/id");
        for pieces in [8, 8, 4] {
            let scrapped = if pieces == 4 { 2 } else { 0 };
            cell.cut(&lot, pieces, false, json!({ "good": pieces - scrapped, "scrapped": scrapped })).await;
        }
        for pieces in [8, 8, 6] {
            cell.cut(&job, pieces, false, json!({ "good": pieces })).await;
        }
        let (first, second) = (cell.job(&job).await, cell.job(&lot).await);
        assert_eq!((&first["made"], &second["made"], &second["operations"][0]["scrapped"]), (&json!(30), &json!(18), &json!(2)));
        assert_eq!((&first["certificate"], &second["certificate"]), (&json!("Heat 4482"), &json!("Heat 4482")));
        assert_eq!((&first["material_shortfall"], &second["material_shortfall"]), (&json!(0), &json!(2)));
        assert_eq!(second["parent"], json!(job));
    }

    /// E60: two orders need F7, which exists once and is full of the first one's pieces: the other one waits for F7, and is
    /// told where it is, until it has been emptied.
    async fn e60_what_exists_once_is_offered_once(engine) {
        let cell = WorkingCell::at(engine, "2026-11-02T07:00:00Z", &Work::default()).await;
        let (_, first) = cell.released(8).await;
        let (_, second) = another(&cell, "SO-2", 8).await;
        let offered = cell.offered().await;
        for job in [&first, &second] {
            assert_eq!(offer(&offered, job)["waits_for"]["code"], "mount", "either may have it");
        }
        cell.small.mount(0).await;
        cell.load(0, &first, 8, false).await.expect_status(200);
        let offered = cell.offered().await;
        assert_eq!(offered.as_array().unwrap().len(), 1, "all of the first one is clamped");
        let waits = offer(&offered, &second);
        assert_eq!((&waits["waits_for"]["code"], &waits["pallets"]), (&json!("fixture"), &json!([])));
        let told = waits["waits_for"]["text"].as_str().unwrap();
        assert!(told.contains("F7") && told.contains("P1 at load station 1"), "{told}");
        cell.load(0, &second, 1, false).await.expect_field_problem(409, "load.nests-short", "/pieces");
        cell.to_spindle(0).await;
        cell.to_station(1).await;
        let body = json!({ "fixture": cell.small.fixture });
        cell.small.act(1, "mount", &body).await.expect_field_problem(409, "mount.no-copy-free", "/fixture");
        cell.load(1, &second, 8, false).await.expect_problem(409, "load.no-setup");
        let run = cell.start().await;
        assert_eq!(offer(&cell.offered().await, &second)["waits_for"]["code"], "fixture");
        cell.run(&run, "finish", &json!({})).await;
        cell.to_station(0).await;
        cell.unload(0, &first, json!({ "good": 8 }), false).await.expect_status(200);
        let offered = cell.offered().await;
        let free = offer(&offered, &second);
        assert_eq!((&free["waits_for"]["code"], &free["pallets"]), (&json!("load"), &json!([cell.small.pallets[0]])));
    }
}

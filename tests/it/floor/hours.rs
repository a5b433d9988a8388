//! Floor cases about hours, from what people tell of pallets and runs to the report. What is right in each: common
//! practice, no source.

use super::working_cell::{Work, WorkingCell};
use serde_json::{Value, json};
use spindlebook_tests::on_both_engines;

const MINUTE_S: i64 = 60;
const HOUR_S: i64 = 3_600;
const THREE_SHIFTS: [(&str, &str, &str); 3] = [
    ("Early", "06:00", "14:00"),
    ("Late", "14:00", "22:00"),
    ("Night", "22:00", "06:00"),
];

fn of_cycle(cycle_s: i64) -> Work {
    Work {
        cycle_s: u32::try_from(cycle_s).unwrap(),
        ..Work::default()
    }
}

/// What nothing ran for, by category; those of which there was nothing are left out.
fn losses(figures: &Value) -> Vec<(&'static str, i64)> {
    let names = [
        "off_s",
        "down_s",
        "not_known_s",
        "stopped_in_run_s",
        "pallet_exchange_s",
        "setup_at_spindle_s",
        "waiting_for_inspection_s",
        "ready_not_started_s",
        "waiting_for_load_s",
        "unattended_run_out_s",
        "no_work_s",
        "idle_attended_s",
        "idle_unattended_s",
    ];
    let lost = |name: &'static str| (name, figures[name].as_i64().unwrap());
    names
        .into_iter()
        .map(lost)
        .filter(|(_, seconds)| *seconds != 0)
        .collect()
}

on_both_engines! {
    /// E01: loaded at 21:50 and cut from 22:05 to 06:10 in the night that has 25 hours: 9 h 05 in cycle after 15 min of
    /// waiting, whatever the wall clock says.
    async fn e01_a_night_with_an_hour_twice_is_cut_for_an_hour_longer(engine) {
        let cell = WorkingCell::at(engine, "2026-10-24T19:00:00Z", &of_cycle(9 * HOUR_S)).await;
        cell.set_shifts(&THREE_SHIFTS).await;
        let (_, job) = cell.released(8).await;
        cell.small.mount(0).await;
        cell.clock("2026-10-24T19:50:00Z");
        cell.load(0, &job, 8, false).await.expect_status(200);
        cell.clock("2026-10-24T20:05:00Z");
        cell.to_spindle(0).await;
        let run = cell.start().await;
        cell.clock("2026-10-25T05:10:00Z");
        let told = json!({ "at_local": { "local": "2026-10-25T06:10" } });
        let ended = cell.run(&run, "finish", &told).await;
        assert_eq!((&ended["started_at"], &ended["ended_at"]), (&json!("2026-10-24T20:05:00Z"), &json!("2026-10-25T05:10:00Z")));
        let figures = cell.hours("2026-10-24T21:50:00%2B02:00", "2026-10-25T06:10:00%2B01:00").await;
        assert_eq!(figures["realised_s"], 9 * HOUR_S + 5 * MINUTE_S);
        assert_eq!(losses(&figures), [("ready_not_started_s", 15 * MINUTE_S)]);
        let night = cell.shift("Night", "2026-10-24T22:00:00%2B02:00", "2026-10-25T06:00:00%2B01:00").await;
        assert_eq!((&night["window_s"], &night["realised_s"]), (&json!(9 * HOUR_S), &json!(8 * HOUR_S + 55 * MINUTE_S)));
    }

    /// E01 the other way round: the night in spring has 7 hours, and the same wall times 7 h 05 of cutting.
    async fn e01_a_night_that_lacks_an_hour_is_cut_for_an_hour_less(engine) {
        let cell = WorkingCell::at(engine, "2026-03-28T20:00:00Z", &of_cycle(9 * HOUR_S)).await;
        cell.set_shifts(&THREE_SHIFTS).await;
        let (_, job) = cell.released(8).await;
        cell.small.mount(0).await;
        cell.clock("2026-03-28T20:50:00Z");
        cell.load(0, &job, 8, false).await.expect_status(200);
        cell.clock("2026-03-28T21:05:00Z");
        cell.to_spindle(0).await;
        let run = cell.start().await;
        cell.clock("2026-03-29T04:10:00Z");
        cell.run(&run, "finish", &json!({})).await;
        let figures = cell.hours("2026-03-28T21:50:00%2B01:00", "2026-03-29T06:10:00%2B02:00").await;
        assert_eq!(figures["realised_s"], 7 * HOUR_S + 5 * MINUTE_S);
        assert_eq!(losses(&figures), [("ready_not_started_s", 15 * MINUTE_S)]);
    }

    /// E11: begun at 04:30, asked at 08:00 for the shift that ended at 06:00: 1:30, still open; told at last that it
    /// ended at 07:15, the shift says 1:30 for good and the next one 1:15.
    async fn e11_a_run_without_an_end_counts_to_the_end_of_the_shift_for_now(engine) {
        let cell = WorkingCell::at(engine, "2026-11-02T03:00:00Z", &of_cycle(3 * HOUR_S)).await;
        cell.set_shifts(&THREE_SHIFTS).await;
        let (_, job) = cell.released(8).await;
        cell.small.mount(0).await;
        cell.load(0, &job, 8, false).await.expect_status(200);
        cell.clock("2026-11-02T03:30:00Z");
        cell.to_spindle(0).await;
        let run = cell.start().await;
        cell.clock("2026-11-02T07:00:00Z");
        let night = ("2026-11-01T22:00:00%2B01:00", "2026-11-02T06:00:00%2B01:00");
        let early = ("2026-11-02T06:00:00%2B01:00", "2026-11-02T14:00:00%2B01:00");
        let open = cell.shift("Night", night.0, night.1).await;
        assert_eq!(open["realised_s"], HOUR_S + 30 * MINUTE_S);
        assert_eq!((&open["provisional"], &open["still_open"]), (&json!(true), &json!(true)));
        // By then the three planned hours are over, and nobody has said how it went on.
        let since = cell.shift("Early", early.0, early.1).await;
        assert_eq!(since["realised_s"], HOUR_S + 30 * MINUTE_S);
        assert_eq!(losses(&since), [("not_known_s", 30 * MINUTE_S)]);
        cell.clock("2026-11-02T07:40:00Z");
        cell.run(&run, "finish", &json!({ "at": "2026-11-02T06:15:00Z" })).await;
        let told = cell.shift("Night", night.0, night.1).await;
        assert_eq!(told["realised_s"], HOUR_S + 30 * MINUTE_S);
        assert_eq!((&told["provisional"], &told["still_open"]), (&json!(false), &json!(false)));
        let since = cell.shift("Early", early.0, early.1).await;
        assert_eq!((&since["realised_s"], &since["still_open"]), (&json!(HOUR_S + 15 * MINUTE_S), &json!(false)));
    }

    /// E11, where the machine itself is heard and falls silent.
    async fn e11_the_machines_own_open_state_is_provisional_too(engine) {
        let cell = WorkingCell::at(engine, "2026-11-02T03:30:10Z", &Work::default()).await;
        cell.set_shifts(&THREE_SHIFTS).await;
        let path = format!("/v1/machines/{}/signals", cell.small.machine);
        let says = async |at: &str, state: &str| {
            let body = json!({ "transitions": [{ "at": at, "state": state }] });
            cell.small.served.device().post(&path, &body).await.expect_status(201);
        };
        says("2026-11-02T03:30:00Z", "ACTIVE").await;
        cell.clock("2026-11-02T07:00:00Z");
        let (from, to) = ("2026-11-01T22:00:00%2B01:00", "2026-11-02T06:00:00%2B01:00");
        let open = cell.shift("Night", from, to).await;
        assert_eq!((&open["realised_s"], &open["still_open"]), (&json!(90 * MINUTE_S), &json!(true)));
        says("2026-11-02T06:15:00Z", "READY").await;
        let told = cell.shift("Night", from, to).await;
        assert_eq!((&told["realised_s"], &told["still_open"]), (&json!(90 * MINUTE_S), &json!(false)));
        let next = cell.shift("Early", to, "2026-11-02T14:00:00%2B01:00").await;
        assert_eq!(next["realised_s"], 75 * MINUTE_S);
    }

    /// E16: the report of the early shift was made at 14:10; at 16:40 a count of 13:55 arrives. It belongs to the early
    /// shift, whose report says its new total, that it has changed, and when.
    async fn e16_a_count_that_comes_late_counts_where_it_was_made_and_the_report_says_so(engine) {
        let cell = WorkingCell::at(engine, "2026-11-02T10:00:00Z", &of_cycle(2 * HOUR_S)).await;
        cell.set_shifts(&THREE_SHIFTS).await;
        let (_, job) = cell.released(8).await;
        cell.small.mount(0).await;
        cell.load(0, &job, 8, false).await.expect_status(200);
        cell.to_spindle(0).await;
        let run = cell.start().await;
        cell.clock("2026-11-02T12:00:00Z");
        cell.run(&run, "finish", &json!({})).await;
        cell.to_station(0).await;
        cell.clock("2026-11-02T13:10:00Z");
        let (from, to) = ("2026-11-02T06:00:00%2B01:00", "2026-11-02T14:00:00%2B01:00");
        let issued = cell.shift("Early", from, to).await;
        assert_eq!((&issued["good"], &issued["uncounted_runs"], &issued["restated_at"]), (&json!(0), &json!(1), &Value::Null));
        cell.clock("2026-11-02T15:40:00Z");
        let late = json!({ "at": "2026-11-02T12:55:00Z", "counts": [WorkingCell::count(&job, json!({ "good": 7, "scrapped": 1 }), false)] });
        cell.small.act(0, "unload", &late).await.expect_status(200);
        let again = cell.shift("Early", from, to).await;
        assert_eq!((&again["good"], &again["scrap"], &again["uncounted_runs"]), (&json!(7), &json!(1), &json!(0)));
        assert_eq!(again["earned_s"], 2 * HOUR_S * 7 / 8);
        assert_eq!(again["restated_at"], "2026-11-02T15:40:00Z");
        let next = cell.shift("Late", to, "2026-11-02T22:00:00%2B01:00").await;
        assert_eq!(next["good"], Value::Null);
    }

    /// E16, with a stop told late: what the report had counted as cut was not.
    async fn e16_a_run_that_is_told_late_restates_the_shift(engine) {
        let cell = WorkingCell::at(engine, "2026-11-02T10:00:00Z", &of_cycle(2 * HOUR_S)).await;
        cell.set_shifts(&THREE_SHIFTS).await;
        let (_, job) = cell.released(8).await;
        cell.small.mount(0).await;
        cell.load(0, &job, 8, false).await.expect_status(200);
        cell.to_spindle(0).await;
        cell.clock("2026-11-02T13:10:00Z");
        let (from, to) = ("2026-11-02T06:00:00%2B01:00", "2026-11-02T14:00:00%2B01:00");
        assert_eq!(cell.shift("Early", from, to).await["realised_s"], 0);
        cell.clock("2026-11-02T15:40:00Z");
        let run = cell.start_at(&json!({ "at": "2026-11-02T10:30:00Z" })).await.expect_status(201).string("/id");
        cell.run(&run, "finish", &json!({ "at": "2026-11-02T12:30:00Z" })).await;
        let again = cell.shift("Early", from, to).await;
        assert_eq!((&again["realised_s"], &again["restated_at"]), (&json!(2 * HOUR_S), &json!("2026-11-02T15:40:00Z")));
    }

    /// E18: two runs told of one spindle cannot lie over each other, for the second would have begun before the first
    /// had ended. Two cuts that a device reports can: 08:00-09:00 and 08:50-09:30 are 1 h 30, and 10 min are flagged.
    async fn e18_one_spindle_is_occupied_once(engine) {
        let cell = WorkingCell::at(engine, "2026-11-02T07:00:00Z", &of_cycle(HOUR_S)).await;
        let (_, job) = cell.released(8).await;
        cell.small.mount(0).await;
        cell.load(0, &job, 8, false).await.expect_status(200);
        cell.to_spindle(0).await;
        cell.clock("2026-11-02T11:00:00Z");
        let run = cell.start_at(&json!({ "at": "2026-11-02T08:00:00Z" })).await.expect_status(201).string("/id");
        let again = json!({ "at": "2026-11-02T08:50:00Z" });
        cell.start_at(&again).await.expect_problem(409, "run.machine-busy");
        cell.run(&run, "finish", &json!({ "at": "2026-11-02T09:00:00Z" })).await;
        cell.start_at(&again).await.expect_field_problem(409, "act.before-last", "/at");
        let figures = cell.hours("2026-11-02T08:00:00Z", "2026-11-02T09:30:00Z").await;
        assert_eq!((&figures["realised_s"], &figures["run_overlap_s"]), (&json!(HOUR_S), &json!(0)));
        // The device knows of both; of the run only its first hour is recorded.
        let cuts = [("2026-11-02T08:00:00Z", "2026-11-02T09:00:00Z"), ("2026-11-02T08:50:00Z", "2026-11-02T09:30:00Z")];
        cell.small.served.send_cycles(&cell.small.machine, &cuts).await;
        let figures = cell.hours("2026-11-02T08:00:00Z", "2026-11-02T09:30:00Z").await;
        assert_eq!((&figures["realised_s"], &figures["cycle_overlap_s"]), (&json!(90 * MINUTE_S), &json!(10 * MINUTE_S)));
        assert_eq!((&figures["production_s"], &figures["no_run_recorded_s"]), (&json!(HOUR_S), &json!(30 * MINUTE_S)));
    }

    /// E18: one cut within another, and one that begins as the other ends.
    async fn e18_cuts_within_each_other_count_once_and_neighbours_do_not_overlap(engine) {
        let cell = WorkingCell::at(engine, "2026-11-02T12:00:00Z", &Work::default()).await;
        let cuts = [
            ("2026-11-02T06:00:00Z", "2026-11-02T07:00:00Z"),
            ("2026-11-02T06:20:00Z", "2026-11-02T06:40:00Z"),
            ("2026-11-02T07:00:00Z", "2026-11-02T07:30:00Z"),
        ];
        cell.small.served.send_cycles(&cell.small.machine, &cuts).await;
        let figures = cell.hours("2026-11-02T06:00:00Z", "2026-11-02T08:00:00Z").await;
        assert_eq!((&figures["realised_s"], &figures["cycle_overlap_s"]), (&json!(90 * MINUTE_S), &json!(20 * MINUTE_S)));
    }

    /// E19: 20:00 start, alarm at 20:10, on again at 06:00, end at 06:35: 45 min in cycle, 9 h 50 stopped by the alarm.
    async fn e19_what_stood_for_an_alarm_is_not_spindle_time(engine) {
        let cell = WorkingCell::at(engine, "2026-11-02T18:00:00Z", &of_cycle(45 * MINUTE_S)).await;
        cell.set_shifts(&THREE_SHIFTS).await;
        let (_, job) = cell.released(8).await;
        cell.small.mount(0).await;
        cell.load(0, &job, 8, false).await.expect_status(200);
        cell.to_spindle(0).await;
        cell.clock("2026-11-02T19:00:00Z");
        let run = cell.start().await;
        cell.clock("2026-11-02T19:10:00Z");
        cell.run(&run, "pause", &json!({ "reason": "alarm" })).await;
        cell.clock("2026-11-03T05:00:00Z");
        cell.run(&run, "resume", &json!({})).await;
        cell.clock("2026-11-03T05:35:00Z");
        let ended = cell.run(&run, "finish", &json!({})).await;
        assert_eq!(ended["stopped_s"], 9 * HOUR_S + 50 * MINUTE_S);
        let figures = cell.hours("2026-11-02T19:00:00Z", "2026-11-03T05:35:00Z").await;
        assert_eq!((&figures["window_s"], &figures["realised_s"]), (&json!(10 * HOUR_S + 35 * MINUTE_S), &json!(45 * MINUTE_S)));
        assert_eq!(figures["stopped_reasons"], json!([{ "reason": "alarm", "length_s": 9 * HOUR_S + 50 * MINUTE_S }]));
        assert_eq!(losses(&figures), [("stopped_in_run_s", 9 * HOUR_S + 50 * MINUTE_S)]);
        let night = cell.shift("Night", "2026-11-02T22:00:00%2B01:00", "2026-11-03T06:00:00%2B01:00").await;
        assert_eq!((&night["realised_s"], &night["stopped_in_run_s"]), (&json!(0), &json!(8 * HOUR_S)), "it stood all night");
    }

    /// E19, as the machine itself tells it, and a person why.
    async fn e19_the_machine_says_that_it_stood_and_a_person_why(engine) {
        let cell = WorkingCell::at(engine, "2026-11-02T18:00:00Z", &of_cycle(45 * MINUTE_S)).await;
        cell.set_shifts(&THREE_SHIFTS).await;
        let (_, job) = cell.released(8).await;
        cell.small.mount(0).await;
        cell.load(0, &job, 8, false).await.expect_status(200);
        cell.to_spindle(0).await;
        cell.clock("2026-11-02T19:00:00Z");
        let run = cell.start().await;
        cell.clock("2026-11-03T05:35:00Z");
        let said = [("2026-11-02T19:00:00Z", "ACTIVE"), ("2026-11-02T19:10:00Z", "INTERRUPTED"),
            ("2026-11-03T05:00:00Z", "ACTIVE"), ("2026-11-03T05:35:00Z", "READY")];
        let transitions = said.map(|(at, state)| json!({ "at": at, "state": state }));
        let path = format!("/v1/machines/{}/signals", cell.small.machine);
        cell.small.served.device().post(&path, &json!({ "transitions": transitions })).await.expect_status(201);
        // It is seen in the morning that it stood, and why.
        cell.run(&run, "pause", &json!({ "reason": "alarm", "at": "2026-11-02T19:10:00Z" })).await;
        cell.run(&run, "resume", &json!({ "at": "2026-11-03T05:00:00Z" })).await;
        cell.run(&run, "finish", &json!({})).await;
        let figures = cell.hours("2026-11-02T19:00:00Z", "2026-11-03T05:35:00Z").await;
        assert_eq!((&figures["realised_s"], &figures["production_s"]), (&json!(45 * MINUTE_S), &json!(45 * MINUTE_S)));
        assert_eq!(figures["stopped_reasons"], json!([{ "reason": "alarm", "length_s": 9 * HOUR_S + 50 * MINUTE_S }]));
        assert_eq!((&figures["stopped_without_reason_s"], &figures["people_and_machine_disagree_s"]), (&json!(0), &json!(0)));
    }

    /// E43: of five, four are good at once and one after 12 min of rework: five good and not six; the 12 min are
    /// spindle time, told as rework.
    async fn e43_rework_is_spindle_time_of_its_own(engine) {
        let cell = WorkingCell::at(engine, "2026-11-02T07:00:00Z", &of_cycle(48 * MINUTE_S)).await;
        cell.set_shifts(&THREE_SHIFTS).await;
        let (_, job) = cell.released(20).await;
        cell.small.mount(0).await;
        cell.load(0, &job, 5, false).await.expect_status(200);
        cell.to_spindle(0).await;
        cell.clock("2026-11-02T08:00:00Z");
        let run = cell.start().await;
        cell.clock("2026-11-02T08:48:00Z");
        cell.run(&run, "finish", &json!({})).await;
        cell.to_station(0).await;
        cell.unload(0, &job, json!({ "good": 4, "to_rework": 1 }), false).await.expect_status(200);
        let first = cell.hours("2026-11-02T08:00:00Z", "2026-11-02T08:48:00Z").await;
        assert_eq!((&first["produced"], &first["good"], &first["scrap"]), (&json!(5), &json!(4), &json!(0)), "at first 4 of 5");
        cell.load(0, &job, 1, true).await.expect_status(200);
        cell.to_spindle(0).await;
        cell.clock("2026-11-02T09:00:00Z");
        let again = cell.start().await;
        cell.clock("2026-11-02T09:12:00Z");
        assert_eq!(cell.run(&again, "finish", &json!({})).await["purpose"], "rework");
        cell.to_station(0).await;
        cell.unload(0, &job, json!({ "good": 1 }), true).await.expect_status(200);
        let figures = cell.hours("2026-11-02T08:00:00Z", "2026-11-02T09:12:00Z").await;
        assert_eq!(figures["realised_s"], 60 * MINUTE_S);
        assert_eq!((&figures["production_s"], &figures["rework_s"]), (&json!(48 * MINUTE_S), &json!(12 * MINUTE_S)));
        assert_eq!((&figures["produced"], &figures["good"]), (&json!(5), &json!(5)), "in the end 5 of 5");
        // 4 of 5 pieces of a program for the whole load, and a piece as in a load of 8.
        assert_eq!(figures["earned_s"], 48 * MINUTE_S * 4 / 5 + 48 * MINUTE_S / 8);
        let shown = cell.job(&job).await;
        let at = &shown["operations"][0];
        assert_eq!((&shown["made"], &at["good"], &at["rework"], &at["scrapped"]), (&json!(5), &json!(5), &json!(0), &json!(0)));
        assert_eq!((&shown["still_to_make"], &shown["material_shortfall"]), (&json!(15), &json!(0)));
    }

    /// E63: the only loaded pallet waits for its first piece from 09:00 to 09:50, with work open and people there.
    async fn e63_a_spindle_that_waits_for_the_inspector_says_so(engine) {
        let work = Work { first_piece: true, ..of_cycle(HOUR_S) };
        let cell = WorkingCell::at(engine, "2026-11-02T06:00:00Z", &work).await;
        cell.set_shifts(&THREE_SHIFTS).await;
        let (_, job) = cell.released(20).await;
        cell.small.mount(0).await;
        cell.load(0, &job, 8, false).await.expect_status(200);
        cell.to_spindle(0).await;
        cell.clock("2026-11-02T07:00:00Z");
        let run = cell.start().await;
        cell.clock("2026-11-02T08:00:00Z");
        let hold = cell.run(&run, "finish", &json!({})).await["hold"].clone();
        cell.clock("2026-11-02T08:50:00Z");
        let dispose = format!("/v1/holds/{}/disposition", hold.as_str().unwrap());
        let accept = json!({ "disposition": "accept" });
        cell.small.served.inspector().post(&dispose, &accept).await.expect_status(200);
        let waited = cell.hours("2026-11-02T08:00:00Z", "2026-11-02T08:50:00Z").await;
        assert_eq!(losses(&waited), [("waiting_for_inspection_s", 50 * MINUTE_S)]);
    }
    /// E63, where another pallet is loaded too, but with the same work, which waits for that first piece.
    async fn e63_a_pallet_that_waits_for_the_first_piece_of_another_is_not_ready(engine) {
        let work = Work { first_piece: true, ..of_cycle(HOUR_S) };
        let cell = WorkingCell::at(engine, "2026-11-02T06:00:00Z", &work).await;
        cell.set_shifts(&THREE_SHIFTS).await;
        let (_, job) = cell.released(20).await;
        let copies = format!("/v1/fixtures/{}/copies", cell.small.fixture);
        cell.small.served.planner().post(&copies, &json!({ "code": "F7-2" })).await.expect_status(201);
        cell.small.mount(0).await;
        cell.load(0, &job, 8, false).await.expect_status(200);
        cell.to_spindle(0).await;
        cell.to_station(1).await;
        cell.small.mount(1).await;
        cell.load(1, &job, 8, false).await.expect_status(200);
        cell.clock("2026-11-02T07:00:00Z");
        let run = cell.start().await;
        cell.clock("2026-11-02T08:00:00Z");
        let hold = cell.run(&run, "finish", &json!({})).await["hold"].clone();
        assert_eq!(cell.small.line(1).await["waits_for"]["code"], "first_piece");
        cell.clock("2026-11-02T08:50:00Z");
        let waited = cell.hours("2026-11-02T08:00:00Z", "2026-11-02T08:50:00Z").await;
        assert_eq!(losses(&waited), [("waiting_for_inspection_s", 50 * MINUTE_S)]);
        let dispose = format!("/v1/holds/{}/disposition", hold.as_str().unwrap());
        let accept = json!({ "disposition": "accept" });
        cell.small.served.inspector().post(&dispose, &accept).await.expect_status(200);
        cell.clock("2026-11-02T09:00:00Z");
        let approved = cell.hours("2026-11-02T08:50:00Z", "2026-11-02T09:00:00Z").await;
        // Pallet 1 is cut and waits to be unloaded; pallet 2 may run on its own setup only after a first piece of it.
        assert_eq!(losses(&approved), [("ready_not_started_s", 10 * MINUTE_S)]);
    }
}

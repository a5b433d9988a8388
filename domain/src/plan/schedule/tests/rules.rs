//! One small shop for each rule, worked out by hand: minutes from Monday 2026-11-02, 07:00 UTC (08:00 in the shop). An
//! exchange takes 3 min, clamping a full load 10 min, taking it off 5 min; nobody has told of a calendar unless it is said,
//! so that one person is always there. If the rule were dropped, the minutes would be others.

use super::*;
use crate::order::{Material, Priority};
use crate::part::Lead;
use crate::plan::model::{LastPlan, LoadKey};
use crate::plan::schedule::WhyLeftOut;
use crate::plan::tests::generated::{
    Bench, cleared, copy, job, manual, milling, one_shift, operation, order, pallet, two_shifts,
};
use crate::shop::given::{cell, code, machine};

const MONDAY: &str = "2026-11-02T07:00:00Z";
const DUE: &str = "2026-11-30";

/// One machine, two pallets with a copy of fixture 1 each, one load station.
fn bench(calendar: Option<crate::calendar::Calendar>) -> Bench {
    let mut bench = Bench::new(calendar);
    bench
        .at(MONDAY)
        .pool(1, &[1], &[1, 2], 1, 2)
        .fixture(1, 4, 1_800, &[1, 2])
        .mounted(1, 1, 1)
        .mounted(2, 1, 2);
    bench
}

fn hour(first: usize) -> Vec<crate::part::Operation> {
    vec![operation(10, milling(first, 1, 3_600))]
}

fn material_of(expected: Option<&str>) -> Material {
    Material {
        expected: expected.map(|date| date.parse().unwrap()),
        arrived: None,
    }
}

/// Clamped 0–10, cut 13–73; the second is clamped 10–20 and follows after an exchange: 76–136.
#[test]
fn one_run_at_a_time_with_an_exchange_between() {
    let mut bench = bench(None);
    bench
        .job(1, 1, "2026-11-03", hour(1))
        .job(2, 1, "2026-11-04", hour(1));
    let plan = plan(&bench);
    assert_eq!(runs_of(&plan, 1), [(13, 73)]);
    assert_eq!(runs_of(&plan, 2), [(76, 136)]);
    assert_eq!(complete(&plan, 2), 144);
}

/// One pallet: taken off 76–81, clamped again 81–91, brought back by 94.
#[test]
fn a_pallet_is_taken_from_loading_to_unloading() {
    let mut bench = Bench::new(None);
    bench
        .at(MONDAY)
        .pool(1, &[1], &[1], 1, 1)
        .fixture(1, 4, 1_800, &[1, 2])
        .mounted(1, 1, 1)
        .job(1, 1, "2026-11-03", hour(1))
        .job(2, 1, "2026-11-04", hour(1));
    let plan = plan(&bench);
    assert_eq!(runs_of(&plan, 1), [(13, 73)]);
    assert_eq!(runs_of(&plan, 2), [(94, 154)]);
}

/// The only copy is mounted 0–30, clamped until 40: run 43–103. It is free again at 111, clamped by 121: run 124.
#[test]
fn a_copy_of_a_fixture_exists_once_and_takes_time_to_mount() {
    let mut bench = Bench::new(None);
    bench
        .at(MONDAY)
        .pool(1, &[1, 2], &[1, 2], 2, 2)
        .fixture(1, 4, 1_800, &[1])
        .job(1, 1, "2026-11-03", hour(1))
        .job(2, 1, "2026-11-04", hour(1));
    let plan = plan(&bench);
    assert_eq!(runs_of(&plan, 1), [(43, 103)]);
    assert_eq!(runs_of(&plan, 2), [(124, 184)]);
    assert_eq!(plan.cost.changes, 1);
}

/// Two machines, but one person: the second is clamped 10–20. A second person clamps it at once.
#[test]
fn as_much_is_done_at_once_as_people_are_there() {
    let both = |people: u32| {
        let mut bench = Bench::new(Some(one_shift("06:00", "20:00")));
        bench
            .at(MONDAY)
            .pool(1, &[1, 2], &[1, 2], 2, 2)
            .fixture(1, 4, 1_800, &[1, 2])
            .mounted(1, 1, 1)
            .mounted(2, 1, 2)
            .people(&[("Day", people)], None)
            .job(1, 1, "2026-11-03", hour(1))
            .job(2, 1, "2026-11-04", hour(1));
        let plan = plan(&bench);
        (runs_of(&plan, 1), runs_of(&plan, 2))
    };
    assert_eq!(both(1), (vec![(13, 73)], vec![(23, 83)]));
    assert_eq!(both(2), (vec![(13, 73)], vec![(13, 73)]));
}

/// Two people, one load station: one after the other all the same.
#[test]
fn a_load_station_takes_one_pallet() {
    let mut bench = Bench::new(Some(one_shift("06:00", "20:00")));
    bench
        .at(MONDAY)
        .pool(1, &[1, 2], &[1, 2], 1, 2)
        .fixture(1, 4, 1_800, &[1, 2])
        .mounted(1, 1, 1)
        .mounted(2, 1, 2)
        .people(&[("Day", 2)], None)
        .job(1, 1, "2026-11-03", hour(1))
        .job(2, 1, "2026-11-04", hour(1));
    let plan = plan(&bench);
    assert_eq!(runs_of(&plan, 2), [(23, 83)]);
}

/// At 09:55 ten minutes do not fit before the break at 10:00: clamped 10:30 to 10:40, that is 35–45.
#[test]
fn work_is_not_chopped_at_a_break() {
    let mut bench = bench(Some(two_shifts()));
    bench.at("2026-11-02T08:55:00Z").job(1, 1, DUE, hour(1));
    let plan = plan(&bench);
    assert_eq!(minutes(&plan, loads_of(&plan, 1)[0].load), (35, 45));
}

/// The day ends at 16:00, 480 min from now. Six hours: the first runs 13–373, the second not within the day: not cleared, it
/// waits for Tuesday 06:00 (1320); cleared, it runs into the evening.
#[test]
fn a_run_that_is_not_cleared_ends_while_somebody_is_there() {
    let second = |machining: crate::part::Machining| {
        let mut bench = bench(Some(one_shift("06:00", "16:00")));
        bench
            .job(1, 1, "2026-11-03", vec![operation(10, milling(1, 1, 6 * 3_600))])
            .job(2, 1, "2026-11-04", vec![operation(10, machining)]);
        runs_of(&plan(&bench), 2)
    };
    assert_eq!(second(milling(1, 1, 6 * 3_600)), [(1_320, 1_680)]);
    assert_eq!(second(cleared(milling(1, 1, 6 * 3_600), &[1])), [(376, 736)]);
}

/// Not cleared and longer than the day: nobody can be there for all of it.
#[test]
fn what_is_too_long_to_attend_is_left_out_with_that_reason() {
    let mut bench = bench(Some(one_shift("06:00", "16:00")));
    bench.job(1, 1, DUE, vec![operation(10, milling(1, 1, 11 * 3_600))]);
    let plan = plan(&bench);
    assert_eq!(
        plan.left_out[0].why,
        WhyLeftOut::TooLongToAttend { machine: machine(1) }
    );
    assert!(plan.lines[0].complete.is_none());
}

/// First article: the second load of the same job is ready but waits until it is inspected, 73–103; another job goes on.
#[test]
fn the_rest_of_an_operation_waits_for_its_first_article() {
    let mut article = milling(1, 1, 3_600);
    article.first_article = true;
    let mut bench = bench(None);
    bench
        .job(1, 2, "2026-11-03", vec![operation(10, article)])
        .fixture(2, 4, 1_800, &[3]);
    let plan = plan(&bench);
    let loads = loads_of(&plan, 1);
    assert_eq!(loads[0].held_as, Some(crate::load::HoldKind::FirstArticle));
    assert_eq!(minutes(&plan, loads[0].inspection), (73, 103));
    assert_eq!(runs_of(&plan, 1), [(13, 73), (103, 163)]);
    assert_eq!(loads[1].held_as, None);
    assert_eq!(minutes(&plan, loads[0].unload), (103, 108));
}

/// First piece: each setup has its own. The second setup waits for the first to be looked at, and is looked at too.
#[test]
fn each_setup_has_its_first_piece_looked_at() {
    let mut first_piece = milling(1, 1, 3_600);
    first_piece.first_piece = true;
    let mut bench = bench(None);
    bench.job(1, 3, "2026-11-03", vec![operation(10, first_piece)]);
    let plan = plan(&bench);
    let loads = loads_of(&plan, 1);
    let held = loads.iter().filter(|load| load.held_as.is_some()).count();
    let setups: std::collections::BTreeSet<_> = loads.iter().map(|load| load.pallet).collect();
    assert_eq!(held, setups.len());
    assert!(runs_of(&plan, 1)[1].0 >= 103, "{:?}", runs_of(&plan, 1));
}

/// The inspector is there from 12:00 (240) on: the first article waits until then.
#[test]
fn the_inspector_has_working_hours() {
    let mut article = milling(1, 1, 3_600);
    article.first_article = true;
    let mut bench = bench(Some(one_shift("06:00", "20:00")));
    bench.people(&[], Some(one_shift("12:00", "16:00"))).job(
        1,
        2,
        "2026-11-03",
        vec![operation(10, article)],
    );
    let plan = plan(&bench);
    assert_eq!(minutes(&plan, loads_of(&plan, 1)[0].inspection), (240, 270));
    assert_eq!(runs_of(&plan, 1)[1], (270, 330));
}

/// Operation 20 of a piece is clamped when operation 10 was taken off, 76–81: clamped 81–91, cut 94.
#[test]
fn pieces_of_the_next_operation_come_from_the_one_before() {
    let mut bench = bench(None);
    bench.job(
        1,
        1,
        DUE,
        vec![
            operation(10, milling(1, 1, 3_600)),
            operation(20, milling(1, 1, 1_800)),
        ],
    );
    let plan = plan(&bench);
    assert_eq!(runs_of(&plan, 1), [(13, 73), (94, 124)]);
}

/// Load by load: the second load of operation 10 is not waited for.
#[test]
fn pieces_go_on_load_by_load() {
    let mut bench = bench(None);
    bench.job(
        1,
        2,
        DUE,
        vec![
            operation(10, milling(1, 1, 3_600)),
            operation(20, milling(1, 1, 60)),
        ],
    );
    let plan = plan(&bench);
    let first_of_20 = loads_of(&plan, 1)
        .into_iter()
        .find(|load| load.clamped[0].operation == 20)
        .unwrap();
    let second_of_10 = loads_of(&plan, 1)
        .into_iter()
        .filter(|load| load.clamped[0].operation == 10)
        .nth(1)
        .unwrap();
    assert!(first_of_20.load.unwrap().from < second_of_10.unload.unwrap().from);
}

/// Deburred in 2 h of staffed time after 81: complete at 201; in two working days, handed over on Monday, back by Wednesday
/// evening: Thursday 00:00 is 3,840 min after Monday 08:00.
#[test]
fn manual_steps_take_their_lead_time() {
    let after = |lead: Lead, calendar| {
        let mut bench = bench(calendar);
        bench.job(
            1,
            1,
            DUE,
            vec![operation(10, milling(1, 1, 3_600)), manual(20, lead)],
        );
        complete(&plan(&bench), 1)
    };
    assert_eq!(after(Lead::StaffedTime { lead_s: 7_200 }, None), 201);
    let day = Some(one_shift("06:00", "16:00"));
    assert_eq!(after(Lead::WorkingDays { lead_days: 2 }, day), 3_840);
}

/// Expected on Wednesday: clamped on Thursday at 00:00, 3,840 min from now. Without a date it is left out.
#[test]
fn nothing_is_clamped_before_its_material() {
    let mut expected = bench(None);
    expected
        .line(1, 1, DUE, Priority::Normal, material_of(Some("2026-11-04")))
        .release(1, 1, hour(1));
    assert_eq!(runs_of(&plan(&expected), 1), [(3_853, 3_913)]);
    let mut unknown = bench(None);
    unknown
        .line(1, 1, DUE, Priority::Normal, material_of(None))
        .release(1, 1, hour(1));
    assert_eq!(plan(&unknown).left_out[0].why, WhyLeftOut::Pieces);
}

/// A tool with 100 min takes one load of 80 min, twins of 100 min each take one load each: what is left does not add up.
#[test]
fn a_load_is_cut_with_one_twin_of_a_tool() {
    let planned = |tools: &[(&str, u32)]| {
        let mut machining = milling(1, 1, 3_600);
        machining.places[0].tools = vec![crate::part::ToolUse {
            tool: code("T12"),
            used_s_per_load: 4_800,
        }];
        let mut bench = bench(None);
        bench
            .tools(1, tools)
            .job(1, 3, DUE, vec![operation(10, machining)]);
        let plan = plan(&bench);
        let shorts: Vec<_> = plan.left_out.iter().map(|load| load.why.clone()).collect();
        (runs_of(&plan, 1).len(), shorts)
    };
    let short = |short_s| WhyLeftOut::Tool {
        tool: code("T12"),
        machine: machine(1),
        short_s,
    };
    assert_eq!(planned(&[("T12", 6_000)]), (1, vec![short(3_600), short(3_600)]));
    assert_eq!(planned(&[("T12", 6_000), ("T12", 6_000)]).0, 2);
    assert_eq!(planned(&[("T12", 9_600), ("T12", 4_800)]).0, 3);
}

/// Two cells, 45 min between them.
#[test]
fn pieces_take_time_from_cell_to_cell() {
    let mut second = milling(2, 1, 1_800);
    second.places[0].cell = cell(2);
    let mut bench = bench(None);
    bench
        .pool(2, &[2], &[3], 1, 1)
        .fixture(2, 4, 1_800, &[3])
        .mounted(3, 2, 3)
        .job(
            1,
            1,
            DUE,
            vec![operation(10, milling(1, 1, 3_600)), operation(20, second)],
        );
    let options = PlanOptions {
        move_between_cells_s: 2_700,
        ..PlanOptions::default()
    };
    assert_eq!(runs_of(&plan(&bench), 1)[1], (94, 124));
    assert_eq!(runs_of(&plan_with(&bench, &options), 1)[1], (139, 169));
}

/// A changer with two pallets, no stand and one load station: what was cut stays in the spindle until the exchange.
#[test]
fn without_a_free_place_a_pallet_leaves_the_spindle_against_another() {
    let mut bench = Bench::new(None);
    bench
        .at(MONDAY)
        .pool(1, &[1], &[1, 2], 1, 0)
        .fixture(1, 4, 1_800, &[1, 2])
        .mounted(1, 1, 1)
        .mounted(2, 1, 2)
        .job(1, 1, "2026-11-03", hour(1))
        .job(2, 1, "2026-11-04", hour(1));
    let plan = plan(&bench);
    let (first, second) = (loads_of(&plan, 1)[0], loads_of(&plan, 2)[0]);
    assert!(first.unload.unwrap().from >= second.run.unwrap().from);
}

/// A standalone machine: clamping stops the spindle, and a run is started by somebody.
#[test]
fn loading_a_standalone_machine_stops_its_spindle() {
    let mut turning = cleared(milling(1, 1, 3_600), &[9]);
    turning.places[0].cell = cell(3);
    let mut bench = Bench::new(None);
    bench.at(MONDAY);
    bench.given.does(crate::machine::AddMachine {
        machine: machine(9),
        placement: crate::machine::Placement::Standalone(cell(3)),
        code: code("L9"),
        name: crate::shop::given::name("Lathe"),
        silent_after_s: None,
    });
    bench.given.does(crate::pallet::AddPallet {
        pallet: pallet(9),
        cell: cell(3),
        facts: crate::shop::given::pallet_facts("TABLE"),
        position: None,
    });
    bench
        .fixture(1, 4, 1_800, &[1])
        .mounted(9, 1, 1)
        .job(1, 2, DUE, vec![operation(10, turning)]);
    // Clamped 0–10, cut 10–70, off by 75, clamped by 85.
    assert_eq!(runs_of(&plan(&bench), 1), [(10, 70), (85, 145)]);
}

/// The faster machine takes it: 30 min instead of an hour, in another cell.
#[test]
fn an_operation_may_run_in_several_cells_with_times_of_their_own() {
    let mut machining = milling(1, 1, 3_600);
    let mut faster = machining.places[0].clone();
    faster.cell = cell(2);
    faster.cycle = crate::part::CycleTime::PerLoad { cycle_s: 1_800 };
    machining.places.push(faster);
    let mut bench = bench(None);
    bench.pool(2, &[2], &[3], 1, 1).fixture(2, 4, 1_800, &[4]).job(
        1,
        1,
        "2026-11-01",
        vec![operation(10, {
            machining.fixtures.push(crate::plan::tests::generated::fixture(2));
            machining
        })],
    );
    bench.mounted(3, 2, 4);
    let plan = plan(&bench);
    assert_eq!(loads_of(&plan, 1)[0].machine, Some(machine(2)));
    assert_eq!(runs_of(&plan, 1), [(13, 43)]);
}

#[test]
fn nothing_is_planned_on_a_machine_that_is_down() {
    let mut bench = bench(None);
    let at = bench.given.now;
    bench.given.does(crate::machine::SetMachineDown {
        machine: machine(1),
        at,
        reason: crate::machine::DownReason::Breakdown,
        note: None,
    });
    bench.job(1, 1, DUE, hour(1));
    assert_eq!(plan(&bench).left_out[0].why, WhyLeftOut::NoWay);
}

/// Both are late: an hour of the rush order counts ten thirds of one of the other, so the rush order goes first.
#[test]
fn weights_act_inside_tardiness() {
    let mut bench = bench(None);
    let here = || Material {
        expected: None,
        arrived: Some(crate::order::Arrived {
            at: crate::shop::given::START,
            certificate: None,
        }),
    };
    bench
        .line(1, 1, "2026-10-01", Priority::Normal, here())
        .release(1, 1, hour(1))
        .line(2, 1, "2026-10-02", Priority::Rush, here())
        .release(2, 1, hour(1));
    assert_eq!(runs_of(&plan(&bench), 2), [(13, 73)]);
}

/// Four loads of two fixtures on one pallet, nothing is late either way: each fixture is mounted once.
#[test]
fn where_nothing_else_differs_fixtures_are_changed_least() {
    let mut bench = Bench::new(None);
    bench
        .at(MONDAY)
        .pool(1, &[1], &[1], 1, 1)
        .fixture(1, 4, 60, &[1])
        .fixture(2, 4, 60, &[2]);
    for (number, fixture) in [(1, 1), (2, 2), (3, 1), (4, 2)] {
        bench.job(number, 1, DUE, hour(fixture));
    }
    assert_eq!(plan(&bench).cost.changes, 2);
}

/// Two equal loads: what the last plan had first stays first.
#[test]
fn a_new_plan_stays_close_to_the_last() {
    let mut bench = bench(None);
    bench.job(1, 1, DUE, hour(1)).job(2, 1, DUE, hour(1));
    for (first, second) in [(1, 2), (2, 1)] {
        let key = |number| LoadKey::ToForm {
            job: job(number),
            operation: 10,
            rework: false,
            from_last: 0,
        };
        let last = |on, after| LastPlan {
            machine: machine(1),
            pallet: pallet(on),
            after,
        };
        let options = PlanOptions {
            last: [
                (key(first), last(1, None)),
                (key(second), last(2, Some(key(first)))),
            ]
            .into(),
            ..PlanOptions::default()
        };
        let plan = plan_with(&bench, &options);
        assert_eq!(plan.cost.moved, 0, "{first} first");
        assert!(runs_of(&plan, first) < runs_of(&plan, second));
        assert!(plan.loads.iter().all(|load| load.is_moved == Some(false)));
    }
    let _ = (copy(1), order(1));
}

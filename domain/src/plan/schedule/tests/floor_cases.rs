//! Cases from the shop floor, by their numbers. What is right in each: common practice, no source.

use super::*;
use crate::floor::{MovePallet, StartRun};
use crate::pallet::Position;
use crate::part::ToolUse;
use crate::plan::model::Aim;
use crate::plan::schedule::WhyLeftOut;
use crate::plan::tests::generated::{Bench, cleared, milling, one_shift, operation, order, pallet, run};
use crate::shop::given::{code, machine};
use crate::time::Timestamp;

const DUE: &str = "2026-11-30";

fn instant(text: &str) -> Timestamp {
    Timestamp::from_utc(chrono::DateTime::parse_from_rfc3339(text).unwrap().to_utc())
}

/// Pallet `on` goes to the spindle of machine 1 and its run starts.
fn start(bench: &mut Bench, on: usize) {
    let at = bench.given.now;
    bench
        .given
        .does(MovePallet {
            pallet: pallet(on),
            to: Position::Spindle { machine: machine(1) },
            exchange: false,
            at,
        })
        .does(StartRun {
            run: run(on),
            machine: machine(1),
            pallet: None,
            purpose: None,
            at,
            overrides: Vec::new(),
        });
}

/// Pallets 1 to `pallets`, each with its copy of fixture 1, at load stations.
fn with_pallets(calendar: Option<crate::calendar::Calendar>, now: &str, pallets: usize) -> Bench {
    let all: Vec<usize> = (1..=pallets).collect();
    let mut bench = Bench::new(calendar);
    bench.at(now);
    bench.pool(1, &[1], &all, u32::try_from(pallets).unwrap(), 0);
    bench.fixture(1, 4, 1_800, &all);
    for on in 1..=pallets {
        bench.mounted(on, 1, on);
    }
    bench
}

/// E61: at 10:00 (0 min) the pallet in the machine ends at 10:40. B 3 h 20, due 15:00; C 1 h, due 16:00; R 2 h 30, due 14:00.
#[test]
fn e61_a_rush_order_shows_who_pays() {
    let now = "2026-11-02T09:00:00Z";
    let mut bench = with_pallets(None, now, 4);
    let hours = |minutes: u32| vec![operation(10, milling(1, 1, minutes * 60))];
    for (number, minutes) in [(1, 40), (2, 200), (3, 60), (4, 150)] {
        bench
            .job(number, 1, DUE, hours(minutes))
            .clamped(number, number, 10, 1);
    }
    start(&mut bench, 1);
    let mut options = PlanOptions::default();
    for (number, due) in [(2, "14:00"), (3, "15:00"), (4, "13:00")] {
        let due = instant(&format!("2026-11-02T{due}:00Z"));
        options.promised.insert((order(number), 1), due);
    }
    let plan = plan_with(&bench, &options);
    assert_eq!(
        runs_of(&plan, 1),
        [(0, 40)],
        "the cut in progress is not broken off"
    );
    // Rush first, then C, then B: 10:43–13:13, C until 14:16, B until 17:39. Lines are complete when taken off.
    assert_eq!(runs_of(&plan, 4), [(43, 193)]);
    assert_eq!(runs_of(&plan, 3), [(196, 256)]);
    assert_eq!(runs_of(&plan, 2), [(259, 459)]);
}

/// E58: 17:00 to 06:00 nobody is there. Five ready pallets of 150 min, each takes 80 min of T12, which has 300 min left.
#[test]
fn e58_tools_end_the_night() {
    let night = |tools: &[(&str, u32)]| {
        let mut machining = cleared(milling(1, 1, 9_000), &[1]);
        machining.places[0].tools = vec![ToolUse {
            tool: code("T12"),
            used_s_per_load: 4_800,
        }];
        let mut bench = with_pallets(Some(one_shift("06:00", "17:00")), "2026-11-02T16:00:00Z", 5);
        bench
            .tools(1, tools)
            .job(1, 5, DUE, vec![operation(10, machining)]);
        for on in 1..=5 {
            bench.clamped(on, 1, 10, 1);
        }
        let options = PlanOptions {
            aim: Aim::Night {
                from: 0,
                to: 13 * 3_600,
            },
            ..PlanOptions::default()
        };
        plan_with(&bench, &options)
    };
    let one = night(&[("T12", 18_000)]);
    assert_eq!(runs_of(&one, 1).len(), 3);
    let short = WhyLeftOut::Tool {
        tool: code("T12"),
        machine: machine(1),
        short_s: 20 * 60,
    };
    assert_eq!(one.left_out.len(), 2);
    assert!(
        one.left_out.iter().all(|load| load.why == short),
        "{:?}",
        one.left_out
    );
    let twins = night(&[("T12", 18_000), ("T12", 18_000)]);
    assert_eq!(
        runs_of(&twins, 1).last().unwrap().1,
        12 * 60 + 45,
        "all five, until 05:45"
    );
}

/// E59: the most urgent pallet's program was never proven on this machine; the proven one goes first.
#[test]
fn e59_what_is_not_proven_does_not_run_alone() {
    let mut bench = with_pallets(Some(one_shift("06:00", "17:00")), "2026-11-02T16:00:00Z", 2);
    bench
        .job(1, 1, "2026-10-01", vec![operation(10, milling(1, 1, 9_000))])
        .job(
            2,
            1,
            DUE,
            vec![operation(10, cleared(milling(1, 1, 9_000), &[1]))],
        )
        .clamped(1, 1, 10, 1)
        .clamped(2, 2, 10, 1);
    let plan = plan(&bench);
    assert_eq!(runs_of(&plan, 2), [(3, 153)]);
    // Tuesday 06:00 is 780 min after Monday 17:00.
    assert_eq!(runs_of(&plan, 1), [(780, 930)]);
}

/// E60: one F7, on a pallet with order A's pieces: B is not clamped before A has come off.
#[test]
fn e60_one_fixture_is_never_in_two_places() {
    let mut bench = Bench::new(None);
    bench
        .at("2026-11-02T07:00:00Z")
        .pool(1, &[1], &[1, 2, 3], 3, 0)
        .fixture(7, 4, 1_800, &[1])
        .mounted(1, 7, 1)
        .job(1, 1, DUE, vec![operation(10, milling(7, 1, 3_600))])
        .job(2, 1, "2026-10-01", vec![operation(10, milling(7, 1, 3_600))])
        .clamped(1, 1, 10, 1);
    let plan = plan(&bench);
    let (a, b) = (loads_of(&plan, 1)[0], loads_of(&plan, 2)[0]);
    assert!(b.load.unwrap().from >= a.unload.unwrap().to);
    assert_eq!(a.copy, b.copy);
}

/// E50: pallet 1's first piece waits for the inspector; pallet 2 has the same job and setup; pallet 3 is another job.
#[test]
fn e50_other_work_goes_on_while_a_first_piece_waits() {
    let mut bench = with_pallets(None, "2026-11-02T07:00:00Z", 3);
    let mut first_article = milling(1, 1, 3_600);
    first_article.first_article = true;
    bench
        .job(1, 2, "2026-10-01", vec![operation(10, first_article)])
        .job(2, 1, DUE, hour_of())
        .clamped(1, 1, 10, 1)
        .clamped(2, 1, 10, 1)
        .clamped(3, 2, 10, 1);
    start(&mut bench, 1);
    bench.given.now = bench.given.now.plus_s(3_600);
    let at = bench.given.now;
    bench.given.does(crate::floor::FinishRun {
        run: run(1),
        at,
        hold: crate::plan::tests::generated::hold(1),
    });
    let options = PlanOptions {
        inspection_s: 3 * 3_600,
        ..PlanOptions::default()
    };
    let plan = plan_with(&bench, &options);
    assert_eq!(runs_of(&plan, 2), [(3, 63)], "pallet 3 is next");
    let second = loads_of(&plan, 1)
        .into_iter()
        .find(|load| load.run.is_some())
        .unwrap();
    assert_eq!(
        minutes(&plan, second.run).0,
        180,
        "pallet 2 waits for the decision"
    );
}

fn hour_of() -> Vec<crate::part::Operation> {
    vec![operation(10, milling(1, 1, 3_600))]
}

//! Night fill, rush check and promise, in shops small enough to be worked out by hand.

use super::generated::{Bench, cleared, job, milling, one_shift, operation, order, pallet, run};
use crate::event::Event;
use crate::order::Priority;
use crate::part::{Operation, Routing};
use crate::plan::PublishComputed;
use crate::plan::hypothetical::Hypothetical;
use crate::plan::model::{LoadKey, PlanOptions};
use crate::plan::night::{NightFill, night_fill};
use crate::plan::promise::{Promise, Sampling, Spread, promise};
use crate::plan::reasons::ReasonCode;
use crate::plan::rush::{RushCheck, RushPlace, rush_check};
use crate::plan::schedule::{Effort, as_last, compute};
use crate::shop::given::{cell, code, machine, plan, refused};
use crate::time::Timestamp;

fn instant(text: &str) -> Timestamp {
    Timestamp::from_utc(chrono::DateTime::parse_from_rfc3339(text).unwrap().to_utc())
}

fn bench(calendar: Option<crate::calendar::Calendar>, now: &str, pallets: usize) -> Bench {
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

fn minutes(minutes: u32) -> Vec<Operation> {
    vec![operation(10, milling(1, 1, minutes * 60))]
}

fn wanted(number: usize, pieces: u32, operations: Vec<Operation>) -> Hypothetical {
    Hypothetical {
        order: order(number),
        job: job(number),
        code: code("ASKED"),
        part: super::generated::part(1),
        revision: code("A"),
        routing: Routing { operations }.into(),
        pieces,
        due: "2026-11-30".parse().unwrap(),
        priority: Priority::Normal,
        material_expected: None,
        fixtures: Vec::new(),
    }
}

/// Pallet 1 goes to the spindle, and its run starts.
fn start(bench: &mut Bench) {
    let at = bench.given.now;
    bench
        .given
        .does(crate::floor::MovePallet {
            pallet: pallet(1),
            to: crate::pallet::Position::Spindle { machine: machine(1) },
            exchange: false,
            at,
        })
        .does(crate::floor::StartRun {
            run: run(1),
            machine: machine(1),
            pallet: None,
            purpose: None,
            at,
            overrides: Vec::new(),
        });
}

/// E61: at 10:00 the pallet in the machine ends at 10:40. Queue: B 3 h 20 due 15:00, C 1 h due 16:00; R 2 h 30 due 14:00 is
/// asked for. An exchange takes 3 min. Runs end as the case says; taking off adds 3 + 5 min to each line, clamping R none:
/// it is done while the pallet in the machine is cut.
#[test]
fn e61_a_rush_check_shows_who_pays_before_anything_is_changed() {
    let mut bench = bench(None, "2026-11-02T09:00:00Z", 4);
    for (number, length) in [(1, 40), (2, 200), (3, 60)] {
        bench
            .job(number, 1, "2026-11-30", minutes(length))
            .clamped(number, number, 10, 1);
    }
    start(&mut bench);
    let mut options = PlanOptions::default();
    for (number, due) in [(2, "14:00"), (3, "15:00"), (4, "13:00")] {
        options
            .promised
            .insert((order(number), 1), instant(&format!("2026-11-02T{due}:00Z")));
    }
    let site = bench.given.shop.site.as_ref().unwrap();
    let before = bench.given.shop.clone();
    let effort = Effort::of_iterations(2_000, 1);
    let rush = wanted(4, 1, minutes(150));
    let checked: RushCheck = rush_check(
        &bench.given.shop,
        site,
        std::slice::from_ref(&rush),
        &options,
        bench.given.now,
        [effort; 2],
    )
    .unwrap();
    assert_eq!(bench.given.shop, before);
    let ends = |place: RushPlace, number: usize| {
        let option = checked
            .places
            .iter()
            .find(|option| option.place == place)
            .unwrap();
        let of_job = |load: &&crate::plan::schedule::ScheduledLoad| load.clamped[0].job == job(number);
        let run = option.schedule.loads.iter().find(of_job).unwrap().run.unwrap();
        run.to
    };
    assert_eq!(
        ends(RushPlace::First, 1),
        instant("2026-11-02T09:40:00Z"),
        "not broken off"
    );
    assert_eq!(ends(RushPlace::First, 4), instant("2026-11-02T12:13:00Z"));
    assert_eq!(ends(RushPlace::First, 2), instant("2026-11-02T15:36:00Z"));
    assert_eq!(ends(RushPlace::First, 3), instant("2026-11-02T16:39:00Z"));
    assert_eq!(ends(RushPlace::Best, 3), instant("2026-11-02T13:16:00Z"));
    assert_eq!(ends(RushPlace::Best, 2), instant("2026-11-02T16:39:00Z"));
    let first = &checked.places[0];
    assert_eq!(first.late_s, 0);
    let late = |number: usize| {
        let line = first
            .lines
            .iter()
            .find(|line| line.order == order(number))
            .unwrap();
        (line.late_before_s, line.late_after_s)
    };
    // 1 h 36 and 1 h 39 late at the end of the run, 8 min more until the pieces are off.
    assert_eq!(late(2), (0, (96 + 8) * 60));
    assert_eq!(late(3), (0, (99 + 8) * 60));
}

fn night(bench: &Bench) -> NightFill {
    let site = bench.given.shop.site.as_ref().unwrap();
    let cell = bench.given.shop.cells.get(&cell(1)).unwrap();
    let effort = Effort::of_iterations(2_000, 1);
    night_fill(
        &bench.given.shop,
        site,
        cell,
        &PlanOptions::default(),
        bench.given.now,
        effort,
    )
    .unwrap()
    .unwrap()
}

/// Monday 15:00, the last person leaves at 17:00. Three pallets; loads of 5 h, 4 h and 30 min are cleared, one of 6 h is
/// not: it would have to end by 17:00.
#[test]
fn the_night_is_filled_with_what_cuts_longest() {
    let mut bench = bench(Some(one_shift("06:00", "17:00")), "2026-11-02T14:00:00Z", 3);
    let alone = |minutes: u32| vec![operation(10, cleared(milling(1, 1, minutes * 60), &[1]))];
    bench
        .job(1, 1, "2026-11-30", alone(300))
        .job(2, 1, "2026-11-30", alone(240))
        .job(3, 1, "2026-11-03", alone(30))
        .job(4, 1, "2026-10-01", minutes(360));
    let fill = night(&bench);
    assert_eq!(fill.night.from, instant("2026-11-02T16:00:00Z"));
    assert_eq!(fill.night.to, instant("2026-11-03T05:00:00Z"));
    let cut: Vec<_> = fill.cut.iter().map(|load| load.clamped[0].job).collect();
    assert!(cut.contains(&job(1)) && cut.contains(&job(2)), "{cut:?}");
    assert!(
        fill.to_clamp
            .iter()
            .all(|load| load.load.unwrap().to <= fill.night.from)
    );
    // 30 min from 15:13, 4 h from 15:46, 5 h from 19:49 until 00:49; from 17:00 on that is 469 min less one exchange.
    assert_eq!(fill.cuts_until, Some(instant("2026-11-02T23:49:00Z")));
    assert_eq!(fill.spindle_s, 466 * 60);
    let why = |number: usize| {
        let of = |(key, _): &&(LoadKey, crate::plan::reasons::Reason)| matches!(key, LoadKey::ToForm { job: of, .. } if *of == job(number));
        fill.not_cut.iter().find(of).map(|(_, reason)| reason.code)
    };
    assert_eq!(why(4), Some(ReasonCode::NotProven));
}

#[test]
fn where_somebody_is_always_there_is_no_night() {
    let bench = bench(None, "2026-11-02T14:00:00Z", 1);
    let site = bench.given.shop.site.as_ref().unwrap();
    let cell = bench.given.shop.cells.get(&cell(1)).unwrap();
    let effort = Effort::of_iterations(10, 1);
    assert!(
        night_fill(
            &bench.given.shop,
            site,
            cell,
            &PlanOptions::default(),
            bench.given.now,
            effort
        )
        .is_none()
    );
}

fn promised(bench: &Bench, wanted: &Hypothetical, spread: &[u32], seed: u64) -> Promise {
    let site = bench.given.shop.site.as_ref().unwrap();
    let effort = Effort::of_iterations(500, 1);
    let sampling = Sampling { samples: 400, seed };
    let spread = Spread {
        per_mille: spread.to_vec(),
    };
    let options = PlanOptions::default();
    promise(
        &bench.given.shop,
        site,
        wanted,
        &spread,
        &options,
        bench.given.now,
        (effort, sampling),
    )
    .unwrap()
}

/// One piece of 60 min in an empty shop: clamped 10 min, exchange 3, cut 60, out 3, off 5: 81 min. At half the speed 141.
#[test]
fn a_promise_follows_from_the_load_of_the_shop_and_its_own_speed() {
    let mut empty = bench(None, "2026-11-02T07:00:00Z", 2);
    empty.line(
        99,
        1,
        "2026-11-30",
        Priority::Fill,
        crate::order::Material::default(),
    );
    let at = |minutes: i64| Some(empty.given.now.plus_s(minutes * 60));
    let exact = promised(&empty, &wanted(4, 1, minutes(60)), &[], 1);
    assert_eq!(
        (exact.at_planned_speed, exact.p50, exact.p90),
        (at(81), at(81), at(81))
    );
    let slow = promised(&empty, &wanted(4, 1, minutes(60)), &[2_000], 1);
    assert_eq!(
        (slow.at_planned_speed, slow.at_own_speed, slow.p50),
        (at(81), at(141), at(141))
    );
    // Eight runs of ten take what is planned, two take twice as long: P50 81 min; of 400 samples more than a tenth is slow.
    let mixed = promised(
        &empty,
        &wanted(4, 1, minutes(60)),
        &[
            1_000, 1_000, 1_000, 1_000, 1_000, 1_000, 1_000, 1_000, 2_000, 2_000,
        ],
        7,
    );
    assert_eq!((mixed.p50, mixed.p90), (at(81), at(141)));
    assert_eq!(mixed.samples, 400);
}

/// Two promised lines of 60 min are before it: it is cut third.
#[test]
fn nobody_pays_for_a_promise() {
    let mut busy = bench(None, "2026-11-02T07:00:00Z", 2);
    busy.job(1, 1, "2026-11-02", minutes(60))
        .job(2, 1, "2026-11-02", minutes(60));
    let promise = promised(&busy, &wanted(4, 1, minutes(60)), &[], 1);
    // 13–73, 76–136, 139–199, out and off by 207.
    assert_eq!(promise.at_planned_speed, Some(busy.given.now.plus_s(207 * 60)));
    assert_eq!(promise.limited_by.unwrap().code, ReasonCode::Fixture);
    let mut late = wanted(5, 1, minutes(60));
    late.material_expected = Some("2026-11-10".parse().unwrap());
    let promise = promised(&busy, &late, &[], 1);
    assert!(promise.at_planned_speed.unwrap() > instant("2026-11-10T23:00:00Z"));
    assert_eq!(promise.limited_by.unwrap().code, ReasonCode::Material);
}

#[test]
fn the_same_seed_gives_the_same_promise() {
    let mut busy = bench(None, "2026-11-02T07:00:00Z", 2);
    busy.job(1, 4, "2026-11-02", minutes(60));
    let spread = [900, 1_000, 1_300, 2_500];
    let once = promised(&busy, &wanted(4, 3, minutes(60)), &spread, 3);
    assert_eq!(once, promised(&busy, &wanted(4, 3, minutes(60)), &spread, 3));
    assert!(once.p50 < once.p90, "{once:?}");
}

/// Publishing puts the plan into the ledger and makes it the queue: pallets in the order of their next runs, what is in
/// a spindle left out.
#[test]
fn a_computed_plan_becomes_the_queue() {
    let mut busy = bench(None, "2026-11-02T07:00:00Z", 2);
    busy.job(1, 1, "2026-11-09", minutes(60))
        .job(2, 1, "2026-11-03", minutes(60))
        .clamped(1, 1, 10, 1)
        .clamped(2, 2, 10, 1);
    let site = busy.given.shop.site.clone().unwrap();
    let mut options = PlanOptions::default();
    // Whoever is promised an earlier hour goes first, though it stands on the second pallet.
    options
        .promised
        .insert((order(2), 1), instant("2026-11-02T07:30:00Z"));
    let effort = Effort::of_iterations(500, 1);
    let schedule = compute(&busy.given.shop, &site, &options, busy.given.now, effort).unwrap();
    let publish = PublishComputed {
        plan: plan(1),
        slots: schedule.slots(),
        loads: schedule.planned_loads(),
        lines: schedule.planned_lines(),
    };
    let events = busy.given.when(publish.clone()).unwrap();
    let [
        Event::PlanPosted(posted),
        Event::PlanPublished(published),
        Event::CellQueueSet(queue),
    ] = events.as_slice()
    else {
        panic!("{events:?}")
    };
    assert_eq!((posted.plan, published.plan), (plan(1), plan(1)));
    assert_eq!(
        (posted.slots.len(), posted.loads.len(), posted.lines.len()),
        (2, 2, 2)
    );
    assert_eq!(queue.pallets, [pallet(2), pallet(1)]);
    let last = as_last(&posted.loads);
    let first = posted.loads.iter().find(|load| load.pallet == pallet(2)).unwrap();
    let second = posted.loads.iter().find(|load| load.pallet == pallet(1)).unwrap();
    assert_eq!(
        (last[&first.key].after, last[&second.key].after),
        (None, Some(first.key))
    );

    busy.given.does(publish.clone());
    assert_eq!(busy.given.shop.current_plan, Some(plan(1)));
    assert_eq!(refused(busy.given.when(publish.clone())), "plan.id-taken");
    // A second plan that wants the same order changes no queue.
    let again = PublishComputed {
        plan: plan(2),
        ..publish
    };
    assert_eq!(busy.given.when(again).unwrap().len(), 2);
}

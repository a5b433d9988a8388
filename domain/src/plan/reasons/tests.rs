//! In each small shop the load that is not next says the one true thing, word by word.

use super::{ReasonCode, reasons};
use crate::order::{Material, Priority};
use crate::plan::model::{LoadKey, PlanOptions};
use crate::plan::schedule::{Effort, Schedule, compute};
use crate::plan::tests::generated::{self, Bench, cleared, job, milling, one_shift, operation, pallet, run};
use crate::shop::given::{code, machine};

fn plan(bench: &Bench) -> Schedule {
    let site = bench.given.shop.site.as_ref().unwrap();
    let effort = Effort::of_iterations(1_000, 1);
    compute(
        &bench.given.shop,
        site,
        &PlanOptions::default(),
        bench.given.now,
        effort,
    )
    .unwrap()
}

/// The reasons of a job's loads, in the order of their runs, then those that are left out.
fn of_job(bench: &Bench, number: usize) -> Vec<(ReasonCode, String)> {
    let plan = plan(bench);
    let site = bench.given.shop.site.as_ref().unwrap();
    let all = reasons(&bench.given.shop, site, &plan, bench.given.now);
    let loads = plan.loads.iter().map(|load| (load.key, &load.clamped));
    let left_out = plan.left_out.iter().map(|load| (load.key, &load.clamped));
    loads
        .chain(left_out)
        .filter(|(_, clamped)| clamped[0].job == job(number))
        .filter_map(|(key, _)| all.get(&key))
        .map(|reason| (reason.code, reason.text.clone()))
        .collect()
}

fn says(bench: &Bench, number: usize, code: ReasonCode, text: &str) {
    let found = of_job(bench, number);
    assert!(found.contains(&(code, text.to_owned())), "{found:?}");
}

fn hour(first: usize) -> Vec<crate::part::Operation> {
    vec![operation(10, milling(first, 1, 3_600))]
}

fn bench(calendar: Option<crate::calendar::Calendar>, pallets: usize) -> Bench {
    let all: Vec<usize> = (1..=pallets).collect();
    let mut bench = Bench::new(calendar);
    bench.at("2026-11-02T07:00:00Z");
    bench.pool(1, &[1], &all, u32::try_from(pallets).unwrap(), 0);
    bench.fixture(1, 4, 1_800, &all);
    for on in 1..=pallets {
        bench.mounted(on, 1, on);
    }
    bench
}

/// E60.
#[test]
fn a_load_waits_for_the_fixture_that_another_has() {
    let mut bench = Bench::new(None);
    bench
        .at("2026-11-02T07:00:00Z")
        .pool(1, &[1], &[1, 2], 2, 0)
        .fixture(7, 4, 1_800, &[1])
        .mounted(1, 7, 1)
        .job(1, 1, "2026-11-10", vec![operation(10, milling(7, 1, 3_600))])
        .job(2, 1, "2026-11-09", vec![operation(10, milling(7, 1, 3_600))])
        .clamped(1, 1, 10, 1);
    says(&bench, 2, ReasonCode::Fixture, "fixture F7, on pallet P01");
    assert!(of_job(&bench, 1).is_empty(), "the other one is next");
}

/// E50: the first article was started at 08:00 by the shop's clock and has been held since 09:00.
#[test]
fn a_load_waits_for_the_first_article_of_its_operation() {
    let mut article = milling(1, 1, 3_600);
    article.first_article = true;
    let mut bench = bench(None, 3);
    bench
        .job(1, 2, "2026-11-03", vec![operation(10, article)])
        .job(2, 1, "2026-11-20", hour(1))
        .clamped(1, 1, 10, 1)
        .clamped(2, 1, 10, 1)
        .clamped(3, 2, 10, 1);
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
    bench.given.now = at.plus_s(3_600);
    let at = bench.given.now;
    bench.given.does(crate::floor::FinishRun {
        run: run(1),
        at,
        hold: generated::hold(1),
    });
    says(
        &bench,
        1,
        ReasonCode::FirstArticle,
        "first article of SO-1/1/10 since 09:00, on pallet P01",
    );
    assert!(of_job(&bench, 2).is_empty(), "pallet 3 is next");
}

/// E58's words.
#[test]
fn a_load_that_is_left_out_says_by_how_much_the_tool_is_short() {
    let mut machining = milling(1, 1, 3_600);
    machining.places[0].tools = vec![crate::part::ToolUse {
        tool: code("T12"),
        used_s_per_load: 4_800,
    }];
    let mut bench = bench(None, 2);
    bench
        .tools(1, &[("T12", 18_000)])
        .job(1, 5, "2026-11-03", vec![operation(10, machining)]);
    says(
        &bench,
        1,
        ReasonCode::Tool,
        "tool T12 on machine M1 short by 20 min",
    );
}

/// E59: 17:00, nobody is there.
#[test]
fn what_is_not_proven_says_so() {
    let mut bench = bench(Some(one_shift("06:00", "17:00")), 2);
    bench
        .at("2026-11-02T16:00:00Z")
        .job(1, 1, "2026-10-01", vec![operation(10, milling(1, 1, 9_000))])
        .job(
            2,
            1,
            "2026-11-30",
            vec![operation(10, cleared(milling(1, 1, 9_000), &[1]))],
        )
        .clamped(1, 1, 10, 1)
        .clamped(2, 2, 10, 1);
    says(
        &bench,
        1,
        ReasonCode::NotProven,
        "not proven on machine M1: nobody is there until its end",
    );
    assert!(of_job(&bench, 2).is_empty());
}

#[test]
fn material_pieces_people_pallets_and_turns() {
    let mut material = bench(None, 2);
    let none = |expected: Option<&str>| Material {
        expected: expected.map(|date| date.parse().unwrap()),
        arrived: None,
    };
    material
        .job(3, 1, "2026-11-03", hour(1))
        .line(1, 1, "2026-11-10", Priority::Normal, none(Some("2026-11-04")))
        .release(1, 1, hour(1))
        .line(2, 1, "2026-11-10", Priority::Normal, none(None))
        .release(2, 1, hour(1));
    says(&material, 1, ReasonCode::Material, "its material (2026-11-04)");
    says(
        &material,
        2,
        ReasonCode::Material,
        "its material (nobody knows when)",
    );

    let mut pieces = bench(None, 2);
    let both = vec![
        operation(10, milling(1, 1, 3_600)),
        operation(20, milling(1, 1, 3_600)),
    ];
    pieces.job(1, 1, "2026-11-10", both);
    says(&pieces, 1, ReasonCode::Pieces, "pieces of SO-1/1/10");

    let mut turn = bench(None, 2);
    turn.job(1, 1, "2026-11-10", hour(1))
        .job(2, 1, "2026-10-01", hour(1))
        .clamped(1, 1, 10, 1)
        .clamped(2, 2, 10, 1);
    says(
        &turn,
        1,
        ReasonCode::Turn,
        "its turn on machine M1: pallet P02 with SO-2/1 is before it",
    );

    let mut taken = bench(None, 1);
    taken.fixture(2, 4, 60, &[9]);
    taken
        .job(1, 1, "2026-10-01", hour(1))
        .job(2, 1, "2026-11-10", hour(2));
    // Clamped 0–10, cut 13–73, off 76–81: 09:21 by the shop's clock.
    says(&taken, 2, ReasonCode::Pallet, "pallet P01, taken until 09:21");
}

/// Every load that is neither next nor in a spindle has exactly one reason, and no text is empty.
#[test]
fn every_load_that_is_not_next_has_a_reason() {
    for seed in 0..12 {
        let given = generated::shop_at_work(seed, 15);
        let site = given.shop.site.as_ref().unwrap();
        let effort = Effort::of_iterations(200, 1);
        let plan = compute(&given.shop, site, &PlanOptions::default(), given.now, effort).unwrap();
        let all = reasons(&given.shop, site, &plan, given.now);
        let cut = plan.loads.iter().filter(|load| load.run.is_some());
        let machines: std::collections::BTreeSet<_> = cut.clone().filter_map(|load| load.machine).collect();
        let running = cut
            .clone()
            .filter(|load| load.run.is_some_and(|run| run.from < plan.from));
        let most_without = machines.len() + running.count();
        let without = cut.filter(|load| !all.contains_key(&load.key)).count();
        assert!(
            without <= most_without,
            "seed {seed}: {without} of {most_without}"
        );
        assert!(plan.left_out.iter().all(|load| all.contains_key(&load.key)));
        assert!(all.values().all(|reason| !reason.text.is_empty()));
        assert!(
            all.keys()
                .all(|key| matches!(key, LoadKey::Standing(_) | LoadKey::ToForm { .. }))
        );
    }
}

//! A good plan is broken in one place; the checker names the rule.

use super::{Fault, check};
use crate::load::HoldKind;
use crate::plan::model::PlanOptions;
use crate::plan::schedule::{Effort, Schedule, ScheduledLoad, compute};
use crate::plan::tests::generated::{
    self, Bench, cleared, copy, fixture, job, milling, one_shift, operation, pallet,
};
use crate::shop::given::{Given, code, machine};
use crate::time::Window;

/// Two machines and three pallets, one person from 06:00 to 20:00; jobs 1 and 2 with a first article each, job 3 in two
/// operations, job 4 with a tool.
fn shop() -> Given {
    let mut article = milling(1, 2, 3_600);
    article.first_article = true;
    let mut tooled = cleared(milling(2, 1, 7_200), &[1, 2]);
    tooled.places[0].tools = vec![crate::part::ToolUse {
        tool: code("T1"),
        used_s_per_load: 600,
    }];
    let mut bench = Bench::new(Some(one_shift("06:00", "20:00")));
    bench
        .at("2026-11-02T07:00:00Z")
        .pool(1, &[1, 2], &[1, 2, 3], 1, 3)
        .fixture(1, 4, 900, &[1, 2])
        .fixture(2, 4, 900, &[3])
        .tools(1, &[("T1", 5_000)])
        .tools(2, &[("T1", 5_000)])
        .job(1, 6, "2026-11-03", vec![operation(10, article)])
        .job(
            3,
            4,
            "2026-11-04",
            vec![
                operation(10, milling(1, 2, 1_800)),
                operation(20, milling(2, 2, 1_800)),
            ],
        )
        .job(4, 3, "2026-11-05", vec![operation(10, tooled)]);
    bench.given
}

fn judge(given: &Given, schedule: &Schedule) -> Vec<Fault> {
    let site = given.shop.site.as_ref().unwrap();
    check(&given.shop, site, &PlanOptions::default(), given.now, schedule)
}

fn good(given: &Given) -> Schedule {
    let site = given.shop.site.as_ref().unwrap();
    let effort = Effort::of_iterations(2_000, 1);
    compute(&given.shop, site, &PlanOptions::default(), given.now, effort).unwrap()
}

fn later(window: &mut Option<Window>, seconds: i64) {
    if let Some(window) = window {
        *window = Window::new(window.from.plus_s(seconds), window.to.plus_s(seconds));
    }
}

/// Breaks the plan in each place where that is possible; each time the rule has to be among the faults.
fn breaks(rule: &str, break_it: impl Fn(&mut Schedule, usize) -> bool) {
    let given = shop();
    let good = good(&given);
    let mut broken = 0;
    for index in 0..good.loads.len() {
        let mut bad = good.clone();
        if break_it(&mut bad, index) {
            let faults = judge(&given, &bad);
            assert!(
                faults.iter().any(|fault| fault.rule == rule),
                "{index}: {faults:?}"
            );
            broken += 1;
        }
    }
    assert!(broken > 0, "nothing to break");
}

/// Breaks one load, if it is as asked.
fn load(rule: &str, is: impl Fn(&ScheduledLoad) -> bool, break_it: impl Fn(&mut ScheduledLoad)) {
    breaks(rule, |schedule, index| {
        let fits = is(&schedule.loads[index]);
        if fits {
            break_it(&mut schedule.loads[index]);
        }
        fits
    });
}

#[test]
fn a_good_plan_has_no_fault() {
    let given = shop();
    assert_eq!(judge(&given, &good(&given)), []);
}

#[test]
fn times_of_a_load_follow_each_other() {
    load(
        "in-order",
        |load| load.run.is_some(),
        |load| {
            let at = load.load.unwrap().from.plus_s(60);
            load.run = load.run.map(|run| Window::new(at, at.plus_us(run.us())));
        },
    );
    load(
        "out-of-the-spindle",
        |_| true,
        |load| later(&mut load.unload, -100_000),
    );
    load("taken-off", |_| true, |load| load.unload = None);
    load("clamped-and-cut", |_| true, |load| load.load = None);
    load(
        "not-in-the-past",
        |_| true,
        |load| later(&mut load.run, -30 * 86_400),
    );
}

#[test]
fn lengths_are_those_of_routing_and_fixture() {
    load(
        "cycle",
        |_| true,
        |load| load.run.as_mut().unwrap().to = load.run.unwrap().to.plus_s(1),
    );
    load(
        "handling-time",
        |_| true,
        |load| load.load.as_mut().unwrap().to = load.load.unwrap().to.plus_s(1),
    );
    load(
        "handling-time",
        |load| load.mount.is_some(),
        |load| {
            load.mount.as_mut().unwrap().to = load.mount.unwrap().to.plus_s(-1);
        },
    );
}

#[test]
fn a_spindle_cuts_one_load_at_a_time() {
    breaks("one-run-at-a-time", |schedule, index| {
        let machine = schedule.loads[index].machine;
        let next = schedule
            .loads
            .get(index + 1)
            .filter(|next| next.machine == machine);
        let Some(run) = next.and_then(|next| next.run) else {
            return false;
        };
        let own = schedule.loads[index].run.unwrap();
        schedule.loads[index].run = Some(Window::new(run.from.plus_us(-own.us()), run.from));
        true
    });
}

#[test]
fn nobody_works_at_night_and_nobody_does_two_things() {
    load(
        "staffed",
        |_| true,
        |load| {
            // 23:00 in the shop.
            let night = crate::shop::given::at_s(16 * 3_600);
            load.load = load.load.map(|load| Window::new(night, night.plus_us(load.us())));
        },
    );
    breaks("people", |schedule, index| {
        let other = (index + 1) % schedule.loads.len();
        let (own, from) = (
            schedule.loads[index].load.unwrap(),
            schedule.loads[other].load.unwrap().from,
        );
        schedule.loads[index].load = Some(Window::new(from, from.plus_us(own.us())));
        true
    });
    load(
        "load-stations",
        |load| load.key != first_key(),
        |load| {
            let at = crate::shop::given::at_s(3_600);
            let length_us = load.load.unwrap().us();
            load.load = Some(Window::new(at, at.plus_us(length_us)));
        },
    );
}

/// The load that is clamped first of all.
fn first_key() -> crate::plan::model::LoadKey {
    let loads = good(&shop()).loads;
    loads
        .iter()
        .min_by_key(|load| load.mount.or(load.load))
        .unwrap()
        .key
}

#[test]
fn a_run_that_is_not_cleared_has_somebody_there() {
    load(
        "attended",
        |load| load.clamped[0].job != job(4),
        |load| later(&mut load.run, 12 * 3_600),
    );
}

#[test]
fn pallets_and_fixtures_exist_once() {
    breaks("one-load-at-a-time", |schedule, index| {
        let on = schedule.loads[(index + 1) % schedule.loads.len()].pallet;
        let differs = schedule.loads[index].pallet != on;
        for load in &mut schedule.loads {
            load.pallet = on;
        }
        differs
    });
    load(
        "fixture-on",
        |load| load.mount.is_some(),
        |load| load.mount = None,
    );
    load(
        "fixture-known",
        |load| load.copy == Some(copy(3)),
        |load| load.copy = Some(copy(1)),
    );
    load(
        "fixture-holds",
        |load| load.fixture == Some(fixture(1)),
        |load| load.fixture = Some(fixture(2)),
    );
    breaks("fixture-exists-once", |schedule, index| {
        let (own, other) = (schedule.loads[index].clone(), pallet(1));
        if own.mount.is_none() || own.pallet == other {
            return false;
        }
        // The same copy is mounted on another pallet while this one is in use.
        let mut twin = own.clone();
        twin.pallet = other;
        later(&mut twin.mount, 1);
        schedule.loads.push(twin);
        true
    });
}

#[test]
fn only_machines_that_may_cut_it() {
    load("machine-known", |_| true, |load| load.machine = Some(machine(9)));
    let mut given = shop();
    let plan = good(&given);
    let at = given.now;
    given.does(crate::machine::SetMachineDown {
        machine: machine(1),
        at,
        reason: crate::machine::DownReason::Breakdown,
        note: None,
    });
    assert!(
        judge(&given, &plan)
            .iter()
            .any(|fault| fault.rule == "machine-down")
    );
}

#[test]
fn first_articles_are_held_and_waited_for() {
    let is_article = |load: &ScheduledLoad| load.held_as == Some(HoldKind::FirstArticle);
    load("held-after-run", is_article, |load| load.held_as = None);
    load("inspected", is_article, |load| load.inspection = None);
    load("inspector-there", is_article, |load| {
        later(&mut load.inspection, 13 * 3_600);
    });
    load("judged-after-run", is_article, |load| {
        later(&mut load.inspection, -100_000);
    });
    let is_other = |load: &ScheduledLoad| load.clamped[0].job == job(1) && load.held_as.is_none();
    breaks("waits-for-first-piece", |schedule, index| {
        let article = schedule
            .loads
            .iter()
            .find(|load| is_article(load))
            .and_then(|load| load.run);
        let run = article.unwrap();
        let fits = is_other(&schedule.loads[index]);
        schedule.loads[index].run = Some(Window::new(run.from.plus_s(1), run.to.plus_s(1)));
        fits
    });
}

#[test]
fn tools_last_for_the_whole_load() {
    let mut given = shop();
    let plan = good(&given);
    for number in [1, 2] {
        given.does(crate::machine::SetMachineTools {
            machine: machine(number),
            tools: vec![crate::machine::MachineTool {
                tool: code("T1"),
                life_left_s: 599,
            }],
            expected: None,
        });
    }
    assert!(judge(&given, &plan).iter().any(|fault| fault.rule == "tool-life"));
}

#[test]
fn pieces_are_conserved() {
    breaks("pieces-conserved", |schedule, index| {
        schedule.loads.remove(index);
        true
    });
    breaks("each-load-once", |schedule, index| {
        let again = schedule.loads[index].clone();
        schedule.loads.push(again);
        true
    });
    load("pieces-conserved", |_| true, |load| load.clamped[0].pieces += 1);
    load(
        "pieces-have-come",
        |load| load.clamped[0].operation == 20,
        |load| later(&mut load.load, -20_000),
    );
}

#[test]
fn what_is_told_of_lines_is_what_it_comes_to() {
    let given = shop();
    let told = |rule: &str, break_it: &dyn Fn(&mut Schedule)| {
        let mut bad = good(&given);
        break_it(&mut bad);
        assert!(
            judge(&given, &bad).iter().any(|fault| fault.rule == rule),
            "{rule}"
        );
    };
    told("complete-then", &|plan| plan.lines[0].complete = None);
    told("complete-then", &|plan| plan.lines[0].complete = Some(plan.from));
    told("weight", &|plan| plan.lines[0].weight = 7);
    told("tardiness", &|plan| plan.cost.first += 1);
    told("spindle-time", &|plan| plan.cost.second += 1);
    told("changes", &|plan| plan.cost.changes += 1);
}

/// What stands on pallets, or runs, stays as it is.
#[test]
fn what_stands_on_pallets_stays() {
    let mut seen = 0;
    for seed in 0..10 {
        let given = generated::shop_at_work(seed, 12);
        let plan = good(&given);
        for index in 0..plan.loads.len() {
            let standing = matches!(plan.loads[index].key, crate::plan::model::LoadKey::Standing(_));
            if !standing {
                continue;
            }
            let mut bad = plan.clone();
            bad.loads[index].clamped[0].pieces += 1;
            assert!(
                judge(&given, &bad)
                    .iter()
                    .any(|fault| fault.rule == "standing-stays")
            );
            let mut bad = plan.clone();
            bad.loads.remove(index);
            assert!(
                judge(&given, &bad)
                    .iter()
                    .any(|fault| fault.rule == "standing-once")
            );
            seen += 1;
        }
    }
    assert!(seen > 10, "{seen}");
}

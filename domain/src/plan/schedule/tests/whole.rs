//! Shops as a whole: empty ones, nights with a clock change, the frozen head, the same plan from the same seed.

use super::*;
use crate::calendar::{Calendar, WeeklyShift};
use crate::plan::schedule::{ScheduledLoad, as_last};
use crate::plan::tests::generated::{self, Bench, milling, operation};
use crate::shop::given::name;
use chrono::Weekday;

#[test]
fn an_empty_shop_has_an_empty_plan() {
    let bench = Bench::new(None);
    let plan = plan(&bench);
    assert!(plan.loads.is_empty() && plan.left_out.is_empty() && plan.lines.is_empty());
}

#[test]
fn where_nothing_is_possible_every_load_says_why() {
    let mut bench = Bench::new(None);
    bench.at("2026-11-02T07:00:00Z").pool(1, &[1], &[1], 1, 1).job(
        1,
        8,
        "2026-11-30",
        vec![operation(10, milling(1, 4, 3_600))],
    );
    let plan = plan(&bench);
    assert_eq!(plan.left_out.len(), 2);
    assert!(plan.loads.is_empty());
    assert!(plan.lines[0].complete.is_none());
}

#[test]
fn a_due_date_in_the_past_is_late_from_the_first_second() {
    let mut bench = Bench::new(None);
    bench
        .at("2026-11-02T07:00:00Z")
        .pool(1, &[1], &[1], 1, 1)
        .fixture(1, 4, 0, &[1])
        .job(1, 1, "2026-10-31", vec![operation(10, milling(1, 1, 3_600))]);
    let plan = plan(&bench);
    // Due at the end of the 31st (23:00 UTC), complete at 08:21 UTC on the 2nd: 33 h 21 min.
    assert_eq!(plan.lines[0].late_s(), 33 * 3_600 + 21 * 60);
    assert_eq!(plan.cost.first, 3 * plan.lines[0].late_s());
}

/// The night of 2027-03-27 from 22:00 to 06:00 lasts 7 h, that of 2026-10-24 9 h: a run of 8 h that is not cleared fits only
/// into the second. In the short night it waits for the next.
#[test]
fn nights_in_which_the_clocks_change_have_the_length_that_they_have() {
    let starts = |now: &str, minutes_to_night: i64| {
        let shift = |weekday| WeeklyShift {
            name: name("Night"),
            weekday,
            starts: "22:00".parse().unwrap(),
            ends: "06:00".parse().unwrap(),
            breaks: Vec::new(),
        };
        let nights = Calendar::new(vec![shift(Weekday::Sat), shift(Weekday::Mon)], Vec::new()).unwrap();
        let mut bench = Bench::new(Some(nights));
        bench
            .at(now)
            .pool(1, &[1], &[1], 1, 1)
            .fixture(1, 4, 0, &[1])
            .mounted(1, 1, 1)
            .job(
                1,
                1,
                "2027-04-30",
                vec![operation(10, milling(1, 1, 7 * 3_600 + 1_800))],
            );
        runs_of(&plan(&bench), 1)[0].0 - minutes_to_night
    };
    // Saturday 12:00 UTC is 13:00 in winter and 14:00 in summer.
    assert_eq!(
        starts("2026-10-24T12:00:00Z", 8 * 60),
        13,
        "the long night takes it"
    );
    // Sunday has 23 hours: Monday 22:00 is 20:00 UTC, 56 h after Saturday 12:00.
    assert_eq!(
        starts("2027-03-27T12:00:00Z", 56 * 60),
        0,
        "the short one does not: clamped in it, cut in the next"
    );
}

#[test]
fn the_same_seed_gives_the_same_plan() {
    let given = generated::shop(3, 20);
    let first = made(&given, &PlanOptions::default(), 500);
    assert_eq!(first, made(&given, &PlanOptions::default(), 500));
}

/// What is in the spindle and what is announced as next stays, whatever comes in.
#[test]
fn fifty_new_orders_leave_the_frozen_head() {
    let mut heads = 0;
    for seed in 0..10 {
        let given = generated::shop_at_work(seed, 20);
        let before = made(&given, &PlanOptions::default(), 200);
        let frozen = |load: &&ScheduledLoad| load.is_frozen && load.run.is_some();
        let head = |plan: &Schedule| -> Vec<_> {
            let loads = plan.loads.iter().filter(frozen);
            loads
                .map(|load| (load.key, load.machine, load.pallet, load.run))
                .collect()
        };
        let mut more = Bench { given };
        for number in 500..550 {
            let due = ["2026-10-01", "2026-11-03", "2026-11-20"][number % 3];
            more.job(
                number,
                4,
                due,
                vec![operation(10, milling(1 + number % 4, 4, 1_200))],
            );
        }
        let after = made(&more.given, &PlanOptions::default(), 100);
        assert_eq!(head(&before), head(&after), "seed {seed}");
        heads += head(&after).len();
    }
    assert!(heads >= 3, "{heads}");
}

/// 06:00 to 16:00; now it is 08:00, 480 min before the end of the day. 6 h from 13, then 6 h from 376 that may run alone: 104
/// of them lie in the shift, 256 after it.
#[test]
fn spindle_time_is_told_by_shift() {
    let mut bench = Bench::new(Some(generated::one_shift("06:00", "16:00")));
    let six_hours = || generated::cleared(milling(1, 1, 6 * 3_600), &[1]);
    bench
        .at("2026-11-02T07:00:00Z")
        .pool(1, &[1], &[1, 2], 1, 2)
        .fixture(1, 4, 1_800, &[1, 2])
        .mounted(1, 1, 1)
        .mounted(2, 1, 2)
        .job(1, 2, "2026-11-30", vec![operation(10, six_hours())]);
    let plan = plan(&bench);
    let shop = &bench.given.shop;
    let site = shop.site.as_ref().unwrap();
    let (shifts, between_s) = plan.spindle_by_shift(shop, site, crate::shop::given::cell(1));
    assert_eq!(shifts[0].1, (360 + 104) * 60);
    assert_eq!(between_s, 256 * 60);
}

/// What is planned can be posted as it is; the plan after it says of each load whether it was moved.
#[test]
fn a_schedule_can_be_posted_and_is_what_the_next_one_compares_with() {
    for seed in 0..8 {
        let mut given = generated::shop_at_work(seed, 20);
        let first = made(&given, &PlanOptions::default(), 300);
        given.does(crate::plan::PostPlan {
            plan: crate::shop::given::plan(1),
            slots: first.slots(),
        });
        let runs = first.loads.iter().filter_map(|load| load.run);
        let ahead = runs.filter(|run| run.from >= first.from && run.from < first.until);
        assert_eq!(first.slots().len(), ahead.count());
        let options = PlanOptions {
            last: as_last(&first.planned_loads()),
            ..PlanOptions::default()
        };
        let again = made(&given, &options, 300);
        let moved = again
            .loads
            .iter()
            .filter(|load| load.is_moved == Some(true))
            .count();
        assert_eq!(u32::try_from(moved).unwrap(), again.cost.moved, "seed {seed}");
    }
}

/// From the 4th on nobody works any more: what can be done before is planned, the rest says why not.
#[test]
fn where_the_calendar_ends_the_plan_ends() {
    let mut far = 0;
    for seed in 0..10 {
        let mut given = generated::shop_at_work(seed, 30);
        given.does(crate::site::SetSiteCalendar {
            valid_from: "2026-11-04".parse().unwrap(),
            calendar: Calendar::new(Vec::new(), Vec::new()).unwrap(),
            expected: None,
        });
        for days in [0, 3] {
            given.now = given.now.plus_s(days * 86_400);
            let plan = made(&given, &PlanOptions::default(), 200);
            let too_far = |load: &&crate::plan::schedule::LoadLeftOut| {
                load.why == crate::plan::schedule::WhyLeftOut::TooFar
            };
            far += plan.left_out.iter().filter(too_far).count();
        }
    }
    assert!(far > 0);
}

/// The clocks go forward on 2027-03-28 and back on 2026-10-25, at 01:00 UTC.
#[test]
fn plans_over_a_clock_change_pass_the_checker() {
    for seed in 0..12 {
        let mut given = generated::shop(seed, 15);
        let night = if seed % 2 == 0 {
            "2027-03-27T20:00:00Z"
        } else {
            "2026-10-24T20:00:00Z"
        };
        let at = chrono::DateTime::parse_from_rfc3339(night).unwrap();
        let hours = i64::try_from(seed).unwrap();
        given.now = crate::time::Timestamp::from_utc(at.to_utc()).plus_s(hours * 3_600 - 40_000);
        let plan = made(&given, &PlanOptions::default(), 300);
        assert!(!plan.loads.is_empty(), "seed {seed}");
    }
}

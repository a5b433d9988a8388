use super::*;
use crate::access::AddPrincipal;
use crate::access::PrincipalKind;
use crate::actor::Actor;
use crate::code::Code;
use crate::command::{Command, Context};
use crate::customer::{AddCustomer, CustomerFacts};
use crate::entry::EntryMeta;
use crate::floor::tests::small_shop::*;
use crate::floor::{AbortRun, Count, LoadPallet, StartRun};
use crate::job::Counts;
use crate::load::{Disposition, HoldKind};
use crate::order::ChangeOrder;
use crate::pallet::Position;
use crate::refusal::Refusal;
use crate::role::Role;
use crate::run::AbortReason;
use crate::shop::given::{at_s, cell, code, customer, machine, name, principal, refused};
use crate::site::{People, SetSitePeople};
use crate::time::Timestamp;
use std::collections::BTreeSet;

const OPERATOR: u8 = 1;
const INSPECTOR: u8 = 2;
const PLANNER: u8 = 3;
const BOTH: u8 = 4;

/// Job 2 wants a first piece; pallets 1 and 2 carry 8 pieces each, in setups of their own. Its order is customer 1's.
fn shop() -> Floor {
    let mut floor = Floor::new();
    people(&mut floor);
    let facts = CustomerFacts {
        code: code("NORD"),
        name: name("Nordwerk"),
        over_percent: 0,
        under_percent: 0,
    };
    let customer = customer(1);
    floor.given.does(AddCustomer { customer, facts });
    of_customer(&mut floor, false);
    let mut checked = machining(&[1]);
    checked.first_piece = true;
    floor.release(2, 40, vec![operation(10, checked)]);
    floor
        .move_to(2, Position::LoadStation { number: 2 })
        .set_up(1, 1)
        .set_up(2, 1);
    floor.clamp(1, &[pieces(2, 10, 8)]).clamp(2, &[pieces(2, 10, 8)]);
    floor
}

fn people(floor: &mut Floor) {
    let roles: [(u8, &[Role]); 4] = [
        (OPERATOR, &[Role::Operator]),
        (INSPECTOR, &[Role::Inspector]),
        (PLANNER, &[Role::Planner]),
        (BOTH, &[Role::Operator, Role::Inspector]),
    ];
    for (number, roles) in roles {
        floor.given.does(AddPrincipal {
            principal: principal(number),
            kind: PrincipalKind::Person,
            roles: roles.iter().copied().collect::<BTreeSet<_>>(),
        });
    }
}

fn of_customer(floor: &mut Floor, customer_approval_needed: bool) {
    let order = floor.given.shop.orders.values().next().unwrap().id;
    floor.given.does(ChangeOrder {
        order,
        customer: Some(customer(1)),
        reference: None,
        customer_approval_needed,
        expected: None,
    });
}

fn asks(floor: &mut Floor, rule: InspectionRule) {
    let (customer, rules) = (customer(1), vec![rule]);
    floor.given.does(SetCustomerInspection {
        customer,
        rules,
        expected: None,
    });
}

/// Run 1 of pallet 1 has ended, and hold 1 is on it.
fn cut() -> Floor {
    let mut floor = shop();
    cut_first(&mut floor);
    floor
}

fn cut_first(floor: &mut Floor) {
    floor.move_to(1, spindle(1)).start(1, 1).wait_s(600).finish(1);
}

/// Hold 1 goes on while its pieces lie in inspection.
fn taken_off() -> Floor {
    let mut floor = cut();
    floor.move_to(1, LOAD_STATION);
    let at = floor.at();
    let all = Count {
        to_inspection: 8,
        ..good(2, 10, 0)
    };
    floor.given.does(unload(1, &[all], at));
    floor
}

fn says(floor: &Floor, by: u8, command: impl Into<Command>) -> Result<Vec<Event>, Refusal> {
    let context = Context {
        now: floor.given.now,
        actor: Actor::Person(principal(by)),
        login_taken: false,
        stretches: &floor.given.stretches,
    };
    floor.given.shop.decide(&command.into(), &context)
}

/// Says it, and it happened.
fn told(floor: &mut Floor, by: u8, command: impl Into<Command>) -> Vec<Event> {
    let events = says(floor, by, command).unwrap();
    for event in &events {
        let meta = EntryMeta {
            seq: floor.given.seq() + 1,
            occurred_at: floor.given.now,
            recorded_at: floor.given.now,
            actor: Actor::Person(principal(by)),
        };
        let marks = floor.given.shop.fold(event, &meta);
        floor.given.stretches.apply_marks(marks, &meta).unwrap();
    }
    events
}

fn some(number: u32, nests: &[u32]) -> Decided {
    Decided {
        job: job(2),
        operation: 10,
        pieces: number,
        nests: nests.to_vec(),
    }
}

fn of(pieces: Vec<Decided>, command: DisposeHold) -> DisposeHold {
    DisposeHold { pieces, ..command }
}

fn piles(floor: &Floor) -> Counts {
    let at = floor.given.shop.jobs.get(&job(2)).unwrap().at(10).unwrap();
    Counts {
        good: at.good,
        scrapped: at.scrapped,
        rework: at.rework,
        inspection: at.inspection,
        returned: at.returned,
    }
}

fn at_night(floor: &mut Floor, night: NightPolicy) {
    // Inspectors work from Monday to Friday, 06:00 to 14:00 in Berlin; 23:00 UTC on Monday is midnight there.
    floor.set_calendar();
    let calendar = floor.given.shop.site.as_ref().unwrap().calendar.clone();
    let inspectors = calendar.iter().last().map(|(_, calendar)| calendar.clone());
    let people = People {
        headcount: Vec::new(),
        inspectors,
    };
    floor.given.does(SetSitePeople {
        people,
        expected: None,
    });
    asks(
        floor,
        InspectionRule {
            night: Some(night),
            ..InspectionRule::default()
        },
    );
    floor.given.now = at_s(105 * 86_400 + 17 * 3_600);
}

type Row = (&'static str, Result<Vec<Event>, Refusal>);

fn about_who() -> Vec<Row> {
    let floor = cut();
    let at = floor.at();
    let mut uncut = shop();
    let place = suspect(1, 1, uncut.at());
    uncut.given.does(place);
    let refused_to = |by, disposition| {
        (
            "disposition.role-missing",
            says(&floor, by, dispose(1, disposition, at)),
        )
    };
    let without_note = DisposeHold {
        note: None,
        ..dispose(1, Disposition::Scrap, at)
    };
    let other_revision = DisposeHold {
        revision: Some(code("B")),
        ..dispose(1, Disposition::Accept, at)
    };
    let of_uncut = dispose(1, Disposition::Scrap, uncut.at());
    vec![
        refused_to(OPERATOR, Disposition::Accept),
        refused_to(PLANNER, Disposition::Rework),
        refused_to(OPERATOR, Disposition::UseAsIs),
        ("disposition.not-cut", says(&uncut, INSPECTOR, of_uncut)),
        ("disposition.note-missing", says(&floor, INSPECTOR, without_note)),
        (
            "disposition.revision-differs",
            says(&floor, INSPECTOR, other_revision),
        ),
    ]
}

fn about_pieces() -> Vec<Row> {
    let floor = cut();
    let accept = |pieces| {
        let command = of(pieces, dispose(1, Disposition::Accept, floor.at()));
        says(&floor, INSPECTOR, command)
    };
    let other = Decided {
        operation: 20,
        ..some(1, &[])
    };
    vec![
        ("disposition.repeated", accept(vec![some(1, &[]), some(2, &[])])),
        ("disposition.not-held", accept(vec![other])),
        ("disposition.more-than-held", accept(vec![some(9, &[])])),
        ("disposition.nest-unknown", accept(vec![some(1, &[9])])),
    ]
}

fn about_rules() -> Vec<Row> {
    let mut nests = cut();
    asks(
        &mut nests,
        InspectionRule {
            every_nest: true,
            ..InspectionRule::default()
        },
    );
    let mut night = cut();
    at_night(&mut night, NightPolicy::TillDay);
    let own = cut_by_both(true);
    let accept = |floor: &Floor| dispose(1, Disposition::Accept, floor.at());
    let reference = GiveReference {
        hold: hold(1),
        reference: note("Mail of 2026-11-02"),
        at: nests.at(),
    };
    vec![
        (
            "disposition.nests-unnamed",
            says(&nests, INSPECTOR, accept(&nests)),
        ),
        ("disposition.till-day", says(&night, INSPECTOR, accept(&night))),
        ("disposition.not-independent", says(&own, BOTH, accept(&own))),
        ("disposition.nothing-proposed", says(&nests, INSPECTOR, reference)),
    ]
}

/// By somebody who is an inspector too.
fn cut_by_both(independent: bool) -> Floor {
    let mut floor = shop();
    let start = start(1, 1, floor.at());
    floor.move_to(1, spindle(1));
    told(&mut floor, BOTH, start);
    floor.wait_s(600).finish(1);
    asks(
        &mut floor,
        InspectionRule {
            independent,
            ..InspectionRule::default()
        },
    );
    floor
}

#[test]
fn each_rule_of_a_disposition_says_no_in_its_own_words() {
    let mut codes = Vec::new();
    for (expected, outcome) in about_who().into_iter().chain(about_pieces()).chain(about_rules()) {
        assert_eq!(refused(outcome), expected);
        codes.push(expected);
    }
    codes.dedup();
    let of_dispositions = DispositionRefusal::CODES
        .iter()
        .filter(|code| code.starts_with("disposition."));
    assert_eq!(
        codes,
        of_dispositions.copied().collect::<Vec<_>>(),
        "in the order of the list"
    );
}

fn reverse(entry: u64, at: Timestamp) -> ReverseInspection {
    ReverseInspection {
        job: job(2),
        entry: Some(entry),
        note: Some(note("It was the piece beside it")),
        at,
    }
}

#[test]
fn each_rule_of_a_reversal_says_no_in_its_own_words() {
    let mut floor = taken_off();
    let at = floor.at();
    told(
        &mut floor,
        INSPECTOR,
        of(vec![some(2, &[])], dispose(1, Disposition::Rework, at)),
    );
    let rework = floor.given.seq();
    let silent = ReverseInspection {
        note: None,
        ..reverse(rework, at)
    };
    assert_eq!(
        refused(says(&floor, INSPECTOR, reverse(1, at))),
        "inspection.unknown"
    );
    assert_eq!(
        refused(says(&floor, INSPECTOR, silent)),
        "inspection.note-missing"
    );
    // One of the two is clamped to be put right.
    let again = crate::load::Clamped {
        rework: true,
        ..pieces(2, 10, 1)
    };
    floor.clamp(1, &[again]);
    let refusal = says(&floor, INSPECTOR, reverse(rework, at)).unwrap_err();
    assert_eq!(refusal.code(), "inspection.moved-on");
    assert!(refusal.to_string().contains("2 pieces"), "{refusal}");
    let uncut = Count {
        uncut: 1,
        rework: true,
        ..good(2, 10, 0)
    };
    floor.given.does(unload(1, &[uncut], at));
    told(&mut floor, INSPECTOR, reverse(rework, at));
    assert_eq!(
        refused(says(&floor, INSPECTOR, reverse(rework, at))),
        "inspection.reversed-already"
    );
}

/// E54: whoever cut it does not decide; the order's customer has to agree, and until then nothing moves.
#[test]
fn e54_use_as_is_stays_proposed_until_the_customer_has_agreed() {
    let mut floor = cut();
    of_customer(&mut floor, true);
    let at = floor.at();
    let use_it = || dispose(1, Disposition::UseAsIs, at);
    assert_eq!(
        refused(says(&floor, OPERATOR, use_it())),
        "disposition.role-missing"
    );
    let proposed = told(&mut floor, INSPECTOR, use_it());
    assert!(matches!(proposed[..], [Event::DispositionProposed(_)]));
    let held = floor.given.shop.holds.get(&hold(1)).unwrap();
    assert_eq!(held.proposal.as_ref().unwrap().disposition, Disposition::UseAsIs);
    floor.move_to(1, LOAD_STATION);
    assert_eq!(
        refused(floor.given.when(unload(1, &[good(2, 10, 8)], at))),
        "unload.held"
    );
    let reference = GiveReference {
        hold: hold(1),
        reference: note("Mail of 2026-11-02"),
        at,
    };
    told(&mut floor, PLANNER, reference);
    assert!(floor.given.shop.holds.is_empty());
    floor.given.does(unload(1, &[good(2, 10, 8)], at));
    assert_eq!(piles(&floor).good, 8);
    assert!(
        floor.given.shop.approvals.is_empty(),
        "what is used as it is approves nothing"
    );
}

/// What was decided while it was clamped is what it counts as; what nobody decided about goes on being held.
#[test]
fn pieces_on_a_pallet_count_as_they_were_decided() {
    let mut floor = cut();
    let at = floor.at();
    for (pieces, disposition) in [
        (3, Disposition::Accept),
        (1, Disposition::Scrap),
        (1, Disposition::Rework),
        (1, Disposition::Return),
    ] {
        told(
            &mut floor,
            INSPECTOR,
            of(vec![some(pieces, &[])], dispose(1, disposition, at)),
        );
    }
    floor.move_to(1, LOAD_STATION);
    let told_off = |good_ones, scrapped, to_rework, to_inspection| Count {
        scrapped,
        to_rework,
        to_inspection,
        ..good(2, 10, good_ones)
    };
    for otherwise in [told_off(4, 0, 1, 3), told_off(4, 1, 0, 3), told_off(6, 1, 1, 0)] {
        assert_eq!(
            refused(floor.given.when(unload(1, &[otherwise], at))),
            "unload.decided-otherwise"
        );
    }
    assert_eq!(
        refused(floor.given.when(unload(1, &[told_off(4, 1, 1, 2)], at))),
        "unload.held",
        "three of them are good so far"
    );
    floor.given.does(unload(1, &[told_off(3, 1, 1, 3)], at));
    let expected = Counts {
        good: 3,
        scrapped: 1,
        rework: 1,
        inspection: 2,
        returned: 1,
    };
    assert_eq!(piles(&floor), expected);
    let left = undecided(&floor.given.shop, floor.given.shop.holds.get(&hold(1)).unwrap());
    assert_eq!(left, [pieces(2, 10, 2)]);
    told(&mut floor, INSPECTOR, dispose(1, Disposition::Scrap, at));
    assert_eq!((piles(&floor).scrapped, piles(&floor).inspection), (3, 0));
    assert!(floor.given.shop.holds.is_empty());
}

/// E55: the wrong one was scrapped. The count is what it was before, and both entries are there.
#[test]
fn e55_a_scrap_is_taken_back_by_a_new_entry() {
    let mut floor = taken_off();
    let at = floor.at();
    let before = piles(&floor);
    told(
        &mut floor,
        INSPECTOR,
        of(vec![some(1, &[])], dispose(1, Disposition::Scrap, at)),
    );
    let scrap = floor.given.seq();
    assert_eq!(piles(&floor).scrapped, 1);
    told(&mut floor, INSPECTOR, reverse(scrap, at));
    assert_eq!(piles(&floor), before);
    let [result] = &floor.given.shop.jobs.get(&job(2)).unwrap().inspections[..] else {
        panic!("one result")
    };
    assert_eq!(
        (result.seq, result.reversed_by, result.by),
        (scrap, Some(scrap + 1), Some(principal(INSPECTOR)))
    );
    assert_eq!(
        undecided(&floor.given.shop, floor.given.shop.holds.get(&hold(1)).unwrap()),
        [pieces(2, 10, 8)],
        "all of them wait for a decision again"
    );
}

/// While its pieces are clamped, a reversal holds the load again, and what was approved is approved no more.
#[test]
fn an_accept_is_taken_back_while_its_pieces_are_clamped() {
    let mut floor = cut();
    let at = floor.at();
    told(&mut floor, INSPECTOR, dispose(1, Disposition::Accept, at));
    let accept = floor.given.seq();
    assert_eq!(floor.given.shop.approvals.get(&job(2)).unwrap().len(), 1);
    told(&mut floor, INSPECTOR, reverse(accept, at));
    assert_eq!(
        floor.given.shop.holds.get(&hold(1)).unwrap().kind,
        HoldKind::FirstPiece
    );
    assert!(floor.given.shop.approvals.get(&job(2)).unwrap().is_empty());
    floor.move_to(2, spindle(2));
    assert_eq!(refused(floor.given.when(start(2, 2, at))), "run.first-piece-open");
}

/// Who doubts what was accepted takes that back.
#[test]
fn a_doubt_takes_an_acceptance_back() {
    let mut floor = cut();
    let at = floor.at();
    told(&mut floor, INSPECTOR, dispose(1, Disposition::Accept, at));
    told(&mut floor, OPERATOR, suspect(1, 9, at));
    floor.move_to(1, LOAD_STATION);
    assert_eq!(
        refused(floor.given.when(unload(1, &[good(2, 10, 8)], at))),
        "unload.held"
    );
    assert!(floor.given.shop.approvals.get(&job(2)).unwrap().is_empty());
    told(&mut floor, INSPECTOR, dispose(9, Disposition::Scrap, at));
    let scrapped = Count {
        scrapped: 8,
        ..good(2, 10, 0)
    };
    floor.given.does(unload(1, &[scrapped], at));
    assert_eq!(piles(&floor).scrapped, 8);
}

/// Pieces that a hold keeps in inspection are decided about there, with its authority, and nowhere else.
#[test]
fn held_pieces_are_not_reported_past_their_hold() {
    let mut floor = taken_off();
    let at = floor.at();
    let report = crate::job::ReportInspected {
        job: job(2),
        operation: 10,
        counts: Counts {
            good: 1,
            ..Counts::default()
        },
        at,
    };
    assert_eq!(
        refused(says(&floor, INSPECTOR, report.clone())),
        "job.pieces-held"
    );
    told(&mut floor, INSPECTOR, dispose(1, Disposition::Accept, at));
    assert_eq!(piles(&floor).good, 8);
    assert_eq!(
        refused(says(&floor, INSPECTOR, report)),
        "job.more-than-inspected"
    );
}

/// E56: with the rule, refused; without it, allowed, and the record says so.
#[test]
fn e56_whoever_ran_it_may_accept_it_only_where_the_customer_lets_them() {
    for independent in [true, false] {
        let mut floor = cut_by_both(independent);
        let accept = dispose(1, Disposition::Accept, floor.at());
        if independent {
            assert_eq!(
                refused(says(&floor, BOTH, accept.clone())),
                "disposition.not-independent"
            );
        }
        let by = if independent { INSPECTOR } else { BOTH };
        let events = told(&mut floor, by, accept);
        let [Event::HoldDisposed(disposed)] = &events[..] else {
            panic!("{events:?}")
        };
        assert_eq!(disposed.self_checked, !independent);
    }
}

/// E57: 2024-10-01 to 2026-11-20 are 780 days (31 + 30 + 31 to the year's end, 365, and 324 of 2026 less one day).
#[test]
fn e57_a_part_that_was_long_not_made_gets_its_first_article_again() {
    let mut floor = shop();
    asks(
        &mut floor,
        InspectionRule {
            first_article_after_months: Some(24),
            ..InspectionRule::default()
        },
    );
    let noon = |date: &str| {
        let date: chrono::NaiveDate = date.parse().unwrap();
        Timestamp::from_utc(date.and_hms_opt(12, 0, 0).unwrap().and_utc())
    };
    let today = noon("2026-11-20");
    let of = |shop: &crate::shop::Shop| lapse(shop, Some(customer(1)), part(1), today);
    assert_eq!(
        of(&floor.given.shop),
        None,
        "nobody knows when it was finished last"
    );
    floor.given.shop.last_finished.insert(part(1), noon("2024-10-01"));
    let found = of(&floor.given.shop).unwrap();
    assert_eq!(
        (
            found.last_finished.to_string().as_str(),
            found.days,
            found.after_months
        ),
        ("2024-10-01", 780, 24)
    );
    floor.given.shop.last_finished.insert(part(1), noon("2025-06-01"));
    assert_eq!(of(&floor.given.shop), None);
}

#[test]
fn at_night_a_supervisor_stands_in_where_the_customer_agrees() {
    let mut floor = cut();
    at_night(&mut floor, NightPolicy::Supervisor);
    let accept = dispose(1, Disposition::Accept, floor.at());
    assert_eq!(
        refused(says(&floor, OPERATOR, accept.clone())),
        "disposition.role-missing"
    );
    let events = says(&floor, PLANNER, accept).unwrap();
    assert!(matches!(&events[..], [Event::HoldDisposed(event)] if event.authority == Authority::Supervisor));
    // 10:00 in Berlin: inspectors are there.
    floor.given.now = at_s(106 * 86_400 + 3 * 3_600);
    let by_day = dispose(1, Disposition::Accept, floor.at());
    assert_eq!(refused(says(&floor, PLANNER, by_day)), "disposition.role-missing");
    at_night(&mut floor, NightPolicy::TillDay);
    let scrap = dispose(1, Disposition::Scrap, floor.at());
    assert!(
        says(&floor, INSPECTOR, scrap).is_ok(),
        "what is scrap is scrap by night too"
    );
}

/// With every nest: five of eight are not enough, and the hold says how far it is.
#[test]
fn a_setup_is_approved_nest_by_nest_where_the_customer_wants_it() {
    let mut floor = cut();
    asks(
        &mut floor,
        InspectionRule {
            every_nest: true,
            ..InspectionRule::default()
        },
    );
    let at = floor.at();
    let accept = || dispose(1, Disposition::Accept, at);
    told(
        &mut floor,
        INSPECTOR,
        of(vec![some(5, &[1, 2, 3, 4, 5])], accept()),
    );
    let held = floor.given.shop.holds.get(&hold(1)).unwrap();
    let [nests] = &NestsApproved::of_hold(&floor.given.shop, held)[..] else {
        panic!("of one operation")
    };
    assert_eq!((&nests.approved[..], nests.nests), (&[1, 2, 3, 4, 5][..], 8));
    floor.move_to(2, spindle(2));
    assert_eq!(refused(floor.given.when(start(2, 2, at))), "run.first-piece-open");
    told(&mut floor, INSPECTOR, of(vec![some(3, &[6, 7, 8])], accept()));
    assert!(floor.given.shop.holds.is_empty());
    floor.move_to(1, LOAD_STATION);
    floor.given.does(unload(1, &[good(2, 10, 8)], at));
    floor
        .clamp(1, &[pieces(2, 10, 8)])
        .move_to(1, spindle(1))
        .start(1, 3);
    floor.wait_s(600).finish(3);
    assert!(floor.given.shop.holds.is_empty(), "all eight nests are approved");
}

/// Cuts 8 pieces more on pallet 1 in the same setup, as run and hold of this number; gives whether they are held.
fn cuts_again(floor: &mut Floor, number: u32) -> Option<HoldKind> {
    floor.clamp(1, &[pieces(2, 10, 8)]).move_to(1, spindle(1));
    floor
        .start(1, number)
        .wait_s(600)
        .finish(number)
        .move_to(1, LOAD_STATION);
    let held = floor.given.shop.holds.get(&hold(number)).map(|hold| hold.kind);
    let at = floor.at();
    if held.is_some() {
        floor.given.does(dispose(number, Disposition::Accept, at));
    }
    floor.given.does(unload(1, &[good(2, 10, 8)], at));
    held
}

/// Pallet 1 is approved and empty again.
fn approved() -> Floor {
    let mut floor = cut();
    let at = floor.at();
    floor.given.does(dispose(1, Disposition::Accept, at));
    floor.move_to(1, LOAD_STATION);
    floor.given.does(unload(1, &[good(2, 10, 8)], at));
    // Its other 8 pieces do not come between.
    let uncut = Count {
        uncut: 8,
        ..good(2, 10, 0)
    };
    floor.given.does(unload(2, &[uncut], at));
    floor
}

#[test]
fn an_approval_ends_with_the_shift_where_the_customer_says_so() {
    let mut floor = approved();
    floor.set_calendar();
    asks(
        &mut floor,
        InspectionRule {
            first_piece: vec![Occasion::PerShift],
            ..InspectionRule::default()
        },
    );
    // Two starts in one shift, then one in the next: 2027-02-15 is a Monday, 07:00 UTC is 08:00 in Berlin.
    floor.given.now = at_s(105 * 86_400 + 3_600);
    assert_eq!(
        cuts_again(&mut floor, 2),
        Some(HoldKind::FirstPiece),
        "the shift before was another"
    );
    assert_eq!(cuts_again(&mut floor, 3), None);
    floor.given.now = at_s(106 * 86_400 + 3_600);
    assert_eq!(cuts_again(&mut floor, 4), Some(HoldKind::FirstPiece));
}

#[test]
fn an_approval_ends_with_a_new_tool_where_the_customer_says_so() {
    let mut floor = approved();
    asks(
        &mut floor,
        InspectionRule {
            first_piece: vec![Occasion::ToolChange],
            ..InspectionRule::default()
        },
    );
    assert_eq!(cuts_again(&mut floor, 2), None);
    floor.wait_s(60).set_tools(1, &[900]);
    assert_eq!(cuts_again(&mut floor, 3), Some(HoldKind::FirstPiece));
    // Less is left than before: it was used, not replaced.
    floor.wait_s(60).set_tools(1, &[500]);
    assert_eq!(cuts_again(&mut floor, 4), None);
}

/// Where a new job is no occasion, its pieces go on in the setup that was approved for the job before.
#[test]
fn an_approval_is_good_for_the_next_job_where_the_customer_says_so() {
    for (first_piece, expected) in [
        (vec![Occasion::NewSetup], None),
        (
            vec![Occasion::NewSetup, Occasion::NewJobOperation],
            Some(HoldKind::FirstPiece),
        ),
    ] {
        let mut floor = approved();
        asks(
            &mut floor,
            InspectionRule {
                first_piece,
                ..InspectionRule::default()
            },
        );
        let mut checked = machining(&[1]);
        checked.first_piece = true;
        floor.release(3, 8, vec![operation(10, checked)]);
        floor
            .clamp(1, &[pieces(3, 10, 8)])
            .move_to(1, spindle(1))
            .start(1, 5);
        floor.wait_s(600).finish(5);
        let held = floor.given.shop.holds.get(&hold(5)).map(|hold| hold.kind);
        assert_eq!(held, expected);
    }
}

/// E51: what is approved is revision A; the pieces of revision B wait, and are told for what the approval is.
#[test]
fn e51_an_approval_of_another_revision_opens_nothing_and_says_so() {
    let mut floor = approved();
    let mut checked = machining(&[1]);
    checked.first_piece = true;
    floor.release(3, 16, vec![operation(10, checked)]);
    floor
        .given
        .shop
        .jobs
        .update(&job(3), |job| job.revision = code("B"));
    asks(
        &mut floor,
        InspectionRule {
            first_piece: vec![Occasion::NewSetup],
            ..InspectionRule::default()
        },
    );
    floor
        .clamp(2, &[pieces(3, 10, 8)])
        .move_to(2, spindle(2))
        .start(2, 5);
    floor.wait_s(600).finish(5);
    assert_eq!(
        floor.given.shop.holds.get(&hold(5)).unwrap().kind,
        HoldKind::FirstPiece
    );
    floor.clamp(1, &[pieces(3, 10, 8)]).move_to(1, spindle(1));
    let refusal = floor.given.when(start(1, 6, floor.at())).unwrap_err();
    assert_eq!(refusal.code(), "run.first-piece-open");
    assert!(refusal.to_string().contains("is for revision A"), "{refusal}");
    let measured = DisposeHold {
        revision: Some("A".parse::<Code>().unwrap()),
        ..dispose(5, Disposition::Accept, floor.at())
    };
    let refusal = says(&floor, INSPECTOR, measured).unwrap_err();
    assert_eq!(refusal.code(), "disposition.revision-differs");
    assert!(floor.given.shop.holds.get(&hold(5)).is_some(), "it stays held");
}

#[test]
fn one_load_of_so_many_pieces_is_measured_on_the_way() {
    let mut floor = approved();
    asks(
        &mut floor,
        InspectionRule {
            in_process_every: Some(16),
            ..InspectionRule::default()
        },
    );
    // The first piece was looked at: counting began then.
    assert_eq!(cuts_again(&mut floor, 2), None);
    assert_eq!(cuts_again(&mut floor, 3), Some(HoldKind::InProcess));
    assert_eq!(cuts_again(&mut floor, 4), None);
}

/// One held part holds a load of several jobs.
#[test]
fn one_held_operation_holds_a_mixed_load() {
    let mut floor = shop();
    let at = floor.at();
    let uncut = |pieces| Count {
        uncut: pieces,
        ..good(2, 10, 0)
    };
    floor.given.does(unload(1, &[uncut(8)], at));
    floor.release(3, 4, vec![operation(10, machining(&[1]))]);
    floor.clamp(1, &[pieces(2, 10, 4), pieces(3, 10, 4)]);
    cut_first(&mut floor);
    floor.move_to(1, LOAD_STATION);
    let both = [good(2, 10, 4), good(3, 10, 4)];
    assert_eq!(
        refused(floor.given.when(unload(1, &both, at.plus_s(600)))),
        "unload.held"
    );
    // Accepting what was asked for leaves the rest to be decided about.
    let at = floor.at();
    told(
        &mut floor,
        INSPECTOR,
        of(vec![some(4, &[])], dispose(1, Disposition::Accept, at)),
    );
    assert_eq!(refused(floor.given.when(unload(1, &both, at))), "unload.held");
    told(&mut floor, INSPECTOR, dispose(1, Disposition::Accept, at));
    floor.given.does(unload(1, &both, at));
}

/// A run that was broken off proves nothing: its load is accepted as it stands, or taken off.
#[test]
fn a_load_that_was_broken_off_is_accepted_without_a_count() {
    let mut floor = shop();
    floor.move_to(1, spindle(1)).start(1, 1).wait_s(60);
    let at = floor.at();
    floor.given.does(AbortRun {
        run: run(1),
        at,
        reason: AbortReason::Tool,
        note: None,
    });
    told(&mut floor, OPERATOR, suspect(1, 1, at));
    assert_eq!(
        refused(says(&floor, INSPECTOR, dispose(1, Disposition::Rework, at))),
        "disposition.not-cut"
    );
    let events = told(&mut floor, INSPECTOR, dispose(1, Disposition::Accept, at));
    assert!(matches!(&events[..], [Event::HoldDisposed(event)] if event.pieces.is_empty() && event.lifted));
    let again = StartRun {
        run: run(2),
        ..start(1, 2, at)
    };
    floor.given.does(again);
}

#[test]
fn each_rule_about_rules_says_no_in_its_own_words() {
    let mut floor = shop();
    asks(&mut floor, InspectionRule::default());
    let set = |rules: Vec<InspectionRule>, expected| SetCustomerInspection {
        customer: customer(1),
        rules,
        expected,
    };
    let one = InspectionRule::default;
    let with_part = |number| InspectionRule {
        part: Some(part(number)),
        ..one()
    };
    let twice = InspectionRule {
        first_piece: vec![Occasion::PerShift, Occasion::PerShift],
        ..one()
    };
    let never = InspectionRule {
        in_process_every: Some(0),
        ..one()
    };
    let rows = vec![
        ("inspection-rules.stale", set(vec![one()], Some(1))),
        ("inspection-rules.too-many", set(vec![one(); RULES_MAX + 1], None)),
        ("inspection-rules.part-unknown", set(vec![with_part(99)], None)),
        ("inspection-rules.same-twice", set(vec![one(), one()], None)),
        ("inspection-rules.occasion-twice", set(vec![twice], None)),
        ("inspection-rules.bad-number", set(vec![never], None)),
    ];
    let codes: Vec<_> = rows.iter().map(|(code, _)| *code).collect();
    assert_eq!(codes, InspectionRuleRefusal::CODES);
    for (expected, command) in rows {
        assert_eq!(refused(floor.given.when(command)), expected);
    }
    let most_exact = InspectionRule {
        operation: Some(10),
        every_nest: true,
        ..with_part(1)
    };
    floor
        .given
        .does(set(vec![one(), with_part(1), most_exact.clone()], None));
    assert_eq!(rule_of(&floor.given.shop, job(2), 10), most_exact);
    assert_eq!(rule_of(&floor.given.shop, job(2), 20), with_part(1));
}

/// The worked example of docs/holds.md, step by step: 8 = 7 good + 1 scrapped.
#[test]
fn the_example_of_the_document_comes_out_as_it_says() {
    let mut floor = cut();
    asks(
        &mut floor,
        InspectionRule {
            independent: true,
            customer_approval_needed: true,
            ..InspectionRule::default()
        },
    );
    let at = floor.at();
    let disposed = |pieces, disposition| of(vec![some(pieces, &[])], dispose(1, disposition, at));
    told(&mut floor, INSPECTOR, disposed(5, Disposition::Accept));
    assert_eq!(floor.given.shop.approvals.get(&job(2)).unwrap().len(), 1);
    told(&mut floor, INSPECTOR, disposed(1, Disposition::Scrap));
    let scrap = floor.given.seq();
    told(&mut floor, INSPECTOR, disposed(2, Disposition::UseAsIs));
    floor.move_to(1, LOAD_STATION);
    let counted = Count {
        scrapped: 1,
        to_inspection: 2,
        ..good(2, 10, 5)
    };
    floor.given.does(unload(1, &[counted], at));
    told(&mut floor, INSPECTOR, reverse(scrap, at));
    assert_eq!((piles(&floor).scrapped, piles(&floor).inspection), (0, 3));
    told(&mut floor, INSPECTOR, disposed(1, Disposition::Scrap));
    let agreed = GiveReference {
        hold: hold(1),
        reference: note("Mail of the customer"),
        at,
    };
    told(&mut floor, PLANNER, agreed);
    let expected = Counts {
        good: 7,
        scrapped: 1,
        ..Counts::default()
    };
    assert_eq!(piles(&floor), expected);
    assert!(floor.given.shop.holds.is_empty());
}

/// The worth of a run follows its results, back and forth.
#[test]
fn what_a_run_earned_follows_a_reversal() {
    let mut floor = taken_off();
    let at = floor.at();
    let earned = |floor: &Floor| {
        let mut tallies = floor.given.shop.tallies.values();
        tallies.next().map(|tally| {
            let one = &tally.operations[0];
            (one.good, one.scrap, one.waits)
        })
    };
    assert_eq!(earned(&floor), Some((0, 0, 8)));
    told(
        &mut floor,
        INSPECTOR,
        of(vec![some(1, &[])], dispose(1, Disposition::Scrap, at)),
    );
    let scrap = floor.given.seq();
    told(&mut floor, INSPECTOR, dispose(1, Disposition::Accept, at));
    assert_eq!(earned(&floor), None, "nothing waits any more");
    told(&mut floor, INSPECTOR, reverse(scrap, at));
    assert_eq!(earned(&floor), Some((7, 0, 1)));
    assert_eq!(piles(&floor).inspection, 1);
}

#[test]
fn the_table_of_a_pool_knows_the_load_by_its_hands() {
    let mut floor = shop();
    let at = floor.at();
    let uncut = Count {
        uncut: 8,
        ..good(2, 10, 0)
    };
    floor.given.does(unload(1, &[uncut], at));
    told(
        &mut floor,
        OPERATOR,
        LoadPallet {
            pallet: pallet(1),
            load: load(77),
            clamped: vec![pieces(2, 10, 8)],
            at,
            overrides: Vec::new(),
        },
    );
    floor.move_to(1, spindle(1));
    told(&mut floor, BOTH, start(1, 1, at));
    let hands = &floor
        .given
        .shop
        .pallets
        .get(&pallet(1))
        .unwrap()
        .load
        .as_ref()
        .unwrap()
        .hands;
    assert_eq!(hands, &[principal(OPERATOR), principal(BOTH)]);
    assert_eq!(floor.given.shop.machines.get(&machine(1)).unwrap().cell, cell(1));
}

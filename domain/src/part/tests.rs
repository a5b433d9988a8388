use super::{
    AddPart, AddRevision, CHECKS_PER_CLEARANCE_MAX, ChangePart, Clearance, CycleTime, Lead, Link, Machining,
    Manual, OPERATIONS_MAX, Operation, PARTS_MAX, Part, REVISIONS_MAX, RevisionFacts, Routing, SetRouting,
    ToolUse, Work,
};
use crate::fixture::AddFixture;
use crate::ids::PartId;
use crate::refusal::Refusal;
use crate::shop::given::{
    Given, a_small_shop, cell, code, fixture, fixture_copy, fixture_facts, machine, machining, name,
    operation, part, refused, vendor,
};
use uuid::Uuid;

fn revision(text: &str) -> RevisionFacts {
    RevisionFacts {
        revision: code(text),
        mass_g: Some(2_100),
        size: None,
        blank: None,
    }
}

fn add(number: u8, text: &str) -> AddPart {
    AddPart {
        part: part(number),
        code: code(text),
        name: name("Housing"),
        revision: revision("A"),
    }
}

fn change(number: u8, text: &str, expected: Option<u64>) -> ChangePart {
    ChangePart {
        part: part(number),
        code: code(text),
        name: name("Housing"),
        expected,
    }
}

fn add_revision(number: u8, text: &str) -> AddRevision {
    AddRevision {
        part: part(number),
        facts: revision(text),
    }
}

fn route(operations: Vec<Operation>) -> SetRouting {
    SetRouting {
        part: part(1),
        revision: code("A"),
        routing: Routing { operations },
        expected: None,
    }
}

fn manual(number: u16) -> Operation {
    let lead = Lead::StaffedTime { lead_s: 600 };
    operation(number, Work::Manual(Manual { lead, vendor: None }))
}

/// The small shop's operation, changed.
fn with(change: impl FnOnce(&mut Machining)) -> SetRouting {
    let mut work = machining();
    change(&mut work);
    route(vec![operation(10, Work::Machining(work))])
}

fn code_and_field(given: &Given, command: SetRouting) -> (&'static str, String) {
    let refusal: Refusal = given.when(command).unwrap_err();
    (refusal.code(), refusal.pointer())
}

#[test]
fn each_rule_of_parts_says_no_in_its_own_words() {
    let mut given = a_small_shop();
    given.does(add(2, "4712"));
    let stale = given.seq() + 7;
    for (refusal, expected) in [
        (given.when(change(9, "X", None)), "part.unknown"),
        (given.when(add_revision(9, "B")), "part.unknown"),
        (
            given.when(SetRouting {
                revision: code("Z"),
                ..with(|_| ())
            }),
            "part.revision-unknown",
        ),
        (given.when(change(1, "4711", Some(stale))), "part.stale"),
        (
            given.when(SetRouting {
                expected: Some(stale),
                ..with(|_| ())
            }),
            "part.stale",
        ),
        (given.when(add(1, "X")), "part.id-taken"),
        (given.when(add(9, "4711")), "part.code-taken"),
        (given.when(change(1, "4712", None)), "part.code-taken"),
        (given.when(add_revision(1, "a")), "part.revision-taken"),
    ] {
        assert_eq!(refused(refusal), expected);
    }
    for number in 1..REVISIONS_MAX {
        given.does(add_revision(1, &format!("R{number}")));
    }
    assert_eq!(
        refused(given.when(add_revision(1, "B"))),
        "part.too-many-revisions"
    );
    let one = given.shop.parts.get(&part(1)).unwrap().clone();
    for number in 2..PARTS_MAX as u128 {
        let id = PartId(Uuid::from_u128(0x10_0000_0000 + number));
        given.shop.parts.insert(
            id,
            Part {
                id,
                code: code(&format!("N{number}")),
                ..one.clone()
            },
        );
    }
    assert_eq!(refused(given.when(add(9, "X"))), "part.too-many");
}

fn each_points_at_the_field_that_is_wrong<const N: usize>(
    given: &Given,
    rows: [(SetRouting, &'static str, String); N],
) {
    for (command, expected, field) in rows {
        assert_eq!(code_and_field(given, command), (expected, field));
    }
}

#[test]
fn each_rule_of_operations_points_at_the_field_that_is_wrong() {
    let given = a_small_shop();
    let elsewhere = |lead| {
        Work::Manual(Manual {
            lead,
            vendor: Some(vendor(9)),
        })
    };
    let many = (1..).take(OPERATIONS_MAX + 1).map(manual).collect();
    let rows = [
        (
            route(Vec::new()),
            "routing.no-operation",
            "/operations".to_owned(),
        ),
        (
            route(many),
            "routing.too-many-operations",
            "/operations".to_owned(),
        ),
        (
            route(vec![manual(0)]),
            "routing.bad-number",
            "/operations/0/number".to_owned(),
        ),
        (
            route(vec![manual(10), manual(10)]),
            "routing.numbers-not-ascending",
            "/operations/1/number".to_owned(),
        ),
        (
            route(vec![operation(10, elsewhere(Lead::WorkingDays { lead_days: 5 }))]),
            "routing.vendor-unknown",
            "/operations/0/manual/vendor".to_owned(),
        ),
    ];
    each_points_at_the_field_that_is_wrong(&given, rows);
}

#[test]
fn each_rule_of_fixtures_and_places_points_at_the_field_that_is_wrong() {
    let mut given = a_small_shop();
    given.does(AddFixture {
        fixture: fixture(2),
        facts: fixture_facts("F2", 4),
        copies: vec![fixture_copy(3, "F2-1")],
    });
    let at = "/operations/0/machining";
    let rows = [
        (
            with(|work| work.pieces_per_load = 0),
            "routing.not-positive",
            format!("{at}/pieces_per_load"),
        ),
        (
            with(|work| work.fixtures.clear()),
            "routing.bad-count",
            format!("{at}/fixtures"),
        ),
        (
            with(|work| work.fixtures.push(fixture(9))),
            "routing.fixture-unknown",
            format!("{at}/fixtures/1"),
        ),
        (
            with(|work| work.fixtures.push(fixture(1))),
            "routing.repeated",
            format!("{at}/fixtures/1"),
        ),
        (
            with(|work| work.fixtures.push(fixture(2))),
            "routing.too-few-nests",
            format!("{at}/fixtures/1"),
        ),
        (
            with(|work| work.places.clear()),
            "routing.bad-count",
            format!("{at}/places"),
        ),
        (
            with(|work| work.places.push(work.places[0].clone())),
            "routing.repeated",
            format!("{at}/places/1/cell"),
        ),
    ];
    each_points_at_the_field_that_is_wrong(&given, rows);
}

#[test]
fn each_rule_of_a_place_points_at_the_field_that_is_wrong() {
    let given = a_small_shop();
    let at = "/operations/0/machining/places/0";
    let clearance = |number, checks| Clearance {
        machine: machine(number),
        checklist: vec![name("Coolant level"); checks],
    };
    let used = |used_s_per_load| ToolUse {
        tool: code("T1"),
        used_s_per_load,
    };
    let rows = [
        (
            with(|work| work.places[0].cell = cell(9)),
            "routing.cell-unknown",
            format!("{at}/cell"),
        ),
        (
            with(|work| work.places[0].cycle = CycleTime::PerPiece { cycle_s: 0 }),
            "routing.not-positive",
            format!("{at}/cycle"),
        ),
        (
            with(|work| work.places[0].machines = vec![machine(3)]),
            "routing.machine-unknown",
            format!("{at}/machines/0"),
        ),
        (
            with(|work| work.places[0].machines = vec![machine(1), machine(1)]),
            "routing.repeated",
            format!("{at}/machines/1"),
        ),
        (
            with(|work| work.places[0].tools = vec![used(0)]),
            "routing.not-positive",
            format!("{at}/tools/0/used_s_per_load"),
        ),
        (
            with(|work| work.places[0].tools = vec![used(1), used(2)]),
            "routing.repeated",
            format!("{at}/tools/1/tool"),
        ),
        (
            with(|work| {
                work.places[0].machines = vec![machine(1)];
                work.places[0].clearances = vec![clearance(2, 1)];
            }),
            "routing.cleared-elsewhere",
            format!("{at}/clearances/0/machine"),
        ),
        (
            with(|work| work.places[0].clearances = vec![clearance(1, 0)]),
            "routing.bad-count",
            format!("{at}/clearances/0/checklist"),
        ),
        (
            with(|work| work.places[0].clearances = vec![clearance(1, CHECKS_PER_CLEARANCE_MAX + 1)]),
            "routing.bad-count",
            format!("{at}/clearances/0/checklist"),
        ),
    ];
    each_points_at_the_field_that_is_wrong(&given, rows);
}

#[test]
fn a_revision_begins_without_a_routing_and_changes_no_other() {
    let mut given = a_small_shop();
    let before = given.shop.parts.get(&part(1)).unwrap().revisions[0].clone();
    given.does(add_revision(1, "B"));
    let after = given.shop.parts.get(&part(1)).unwrap();
    assert_eq!(after.revisions[0], before);
    assert_eq!(after.revision(&code("b")).unwrap().routing, None);
}

// Floor cases E24 and E25: 48 min for a pallet of 6 are 48 min also with one piece on it; told per piece they are
// 8 min each.
#[test]
fn a_cycle_time_is_of_the_load_or_of_the_piece() {
    let load = CycleTime::PerLoad { cycle_s: 2_880 };
    let piece = CycleTime::PerPiece { cycle_s: 480 };
    assert_eq!(
        (load.of_load_s(6), load.of_load_s(1), load.of_load_s(0)),
        (2_880, 2_880, 0)
    );
    assert_eq!(
        (piece.of_load_s(6), piece.of_load_s(1), piece.of_load_s(0)),
        (2_880, 480, 0)
    );
}

#[test]
fn a_link_leads_to_a_place_and_runs_nothing() {
    for fine in [
        "https://files.example/4711.pdf",
        "http://nas/a",
        "file:///srv/sheets/4711.pdf",
    ] {
        assert!(Link::try_from(fine.to_owned()).is_ok(), "{fine}");
    }
    for wrong in [
        "",
        "https://",
        "javascript:alert(1)",
        "data:text/html,x",
        "https://a b",
        "4711.pdf",
    ] {
        assert!(Link::try_from(wrong.to_owned()).is_err(), "{wrong}");
    }
}

use super::small_shop::*;
use crate::floor::*;
use crate::load::Clamped;
use crate::pallet::Position;
use std::collections::BTreeSet;

#[expect(clippy::unnecessary_wraps, reason = "as a pallet of a statement holds it")]
fn setup_of(fixture_number: u8, copy_number: u8) -> Option<OpeningSetup> {
    Some(OpeningSetup {
        setup: setup(u32::from(copy_number)),
        fixture: fixture(fixture_number),
        copy: copy(copy_number),
        is_ended: true,
    })
}

#[expect(clippy::unnecessary_wraps, reason = "as a pallet of a statement holds it")]
fn load_of(clamped: &[Clamped], is_cut: bool) -> Option<OpeningLoad> {
    Some(OpeningLoad {
        load: load(1),
        clamped: clamped.to_vec(),
        is_cut,
    })
}

fn standing(
    number: u8,
    position: Position,
    setup: Option<OpeningSetup>,
    load: Option<OpeningLoad>,
) -> OpeningPallet {
    OpeningPallet {
        pallet: pallet(number),
        position,
        setup,
        load,
    }
}

fn told(operation: u16, good: u32, scrapped: u32) -> OpeningCount {
    OpeningCount {
        operation,
        good,
        scrapped,
        to_rework: 0,
        to_inspection: 0,
    }
}

fn statement(floor: &Floor, pallets: Vec<OpeningPallet>, operations: Vec<OpeningCount>) -> OpenFloor {
    let jobs = vec![OpeningJob {
        job: job(1),
        operations,
    }];
    OpenFloor {
        pallets,
        jobs: if jobs[0].operations.is_empty() {
            Vec::new()
        } else {
            jobs
        },
        at: floor.at(),
    }
}

/// Of 20: operation 10 gave 9 good and 1 scrapped; 4 of the good ones are clamped at operation 20, cut; the pallets have
/// changed places since they were entered. So 10 wait at operation 10, 5 at operation 20.
#[test]
fn day_one_goes_on_where_the_floor_stands() {
    let mut floor = Floor::new();
    let pallets = vec![
        standing(1, STAND, setup_of(1, 1), None),
        standing(
            2,
            LOAD_STATION,
            setup_of(2, 3),
            load_of(&[pieces(1, 20, 4)], true),
        ),
    ];
    let command = statement(&floor, pallets, vec![told(10, 9, 1)]);
    floor.given.does(command);
    let piles: BTreeSet<_> = piles_of_job(&floor.given.shop, job(1))
        .into_iter()
        .filter(|(_, _, pieces)| *pieces != 0)
        .collect();
    let expected = BTreeSet::from([
        (10, "waiting", 10),
        (10, "good", 9),
        (10, "scrapped", 1),
        (20, "waiting", 5),
        (20, "clamped", 4),
    ]);
    assert_eq!(piles, expected);
    let at = floor.at();
    floor.given.does(unload(2, &[good(1, 20, 4)], at));
}

#[test]
fn pieces_clamped_to_be_reworked_came_to_rework_before() {
    let mut floor = Floor::new();
    let again = Clamped {
        rework: true,
        ..pieces(1, 10, 2)
    };
    let pallets = vec![standing(
        1,
        LOAD_STATION,
        setup_of(1, 1),
        load_of(&[again], false),
    )];
    let command = statement(&floor, pallets, vec![told(10, 3, 0)]);
    floor.given.does(command);
    let waiting = piles_of_job(&floor.given.shop, job(1));
    assert!(waiting.contains(&(10, "waiting", 15)), "{waiting:?}");
    assert!(waiting.contains(&(10, "clamped", 2)), "{waiting:?}");
}

type Row = (&'static str, &'static str, Floor, OpenFloor);

fn of_pallets(code: &'static str, pointer: &'static str, floor: Floor, pallets: Vec<OpeningPallet>) -> Row {
    let command = statement(&floor, pallets, vec![]);
    (code, pointer, floor, command)
}

fn of_jobs(code: &'static str, pointer: &'static str, floor: Floor, jobs: Vec<OpeningJob>) -> Row {
    let command = OpenFloor {
        jobs,
        ..statement(&floor, vec![], vec![])
    };
    (code, pointer, floor, command)
}

fn one(position: Position, setup: Option<OpeningSetup>, load: Option<OpeningLoad>) -> Vec<OpeningPallet> {
    vec![standing(1, position, setup, load)]
}

fn about_places() -> Vec<Row> {
    let (new, at) = (Floor::new, "/pallets/0/position");
    let twice = [one(SECOND_STATION, None, None), one(SECOND_STATION, None, None)].concat();
    let unknown = vec![standing(77, STAND, None, None)];
    let nowhere = Position::Stand { number: 9 };
    let acted = one(SECOND_STATION, None, None);
    vec![
        of_pallets("opening.nothing", "", new(), vec![]),
        of_pallets("opening.repeated", "/pallets/1/pallet", new(), twice),
        of_pallets("opening.pallet-unknown", "/pallets/0/pallet", new(), unknown),
        of_pallets(
            "opening.pallet-acted",
            "/pallets/0/pallet",
            Floor::loaded(),
            acted,
        ),
        of_pallets("opening.place-unknown", at, new(), one(nowhere, None, None)),
        of_pallets("opening.place-taken", at, new(), one(STAND, None, None)),
    ]
}

fn about_setups() -> Vec<Row> {
    let (new, fixture) = (Floor::new, "/pallets/0/setup/fixture");
    let with = |setup| one(LOAD_STATION, setup, None);
    let mut other = Floor::new();
    let mut facts = fixture_facts("F9", 4);
    facts.interface = crate::shop::given::code("R96");
    other.add_fixture(3, facts, &[9]);
    let twice = vec![
        standing(1, LOAD_STATION, setup_of(1, 1), None),
        standing(2, STAND, setup_of(1, 1), None),
    ];
    vec![
        of_pallets("opening.fixture-unknown", fixture, new(), with(setup_of(77, 1))),
        of_pallets(
            "opening.copy-unknown",
            "/pallets/0/setup/copy",
            new(),
            with(setup_of(1, 3)),
        ),
        of_pallets("opening.copy-in-use", "/pallets/1/setup/copy", new(), twice),
        of_pallets(
            "opening.fixture-does-not-fit",
            fixture,
            other,
            with(setup_of(3, 9)),
        ),
    ]
}

fn about_loads() -> Vec<Row> {
    let (new, at) = (Floor::new, "/pallets/0/load/pieces");
    let first = "/pallets/0/load/pieces/0";
    let ready = |clamped: &[Clamped]| one(LOAD_STATION, setup_of(1, 1), load_of(clamped, false));
    let unfinished = setup_of(1, 1).map(|setup| OpeningSetup {
        is_ended: false,
        ..setup
    });
    let too_early = one(LOAD_STATION, unfinished, load_of(&[pieces(1, 10, 1)], false));
    let too_many = one(LOAD_STATION, setup_of(2, 3), load_of(&[pieces(1, 20, 1)], false));
    vec![
        of_pallets("opening.load-without-setup", "/pallets/0/load", new(), too_early),
        of_pallets("opening.bad-count", at, new(), ready(&[])),
        of_pallets(
            "opening.no-piece",
            "/pallets/0/load/pieces/0/pieces",
            new(),
            ready(&[pieces(1, 10, 0)]),
        ),
        of_pallets(
            "opening.operation-unknown",
            first,
            new(),
            ready(&[pieces(1, 20, 1)]),
        ),
        of_pallets("opening.nests-short", at, new(), ready(&[pieces(1, 10, 9)])),
        of_pallets("opening.more-than-entered", first, new(), too_many),
    ]
}

fn about_jobs() -> Vec<Row> {
    let new = Floor::new;
    let of = |number: u8, operations: Vec<OpeningCount>| OpeningJob {
        job: job(number),
        operations,
    };
    let begun = vec![of(1, vec![told(10, 1, 0)])];
    let odd = vec![of(1, vec![told(15, 1, 0)])];
    let more = vec![of(1, vec![told(10, 4, 0), told(20, 5, 0)])];
    vec![
        of_jobs(
            "opening.too-many",
            "/jobs",
            new(),
            vec![of(1, vec![]); OPENING_MAX + 1],
        ),
        of_jobs("opening.job-unknown", "/jobs/0/job", new(), vec![of(77, vec![])]),
        of_jobs("opening.job-acted", "/jobs/0/job", Floor::loaded(), begun),
        of_jobs(
            "opening.job-operation-unknown",
            "/jobs/0/operations/0/operation",
            new(),
            odd,
        ),
        of_jobs("opening.more-than-entered", "/jobs/0/operations/1", new(), more),
    ]
}

#[test]
fn every_fault_names_its_place() {
    let mut seen = BTreeSet::new();
    let rows = [about_places(), about_setups(), about_loads(), about_jobs()];
    for (code, pointer, floor, command) in rows.into_iter().flatten() {
        let refusal = floor.given.when(command).unwrap_err();
        assert_eq!(
            (refusal.code(), refusal.pointer().as_str()),
            (code, pointer),
            "{refusal}"
        );
        seen.insert(code);
    }
    let missing: Vec<_> = OpeningRefusal::CODES
        .iter()
        .filter(|code| !seen.contains(*code))
        .collect();
    assert!(missing.is_empty(), "no row for {missing:?}");
}

const SECOND_STATION: Position = Position::LoadStation { number: 2 };

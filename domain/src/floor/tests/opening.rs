use super::small_shop::*;
use crate::floor::*;
use crate::load::Clamped;
use crate::pallet::Position;
use std::collections::BTreeSet;

fn setup_of(fixture_number: u8, copy_number: u8) -> Option<OpeningSetup> {
    Some(OpeningSetup {
        setup: setup(u32::from(copy_number)),
        fixture: fixture(fixture_number),
        copy: copy(copy_number),
        is_ended: true,
    })
}

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

#[test]
fn every_fault_names_its_place() {
    let floor = Floor::new();
    let acted = Floor::loaded();
    let one = |position, setup, load| vec![standing(1, position, setup, load)];
    let ready = |pieces_: &[Clamped]| one(LOAD_STATION, setup_of(1, 1), load_of(pieces_, false));
    let nowhere = Position::Stand { number: 9 };
    let mut unfinished = setup_of(1, 1);
    if let Some(setup) = &mut unfinished {
        setup.is_ended = false;
    }
    let mut small = Floor::new();
    let mut facts = fixture_facts("F9", 4);
    facts.interface = crate::shop::given::code("R96");
    small.add_fixture(3, facts, &[9]);
    let many = vec![told(10, 1, 0); OPENING_MAX + 1];
    let too_many = OpenFloor {
        jobs: many
            .iter()
            .map(|_| OpeningJob {
                job: job(1),
                operations: Vec::new(),
            })
            .collect(),
        ..statement(&floor, vec![], vec![])
    };
    let rows: Vec<(&str, &str, &Floor, OpenFloor)> = vec![
        ("opening.too-many", "/jobs", &floor, too_many),
        ("opening.nothing", "", &floor, statement(&floor, vec![], vec![])),
        (
            "opening.repeated",
            "/pallets/1/pallet",
            &floor,
            statement(
                &floor,
                [one(SECOND_STATION, None, None), one(SECOND_STATION, None, None)].concat(),
                vec![],
            ),
        ),
        (
            "opening.pallet-unknown",
            "/pallets/0/pallet",
            &floor,
            statement(&floor, vec![standing(77, STAND, None, None)], vec![]),
        ),
        (
            "opening.pallet-acted",
            "/pallets/0/pallet",
            &acted,
            statement(&acted, one(SECOND_STATION, None, None), vec![]),
        ),
        (
            "opening.place-unknown",
            "/pallets/0/position",
            &floor,
            statement(&floor, one(nowhere, None, None), vec![]),
        ),
        (
            "opening.place-taken",
            "/pallets/0/position",
            &floor,
            statement(&floor, one(STAND, None, None), vec![]),
        ),
        (
            "opening.fixture-unknown",
            "/pallets/0/setup/fixture",
            &floor,
            statement(&floor, one(LOAD_STATION, setup_of(77, 1), None), vec![]),
        ),
        (
            "opening.copy-unknown",
            "/pallets/0/setup/copy",
            &floor,
            statement(&floor, one(LOAD_STATION, setup_of(1, 3), None), vec![]),
        ),
        (
            "opening.copy-in-use",
            "/pallets/1/setup/copy",
            &floor,
            statement(
                &floor,
                vec![
                    standing(1, LOAD_STATION, setup_of(1, 1), None),
                    standing(2, STAND, setup_of(1, 1), None),
                ],
                vec![],
            ),
        ),
        (
            "opening.fixture-does-not-fit",
            "/pallets/0/setup/fixture",
            &small,
            statement(&small, one(LOAD_STATION, setup_of(3, 9), None), vec![]),
        ),
        (
            "opening.load-without-setup",
            "/pallets/0/load",
            &floor,
            statement(
                &floor,
                one(LOAD_STATION, unfinished, load_of(&[pieces(1, 10, 1)], false)),
                vec![],
            ),
        ),
        (
            "opening.bad-count",
            "/pallets/0/load/pieces",
            &floor,
            statement(&floor, ready(&[]), vec![]),
        ),
        (
            "opening.no-piece",
            "/pallets/0/load/pieces/0/pieces",
            &floor,
            statement(&floor, ready(&[pieces(1, 10, 0)]), vec![]),
        ),
        (
            "opening.operation-unknown",
            "/pallets/0/load/pieces/0",
            &floor,
            statement(&floor, ready(&[pieces(1, 20, 1)]), vec![]),
        ),
        (
            "opening.nests-short",
            "/pallets/0/load/pieces",
            &floor,
            statement(&floor, ready(&[pieces(1, 10, 9)]), vec![]),
        ),
        (
            "opening.job-unknown",
            "/jobs/0/job",
            &floor,
            OpenFloor {
                jobs: vec![OpeningJob {
                    job: job(77),
                    operations: vec![],
                }],
                ..statement(&floor, vec![], vec![])
            },
        ),
        (
            "opening.job-acted",
            "/jobs/0/job",
            &acted,
            statement(&acted, vec![], vec![told(10, 1, 0)]),
        ),
        (
            "opening.job-operation-unknown",
            "/jobs/0/operations/0/operation",
            &floor,
            statement(&floor, vec![], vec![told(15, 1, 0)]),
        ),
        (
            "opening.more-than-entered",
            "/jobs/0/operations/1",
            &floor,
            statement(&floor, vec![], vec![told(10, 4, 0), told(20, 5, 0)]),
        ),
        (
            "opening.more-than-entered",
            "/pallets/0/load/pieces/0",
            &floor,
            statement(
                &floor,
                one(LOAD_STATION, setup_of(2, 3), load_of(&[pieces(1, 20, 1)], false)),
                vec![],
            ),
        ),
    ];
    let mut seen = BTreeSet::new();
    for (code, pointer, floor, command) in rows {
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

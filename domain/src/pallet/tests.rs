use super::{AddPallet, ChangePallet, PALLETS_MAX, PalletFacts, Position};
use crate::cell::{CellKind, ChangeCell};
use crate::ids::{CellId, PalletId};
use crate::shop::given::{Given, a_small_shop, cell, code, machine, name, pallet, pallet_facts, refused};
use uuid::Uuid;

const STAND_1: Position = Position::Stand { number: 1 };

fn add(number: u8, of: CellId, text: &str, position: Option<Position>) -> AddPallet {
    AddPallet {
        pallet: pallet(number),
        cell: of,
        facts: pallet_facts(text),
        position,
    }
}

fn change(number: u8, facts: PalletFacts, expected: Option<u64>) -> ChangePallet {
    ChangePallet {
        pallet: pallet(number),
        facts,
        expected,
    }
}

fn place_of(given: &Given, number: u8) -> Position {
    given.shop.pallets.get(&pallet(number)).unwrap().position
}

#[test]
fn each_rule_says_no_in_its_own_words() {
    let given = a_small_shop();
    let stale = given.seq() + 7;
    let spindle = |number| Position::Spindle {
        machine: machine(number),
    };
    let pool = cell(1);
    for (refusal, expected) in [
        (given.when(change(9, pallet_facts("P9"), None)), "pallet.unknown"),
        (
            given.when(change(1, pallet_facts("P1"), Some(stale))),
            "pallet.stale",
        ),
        (given.when(add(1, pool, "P9", None)), "pallet.id-taken"),
        (given.when(add(9, cell(9), "P9", None)), "pallet.cell-unknown"),
        (given.when(add(9, pool, "p1", None)), "pallet.code-taken"),
        (
            given.when(change(1, pallet_facts("P2"), None)),
            "pallet.code-taken",
        ),
        (
            given.when(add(9, pool, "P9", Some(spindle(3)))),
            "pallet.position-machine-unknown",
        ),
        (
            given.when(add(9, pool, "P9", Some(Position::Stand { number: 4 }))),
            "pallet.position-unknown",
        ),
        (
            given.when(add(9, pool, "P9", Some(Position::Stand { number: 0 }))),
            "pallet.position-unknown",
        ),
        (
            given.when(add(9, pool, "P9", Some(STAND_1))),
            "pallet.position-taken",
        ),
    ] {
        assert_eq!(refused(refusal), expected);
    }
}

#[test]
fn a_pallet_without_a_place_gets_the_first_free_stand_then_a_load_station() {
    let mut given = a_small_shop();
    for number in 3..=5 {
        given.does(add(number, cell(1), &format!("P{number}"), None));
    }
    assert_eq!(place_of(&given, 3), Position::Stand { number: 3 });
    assert_eq!(place_of(&given, 4), Position::LoadStation { number: 1 });
    assert_eq!(place_of(&given, 5), Position::LoadStation { number: 2 });
    assert_eq!(
        refused(given.when(add(6, cell(1), "P6", None))),
        "pallet.no-place-free"
    );
    let at_the_spindle = Position::Spindle { machine: machine(2) };
    given.does(add(6, cell(1), "P6", Some(at_the_spindle)));
    assert_eq!(place_of(&given, 6), at_the_spindle);
}

#[test]
fn a_standalone_machine_has_one_pallet_its_own_table() {
    let mut given = a_small_shop();
    assert_eq!(
        refused(given.when(add(9, cell(2), "P9", Some(STAND_1)))),
        "pallet.position-unknown"
    );
    given.does(add(9, cell(2), "P9", None));
    assert_eq!(place_of(&given, 9), Position::Spindle { machine: machine(3) });
    assert_eq!(
        refused(given.when(add(8, cell(2), "P8", None))),
        "pallet.standalone-has-one"
    );
}

#[test]
fn a_standalone_cell_without_a_machine_has_no_table_yet() {
    let mut given = a_small_shop();
    given.does(crate::cell::AddCell {
        cell: cell(3),
        code: code("C3"),
        name: name("Empty"),
        kind: CellKind::Standalone,
    });
    assert_eq!(
        refused(given.when(add(9, cell(3), "P9", None))),
        "pallet.standalone-has-no-machine"
    );
}

#[test]
fn a_cell_keeps_the_places_where_pallets_stand() {
    let given = a_small_shop();
    let cell_of = |kind| ChangeCell {
        cell: cell(1),
        code: code("C1"),
        name: name("Pool"),
        kind,
        expected: None,
    };
    let pool = |stands| CellKind::Pool {
        load_stations: 1,
        stands,
        exchange_s: 60,
    };
    assert_eq!(refused(given.when(cell_of(pool(1)))), "cell.place-in-use");
    assert!(
        given.when(cell_of(pool(2))).is_ok(),
        "both pallets stand on the first two"
    );
}

#[test]
fn a_cell_of_several_pallets_does_not_become_standalone() {
    let mut given = a_small_shop();
    given.does(crate::cell::AddCell {
        cell: cell(3),
        code: code("C3"),
        name: name("Pool without machines"),
        kind: CellKind::Pool {
            load_stations: 1,
            stands: 2,
            exchange_s: 0,
        },
    });
    for number in 7..=8 {
        given.does(add(number, cell(3), &format!("P{number}"), None));
    }
    let standalone = ChangeCell {
        cell: cell(3),
        code: code("C3"),
        name: name("One table"),
        kind: CellKind::Standalone,
        expected: None,
    };
    assert_eq!(refused(given.when(standalone)), "cell.standalone-has-one-pallet");
}

#[test]
fn there_is_an_end_to_pallets() {
    let mut given = a_small_shop();
    let one = given.shop.pallets.get(&pallet(1)).unwrap().clone();
    for number in 2..PALLETS_MAX as u128 {
        let id = PalletId(Uuid::from_u128(0x10_0000_0000 + number));
        given.shop.pallets.insert(id, super::Pallet { id, ..one.clone() });
    }
    assert_eq!(
        refused(given.when(add(9, cell(1), "P9", None))),
        "pallet.too-many"
    );
}

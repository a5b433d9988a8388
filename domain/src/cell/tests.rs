use super::{AddCell, CellKind, ChangeCell, ClearCellCalendar, SetCellCalendar};
use crate::calendar::Calendar;
use crate::machine::{AddMachine, Placement};
use crate::shop::given::{Given, an_open_site, cell, code, machine, name, refused};
use crate::site::CALENDAR_VERSIONS_MAX;
use chrono::NaiveDate;

const POOL: CellKind = CellKind::Pool {
    load_stations: 1,
    stands: 6,
    exchange_s: 45,
};

fn add(number: u8, text: &str, kind: CellKind) -> AddCell {
    AddCell {
        cell: cell(number),
        code: code(text),
        name: name("Pool of mills"),
        kind,
    }
}

fn change(number: u8, text: &str, kind: CellKind) -> ChangeCell {
    ChangeCell {
        cell: cell(number),
        code: code(text),
        name: name("Pool"),
        kind,
        expected: None,
    }
}

fn two_cells() -> Given {
    let mut given = an_open_site();
    given
        .does(add(1, "C1", POOL))
        .does(add(2, "C2", CellKind::Standalone));
    given
}

#[test]
fn codes_are_unique_however_they_are_spelled() {
    let given = two_cells();
    assert_eq!(refused(given.when(add(1, "C7", POOL))), "cell.id-taken");
    assert_eq!(refused(given.when(add(3, "c1", POOL))), "cell.code-taken");
    assert_eq!(
        refused(given.when(change(2, "C1", CellKind::Standalone))),
        "cell.code-taken"
    );
    assert!(
        given.when(change(1, "c1", POOL)).is_ok(),
        "its own code in another spelling"
    );
}

#[test]
fn a_pool_has_a_load_station() {
    let none = CellKind::Pool {
        load_stations: 0,
        stands: 2,
        exchange_s: 60,
    };
    assert_eq!(
        refused(two_cells().when(add(3, "C3", none))),
        "cell.no-load-station"
    );
}

#[test]
fn a_pool_of_two_machines_does_not_become_standalone() {
    let mut given = two_cells();
    for number in 1..=2 {
        given.does(AddMachine {
            machine: machine(number),
            placement: Placement::In(cell(1)),
            code: code(&format!("M{number}")),
            name: name("Mill"),
            silent_after_s: None,
        });
    }
    assert_eq!(
        refused(given.when(change(1, "C1", CellKind::Standalone))),
        "cell.standalone-has-one-machine"
    );
}

#[test]
fn a_change_on_an_old_version_is_stale() {
    let mut given = two_cells();
    let before = given.shop.cells.get(&cell(1)).unwrap().changed_seq;
    given.does(change(1, "C9", POOL));
    let stale = ChangeCell {
        expected: Some(before),
        ..change(1, "C8", POOL)
    };
    assert_eq!(refused(given.when(stale)), "cell.stale");
}

#[test]
fn an_own_calendar_comes_and_goes() {
    let mut given = two_cells();
    let clear = ClearCellCalendar {
        cell: cell(1),
        expected: None,
    };
    assert_eq!(refused(given.when(clear.clone())), "cell.no-own-calendar");
    let valid_from = NaiveDate::from_ymd_opt(2026, 1, 1).unwrap();
    given.does(SetCellCalendar {
        cell: cell(1),
        valid_from,
        calendar: Calendar::default(),
        expected: None,
    });
    assert!(given.shop.cells.get(&cell(1)).unwrap().calendar.is_some());
    given.does(clear);
    assert_eq!(
        given.shop.calendar_of(cell(1)),
        Some(&given.shop.site.as_ref().unwrap().calendar)
    );
}

#[test]
fn nothing_unknown_is_changed() {
    assert_eq!(refused(two_cells().when(change(7, "C7", POOL))), "cell.unknown");
}

#[test]
fn calendars_do_not_pile_up_without_end() {
    let mut given = two_cells();
    let first = NaiveDate::from_ymd_opt(2000, 1, 1).unwrap();
    let set = |days: u64| SetCellCalendar {
        cell: cell(1),
        valid_from: first + chrono::Days::new(days),
        calendar: Calendar::default(),
        expected: None,
    };
    for days in 0..CALENDAR_VERSIONS_MAX as u64 {
        given.does(set(days));
    }
    assert_eq!(refused(given.when(set(5_000))), "cell.too-many-calendars");
    assert!(given.when(set(7)).is_ok(), "replacing one takes no room");
}

use super::{
    AddMachine, ChangeMachine, ClockOffset, DownReason, FUTURE_MAX_S, Placement, Reading, ReceiveReadings,
    ReceiveSignals, SIGNAL_ROWS_MAX, SetMachineDown, SetMachineUp,
};
use crate::cell::{AddCell, CellKind};
use crate::command::Command;
use crate::event::Event;
use crate::machine_state::MachineState::{self, Active, Ready};
use crate::shop::given::{Given, an_open_site, at_s, cell, code, machine, name, refused};
use crate::time::{Timestamp, Window};

fn add(number: u8, text: &str, placement: Placement) -> AddMachine {
    AddMachine {
        machine: machine(number),
        placement,
        code: code(text),
        name: name("Mill"),
        silent_after_s: None,
    }
}

/// A pool C1 with the machine M1, and the standalone machine L1.
fn a_shop() -> Given {
    let mut given = an_open_site();
    let kind = CellKind::Pool {
        load_stations: 1,
        stands: 6,
        exchange_s: 45,
    };
    given
        .does(AddCell {
            cell: cell(1),
            code: code("C1"),
            name: name("Pool"),
            kind,
        })
        .does(add(1, "M1", Placement::In(cell(1))))
        .does(add(2, "L1", Placement::Standalone(cell(2))));
    given
}

fn signals(rows: &[(Timestamp, MachineState)]) -> ReceiveSignals {
    ReceiveSignals {
        machine: machine(1),
        rows: rows.to_vec(),
        cycles: vec![],
        covers: None,
        clock: None,
    }
}

fn cycles(cycles: &[Window], covers: Option<Window>) -> ReceiveSignals {
    ReceiveSignals {
        cycles: cycles.to_vec(),
        covers,
        ..signals(&[])
    }
}

fn hour(from_h: i64, to_h: i64) -> Window {
    Window::new(at_s(from_h * 3_600), at_s(to_h * 3_600))
}

fn down(at: Timestamp) -> SetMachineDown {
    SetMachineDown {
        machine: machine(1),
        at,
        reason: DownReason::Breakdown,
        note: None,
    }
}

fn up(at: Timestamp) -> SetMachineUp {
    SetMachineUp {
        machine: machine(1),
        at,
    }
}

fn reading(at: Timestamp, powered_on_s: u64, in_cut_s: u64) -> Reading {
    Reading {
        at,
        powered_on_s,
        in_cut_s,
        reset: false,
    }
}

fn readings(readings: &[Reading]) -> ReceiveReadings {
    ReceiveReadings {
        machine: machine(1),
        readings: readings.to_vec(),
        clock: None,
    }
}

fn packed_rows(events: &[Event]) -> Vec<(Timestamp, MachineState)> {
    let packed = events.iter().filter_map(|event| match event {
        Event::SignalsReceived(received) => Some(received.rows().collect::<Vec<_>>()),
        _ => None,
    });
    packed.flatten().collect()
}

#[test]
fn a_standalone_machine_brings_its_cell() {
    let given = a_shop();
    let own = given.shop.cells.get(&cell(2)).unwrap();
    assert_eq!((own.code.as_str(), own.kind), ("L1", CellKind::Standalone));
    assert_eq!(given.shop.machines.get(&machine(2)).unwrap().cell, cell(2));
}

#[test]
fn every_refusal_of_adding_in_its_order() {
    let given = a_shop();
    assert_eq!(
        refused(given.when(add(1, "M7", Placement::In(cell(1))))),
        "machine.id-taken"
    );
    assert_eq!(
        refused(given.when(add(3, "m1", Placement::In(cell(1))))),
        "machine.code-taken"
    );
    assert_eq!(
        refused(given.when(add(3, "M3", Placement::In(cell(9))))),
        "machine.cell-unknown"
    );
    assert_eq!(
        refused(given.when(add(3, "M3", Placement::In(cell(2))))),
        "machine.cell-is-standalone"
    );
    assert_eq!(
        refused(given.when(add(3, "C1", Placement::Standalone(cell(3))))),
        "cell.code-taken"
    );
}

#[test]
fn a_change_on_an_old_version_is_stale() {
    let mut given = a_shop();
    let version = given.shop.machines.get(&machine(1)).unwrap().changed_seq;
    let change = |text: &str| ChangeMachine {
        machine: machine(1),
        code: code(text),
        name: name("Mill 1"),
        silent_after_s: Some(600),
        expected: Some(version),
    };
    assert_eq!(refused(given.when(change("L1"))), "machine.code-taken");
    given.does(change("M9"));
    assert_eq!(refused(given.when(change("M8"))), "machine.stale");
}

#[test]
fn down_and_up_alternate_in_the_order_of_time() {
    let mut given = a_shop();
    assert_eq!(refused(given.when(up(at_s(5)))), "machine.not-down");
    given.does(down(at_s(10)));
    assert_eq!(refused(given.when(down(at_s(20)))), "machine.already-down");
    assert_eq!(refused(given.when(up(at_s(10)))), "machine.before-last-change");
    given.does(up(at_s(30)));
    assert_eq!(refused(given.when(down(at_s(29)))), "machine.before-last-change");
    given.does(down(at_s(31)));
}

#[test]
fn instants_that_cannot_be_are_refused() {
    let given = a_shop();
    let (epoch, year_9999) = (Timestamp(0), Timestamp(253_402_300_799_000_000));
    let soon = given.now.plus_s(FUTURE_MAX_S);
    for (at, code) in [
        (epoch, "time.out-of-range"),
        (year_9999, "time.in-future"),
        (soon.plus_us(1), "time.in-future"),
    ] {
        assert_eq!(refused(given.when(down(at))), code);
        assert_eq!(refused(given.when(signals(&[(at, Active)]))), code);
        assert_eq!(refused(given.when(readings(&[reading(at, 0, 0)]))), code);
        assert_eq!(
            refused(given.when(cycles(&[Window::new(at, at.plus_s(1))], None))),
            code
        );
    }
    assert!(given.when(signals(&[(soon, Active)])).is_ok());
}

#[test]
fn late_and_repeated_rows_are_sorted_in_and_kept_once() {
    let mut given = a_shop();
    given.does(signals(&[(at_s(60), Active), (at_s(120), Ready)]));
    let again = given
        .when(signals(&[
            (at_s(120), Ready),
            (at_s(30), Ready),
            (at_s(60), Active),
        ]))
        .unwrap();
    assert_eq!(packed_rows(&again), [(at_s(30), Ready)]);
    assert_eq!(
        given.when(signals(&[(at_s(60), Active)])).unwrap(),
        [],
        "nothing new gives no entry"
    );
}

#[test]
fn a_large_batch_becomes_entries_of_5000_rows() {
    let given = a_shop();
    let row = |n: i64| (at_s(n), if n % 2 == 0 { Active } else { Ready });
    let rows: Vec<_> = (0..12_001).map(row).collect();
    let events = given.when(signals(&rows)).unwrap();
    assert_eq!(events.len(), 3);
    assert_eq!(packed_rows(&events), rows);
    let too_many = vec![row(0); SIGNAL_ROWS_MAX + 1];
    assert_eq!(refused(given.when(signals(&too_many))), "machine.too-many-rows");
}

/// Floor case E15's kind: a tablet that is seven minutes ahead gives instants seven minutes too late, both ends alike.
#[test]
fn a_wrong_clock_moves_instants_and_keeps_durations() {
    let given = a_shop();
    let ahead = |seconds: i64| at_s(seconds + 7 * 60);
    let clock = Some(ClockOffset {
        device_sent_at: ahead(9_000),
        received_at: at_s(9_000),
    });
    let told = ReceiveSignals {
        clock,
        ..signals(&[(ahead(0), Active), (ahead(2_700), Ready)])
    };
    assert_eq!(
        packed_rows(&given.when(told).unwrap()),
        [(at_s(0), Active), (at_s(2_700), Ready)]
    );
    let lost = Some(ClockOffset {
        device_sent_at: Timestamp(0),
        received_at: at_s(9_000),
    });
    let told = ReceiveSignals {
        clock: lost,
        ..signals(&[(ahead(0), Active)])
    };
    assert_eq!(refused(given.when(told)), "time.device-clock-unusable");
}

#[test]
fn an_offset_that_may_be_the_messages_way_is_left_alone() {
    let clock = Some(ClockOffset {
        device_sent_at: at_s(0),
        received_at: at_s(0).plus_us(1_999_999),
    });
    let told = ReceiveSignals {
        clock,
        ..signals(&[(at_s(0), Active)])
    };
    assert_eq!(packed_rows(&a_shop().when(told).unwrap()), [(at_s(0), Active)]);
}

#[test]
fn cycles_that_cannot_be_are_refused() {
    let given = a_shop();
    assert_eq!(refused(given.when(cycles(&[hour(9, 9)], None))), "cycle.empty");
    assert_eq!(refused(given.when(cycles(&[hour(9, 8)], None))), "cycle.empty");
    assert_eq!(
        refused(given.when(cycles(&[hour(0, 169)], None))),
        "cycle.too-long"
    );
    assert_eq!(
        refused(given.when(cycles(&[hour(8, 9)], Some(hour(6, 8))))),
        "cycle.outside-covers"
    );
    assert!(
        given
            .when(cycles(&[hour(8, 9), hour(8, 9)], Some(hour(6, 14))))
            .is_ok()
    );
}

#[test]
fn every_refusal_of_a_reading_in_its_order() {
    let mut given = a_shop();
    given.does(readings(&[reading(at_s(0), 1_000, 400)]));
    let one =
        |at: i64, powered_on_s: u64, in_cut_s: u64| readings(&[reading(at_s(at), powered_on_s, in_cut_s)]);
    assert_eq!(refused(given.when(one(0, 1_001, 400))), "reading.not-newer");
    assert_eq!(
        refused(given.when(one(3_600, 999, 400))),
        "reading.counter-went-back"
    );
    assert_eq!(
        refused(given.when(one(3_600, 1_000, 399))),
        "reading.counter-went-back"
    );
    assert_eq!(
        refused(given.when(one(3_600, 4_661, 400))),
        "reading.faster-than-time"
    );
    assert_eq!(
        refused(given.when(one(3_600, 1_500, 961))),
        "reading.cut-exceeds-powered"
    );
    let reset = Reading {
        reset: true,
        ..reading(at_s(3_600), 5, 2)
    };
    assert_eq!(given.when(readings(&[reset])).unwrap().len(), 1);
    assert_eq!(
        given.when(one(0, 1_000, 400)).unwrap(),
        [],
        "the same reading again"
    );
}

#[test]
fn nothing_unknown_is_touched() {
    let given = an_open_site();
    let outcomes = [
        refused(given.when(signals(&[]))),
        refused(given.when(readings(&[]))),
        refused(given.when(down(at_s(0)))),
        refused(given.when(up(at_s(0)))),
    ];
    assert_eq!(outcomes, ["machine.unknown"; 4]);
}

/// A gateway that has lost an answer sends its whole buffer again, under a new key.
#[test]
fn a_buffer_sent_again_is_dropped_and_goes_on() {
    let mut given = a_shop();
    let buffer = [
        reading(at_s(0), 1_000, 400),
        reading(at_s(60), 1_060, 430),
        reading(at_s(120), 1_120, 460),
    ];
    given.does(readings(&buffer));
    assert_eq!(given.when(readings(&buffer)).unwrap(), []);
    let longer = [&buffer[1..], &[reading(at_s(180), 1_180, 490)]].concat();
    let Event::ReadingsReceived(new) = given.when(readings(&longer)).unwrap().remove(0) else {
        panic!("readings")
    };
    assert_eq!(new.readings, [reading(at_s(180), 1_180, 490)]);
    let between = given.when(readings(&[reading(at_s(90), 1_090, 445)]));
    assert_eq!(refused(between), "reading.not-newer");
}

#[test]
fn a_refusal_points_to_the_row_that_is_wrong() {
    let mut given = a_shop();
    given.does(readings(&[reading(at_s(0), 1_000, 400)]));
    let pointer = |command: Command| given.decide(&command, false).unwrap_err().pointer();
    let (good, epoch) = (at_s(60), Timestamp(0));
    assert_eq!(
        pointer(signals(&[(good, Active), (epoch, Ready)]).into()),
        "/transitions/1/at"
    );
    assert_eq!(pointer(down(epoch).into()), "/at");
    assert_eq!(
        pointer(cycles(&[hour(8, 9), hour(9, 9)], None).into()),
        "/cycles/1/to"
    );
    assert_eq!(
        pointer(cycles(&[hour(8, 9)], Some(hour(9, 8))).into()),
        "/covers/to"
    );
    assert_eq!(
        pointer(cycles(&[hour(6, 7), hour(8, 9)], Some(hour(6, 8))).into()),
        "/cycles/1"
    );
    let back = [reading(at_s(60), 1_060, 400), reading(at_s(120), 1_059, 400)];
    assert_eq!(pointer(readings(&back).into()), "/readings/1/powered_on_s");
}

mod tools {
    use crate::machine::{MachineTool, SetMachineTools, TOOLS_MAX};
    use crate::shop::given::{a_small_shop, code, machine, refused};

    fn set(number: u8, tools: &[(&str, u32)], expected: Option<u64>) -> SetMachineTools {
        let tool = |(tool, life_left_s): &(&str, u32)| MachineTool {
            tool: code(tool),
            life_left_s: *life_left_s,
        };
        SetMachineTools {
            machine: machine(number),
            tools: tools.iter().map(tool).collect(),
            expected,
        }
    }

    #[test]
    fn twins_share_what_life_they_have() {
        let mut given = a_small_shop();
        given.does(set(1, &[("T12", 5_400), ("t12", 3_600), ("T3", 0)], None));
        let machine = given.shop.machines.get(&machine(1)).unwrap();
        assert_eq!(machine.tool_life_left_s(&code("T12")), Some(9_000));
        assert_eq!(machine.tool_life_left_s(&code("T3")), Some(0));
        assert_eq!(machine.tool_life_left_s(&code("T4")), None, "not in the magazine");
    }

    #[test]
    fn each_rule_says_no_in_its_own_words() {
        let given = a_small_shop();
        let stale = Some(given.seq() + 7);
        let many = vec![("T1", 1); TOOLS_MAX + 1];
        for (refusal, expected) in [
            (given.when(set(9, &[], None)), "machine.unknown"),
            (given.when(set(1, &[], stale)), "machine.stale"),
            (given.when(set(1, &many, None)), "machine.too-many-tools"),
        ] {
            assert_eq!(refused(refusal), expected);
        }
    }
}

//! One row per refusal, in the order of their list: the state, the command, the code.

use super::small_shop::*;
use crate::command::Command;
use crate::floor::*;
use crate::load::{Clamped, Disposition, HoldKind};
use crate::machine::{DownReason, SetMachineDown};
use crate::run::{AbortReason, Purpose};
use crate::shop::given::{Given, cell, code, machine, name};
use crate::size::Size;
use std::collections::BTreeSet;

type Row = (&'static str, Floor, Command);

fn mount(on: u8, of: u8, at: &Floor) -> MountFixture {
    MountFixture {
        pallet: pallet(on),
        setup: setup(1),
        fixture: fixture(of),
        copy: None,
        at: at.at(),
    }
}

fn row(code: &'static str, floor: Floor, command: impl FnOnce(&Floor) -> Command) -> Row {
    let command = command(&floor);
    (code, floor, command)
}

fn check(rows: Vec<Row>, codes: &[&'static str]) {
    let mut seen = BTreeSet::new();
    for (code, floor, command) in rows {
        let refusal = floor.given.when(command.clone()).unwrap_err();
        assert_eq!(refusal.code(), code, "{refusal} for {command:?}");
        assert!(!refusal.to_string().contains('{'), "{refusal}");
        seen.insert(code);
    }
    let missing: Vec<_> = codes.iter().filter(|code| !seen.contains(*code)).collect();
    assert!(missing.is_empty(), "no row for {missing:?}");
}

fn with(mut floor: Floor, change: impl FnOnce(&mut Floor)) -> Floor {
    change(&mut floor);
    floor
}

fn set_down(given: &mut Given, number: u8) {
    let at = given.now;
    given.does(SetMachineDown {
        machine: machine(number),
        at,
        reason: DownReason::Breakdown,
        note: None,
    });
}

#[test]
fn acts() {
    let before = |floor: &Floor| FinishSetup {
        pallet: pallet(1),
        at: floor.at().plus_s(-1),
    };
    let unmount = |number| {
        move |floor: &Floor| {
            UnmountFixture {
                pallet: pallet(number),
                at: floor.at(),
            }
            .into()
        }
    };
    let started = with(Floor::new(), |floor| {
        let mount = mount(1, 1, floor);
        floor.given.does(mount);
    });
    let lathe_runs = with(Floor::new(), |floor| {
        floor.release(
            2,
            8,
            vec![operation(10, {
                let mut machining = machining(&[1]);
                machining.places[0].cell = cell(2);
                machining
            })],
        );
        floor.set_up(9, 1).clamp(9, &[pieces(2, 10, 8)]).start(3, 1);
    });
    check(
        vec![
            row("act.before-last", started, |floor| before(floor).into()),
            row("act.machine-runs", lathe_runs, unmount(9)),
            row(
                "act.not-at-load-station",
                with(Floor::new(), |floor| {
                    floor.set_up(1, 1).move_to(1, spindle(1));
                }),
                unmount(1),
            ),
        ],
        ActRefusal::CODES,
    );
}

#[test]
fn mounting() {
    let loaded = Floor::loaded;
    let other_interface = with(Floor::new(), |floor| {
        let mut facts = fixture_facts("F9", 4);
        facts.interface = code("R96");
        floor.add_fixture(3, facts, &[9]);
    });
    let large = with(Floor::new(), |floor| {
        let mut facts = fixture_facts("F9", 4);
        facts.size = Some(Size {
            height_mm: 501,
            ..SIZE
        });
        floor.add_fixture(3, facts, &[9]);
    });
    let heavy = with(Floor::new(), |floor| {
        let mut facts = fixture_facts("F9", 4);
        facts.mass_g = Some(100_001);
        floor.add_fixture(3, facts, &[9]);
    });
    let used_up = with(Floor::new(), |floor| {
        floor.set_up(1, 2).move_to(2, Position2::two());
    });
    let with_copy = |number| {
        move |floor: &Floor| {
            MountFixture {
                copy: Some(copy(number)),
                ..mount(2, 2, floor)
            }
            .into()
        }
    };
    let at = |floor: &Floor| FinishSetup {
        pallet: pallet(1),
        at: floor.at(),
    };
    let again = with(Floor::new(), |floor| {
        floor.set_up(1, 2).move_to(2, Position2::two());
    });
    let third = with(Floor::new(), |floor| {
        floor.set_up(1, 2).move_to(2, Position2::two());
    });
    check(
        vec![
            row("mount.fixture-unknown", Floor::new(), |floor| {
                mount(1, 77, floor).into()
            }),
            row("mount.copy-unknown", third, with_copy(77)),
            row("mount.fixture-on", loaded(), |floor| mount(1, 1, floor).into()),
            row("mount.interface-differs", other_interface, |floor| {
                mount(1, 3, floor).into()
            }),
            row("mount.no-copy-free", used_up, |floor| mount(2, 2, floor).into()),
            row("mount.copy-in-use", again, with_copy(3)),
            row("mount.too-large", large, |floor| mount(1, 3, floor).into()),
            row("mount.too-heavy", heavy, |floor| mount(1, 3, floor).into()),
            row("mount.nothing-on", Floor::new(), |floor| at(floor).into()),
            row("mount.setup-ended", loaded(), |floor| at(floor).into()),
            row("mount.loaded", loaded(), |floor| {
                UnmountFixture {
                    pallet: pallet(1),
                    at: floor.at(),
                }
                .into()
            }),
        ],
        MountRefusal::CODES,
    );
}

struct Position2;

impl Position2 {
    fn two() -> crate::pallet::Position {
        crate::pallet::Position::LoadStation { number: 2 }
    }
}

fn load_with(clamped: Vec<Clamped>) -> impl FnOnce(&Floor) -> Command {
    move |floor: &Floor| {
        LoadPallet {
            pallet: pallet(1),
            load: load(1),
            clamped,
            at: floor.at(),
            overrides: Vec::new(),
        }
        .into()
    }
}

fn set_up() -> Floor {
    with(Floor::new(), |floor| {
        floor.set_up(1, 1);
    })
}

fn released(change: impl FnOnce(&mut crate::part::Machining)) -> Floor {
    with(set_up(), |floor| {
        let mut machining = machining(&[1]);
        change(&mut machining);
        floor.release(2, 20, vec![operation(10, machining)]);
    })
}

fn of_part(size: Option<Size>, mass_g: Option<u32>) -> Floor {
    with(set_up(), |floor| {
        floor.given.does(crate::part::AddPart {
            part: part(2),
            code: code("BEAM"),
            name: name("Beam"),
            revision: crate::part::RevisionFacts {
                revision: code("A"),
                mass_g,
                size,
                blank: None,
            },
        });
        floor.release_of(2, 2, 20, vec![operation(10, machining(&[1]))]);
    })
}

fn no_material() -> Floor {
    with(set_up(), |floor| {
        floor.release(2, 20, vec![operation(10, machining(&[1]))]);
        floor.waits_for_material(2, 20);
    })
}

/// All 8 are scrap, and clamped still.
fn scrapped() -> Floor {
    with(Floor::cut(), |floor| {
        let at = floor.at();
        floor
            .given
            .does(suspect(1, 1, at))
            .does(dispose(1, Disposition::Scrap, at));
    })
}

fn begun() -> Floor {
    with(Floor::new(), |floor| {
        let mount = mount(1, 1, floor);
        floor.given.does(mount);
    })
}

fn held(floor: Floor) -> Floor {
    with(floor, |floor| {
        let at = floor.at();
        floor.given.does(PlaceHold {
            kind: HoldKind::Suspect,
            pallet: pallet(1),
            hold: hold(1),
            at,
            note: None,
        });
    })
}

#[test]
fn loading() {
    let one = || load_with(vec![pieces(1, 10, 1)]);
    let of_two = |many| load_with(vec![pieces(2, 10, many)]);
    let twice = load_with(vec![pieces(1, 10, 1), pieces(1, 10, 2)]);
    let rework = Clamped {
        rework: true,
        ..pieces(1, 10, 1)
    };
    let mixed = load_with(vec![pieces(1, 10, 1), rework]);
    let elsewhere = released(|machining| machining.places[0].cell = cell(2));
    let long = Size {
        length_mm: 401,
        ..SIZE
    };
    // 20,000 g of fixture and 8 x 10,001 g are 100,008 g: 8 g more than the pallet takes.
    let heavy = of_part(None, Some(10_001));
    check(
        vec![
            row("load.no-setup", Floor::new(), one()),
            row("load.setup-not-ended", begun(), one()),
            row("load.loaded-already", Floor::cut(), one()),
            row("load.held", held(Floor::loaded()), one()),
            row("load.bad-count", set_up(), load_with(vec![])),
            row("load.repeated", set_up(), twice),
            row("load.no-piece", set_up(), load_with(vec![pieces(1, 10, 0)])),
            row("load.job-unknown", set_up(), load_with(vec![pieces(77, 10, 1)])),
            row(
                "load.operation-unknown",
                set_up(),
                load_with(vec![pieces(1, 15, 1)]),
            ),
            row("load.wrong-cell", elsewhere, of_two(1)),
            row("load.wrong-fixture", set_up(), load_with(vec![pieces(1, 20, 1)])),
            row("load.rework-mixed", set_up(), mixed),
            row("load.more-than-wait", released(|_| {}), of_two(21)),
            row("load.material-not-arrived", no_material(), of_two(8)),
            row("load.nests-short", set_up(), load_with(vec![pieces(1, 10, 9)])),
            row("load.too-large", of_part(Some(long), None), of_two(1)),
            row("load.too-heavy", heavy, of_two(8)),
        ],
        LoadRefusal::CODES,
    );
}

fn move_to(to: crate::pallet::Position) -> impl FnOnce(&Floor) -> Command {
    move |floor: &Floor| {
        MovePallet {
            pallet: pallet(1),
            to,
            exchange: false,
            at: floor.at(),
        }
        .into()
    }
}

#[test]
fn moving() {
    let held = with(Floor::loaded(), |floor| {
        let at = floor.at();
        floor.given.does(PlaceHold {
            kind: HoldKind::Suspect,
            pallet: pallet(1),
            hold: hold(1),
            at,
            note: None,
        });
    });
    let nowhere = crate::pallet::Position::Stand { number: 3 };
    check(
        vec![
            row("move.place-unknown", Floor::new(), move_to(nowhere)),
            row("move.place-unknown", Floor::new(), move_to(spindle(3))),
            row("move.in-run", Floor::running(), move_to(LOAD_STATION)),
            row("move.already-there", Floor::new(), move_to(LOAD_STATION)),
            row("move.place-taken", Floor::new(), move_to(STAND)),
            row("move.held", held, move_to(spindle(1))),
        ],
        MoveRefusal::CODES,
    );
}

#[test]
fn queueing() {
    let set = |numbers: Vec<u8>| SetQueue {
        cell: cell(1),
        pallets: numbers.into_iter().map(pallet).collect(),
        expected: None,
    };
    let stale = SetQueue {
        expected: Some(0),
        ..set(vec![1])
    };
    check(
        vec![
            row("queue.stale", Floor::new(), |_| stale.into()),
            row("queue.too-many", Floor::new(), |_| {
                SetQueue {
                    pallets: vec![pallet(1); QUEUE_MAX + 1],
                    ..set(vec![])
                }
                .into()
            }),
            row("queue.pallet-unknown", Floor::new(), |_| set(vec![1, 77]).into()),
            row("queue.pallet-elsewhere", Floor::new(), |_| set(vec![9]).into()),
            row("queue.repeated", Floor::new(), |_| set(vec![1, 2, 1]).into()),
        ],
        QueueRefusal::CODES,
    );
}

fn only_machine_two() -> Floor {
    with(
        released(|machining| machining.places[0].machines = vec![machine(2)]),
        |floor| {
            floor.clamp(1, &[pieces(2, 10, 8)]).move_to(1, spindle(1));
        },
    )
}

fn first_piece_open() -> Floor {
    with(released(|machining| machining.first_piece = true), |floor| {
        floor
            .clamp(1, &[pieces(2, 10, 8)])
            .move_to(1, spindle(1))
            .start(1, 1);
        floor
            .move_to(2, LOAD_STATION)
            .set_up(2, 1)
            .clamp(2, &[pieces(2, 10, 8)])
            .move_to(2, spindle(2));
    })
}

/// On machine 2, where it is not cleared, at 20:00 UTC of a working day: nobody is there.
fn at_night() -> Floor {
    with(Floor::at_spindle(), |floor| {
        floor.move_to(1, spindle(2)).set_calendar();
        floor.given.now = crate::shop::given::at_s(102 * 86_400 + 14 * 3_600);
    })
}

fn queued() -> Floor {
    with(Floor::at_spindle(), |floor| {
        floor
            .move_to(2, LOAD_STATION)
            .set_up(2, 1)
            .clamp(2, &[pieces(1, 10, 4)])
            .queue(&[2, 1]);
    })
}

#[test]
fn running() {
    let starts = |floor: &Floor| Command::from(start(1, 2, floor.at()));
    let on_two = |floor: &Floor| Command::from(start(2, 2, floor.at()));
    let down = with(Floor::at_spindle(), |floor| set_down(&mut floor.given, 1));
    let worn = with(Floor::at_spindle(), |floor| {
        floor.set_tools(1, &[79, 79]);
    });
    let on_spindle = with(Floor::new(), |floor| {
        floor.move_to(1, spindle(1));
    });
    let back = with(Floor::cut(), |floor| {
        floor.move_to(1, spindle(1));
    });
    let unknown = |floor: &Floor| finish(77, floor.at()).into();
    let resume = |floor: &Floor| {
        let (run, at) = (run(1), floor.at());
        ResumeRun { run, at }.into()
    };
    let purpose = |floor: &Floor| {
        let purpose = Some(Purpose::Rework);
        let start = start(1, 2, floor.at());
        StartRun { purpose, ..start }.into()
    };
    let other = |floor: &Floor| {
        let pallet = Some(pallet(2));
        let start = start(1, 2, floor.at());
        StartRun { pallet, ..start }.into()
    };
    let same_id = with(Floor::at_spindle(), |floor| {
        floor.start(1, 2);
        let (run, at, reason) = (run(2), floor.at(), crate::run::AbortReason::Alarm);
        floor.given.does(AbortRun {
            run,
            at,
            reason,
            note: None,
        });
    });
    check(
        vec![
            row("run.unknown", Floor::new(), unknown),
            row("run.machine-busy", Floor::running(), starts),
            row("run.machine-down", down, starts),
            row("run.no-pallet", Floor::new(), starts),
            row("run.other-pallet", Floor::at_spindle(), other),
            row("run.nothing-loaded", on_spindle, starts),
            row("run.cut-already", back, starts),
            row("run.purpose-differs", Floor::at_spindle(), purpose),
            row("run.id-taken", same_id, starts),
            row("run.held", held(Floor::at_spindle()), starts),
            row("run.first-piece-open", first_piece_open(), on_two),
            row("run.wrong-machine", only_machine_two(), starts),
            row("run.not-cleared-unattended", at_night(), on_two),
            row("run.tool-life-short", worn, starts),
            row("run.not-next", queued(), starts),
            row("run.not-running", Floor::cut(), |floor| {
                finish(1, floor.at()).into()
            }),
            row("run.not-paused", Floor::running(), resume),
        ],
        RunRefusal::CODES,
    );
}

#[test]
fn unloading() {
    let counts = |counts: Vec<Count>| move |floor: &Floor| Command::from(unload(1, &counts, floor.at()));
    let held = with(Floor::cut(), |floor| {
        let at = floor.at();
        floor.given.does(PlaceHold {
            kind: HoldKind::Suspect,
            pallet: pallet(1),
            hold: hold(1),
            at,
            note: None,
        });
    });
    let broken = with(Floor::running(), |floor| {
        let at = floor.at();
        floor.given.does(AbortRun {
            run: run(1),
            at,
            reason: AbortReason::Tool,
            note: None,
        });
        floor.move_to(1, LOAD_STATION);
    });
    let eight = good(1, 10, 8);
    let unloaded = with(Floor::cut(), |floor| {
        let command = counts(vec![eight])(floor);
        floor.given.does(command);
    });
    check(
        vec![
            row("unload.nothing-loaded", set_up(), counts(vec![eight])),
            row("unload.already-unloaded", unloaded, counts(vec![eight])),
            row("unload.in-run", Floor::running(), counts(vec![eight])),
            row("unload.not-clamped", Floor::cut(), counts(vec![good(1, 20, 8)])),
            row("unload.repeated", Floor::cut(), counts(vec![eight, eight])),
            row("unload.not-counted", Floor::cut(), counts(vec![])),
            row("unload.counts-open", Floor::cut(), counts(vec![good(1, 10, 7)])),
            row("unload.decided-otherwise", scrapped(), counts(vec![eight])),
            row("unload.not-cut", Floor::loaded(), counts(vec![eight])),
            row("unload.run-aborted", broken, counts(vec![eight])),
            row("unload.held", held, counts(vec![eight])),
        ],
        UnloadRefusal::CODES,
    );
}

#[test]
fn holding() {
    let hold_it = |floor: &Floor| PlaceHold {
        kind: HoldKind::Suspect,
        pallet: pallet(1),
        hold: hold(2),
        at: floor.at(),
        note: None,
    };
    let placed = |floor: Floor| {
        with(floor, |floor| {
            let place = PlaceHold {
                hold: hold(1),
                ..hold_it(floor)
            };
            floor.given.does(place);
        })
    };
    let accept = |number| move |floor: &Floor| dispose(number, Disposition::Accept, floor.at()).into();
    check(
        vec![
            row("hold.unknown", Floor::loaded(), accept(77)),
            row("hold.kind-not-by-hand", Floor::loaded(), |floor| {
                PlaceHold {
                    kind: HoldKind::FirstArticle,
                    ..hold_it(floor)
                }
                .into()
            }),
            row("hold.nothing-loaded", set_up(), |floor| hold_it(floor).into()),
            row("hold.already-held", placed(Floor::loaded()), |floor| {
                hold_it(floor).into()
            }),
            row("hold.still-cut", placed(Floor::running()), accept(1)),
        ],
        HoldRefusal::CODES,
    );
}

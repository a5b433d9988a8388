//! Two cells, two fixtures, three parts, said twice: in plain words for the model, and as commands for the shop.

use crate::calendar::{Calendar, TimeOfDay, WeeklyShift};
use crate::cell::{AddCell, CellKind};
use crate::customer::{AddCustomer, CustomerFacts};
use crate::fixture::AddFixture;
use crate::machine::{AddMachine, Placement};
use crate::pallet::{AddPallet, Position};
use crate::part::{
    AddPart, Clearance, CycleTime, Lead, Machining, Manual, Operation, Place, RevisionFacts, Routing,
    SetRouting, Work,
};
use crate::shop::given::*;
use crate::site::SetSiteCalendar;
use chrono::{NaiveDate, Weekday};

pub const MACHINES: [(u8, u8); 3] = [(1, 1), (2, 1), (4, 2)];
pub const PALLETS: [(u8, u8); 5] = [(1, 1), (2, 1), (3, 1), (4, 2), (5, 2)];
/// Fixture, nests, copies.
pub const FIXTURES: [(u8, u32, &[u8]); 2] = [(1, 8, &[1, 2, 4]), (2, 4, &[3, 5])];
pub const PARTS: [u8; 3] = [1, 2, 3];
/// In per cent: more and less than ordered.
pub const TOLERANCE: (u32, u32) = (20, 25);

/// A place of a cell, as people would say it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Spot {
    Station(u32),
    Stand(u32),
    Spindle(u8),
}

impl Spot {
    pub fn position(self) -> Position {
        match self {
            Self::Station(number) => Position::LoadStation { number },
            Self::Stand(number) => Position::Stand { number },
            Self::Spindle(number) => Position::Spindle {
                machine: machine(number),
            },
        }
    }

    pub fn is_in(self, cell: u8) -> bool {
        match self {
            Self::Station(number) | Self::Stand(number) => {
                (1..=if cell == 1 { 2 } else { 1 }).contains(&number)
            }
            Self::Spindle(number) => MACHINES.contains(&(number, cell)),
        }
    }
}

/// Where an operation is machined.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Where {
    pub cell: u8,
    /// None: on each machine of the cell.
    pub only: Option<u8>,
    pub cleared_on: Option<u8>,
    pub cycle_s: u32,
}

/// An operation in words; without a place it is done by hand.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Step {
    pub places: Vec<Where>,
    pub fixtures: Vec<u8>,
    pub first_piece: bool,
    pub first_article: bool,
}

impl Step {
    pub fn place(&self, cell: u8) -> Option<&Where> {
        self.places.iter().find(|place| place.cell == cell)
    }

    pub fn runs_on(&self, cell: u8, machine: u8) -> bool {
        let place = self.place(cell);
        place.is_some_and(|place| place.only.is_none_or(|only| only == machine))
    }

    pub fn is_cleared(&self, cell: u8, machine: u8) -> bool {
        let place = self.place(cell);
        place.is_some_and(|place| place.cleared_on == Some(machine))
    }
}

/// The routing of a part; `checked` is another one, in which the first pieces are looked at.
pub fn steps(part: u8, checked: bool) -> Vec<Step> {
    let place = |cell, only, cleared_on, cycle_s| Where {
        cell,
        only,
        cleared_on,
        cycle_s,
    };
    let by_hand = Step::default();
    match part {
        1 => vec![
            Step {
                places: vec![place(1, None, Some(1), 600), place(2, None, None, 700)],
                fixtures: vec![1],
                first_piece: checked,
                first_article: false,
            },
            by_hand,
        ],
        2 => vec![
            Step {
                places: vec![place(1, Some(1), Some(1), 300)],
                fixtures: vec![1, 2],
                first_piece: true,
                first_article: false,
            },
            Step {
                places: vec![place(2, None, Some(4), 400)],
                fixtures: vec![1, 2],
                first_piece: false,
                first_article: checked,
            },
        ],
        _ => vec![by_hand],
    }
}

pub fn number(step: usize) -> u16 {
    u16::try_from((step + 1) * 10).unwrap()
}

pub fn set_routing(of: u8, checked: bool) -> SetRouting {
    let steps = steps(of, checked);
    let operations = steps.iter().enumerate().map(|(index, step)| Operation {
        number: number(index),
        name: name("Step"),
        work: work(step),
    });
    SetRouting {
        part: part(of),
        revision: code("A"),
        routing: Routing {
            operations: operations.collect(),
        },
        expected: None,
    }
}

fn work(step: &Step) -> Work {
    if step.places.is_empty() {
        return Work::Manual(Manual {
            lead: Lead::StaffedTime { lead_s: 3_600 },
            vendor: None,
        });
    }
    let clearance = |number: u8| Clearance {
        machine: machine(number),
        checklist: vec![name("Coolant level")],
    };
    let place = |place: &Where| Place {
        cell: cell(place.cell),
        machines: place.only.map(machine).into_iter().collect(),
        cycle: CycleTime::PerLoad {
            cycle_s: place.cycle_s,
        },
        program: None,
        tools: Vec::new(),
        clearances: place.cleared_on.map(clearance).into_iter().collect(),
    };
    Work::Machining(Machining {
        places: step.places.iter().map(place).collect(),
        fixtures: step.fixtures.iter().map(|number| fixture(*number)).collect(),
        pieces_per_load: 4,
        load_s: 300,
        unload_s: 200,
        setup_sheet: None,
        first_piece: step.first_piece,
        first_article: step.first_article,
    })
}

/// Where the pallets stand at first.
pub const STANDING: [(u8, Spot); 5] = [
    (1, Spot::Station(1)),
    (2, Spot::Station(2)),
    (3, Spot::Stand(1)),
    (4, Spot::Station(1)),
    (5, Spot::Stand(1)),
];

pub fn shop() -> Given {
    let mut given = an_open_site();
    // Monday, 07:00 in Berlin.
    given.now = START;
    for (number, places) in [(1, 2), (2, 1)] {
        given.does(AddCell {
            cell: cell(number),
            code: code(&format!("C{number}")),
            name: name("Pool"),
            kind: CellKind::Pool {
                load_stations: places,
                stands: places,
                exchange_s: 60,
            },
        });
    }
    for (number, of) in MACHINES {
        given.does(AddMachine {
            machine: machine(number),
            placement: Placement::In(cell(of)),
            code: code(&format!("M{number}")),
            name: name("Mill"),
            silent_after_s: None,
        });
    }
    for ((number, of), (_, spot)) in PALLETS.into_iter().zip(STANDING) {
        given.does(AddPallet {
            pallet: pallet(number),
            cell: cell(of),
            facts: pallet_facts(&format!("P{number}")),
            position: Some(spot.position()),
        });
    }
    for (number, nests, copies) in FIXTURES {
        let copies = copies
            .iter()
            .map(|copy| fixture_copy(*copy, &format!("F-{copy}")));
        given.does(AddFixture {
            fixture: fixture(number),
            facts: fixture_facts(&format!("F{number}"), nests),
            copies: copies.collect(),
        });
    }
    with_people_and_parts(given)
}

fn with_people_and_parts(mut given: Given) -> Given {
    let time = |text: &str| text.parse::<TimeOfDay>().unwrap();
    let days = [
        Weekday::Mon,
        Weekday::Tue,
        Weekday::Wed,
        Weekday::Thu,
        Weekday::Fri,
    ];
    let shifts = days.map(|weekday| WeeklyShift {
        name: name("Early"),
        weekday,
        starts: time("06:00"),
        ends: time("14:00"),
        breaks: Vec::new(),
    });
    given
        .does(SetSiteCalendar {
            valid_from: NaiveDate::from_ymd_opt(2026, 1, 1).unwrap(),
            calendar: Calendar::new(shifts.to_vec(), Vec::new()).unwrap(),
            expected: None,
        })
        .does(AddCustomer {
            customer: customer(1),
            facts: CustomerFacts {
                code: code("K1"),
                name: name("Pump works"),
                over_percent: u8::try_from(TOLERANCE.0).unwrap(),
                under_percent: u8::try_from(TOLERANCE.1).unwrap(),
            },
        });
    for number in PARTS {
        given
            .does(AddPart {
                part: part(number),
                code: code(&format!("471{number}")),
                name: name("Housing"),
                revision: RevisionFacts {
                    revision: code("A"),
                    mass_g: None,
                    size: None,
                    blank: None,
                },
            })
            .does(set_routing(number, false));
    }
    given
}

/// Monday to Friday, 06:00 to 14:00 in Berlin, which in winter is an hour before UTC.
pub fn is_attended(since_start_s: i64) -> bool {
    let since_monday = since_start_s + 7 * 3_600;
    let (day, second) = (since_monday / 86_400 % 7, since_monday % 86_400);
    day < 5 && (6 * 3_600..14 * 3_600).contains(&second)
}

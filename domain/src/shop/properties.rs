//! Random commands against an independent model: plain lists, no events, no fold.

use super::Shop;
use crate::cell::{AddCell, CellKind};
use crate::command::Command;
use crate::entry::EntryMeta;
use crate::event::Event;
use crate::hours::sweep;
use crate::ids::MachineId;
use crate::machine::{AddMachine, DownReason, Placement, ReceiveSignals, SetMachineDown, SetMachineUp};
use crate::machine_state::MachineState::{self, Active, FeedHold, Ready, Unavailable};
use crate::shop::given::{Given, an_open_site, at_s, cell, code, machine, name};
use crate::stretches::{MachineMarks, StretchDays};
use crate::time::{Timestamp, Window};
use proptest::prelude::*;
use std::collections::BTreeMap;

const STATES: [MachineState; 4] = [Ready, Active, FeedHold, Unavailable];
/// Three UTC days, so that rows and carried states come into play.
const HORIZON_S: i64 = 3 * 86_400;

#[derive(Clone, Debug)]
enum Act {
    AddCell { number: u8, standalone: bool },
    AddMachine { number: u8, cell: u8 },
    Signals { machine: u8, rows: Vec<(i64, usize)> },
    Down { machine: u8, at_s: i64 },
    Up { machine: u8, at_s: i64 },
}

fn act() -> impl Strategy<Value = Act> {
    let second = 0..HORIZON_S;
    let rows = prop::collection::vec((second.clone(), 0..STATES.len()), 1..12);
    prop_oneof![
        1 => (0u8..4, any::<bool>()).prop_map(|(number, standalone)| Act::AddCell { number, standalone }),
        2 => (0u8..4, 0u8..4).prop_map(|(number, cell)| Act::AddMachine { number, cell }),
        6 => (0u8..4, rows).prop_map(|(machine, rows)| Act::Signals { machine, rows }),
        1 => (0u8..4, second.clone()).prop_map(|(machine, at_s)| Act::Down { machine, at_s }),
        1 => (0u8..4, second).prop_map(|(machine, at_s)| Act::Up { machine, at_s }),
    ]
}

/// What the shop should be like, kept the dull way.
#[derive(Default)]
struct Model {
    cells: BTreeMap<u8, bool>,
    machines: BTreeMap<u8, u8>,
    down_since: BTreeMap<u8, Option<i64>>,
    last_change: BTreeMap<u8, i64>,
    states: BTreeMap<u8, BTreeMap<i64, MachineState>>,
    downs: BTreeMap<u8, Vec<(i64, i64)>>,
}

impl Model {
    /// Whether the act is accepted; if so it is done.
    fn takes(&mut self, act: &Act) -> bool {
        match act {
            Act::AddCell { number, standalone } => {
                let free = !self.cells.contains_key(number);
                if free {
                    self.cells.insert(*number, *standalone);
                }
                free
            }
            Act::AddMachine { number, cell } => {
                let full = |cells: &BTreeMap<u8, bool>| {
                    cells.get(cell) == Some(&true) && self.machines.values().any(|of| of == cell)
                };
                let fits = self.cells.contains_key(cell)
                    && !self.machines.contains_key(number)
                    && !full(&self.cells);
                if fits {
                    self.machines.insert(*number, *cell);
                }
                fits
            }
            Act::Signals { machine, rows } => {
                let known = self.machines.contains_key(machine);
                if known {
                    let states = self.states.entry(*machine).or_default();
                    states.extend(rows.iter().map(|(at, state)| (*at, STATES[*state])));
                }
                known
            }
            Act::Down { machine, at_s } => {
                let can = self.machines.contains_key(machine)
                    && self.is_after(*machine, *at_s)
                    && self.down_since.get(machine).is_none_or(Option::is_none);
                if can {
                    self.down_since.insert(*machine, Some(*at_s));
                    self.last_change.insert(*machine, *at_s);
                }
                can
            }
            Act::Up { machine, at_s } => {
                let since = self.down_since.get(machine).copied().flatten();
                let can = since.is_some() && self.is_after(*machine, *at_s);
                if let (true, Some(since)) = (can, since) {
                    self.downs.entry(*machine).or_default().push((since, *at_s));
                    self.down_since.insert(*machine, None);
                    self.last_change.insert(*machine, *at_s);
                }
                can
            }
        }
    }

    fn is_after(&self, machine: u8, at_s: i64) -> bool {
        self.last_change.get(&machine).is_none_or(|last| at_s > *last)
    }

    /// Seconds in cycle and down, one second at a time.
    fn in_cycle_and_down_s(&self, machine: u8) -> (i64, i64) {
        let empty = BTreeMap::new();
        let states = self.states.get(&machine).unwrap_or(&empty);
        let (mut state, mut in_cycle, mut down) = (Unavailable, 0, 0);
        let open = self.down_since.get(&machine).copied().flatten();
        for second in 0..HORIZON_S {
            state = states.get(&second).copied().unwrap_or(state);
            let ended = self
                .downs
                .get(&machine)
                .is_some_and(|downs| downs.iter().any(|(from, to)| (*from..*to).contains(&second)));
            if state == Active {
                in_cycle += 1;
            } else if ended || open.is_some_and(|since| since <= second) {
                down += 1;
            }
        }
        (in_cycle, down)
    }
}

fn command(act: &Act) -> Command {
    match act {
        Act::AddCell { number, standalone } => {
            let pool = CellKind::Pool {
                load_stations: 1,
                stands: 4,
                exchange_s: 60,
            };
            let kind = if *standalone { CellKind::Standalone } else { pool };
            let code = code(&format!("C{number}"));
            AddCell {
                cell: cell(*number),
                code,
                name: name("Cell"),
                kind,
            }
            .into()
        }
        Act::AddMachine { number, cell: of } => AddMachine {
            machine: machine(*number),
            placement: Placement::In(cell(*of)),
            code: code(&format!("M{number}")),
            name: name("Mill"),
            silent_after_s: None,
        }
        .into(),
        Act::Signals { machine: of, rows } => ReceiveSignals {
            machine: machine(*of),
            rows: rows
                .iter()
                .map(|(at, state)| (at_s(*at), STATES[*state]))
                .collect(),
            cycles: Vec::new(),
            covers: None,
            clock: None,
        }
        .into(),
        Act::Down {
            machine: of,
            at_s: at,
        } => {
            let (at, reason) = (at_s(*at), DownReason::Other);
            SetMachineDown {
                machine: machine(*of),
                at,
                reason,
                note: None,
            }
            .into()
        }
        Act::Up {
            machine: of,
            at_s: at,
        } => SetMachineUp {
            machine: machine(*of),
            at: at_s(*at),
        }
        .into(),
    }
}

/// Runs the acts; gives the shop, the events, and for each act whether it was accepted.
fn run(acts: &[Act]) -> (Given, Vec<Event>, Vec<bool>) {
    let mut given = an_open_site();
    let mut happened = Vec::new();
    let mut accepted = Vec::new();
    for act in acts {
        let decided = given.when(command(act));
        accepted.push(decided.is_ok());
        for event in decided.unwrap_or_default() {
            given.happened(event.clone());
            happened.push(event);
        }
    }
    (given, happened, accepted)
}

fn seconds(stretches: &StretchDays, of: MachineId) -> (i64, i64) {
    let rows = stretches
        .iter()
        .filter(|((track, _, _), _)| *track == of.into())
        .map(|(_, row)| row.clone());
    let marks = MachineMarks::from_rows(rows);
    let window = Window::new(at_s(0), at_s(HORIZON_S));
    let row = sweep(&marks, &[window], &[], Timestamp::MAX, None).remove(0);
    (row.seconds.in_cycle(), row.seconds[crate::hours::Category::Down])
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn live_fold_and_model_agree(acts in prop::collection::vec(act(), 1..40)) {
        let (live, events, accepted) = run(&acts);
        let mut model = Model::default();
        let expected: Vec<_> = acts.iter().map(|act| model.takes(act)).collect();
        prop_assert_eq!(accepted, expected);

        let mut folded = an_open_site();
        for event in &events {
            let read = Event::decode(event.kind(), event.schema(), &event.encode().unwrap()).unwrap();
            prop_assert_eq!(&read, event);
            folded.happened(read);
        }
        prop_assert_eq!(&folded.shop, &live.shop);
        prop_assert_eq!(&folded.stretches, &live.stretches);
        for number in 0..4 {
            prop_assert_eq!(seconds(&live.stretches, machine(number)), model.in_cycle_and_down_s(number));
        }
        let snapshot: Shop = serde_json::from_slice(&serde_json::to_vec(&live.shop).unwrap()).unwrap();
        prop_assert_eq!(snapshot, live.shop);
    }

    #[test]
    fn a_refusal_changes_nothing_and_a_run_repeats_itself(acts in prop::collection::vec(act(), 1..30)) {
        let (live, events, accepted) = run(&acts);
        let kept: Vec<_> = acts.iter().zip(accepted).filter(|(_, kept)| *kept).map(|(act, _)| act.clone()).collect();
        let (again, same_events, all) = run(&kept);
        prop_assert!(all.into_iter().all(|accepted| accepted));
        prop_assert_eq!(same_events, events);
        prop_assert_eq!(again.shop, live.shop);
    }

    /// However a batch is split, the machine's hours are the same.
    #[test]
    fn any_split_of_a_batch_gives_the_same_hours(
        rows in prop::collection::vec((0..HORIZON_S, 0..STATES.len()), 2..60),
        cut in any::<prop::sample::Index>(),
    ) {
        let begin = [Act::AddCell { number: 1, standalone: true }, Act::AddMachine { number: 1, cell: 1 }];
        let split = |parts: &[&[(i64, usize)]]| {
            let signals = parts.iter().map(|rows| Act::Signals { machine: 1, rows: rows.to_vec() });
            let acts: Vec<_> = begin.iter().cloned().chain(signals).collect();
            run(&acts).0
        };
        let (first, second) = rows.split_at(cut.index(rows.len()));
        let (whole, parts) = (split(&[&rows]), split(&[first, second]));
        prop_assert_eq!(seconds(&whole.stretches, machine(1)), seconds(&parts.stretches, machine(1)));
        prop_assert_eq!(
            whole.shop.machines.get(&machine(1)).unwrap().heard_until,
            parts.shop.machines.get(&machine(1)).unwrap().heard_until
        );
    }
}

/// The fold knows an entry by its meta alone: seq and times come from there.
#[test]
fn applying_moves_the_shop_to_the_entrys_seq() {
    let (live, events, _) = run(&[Act::AddCell {
        number: 1,
        standalone: false,
    }]);
    let mut shop = live.shop.clone();
    let meta = EntryMeta {
        seq: 99,
        occurred_at: live.now,
        recorded_at: live.now,
        actor: crate::actor::Actor::System,
    };
    shop.apply(&events[0], &meta);
    assert_eq!(shop.seq, 99);
}

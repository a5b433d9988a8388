//! What an event says about a machine's time: the marks that hours are computed from.

use crate::event::Event;
use crate::ids::MachineId;
use crate::stretches::Mark;

/// `None` for events that say nothing about a machine's time.
pub fn marks_of(event: &Event) -> Option<(MachineId, Vec<Mark>)> {
    match event {
        Event::SignalsReceived(received) => {
            let marks = received
                .rows()
                .map(|(at, state)| Mark::State { at, state })
                .collect();
            Some((received.machine, marks))
        }
        Event::CyclesReceived(received) => {
            let cycles = received.cycles.iter().map(|cycle| Mark::Cycle {
                from: cycle.from,
                to: cycle.to,
            });
            let covers = received.covers.iter().map(|covers| Mark::Covered {
                from: covers.from,
                to: covers.to,
            });
            Some((received.machine, cycles.chain(covers).collect()))
        }
        Event::MachineSetDown(set) => Some((
            set.machine,
            vec![Mark::Down {
                at: set.at,
                reason: set.reason.to_string(),
            }],
        )),
        Event::MachineSetUp(set) => Some((set.machine, vec![Mark::Up { at: set.at }])),
        Event::ReadingsReceived(received) => {
            let seconds = |s: u64| i64::try_from(s).unwrap_or(i64::MAX);
            let marks = received.readings.iter().map(|reading| Mark::Reading {
                at: reading.at,
                powered_on_s: seconds(reading.powered_on_s),
                in_cut_s: seconds(reading.in_cut_s),
                reset: reading.reset,
            });
            Some((received.machine, marks.collect()))
        }
        _ => None,
    }
}

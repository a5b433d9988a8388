//! What a correction says about time, work and pieces.

use super::Shop;
use crate::correction::{ActWithdrawn, BookedPieces, Edge, RunRetimed, Withdrawn};
use crate::event::Event;
use crate::floor::work;
use crate::ids::{JobId, RunId, Track};
use crate::load::Clamped;
use crate::pool::PalletState;
use crate::stretches::{Mark, Portion};
use crate::time::Timestamp;

impl Shop {
    pub(super) fn marks_of_correction(&self, event: &Event) -> Vec<(Track, Mark)> {
        match event {
            Event::ActWithdrawn(event) => self.withdrawn(event),
            Event::RunRetimed(event) => self.retimed(event),
            Event::PalletRecounted(event) => {
                let booked = event.booked.zip(event.run);
                booked
                    .map(|(booked, run)| recounted(&booked, run))
                    .into_iter()
                    .collect()
            }
            _ => Vec::new(),
        }
    }

    fn withdrawn(&self, event: &ActWithdrawn) -> Vec<(Track, Mark)> {
        let at = event.at;
        match &event.what {
            Withdrawn::Start {
                run,
                machine,
                clamped,
                ..
            } => {
                let void = Mark::RunWithdrawn { at, run: *run };
                let for_jobs = operations(clamped).map(|(job, operation)| {
                    let mark = Mark::JobRun {
                        at,
                        run: *run,
                        machine: *machine,
                        operation,
                        portion: Portion::NOTHING,
                        cycle_s: 0,
                    };
                    (Track::from(job), mark)
                });
                std::iter::once((Track::from(*machine), void))
                    .chain(for_jobs)
                    .collect()
            }
            Withdrawn::Pause { run, machine } | Withdrawn::Finish { run, machine, .. } => {
                vec![((*machine).into(), Mark::RunWithdrawn { at, run: *run })]
            }
            Withdrawn::Load { clamped, .. } => self.not_set_up_for(event, clamped),
            Withdrawn::SetupStart { .. } | Withdrawn::SetupEnd { .. } | Withdrawn::Move { .. } => Vec::new(),
        }
    }

    /// The setup was for what stays of its first load.
    fn not_set_up_for(&self, event: &ActWithdrawn, clamped: &[Clamped]) -> Vec<(Track, Mark)> {
        let pallet = self.pallets.get(&event.pallet);
        let Some(setup) = pallet.and_then(|pallet| pallet.setup.as_ref()) else {
            return Vec::new();
        };
        let load = pallet.and_then(|pallet| pallet.load.as_ref());
        let stays = load
            .map(|load| work::by_operation(&load.clamped))
            .unwrap_or_default();
        let gone = operations(clamped).filter(|of| !stays.contains_key(of));
        let nothing = gone.map(|(job, operation)| {
            let mark = Mark::JobSetup {
                at: setup.started_at,
                setup: setup.id,
                operation,
                portion: Portion::NOTHING,
                us: 0,
            };
            (Track::from(job), mark)
        });
        nothing.chain(self.setup_for_jobs_on(event.pallet)).collect()
    }

    fn retimed(&self, event: &RunRetimed) -> Vec<(Track, Mark)> {
        let (at, run) = (event.at, event.run);
        let edge = match event.edge {
            Edge::Start => {
                let Some(start) = event.start else {
                    return Vec::new();
                };
                let cell = self.machines.get(&event.machine).map(|machine| machine.cell);
                Mark::RunStarted {
                    at,
                    run,
                    pallet: event.pallet,
                    purpose: start.purpose,
                    cycle_s: u32::try_from(start.cycle_s).unwrap_or(u32::MAX),
                    exchange_s: cell.map_or(0, |cell| self.exchange_s(cell)),
                }
            }
            Edge::Pause => Mark::RunPaused {
                at,
                run,
                reason: event.reason.clone().unwrap_or_default(),
            },
            Edge::Resume => Mark::RunResumed { at, run },
            Edge::Finish => Mark::RunEnded {
                at,
                run,
                aborted: false,
            },
            Edge::Abort => Mark::RunEnded {
                at,
                run,
                aborted: true,
            },
        };
        let void = Mark::RunWithdrawn { at: event.was, run };
        let machine = Track::from(event.machine);
        let of_pallet = event.pallet_state.into_iter();
        let of_pallet = of_pallet.flat_map(|states| self.pallet_retimed(event, states));
        [(machine, void), (machine, edge)]
            .into_iter()
            .chain(of_pallet)
            .collect()
    }

    /// Between the two times the pallet was in the other state than was told.
    fn pallet_retimed(
        &self,
        event: &RunRetimed,
        (before, from): (PalletState, PalletState),
    ) -> Vec<(Track, Mark)> {
        let Some(pallet) = self.pallets.get(&event.pallet) else {
            return Vec::new();
        };
        let state = |at: Timestamp, state: PalletState| {
            let mark = Mark::PalletState {
                at,
                cell: pallet.cell,
                at_machine: Some(event.machine),
                state,
            };
            (Track::from(pallet.id), mark)
        };
        if event.at < event.was {
            return vec![state(event.at, from)];
        }
        vec![state(event.was, before), state(event.at, from)]
    }
}

fn operations(clamped: &[Clamped]) -> impl Iterator<Item = (JobId, u16)> {
    work::by_operation(clamped).into_keys()
}

fn recounted(booked: &BookedPieces, run: RunId) -> (Track, Mark) {
    let mark = Mark::Counted {
        from: booked.from,
        to: booked.to,
        run,
        purpose: booked.purpose,
        earned_s: booked.earned_s,
        produced_s: booked.produced_s,
        produced: booked.produced,
        good: booked.good,
        scrap: booked.scrap,
    };
    (booked.machine.into(), mark)
}

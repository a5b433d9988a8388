//! What an entry says about the time of machines, pallets and cells.

use super::{RunTally, Shop};
use crate::cell::CellKind;
use crate::entry::EntryMeta;
use crate::event::Event;
use crate::ids::{CellId, MachineId, PalletId, Track};
use crate::machine::marks_of;
use crate::pallet::Position;
use crate::stretches::Mark;
use crate::time::Timestamp;

impl Shop {
    /// Folds one entry in and tells its marks. The writer, a rebuild and `verify` all come through here: the rows of the
    /// read tables are the fold of these marks.
    pub fn fold(&mut self, event: &Event, meta: &EntryMeta) -> Vec<(Track, Mark)> {
        let held_up = self.held_up_by(event);
        let (tallies, turned) = self.apply_and_book(event, meta);
        let mut marks = self.marks_after(event);
        marks.extend(tallies.iter().map(RunTally::mark));
        let work = |cell: CellId| Some(self.open_work.get(&cell)?.mark(cell));
        marks.extend(turned.into_iter().filter_map(work));
        let held_up = held_up.into_iter();
        marks.extend(held_up.filter_map(|(pallet, at)| self.mark_of_pallet(pallet, at)));
        marks
    }

    fn marks_after(&self, event: &Event) -> Vec<(Track, Mark)> {
        let of_machine = marks_of(event).into_iter();
        let of_machine = of_machine
            .flat_map(|(machine, marks)| marks.into_iter().map(move |mark| (Track::from(machine), mark)));
        let of_run = self.mark_of_run(event);
        let corrected = self.marks_of_correction(event);
        let of_pallets = acted_on(event)
            .into_iter()
            .filter_map(|(pallet, at)| self.mark_of_pallet(pallet, at));
        let for_jobs = self.marks_for_jobs(event);
        of_machine
            .chain(of_run)
            .chain(of_pallets)
            .chain(corrected)
            .chain(for_jobs)
            .collect()
    }

    fn mark_of_run(&self, event: &Event) -> Option<(Track, Mark)> {
        let (machine, mark) = match event {
            Event::RunStarted(event) => {
                let mark = Mark::RunStarted {
                    at: event.at,
                    run: event.run,
                    pallet: event.pallet,
                    purpose: event.purpose,
                    cycle_s: u32::try_from(event.cycle_s).unwrap_or(u32::MAX),
                    exchange_s: self.exchange_s(event.cell),
                };
                (event.machine, mark)
            }
            Event::RunPaused(event) => {
                let (at, run, reason) = (event.at, event.run, event.reason.to_string());
                (event.machine, Mark::RunPaused { at, run, reason })
            }
            Event::RunResumed(event) => {
                let (at, run) = (event.at, event.run);
                (event.machine, Mark::RunResumed { at, run })
            }
            Event::RunFinished(event) => {
                let (at, run, aborted) = (event.at, event.run, false);
                (event.machine, Mark::RunEnded { at, run, aborted })
            }
            Event::RunAborted(event) => {
                let (at, run, aborted) = (event.at, event.run, true);
                (event.machine, Mark::RunEnded { at, run, aborted })
            }
            _ => return None,
        };
        Some((machine.into(), mark))
    }

    pub(super) fn exchange_s(&self, cell: CellId) -> u32 {
        match self.cells.get(&cell).map(|cell| cell.kind) {
            Some(CellKind::Pool { exchange_s, .. }) => exchange_s,
            Some(CellKind::Standalone) | None => 0,
        }
    }

    fn mark_of_pallet(&self, pallet: PalletId, at: Timestamp) -> Option<(Track, Mark)> {
        let pallet = self.pallets.get(&pallet)?;
        let at_machine = match pallet.position {
            Position::Spindle { machine } => Some(machine),
            _ => None,
        };
        let mark = Mark::PalletState {
            at,
            cell: pallet.cell,
            at_machine,
            state: self.state_in_time(pallet, at),
        };
        Some((pallet.id.into(), mark))
    }

    /// Whether rows of this track can exist. Nobody's command may ask for those of others.
    pub fn knows_track(&self, track: Track) -> bool {
        self.machines.get(&MachineId(track.0)).is_some()
            || self.pallets.get(&PalletId(track.0)).is_some()
            || self.cells.get(&CellId(track.0)).is_some()
    }

    /// The pallets whose marks tell why the spindles of a cell stood. A pallet never leaves its cell.
    pub fn pallets_of(&self, cell: CellId) -> Vec<PalletId> {
        let of_cell = self.pallets.values().filter(|pallet| pallet.cell == cell);
        of_cell.map(|pallet| pallet.id).collect()
    }
}

/// The pallets whose place or state an entry may change, and when. A pallet that was only entered in the catalogue says
/// nothing yet: its cell may never be booked.
fn acted_on(event: &Event) -> Vec<(PalletId, Timestamp)> {
    let one = match event {
        Event::SetupStarted(event) => (event.pallet, event.at),
        Event::SetupEnded(event) => (event.pallet, event.at),
        Event::PalletUnmounted(event) => (event.pallet, event.at),
        Event::PalletLoaded(event) => (event.pallet, event.at),
        Event::PalletMoved(event) => (event.pallet, event.at),
        Event::RunStarted(event) => (event.pallet, event.at),
        Event::RunFinished(event) => (event.pallet, event.at),
        Event::RunAborted(event) => (event.pallet, event.at),
        Event::PalletUnloaded(event) => (event.pallet, event.at),
        Event::HoldPlaced(event) => (event.pallet, event.at),
        Event::HoldAccepted(event) => (event.pallet, event.at),
        Event::ActWithdrawn(event) => (event.pallet, event.at),
        Event::HoldDisposed(event) if event.on_pallet => (event.pallet, event.at),
        Event::InspectionReversed(event) => {
            return event
                .pallet
                .map(|pallet| (pallet, event.at))
                .into_iter()
                .collect();
        }
        Event::FloorOpened(opened) => {
            let pallets = opened.pallets.iter();
            return pallets.map(|opening| (opening.pallet, opened.at)).collect();
        }
        _ => return Vec::new(),
    };
    vec![one]
}

//! The inspector: first pieces and first articles, pieces on the table, and a load that somebody doubts.

use super::Story;
use super::agenda::Due;
use super::told::note;
use crate::demo::sheets::In;
use crate::demo::shop::NotAShop;
use spindlebook_domain::floor::PlaceHold;
use spindlebook_domain::ids::{HoldId, MachineId};
use spindlebook_domain::inspection::{DisposeHold, held_in_inspection};
use spindlebook_domain::job::{Counts, ReportInspected};
use spindlebook_domain::load::{Disposition, HoldKind};
use spindlebook_domain::pool::PalletState;
use spindlebook_domain::time::Timestamp;

const DOUBT: &str = "Bore 2 looks oval on the last piece: measure all before more are cut.";

impl Story<'_> {
    /// A load that came out held is looked at within the hour, or in the morning.
    pub fn holds_wait(&mut self, hold: HoldId, at: Timestamp) {
        if self.told.shop.holds.get(&hold).is_none() {
            return;
        }
        let measured_at = at.plus_s(self.dice.minutes(20, 80));
        let mut looks_at = self.days.works_from(measured_at);
        if looks_at > measured_at {
            looks_at = looks_at.plus_s(self.dice.minutes(8, 45));
        }
        self.agenda.at(looks_at, Due::Accept(hold));
    }

    pub fn accepts(&mut self, at: Timestamp, hold: HoldId) -> Result<(), NotAShop> {
        let Some(cell) = self.told.shop.holds.get(&hold).map(|hold| hold.cell) else {
            return Ok(());
        };
        let (disposition, note) = (Disposition::Accept, None);
        let command = DisposeHold {
            pieces: Vec::new(),
            revision: None,
            reference: None,
            hold,
            disposition,
            at,
            note,
        };
        self.acts(at, self.inspector(), command)?;
        self.wakes_machines(cell, at);
        Ok(())
    }

    /// Every morning: most of what was laid aside is good after all.
    pub fn judges(&mut self, at: Timestamp) -> Result<(), NotAShop> {
        let jobs = self.open_jobs();
        let lying = jobs.flat_map(|job| {
            job.operations
                .iter()
                .map(|here| (job.id, here.number, here.inspection))
        });
        // What a hold keeps there is decided with it.
        let lying = lying.map(|(job, operation, pieces)| {
            let (held, _) = held_in_inspection(&self.told.shop, job, operation);
            (job, operation, pieces.saturating_sub(held))
        });
        let lying: Vec<_> = lying.filter(|(_, _, pieces)| *pieces > 0).collect();
        for (job, operation, pieces) in lying {
            let mut counts = Counts::default();
            for _ in 0..pieces {
                match self.dice.between(1, 10) {
                    1 => counts.scrapped += 1,
                    2 => counts.rework += 1,
                    _ => counts.good += 1,
                }
            }
            let command = ReportInspected {
                job,
                operation,
                counts,
                at,
            };
            self.acts(at, self.inspector(), command)?;
        }
        Ok(())
    }

    /// Shortly before now somebody doubts a load, and nobody has decided yet.
    pub fn doubts(&mut self, at: Timestamp) -> Result<(), NotAShop> {
        let cells = [In::FiveAxis, In::Horizontal].map(|at| self.invented.machines.cell(at));
        let pallets = cells.into_iter().flat_map(|cell| self.pallets_of(cell));
        let mut doubtful: Vec<_> = pallets
            .filter(|pallet| !self.is_being_changed(pallet))
            .filter_map(|pallet| match self.state_of(pallet.id) {
                PalletState::Ready => Some((0, pallet.id)),
                PalletState::ReadyAttendedOnly => Some((1, pallet.id)),
                PalletState::Cut => Some((2, pallet.id)),
                _ => None,
            })
            .collect();
        doubtful.sort_by_key(|(order, _)| *order);
        let Some((_, pallet)) = doubtful.first().copied() else {
            self.agenda.at(at.plus_s(240), Due::Doubt);
            return Ok(());
        };
        let (note, text) = note(&mut self.dice, DOUBT);
        let hold = HoldId(self.dice.uuid());
        let note = Some(note);
        let command = PlaceHold {
            kind: HoldKind::Suspect,
            pallet,
            hold,
            at,
            note,
        };
        self.tells((at, at), self.operator(), command, Some(text))
    }

    /// The spindles of both pools, left to right.
    pub fn pool_spindles(&self) -> Vec<MachineId> {
        let machines = &self.invented.machines;
        [machines.spindles(In::FiveAxis), machines.spindles(In::Horizontal)].concat()
    }
}

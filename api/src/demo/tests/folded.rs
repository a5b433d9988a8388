//! Folds the history as a writer would, without a database.

use crate::demo::History;
use sha2::{Digest, Sha256};
use spindlebook_domain::calendar::attended;
use spindlebook_domain::command::{Command, Context};
use spindlebook_domain::entry::EntryMeta;
use spindlebook_domain::hours::{RowSeconds, sweep};
use spindlebook_domain::ids::{MachineId, PalletId, Track};
use spindlebook_domain::pallet::Position;
use spindlebook_domain::pool::{PalletState, state_of};
use spindlebook_domain::shop::Shop;
use spindlebook_domain::stretches::{MachineMarks, StretchDays};
use spindlebook_domain::time::{Timestamp, Window};
use std::collections::BTreeMap;

pub struct Folded {
    pub shop: Shop,
    stretches: StretchDays,
    /// Over all payloads with their instants; the ids of entries are made when they are written.
    pub payloads_sha256: [u8; 32],
    /// Where each pallet was and in which state, each time that it changed, in the order in which it happened.
    pub pallets: BTreeMap<PalletId, Vec<(Timestamp, Standing)>>,
}

/// The state, and the machine at whose spindle it is.
pub type Standing = (PalletState, Option<MachineId>);

pub fn fold(history: &History) -> Folded {
    let mut folded = Folded {
        shop: Shop::default(),
        stretches: StretchDays::whole(),
        payloads_sha256: [0; 32],
        pallets: BTreeMap::new(),
    };
    let mut digest = Sha256::new();
    let open = (
        history.opened_at,
        history.opened_at,
        Command::from(history.open.clone()),
        None,
    );
    let told = history.steps.iter().map(|step| {
        (
            step.recorded_at,
            step.occurred_at,
            step.command.clone(),
            Some(step.actor),
        )
    });
    for (now, at, command, actor) in std::iter::once(open).chain(told) {
        let actor = actor.unwrap_or(spindlebook_domain::actor::Actor::System);
        let context = Context {
            now,
            actor,
            login_taken: false,
            stretches: &folded.stretches,
        };
        let events = folded.shop.decide(&command, &context);
        let events = events.unwrap_or_else(|refusal| panic!("{now}: {refusal}"));
        for event in events {
            let meta = EntryMeta {
                seq: folded.shop.seq + 1,
                occurred_at: at,
                recorded_at: now,
                actor,
            };
            digest.update(event.encode().unwrap());
            digest.update(now.us().to_be_bytes());
            let marks = folded.shop.fold(&event, &meta);
            folded.stretches.apply_marks(marks, &meta).unwrap();
        }
        folded.note(at);
    }
    for changes in folded.pallets.values_mut() {
        // A finish that was forgotten is told after what happened meanwhile.
        changes.sort_by_key(|(at, _)| *at);
    }
    folded.payloads_sha256 = digest.finalize().into();
    folded
}

impl Folded {
    fn note(&mut self, at: Timestamp) {
        for pallet in self
            .shop
            .pallets
            .values()
            .filter(|pallet| pallet.acted_at.is_some())
        {
            let machine = match pallet.position {
                Position::Spindle { machine } => Some(machine),
                _ => None,
            };
            let now = (state_of(&self.shop, pallet), machine);
            let changes = self.pallets.entry(pallet.id).or_default();
            if changes.last().is_none_or(|(_, last)| *last != now) {
                changes.push((at, now));
            }
        }
    }

    /// What the program makes of it.
    pub fn hours(&self, history: &History, machine: MachineId, windows: &[Window]) -> Vec<RowSeconds> {
        let known = self.shop.machines.get(&machine).unwrap();
        let pallets = self.shop.pallets_of(known.cell);
        let is_of = |track: Track| {
            track == machine.into()
                || track == known.cell.into()
                || pallets.iter().any(|pallet| track == (*pallet).into())
        };
        let rows = self.stretches.iter().filter(|((track, ..), _)| is_of(*track));
        let rows = rows.map(|((track, ..), marks)| (*track, marks.clone()));
        let marks = MachineMarks::of_machine(machine, known.cell, rows);
        let calendar = self.shop.calendar_of(known.cell).unwrap();
        let attended = attended(calendar, crate::demo::ZONE, history.frame.all());
        sweep(&marks, windows, &attended, history.frame.now, None)
    }
}

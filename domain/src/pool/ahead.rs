//! Gridlock before it happens: what people might do next that would close a circle, and which pallet out of its place
//! opens it again. Each act is tried on a copy of the shop by the rules of the floor.

use super::{Link, ring};
use crate::actor::Actor;
use crate::cell::Cell;
use crate::command::Command;
use crate::entry::EntryMeta;
use crate::floor::{self, LoadPallet, MountFixture, can_carry, pieces};
use crate::ids::{FixtureId, JobId, LoadId, PalletId, SetupId};
use crate::load::Clamped;
use crate::pallet::Pallet;
use crate::shop::Shop;
use crate::time::Timestamp;
use uuid::Uuid;

/// So many acts are tried in a cell; a shop floor offers far fewer.
const ACTS_MAX: usize = 2_000;

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LockAhead {
    pub pallet: PalletId,
    pub act: LockingAct,
    /// As [`ring`] tells it.
    pub ring: Vec<Link>,
    /// Taking this pallet out of its place opens the circle.
    pub way_out: PalletId,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LockingAct {
    Mount { fixture: FixtureId },
    Load { job: JobId, operation: u16, pieces: u32 },
}

/// Nothing if the cell is locked already: then its ring says so.
pub fn locks_ahead(shop: &Shop, cell: &Cell, now: Timestamp) -> Vec<LockAhead> {
    if !ring(shop, cell, now).is_empty() {
        return Vec::new();
    }
    let mut pallets: Vec<_> = shop
        .pallets
        .values()
        .filter(|pallet| pallet.cell == cell.id)
        .collect();
    pallets.sort_by(|a, b| a.facts.code.cmp(&b.facts.code));
    let acts = pallets.into_iter().flat_map(|pallet| acts_on(shop, pallet));
    acts.take(ACTS_MAX)
        .filter_map(|(pallet, act)| {
            let after = after(shop, pallet, act, now)?;
            let ring = ring(&after, after.cells.get(&cell.id)?, now);
            let way_out = ring.first()?.pallet;
            Some(LockAhead {
                pallet,
                act,
                ring,
                way_out,
            })
        })
        .collect()
}

/// Mount what fits on an empty pallet; clamp what waits into a fixture.
fn acts_on(shop: &Shop, pallet: &Pallet) -> Vec<(PalletId, LockingAct)> {
    let acts: Vec<LockingAct> = match &pallet.setup {
        None => {
            let mut fixtures: Vec<_> = shop
                .fixtures
                .values()
                .filter(|fixture| can_carry(pallet, fixture))
                .collect();
            fixtures.sort_by(|a, b| a.facts.code.cmp(&b.facts.code));
            let mounts = fixtures
                .into_iter()
                .map(|fixture| LockingAct::Mount { fixture: fixture.id });
            mounts.collect()
        }
        Some(_) if pallet.load.is_some() => Vec::new(),
        Some(setup) => {
            let mut loads: Vec<_> = pieces::open_jobs(shop)
                .flat_map(|job| {
                    pieces::machined(job).map(move |(operation, machining)| (job, operation, machining))
                })
                .filter(|(_, _, machining)| machining.fixtures.contains(&setup.fixture))
                .map(|(job, operation, machining)| {
                    let most = machining.pieces_per_load.min(job.pieces_to_load(operation));
                    (job.id, operation, most)
                })
                .filter(|(_, _, pieces)| *pieces > 0)
                .collect();
            loads.sort_unstable();
            let load = |(job, operation, pieces)| LockingAct::Load {
                job,
                operation,
                pieces,
            };
            loads.into_iter().map(load).collect()
        }
    };
    acts.into_iter().map(|act| (pallet.id, act)).collect()
}

/// The shop after the act; `None`: a rule of the floor forbids it.
fn after(shop: &Shop, pallet: PalletId, act: LockingAct, now: Timestamp) -> Option<Shop> {
    let command: Command = match act {
        LockingAct::Mount { fixture } => MountFixture {
            pallet,
            setup: SetupId(Uuid::nil()),
            fixture,
            copy: None,
            at: now,
        }
        .into(),
        LockingAct::Load {
            job,
            operation,
            pieces,
        } => LoadPallet {
            pallet,
            load: LoadId(Uuid::nil()),
            clamped: vec![Clamped {
                job,
                operation,
                pieces,
                rework: false,
            }],
            at: now,
            overrides: Vec::new(),
        }
        .into(),
    };
    let events = floor::decide(shop, &command, now).ok()?;
    let mut after = shop.clone();
    for event in events {
        let meta = EntryMeta {
            seq: after.seq + 1,
            occurred_at: now,
            recorded_at: now,
            actor: Actor::System,
        };
        floor::apply(&mut after, &event, &meta);
    }
    Some(after)
}

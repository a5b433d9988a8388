//! The pool of a cell as it stands: where every pallet is, what state it is in, and the one thing that it waits for.

mod ahead;
mod cuts_until;
mod empty;
mod jobs;
mod picture;
mod ready;
mod ring;
#[cfg(test)]
mod tests;
mod wait;

pub use ahead::{LockAhead, LockingAct, locks_ahead};
pub use cuts_until::{CountedLoad, CutsUntil, MachineCuts, NotCounted, cuts_until};
pub use jobs::JobLine;
pub use ring::{Link, ring};
pub use wait::{Wait, WaitCode};

use self::picture::Picture;
use crate::cell::Cell;
use crate::floor::Mass;
use crate::ids::{PalletId, RunId};
use crate::load::{Load, Stage};
use crate::pallet::Pallet;
use crate::run::named_values;
use crate::shop::Shop;
use crate::time::Timestamp;

named_values! {
    /// The order is that of the marks in the store: new ones go to the end.
    pub enum PalletState {
        /// Nothing is clamped, with or without a fixture.
        Empty = "empty",
        InSetup = "in_setup",
        Ready = "ready",
        /// Ready, but not cleared on any machine to run with nobody there.
        ReadyAttendedOnly = "ready_attended_only",
        Held = "held",
        InRun = "in_run",
        Cut = "cut",
        /// Its run was broken off.
        Aborted = "aborted",
    }
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Pool {
    /// By their codes.
    pub pallets: Vec<PalletLine>,
    /// Job operations of the cell whose pieces wait.
    pub jobs: Vec<JobLine>,
    /// Pallets that wait for each other in a circle; empty where something can still move.
    pub ring: Vec<Link>,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PalletLine {
    pub pallet: PalletId,
    pub state: PalletState,
    pub waits_for: Wait,
    /// Of the fixture on it; `None` without one.
    pub nests_empty: Option<u32>,
    pub mass: Option<Mass>,
    pub run: Option<RunId>,
}

pub fn pool(shop: &Shop, cell: &Cell, now: Timestamp) -> Pool {
    let picture = Picture::of(shop, cell, now);
    let jobs = jobs::lines(&picture);
    let pallets = picture
        .pallets
        .iter()
        .map(|pallet| line(&picture, &jobs, pallet))
        .collect();
    Pool {
        pallets,
        jobs,
        ring: ring(shop, cell, now),
    }
}

fn line(picture: &Picture<'_>, jobs: &[JobLine], pallet: &Pallet) -> PalletLine {
    let fixture = pallet
        .setup
        .as_ref()
        .and_then(|setup| picture.shop.fixtures.get(&setup.fixture));
    let pieces = pallet.load.as_ref().map_or(0, Load::pieces);
    let run = pallet.load.as_ref().and_then(Load::run);
    PalletLine {
        pallet: pallet.id,
        state: state_of(picture.shop, pallet),
        waits_for: wait::of(picture, jobs, pallet),
        nests_empty: fixture.map(|fixture| fixture.facts.nests.saturating_sub(pieces)),
        mass: fixture.map(|fixture| Mass::on(picture.shop, fixture, pallet.load.as_ref())),
        run,
    }
}

pub fn state_of(shop: &Shop, pallet: &Pallet) -> PalletState {
    let Some(setup) = &pallet.setup else {
        return PalletState::Empty;
    };
    if setup.ended_at.is_none() {
        return PalletState::InSetup;
    }
    let Some(load) = &pallet.load else {
        return PalletState::Empty;
    };
    match load.stage {
        Stage::InRun { .. } => PalletState::InRun,
        _ if load.hold.is_some() => PalletState::Held,
        Stage::Cut { .. } => PalletState::Cut,
        Stage::Aborted { .. } => PalletState::Aborted,
        Stage::Ready if ready::is_cleared_somewhere(shop, pallet, load) => PalletState::Ready,
        Stage::Ready => PalletState::ReadyAttendedOnly,
    }
}

//! Gridlock: pallets that wait for each other in a circle, so that nothing moves without help from outside.
//!
//! Each pallet waits for one of several things (any stand, any copy of a fixture). One that can go on by itself or with
//! a person's hand is free, and so is one that waits for something a free pallet holds. What is left is locked. In a cell
//! without stands the changer exchanges two pallets at once, and places lock nothing.

use super::picture::Picture;
use super::{Wait, WaitCode, empty, jobs, state_of};
use crate::cell::Cell;
use crate::ids::PalletId;
use crate::pallet::{Pallet, Position};
use crate::pool::PalletState;
use crate::shop::Shop;
use crate::time::Timestamp;
use std::collections::{BTreeMap, BTreeSet};

/// One pallet of the circle, what it waits for, and which pallet holds that: the next link.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Link {
    pub pallet: PalletId,
    pub waits_for: Wait,
    pub held_by: PalletId,
}

/// The circle, from pallet to pallet; empty where there is none.
pub fn ring(shop: &Shop, cell: &Cell, now: Timestamp) -> Vec<Link> {
    let picture = Picture::of(shop, cell, now);
    // With a free place anything that stands in the way can step aside.
    if picture.stands().next().is_none() || !is_full(&picture) {
        return Vec::new();
    }
    let jobs = jobs::lines(&picture);
    let needs: BTreeMap<_, _> = picture
        .pallets
        .iter()
        .filter_map(|pallet| Some((pallet.id, needs(&picture, &jobs, pallet)?)))
        .collect();
    walk(&needs, &locked(&picture, &needs))
}

fn is_full(picture: &Picture<'_>) -> bool {
    let spindles = picture
        .machines
        .iter()
        .map(|machine| Position::Spindle { machine: machine.id });
    let places = picture.load_stations().chain(picture.stands()).chain(spindles);
    picture.taken(places).is_some()
}

type Needs = (Wait, Vec<PalletId>);

/// What of other pallets it needs, any of them. `None`: nothing.
fn needs(picture: &Picture<'_>, jobs: &[super::JobLine], pallet: &Pallet) -> Option<Needs> {
    let wait = super::wait::of(picture, jobs, pallet);
    let held_by = match (state_of(picture.shop, pallet), wait.code) {
        (_, WaitCode::LoadStation) => at(picture, picture.load_stations().chain(picture.stands())),
        (_, WaitCode::Spindle) => {
            let takes = picture
                .machines
                .iter()
                .map(|machine| Position::Spindle { machine: machine.id });
            at(picture, takes)
        }
        (PalletState::Empty, WaitCode::Fixture) => with_fixture(picture, jobs, pallet),
        (PalletState::Empty, WaitCode::Work | WaitCode::Material | WaitCode::Pallet) => {
            picture.pallets.iter().map(|other| other.id).collect()
        }
        _ => return None,
    };
    let others: Vec<_> = held_by.into_iter().filter(|other| *other != pallet.id).collect();
    (!others.is_empty()).then_some((wait, others))
}

fn at(picture: &Picture<'_>, places: impl Iterator<Item = Position>) -> Vec<PalletId> {
    let there = picture.taken(places).unwrap_or_default();
    there.into_iter().map(|pallet| pallet.id).collect()
}

/// The pallets that carry a fixture of which it waits for a copy; one in another cell is not locked by this one.
fn with_fixture(picture: &Picture<'_>, jobs: &[super::JobLine], pallet: &Pallet) -> Vec<PalletId> {
    let waiting = jobs
        .iter()
        .filter(|line| line.waits_for.code == WaitCode::Fixture);
    let of_line = |line: &super::JobLine| {
        let carries = |other: &&&Pallet| {
            let setup = other.setup.as_ref();
            setup.is_some_and(|setup| empty::holds(picture, line, setup.fixture))
        };
        let ids: Vec<_> = picture
            .copies
            .values()
            .filter(carries)
            .map(|other| other.id)
            .collect();
        ids
    };
    let mut ids: Vec<_> = waiting
        .flat_map(of_line)
        .filter(|other| *other != pallet.id)
        .collect();
    ids.sort_unstable();
    ids.dedup();
    ids
}

fn locked(picture: &Picture<'_>, needs: &BTreeMap<PalletId, Needs>) -> BTreeSet<PalletId> {
    let of_cell = picture.pallets.iter().map(|pallet| pallet.id);
    let mut locked: BTreeSet<_> = of_cell.filter(|pallet| needs.contains_key(pallet)).collect();
    loop {
        let is_stuck = |pallet: &PalletId| needs[pallet].1.iter().all(|other| locked.contains(other));
        let still: BTreeSet<_> = locked.iter().copied().filter(is_stuck).collect();
        if still.len() == locked.len() {
            return locked;
        }
        locked = still;
    }
}

/// From one locked pallet to the next until one comes again.
fn walk(needs: &BTreeMap<PalletId, Needs>, locked: &BTreeSet<PalletId>) -> Vec<Link> {
    let mut path: Vec<Link> = Vec::new();
    let mut next = locked.first().copied();
    while let Some(pallet) = next {
        if let Some(from) = path.iter().position(|link| link.pallet == pallet) {
            return path.split_off(from);
        }
        let Some((wait, others)) = needs.get(&pallet) else {
            break;
        };
        let held_by = others.iter().copied().find(|other| locked.contains(other));
        if let Some(held_by) = held_by {
            path.push(Link {
                pallet,
                waits_for: wait.clone(),
                held_by,
            });
        }
        next = held_by;
    }
    Vec::new()
}

//! Which pieces a hold is about, and which of them nobody has decided about yet.

use crate::ids::JobId;
use crate::load::{Clamped, Hold, Load};
use crate::shop::Shop;

/// The load of a hold while it is on its pallet.
pub fn load_of<'a>(shop: &'a Shop, hold: &Hold) -> Option<&'a Load> {
    let load = shop.pallets.get(&hold.pallet)?.load.as_ref();
    load.filter(|load| load.id == hold.load)
}

/// By job operation: of a load on its pallet what is clamped, of one that was taken off what lies in inspection.
pub fn undecided(shop: &Shop, hold: &Hold) -> Vec<Clamped> {
    if let Some(load) = load_of(shop, hold) {
        return load.undecided();
    }
    let lies = |one: &Clamped| {
        let at = shop.jobs.get(&one.job).and_then(|job| job.at(one.operation));
        at.map_or(0, |at| at.inspection)
    };
    let waiting = hold.waiting.iter().map(|one| Clamped {
        pieces: one.pieces.min(lies(one)),
        ..*one
    });
    waiting.filter(|one| one.pieces > 0).collect()
}

/// Pieces in inspection that an open hold keeps there, and the oldest such hold.
pub fn held_in_inspection(shop: &Shop, job: JobId, operation: u16) -> (u32, Option<&Hold>) {
    let of_hold = |hold: &Hold| -> u32 {
        let same = |one: &&Clamped| (one.job, one.operation) == (job, operation);
        hold.waiting.iter().filter(same).map(|one| one.pieces).sum()
    };
    let holding: Vec<_> = shop.holds.values().filter(|hold| of_hold(hold) > 0).collect();
    let held = holding.iter().map(|hold| of_hold(hold)).sum();
    (held, holding.into_iter().min_by_key(|hold| (hold.since, hold.id)))
}

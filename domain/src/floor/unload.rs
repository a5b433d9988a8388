//! Taking a load off and counting it: what was clamped is what is counted, piece by piece.

use super::act::{Telling, after_last, is_at_hand, is_in_time, known};
use super::{Count, PalletUnloaded, UnloadPallet, UnloadRefusal};
use crate::load::{Clamped, Disposition, Load, Stage};
use crate::pallet::Pallet;
use crate::refusal::Refusal;
use crate::shop::Shop;

pub fn unload(shop: &Shop, command: &UnloadPallet, telling: &Telling) -> Result<PalletUnloaded, Refusal> {
    let pallet = known(shop, command.pallet)?;
    is_in_time(pallet, command.at, telling)?;
    let load = pallet.load.as_ref().ok_or_else(|| not_loaded(pallet))?;
    let run = match load.stage {
        Stage::Ready => None,
        Stage::InRun { run } => {
            return Err(UnloadRefusal::InRun {
                pallet: pallet.id,
                run,
            }
            .into());
        }
        Stage::Cut { .. } | Stage::Aborted { .. } => load.run(),
    };
    is_at_hand(shop, pallet, telling)?;
    let run_ended_at = run.and_then(|run| shop.runs.get(&run)?.ended_at());
    let last = run_ended_at.max(Some(load.loaded_at));
    after_last(command.at, last, || "this load".to_owned())?;
    closes(load, &command.counts)?;
    for (index, count) in command.counts.iter().enumerate() {
        may_count(shop, load, index, count)?;
    }
    Ok(PalletUnloaded {
        pallet: pallet.id,
        load: load.id,
        run,
        counts: command.counts.clone(),
        at: command.at,
        note: command.note.clone(),
    })
}

fn not_loaded(pallet: &Pallet) -> UnloadRefusal {
    match &pallet.emptied {
        Some(emptied) => UnloadRefusal::AlreadyUnloaded {
            pallet: pallet.id,
            by: emptied.by.clone(),
            unloaded_at: emptied.at,
        },
        None => UnloadRefusal::NothingLoaded { pallet: pallet.id },
    }
}

/// Each job operation of the load once, and as many pieces as were clamped.
fn closes(load: &Load, counts: &[Count]) -> Result<(), UnloadRefusal> {
    for (index, count) in counts.iter().enumerate() {
        let (job, operation) = (count.job, u32::from(count.operation));
        let one = load.clamped.iter().find(|one| is_of(count, one));
        let one = one.ok_or(UnloadRefusal::NotClamped {
            index,
            job,
            operation,
        })?;
        if counts[..index].iter().any(|before| is_of(before, one)) {
            return Err(UnloadRefusal::Repeated {
                index,
                job,
                operation,
            });
        }
        let (clamped, counted) = (one.pieces, count.total());
        if counted != u64::from(clamped) {
            let difference = i64::try_from(counted).unwrap_or(i64::MAX) - i64::from(clamped);
            return Err(UnloadRefusal::NotClosed {
                index,
                job,
                operation,
                clamped,
                counted,
                difference,
            });
        }
    }
    let missing = load
        .clamped
        .iter()
        .find(|one| !counts.iter().any(|count| is_of(count, one)));
    match missing {
        Some(one) => Err(UnloadRefusal::Missing {
            job: one.job,
            operation: u32::from(one.operation),
            clamped: one.pieces,
        }),
        None => Ok(()),
    }
}

fn is_of(count: &Count, one: &Clamped) -> bool {
    (count.job, count.operation, count.rework) == (one.job, one.operation, one.rework)
}

/// What was not cut comes off uncut; what nobody has judged is not good.
fn may_count(shop: &Shop, load: &Load, index: usize, count: &Count) -> Result<(), UnloadRefusal> {
    let good = count.good;
    as_decided(load, index, count)?;
    if load.stage == Stage::Ready && count.total() != u64::from(count.uncut) {
        let counted = count.total();
        return Err(UnloadRefusal::NotCut { index, counted });
    }
    if good == 0 {
        return Ok(());
    }
    if let Stage::Aborted { .. } = load.stage {
        return Err(UnloadRefusal::Broken { index, good });
    }
    let passed = load.decided_as(count.job, count.operation, Disposition::lets_pass);
    match load.hold.and_then(|hold| shop.holds.get(&hold)) {
        Some(hold) if good > passed => Err(UnloadRefusal::Held {
            index,
            good,
            hold: hold.id,
            kind: hold.kind,
        }),
        _ => Ok(()),
    }
}

/// What was decided while it was clamped is what it counts as. Pieces to be returned come off to inspection, and are booked
/// as returned at once.
fn as_decided(load: &Load, index: usize, count: &Count) -> Result<(), UnloadRefusal> {
    let decided =
        |disposition: Disposition| load.decided_as(count.job, count.operation, |one| one == disposition);
    let counted = [
        (Disposition::Scrap, "scrapped", "scrapped", count.scrapped),
        (Disposition::Rework, "reworked", "to_rework", count.to_rework),
        (
            Disposition::Return,
            "returned",
            "to_inspection",
            count.to_inspection,
        ),
    ];
    let otherwise = counted
        .into_iter()
        .find(|(disposition, .., counted)| *counted < decided(*disposition));
    match otherwise {
        Some((disposition, called, field, counted)) => Err(UnloadRefusal::DecidedOtherwise {
            index,
            decided: decided(disposition),
            called,
            field,
            counted,
        }),
        None => Ok(()),
    }
}

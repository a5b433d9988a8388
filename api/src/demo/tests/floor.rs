//! What must hold of an invented shop as of a real one.

use super::folded::fold;
use super::{SEED, instants};
use crate::demo::{History, history};
use spindlebook_domain::command::Command;
use spindlebook_domain::ids::CellId;
use spindlebook_domain::job::StepOut;
use spindlebook_domain::load::HoldKind;
use spindlebook_domain::order::{LineState, Priority};
use spindlebook_domain::pool::{PalletState, WaitCode, pool};
use spindlebook_domain::run::Purpose;
use spindlebook_domain::shop::Shop;
use std::collections::{BTreeMap, BTreeSet};

/// Each pallet at a place of its own, and each piece in one pile.
pub fn is_sound(shop: &Shop) {
    let places: BTreeSet<_> = shop
        .pallets
        .values()
        .map(|pallet| (pallet.cell, pallet.position))
        .collect();
    assert_eq!(places.len(), shop.pallets.len());
    let mut clamped = BTreeMap::new();
    for one in shop
        .pallets
        .values()
        .filter_map(|pallet| pallet.load.as_ref())
        .flat_map(|load| &load.clamped)
    {
        *clamped.entry((one.job, one.operation)).or_insert(0) += one.pieces;
    }
    for job in shop.jobs.values() {
        let mut came = job.released;
        for at in &job.operations {
            assert_eq!(at.came, came, "{} {}", job.id, at.number);
            let piles = at.waiting()
                + at.clamped
                + at.inspection
                + at.good
                + at.scrapped
                + at.rework
                + at.out
                + at.returned;
            assert_eq!(at.came, piles, "{} {}", job.id, at.number);
            assert_eq!(at.clamped, clamped.remove(&(job.id, at.number)).unwrap_or(0));
            let out: u32 = at.outside.iter().map(StepOut::still_out).sum();
            assert_eq!(at.out, out);
            came = at.good;
        }
    }
    assert!(clamped.is_empty(), "{clamped:?}");
}

fn told(history: &History, is: impl Fn(&Command) -> bool) -> usize {
    history.steps.iter().filter(|step| is(&step.command)).count()
}

#[test]
fn five_weeks_hold_everything_that_a_floor_knows() {
    for now in instants() {
        let history = history(SEED, now).unwrap();
        let count = |is: fn(&Command) -> bool| told(&history, is);
        let purpose = |wanted: Purpose| {
            told(
                &history,
                |command| matches!(command, Command::StartRun(run) if run.purpose == Some(wanted)),
            )
        };
        assert!(purpose(Purpose::Production) > 300);
        assert!(purpose(Purpose::FirstPiece) > 20);
        assert!(purpose(Purpose::Rework) > 3);
        assert!((1..10).contains(&purpose(Purpose::ProveOut)));
        assert!(count(|command| matches!(command, Command::LoadPallet(load) if load.clamped.len() > 1)) > 5);
        assert!(count(|command| matches!(command, Command::DisposeHold(_))) > 30);
        assert!(
            count(
                |command| matches!(command, Command::ReportStepBack(back) if back.back.damaged + back.back.missing > 0)
            ) > 0
        );
        assert!(count(|command| matches!(command, Command::Ship(_))) > 50);
        assert!(count(|command| matches!(command, Command::MountFixture(_))) > 0);
        let scrapped = count(
            |command| matches!(command, Command::UnloadPallet(unload) if unload.counts.iter().any(|count| count.scrapped > 0)),
        );
        assert!(scrapped > 10, "{scrapped}");
        let rush = count(
            |command| matches!(command, Command::EnterOrder(order) if order.lines.iter().any(|line| line.priority == Priority::Rush)),
        );
        assert_eq!(rush, 2);
        // The finish that was forgotten in the evening is told in the morning.
        let late = history.steps.iter().filter(|step| {
            matches!(step.command, Command::FinishRun(_))
                && step.recorded_at.since_us(step.occurred_at) > 8 * 3_600 * 1_000_000
        });
        assert!(late.count() > 0);
    }
}

#[test]
fn the_pool_stands_full_of_live_pallets() {
    let history = history(SEED, instants()[0]).unwrap();
    let shop = fold(&history).shop;
    is_sound(&shop);
    let mut states = BTreeMap::new();
    let mut waits = BTreeSet::new();
    let pools: Vec<CellId> = ["P1", "P2"]
        .map(|code| shop.cell_by_code(code).unwrap().id)
        .to_vec();
    for cell in pools {
        let pool = pool(&shop, shop.cells.get(&cell).unwrap(), history.frame.now);
        for line in &pool.pallets {
            *states.entry(line.state).or_insert(0) += 1;
            waits.insert(line.waits_for.code);
        }
        assert!(pool.ring.is_empty());
        assert!(!pool.jobs.is_empty());
    }
    assert!(states[&PalletState::InRun] >= 1, "{states:?}");
    assert!(states[&PalletState::Held] >= 1, "{states:?}");
    let ready = [
        PalletState::Ready,
        PalletState::ReadyAttendedOnly,
        PalletState::Cut,
    ];
    assert!(
        ready.iter().filter_map(|state| states.get(state)).sum::<i32>() >= 2,
        "{states:?}"
    );
    assert!(
        waits.contains(&WaitCode::Inspection) && waits.len() >= 3,
        "{waits:?}"
    );
    assert!(shop.holds.values().any(|hold| hold.kind == HoldKind::Suspect));
    let doubt = history
        .steps
        .iter()
        .rev()
        .find(|step| matches!(step.command, Command::PlaceHold(_)));
    let reason = doubt.and_then(|step| step.text.as_ref()?.body.clone());
    assert!(reason.is_some_and(|reason| reason.contains("oval")));
    // Some orders are shipped in part, some are not begun.
    let lines: Vec<_> = shop.orders.values().flat_map(|order| &order.lines).collect();
    assert!(lines.iter().any(|line| !line.shipments.is_empty()));
    assert!(
        lines
            .iter()
            .any(|line| matches!(line.state, LineState::Released { .. }) && line.shipments.is_empty())
    );
}

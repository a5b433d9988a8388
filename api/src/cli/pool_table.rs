//! The pools of a shop as they stand, one line a pallet.

use super::hours_table::{Align, Table};
use spindlebook_domain::cell::{Cell, CellKind};
use spindlebook_domain::ids::HoldId;
use spindlebook_domain::load::Load;
use spindlebook_domain::pallet::{Pallet, Position};
use spindlebook_domain::pool::{PalletLine, WaitCode, pool};
use spindlebook_domain::shop::Shop;
use spindlebook_domain::time::Timestamp;

/// A pallet of a pool, in words.
pub struct PalletWords {
    pub cell: String,
    pub pallet: String,
    pub at: String,
    pub state: &'static str,
    pub holds: String,
    pub waits_for: String,
}

/// All pallets of the pools, by cell and code. `why` tells what was written when somebody held a load.
pub fn words(shop: &Shop, now: Timestamp, why: impl Fn(HoldId) -> Option<String>) -> Vec<PalletWords> {
    let mut cells: Vec<&Cell> = shop.cells.values().filter(|cell| is_pool(cell)).collect();
    cells.sort_by(|one, other| one.code.cmp(&other.code));
    let mut words = Vec::new();
    for cell in cells {
        for line in pool(shop, cell, now).pallets {
            let Some(pallet) = shop.pallets.get(&line.pallet) else {
                continue;
            };
            words.push(PalletWords {
                cell: cell.code.to_string(),
                pallet: pallet.facts.code.to_string(),
                at: at(shop, pallet),
                state: line.state.as_str(),
                holds: holds(shop, pallet),
                waits_for: waits_for(pallet, &line, &why),
            });
        }
    }
    words
}

pub fn write(pallets: &[PalletWords]) -> String {
    let heads = ["pallet", "at", "state", "holds", "waits for"];
    let mut table = Table::new(heads.map(|head| (head, "", Align::Left)));
    for pallet in pallets {
        table.row(vec![
            pallet.pallet.clone(),
            pallet.at.clone(),
            pallet.state.replace('_', " "),
            pallet.holds.clone(),
            pallet.waits_for.clone(),
        ]);
    }
    table.to_string()
}

const fn is_pool(cell: &Cell) -> bool {
    matches!(cell.kind, CellKind::Pool { .. })
}

fn at(shop: &Shop, pallet: &Pallet) -> String {
    match pallet.position {
        Position::Spindle { machine } => {
            let code = shop
                .machines
                .get(&machine)
                .map(|machine| machine.code.to_string());
            code.unwrap_or_else(|| "spindle".to_owned())
        }
        place @ (Position::LoadStation { .. } | Position::Stand { .. }) => place.to_string(),
    }
}

/// Pieces, part and operation; the fixture where nothing is clamped.
fn holds(shop: &Shop, pallet: &Pallet) -> String {
    let fixture = || {
        let fixture = pallet
            .setup
            .as_ref()
            .and_then(|setup| shop.fixtures.get(&setup.fixture));
        fixture.map_or_else(
            || "–".to_owned(),
            |fixture| format!("empty {}", fixture.facts.code),
        )
    };
    pallet
        .load
        .as_ref()
        .map_or_else(fixture, |load| pieces(shop, load))
}

fn pieces(shop: &Shop, load: &Load) -> String {
    let of = |one: &spindlebook_domain::load::Clamped| {
        let part = shop.jobs.get(&one.job).and_then(|job| shop.parts.get(&job.part));
        let code = part.map(|part| part.code.to_string()).unwrap_or_default();
        let rework = if one.rework { ", rework" } else { "" };
        format!("{} {code} op {}{rework}", one.pieces, one.operation)
    };
    load.clamped.iter().map(of).collect::<Vec<_>>().join(" + ")
}

fn waits_for(pallet: &Pallet, line: &PalletLine, why: impl Fn(HoldId) -> Option<String>) -> String {
    let code = line.waits_for.code;
    let held = pallet.load.as_ref().and_then(|load| load.hold);
    match held.filter(|_| code == WaitCode::Inspection).and_then(why) {
        Some(reason) => format!("inspection: {reason}"),
        None => code.as_str().replace('_', " "),
    }
}

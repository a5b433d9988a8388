//! The opening statement: what stood on the floor before the first act, in one document, all of it or nothing.

use super::mount::can_carry;
use super::opening_jobs;
use super::{FloorOpened, OPENING_MAX, OpenFloor, OpeningLoad, OpeningPallet, OpeningRefusal, OpeningSetup};
use crate::fixture::Fixture;
use crate::ids::{CellId, FixtureCopyId, PalletId};
use crate::load::CLAMPED_MAX;
use crate::machine;
use crate::pallet::{self, Pallet, Position};
use crate::refusal::Refusal;
use crate::shop::Shop;
use crate::time::Timestamp;
use std::collections::BTreeMap;

pub fn open(shop: &Shop, command: &OpenFloor, now: Timestamp) -> Result<FloorOpened, Refusal> {
    machine::in_range(command.at, now, || "/at".to_owned())?;
    has_room("/pallets", command.pallets.len())?;
    has_room("/jobs", command.jobs.len())?;
    if command.pallets.is_empty() && command.jobs.is_empty() {
        return Err(OpeningRefusal::Nothing {}.into());
    }
    let places = places_after(shop, &command.pallets)?;
    let mut copies = copies_before(shop);
    for (index, opening) in command.pallets.iter().enumerate() {
        let pallet = untouched(shop, &command.pallets, index)?;
        stands_alone(shop, &places, pallet, opening.position, index)?;
        let fixture = match &opening.setup {
            Some(setup) => Some(has_fixture(shop, &mut copies, pallet, setup, index)?),
            None => None,
        };
        if let Some(load) = &opening.load {
            let is_ready = opening.setup.as_ref().is_some_and(|setup| setup.is_ended);
            let fixture = fixture.filter(|_| is_ready);
            holds(
                shop,
                pallet,
                fixture.ok_or(OpeningRefusal::NoSetup { index })?,
                load,
                index,
            )?;
        }
    }
    opening_jobs::add_up(shop, command)?;
    Ok(FloorOpened {
        pallets: command.pallets.clone(),
        jobs: command.jobs.clone(),
        at: command.at,
    })
}

fn has_room(field: &str, count: usize) -> Result<(), OpeningRefusal> {
    if count > OPENING_MAX {
        return Err(OpeningRefusal::TooMany {
            field: field.to_owned(),
            count,
            max: OPENING_MAX,
        });
    }
    Ok(())
}

/// Known, named once, and nothing has been done with it yet.
fn untouched<'a>(shop: &'a Shop, all: &[OpeningPallet], index: usize) -> Result<&'a Pallet, OpeningRefusal> {
    let id = all[index].pallet;
    if all[..index].iter().any(|before| before.pallet == id) {
        return Err(OpeningRefusal::Repeated {
            field: format!("/pallets/{index}/pallet"),
            what: id.to_string(),
        });
    }
    let unknown = OpeningRefusal::UnknownPallet { index, pallet: id };
    let pallet = shop.pallets.get(&id).ok_or(unknown)?;
    if pallet.acted_at.is_some() {
        return Err(OpeningRefusal::PalletActed {
            index,
            pallet: pallet.facts.code.clone(),
        });
    }
    Ok(pallet)
}

type Places = BTreeMap<PalletId, (CellId, Position)>;

/// Where every pallet would be, those that are not named included.
fn places_after(shop: &Shop, named: &[OpeningPallet]) -> Result<Places, OpeningRefusal> {
    let mut places: Places = shop
        .pallets
        .values()
        .map(|pallet| (pallet.id, (pallet.cell, pallet.position)))
        .collect();
    for (index, opening) in named.iter().enumerate() {
        let pallet = opening.pallet;
        let place = places.get_mut(&pallet);
        place.ok_or(OpeningRefusal::UnknownPallet { index, pallet })?.1 = opening.position;
    }
    Ok(places)
}

fn stands_alone(
    shop: &Shop,
    places: &Places,
    pallet: &Pallet,
    position: Position,
    index: usize,
) -> Result<(), OpeningRefusal> {
    let cell = shop.cells.get(&pallet.cell);
    if let Some(cell) = cell.filter(|cell| pallet::has_place(cell, &shop.machines, position).is_err()) {
        return Err(OpeningRefusal::UnknownPlace {
            index,
            position,
            cell: cell.code.clone(),
            places: cell.kind.places(),
        });
    }
    let there = places
        .iter()
        .find(|(other, place)| **other != pallet.id && **place == (pallet.cell, position));
    match there.and_then(|(other, _)| shop.pallets.get(other)) {
        Some(other) => Err(OpeningRefusal::PlaceTaken {
            index,
            position,
            pallet: other.facts.code.clone(),
        }),
        None => Ok(()),
    }
}

fn copies_before(shop: &Shop) -> BTreeMap<FixtureCopyId, PalletId> {
    let on = |pallet: &Pallet| Some((pallet.setup.as_ref()?.copy, pallet.id));
    shop.pallets.values().filter_map(on).collect()
}

fn has_fixture<'a>(
    shop: &'a Shop,
    copies: &mut BTreeMap<FixtureCopyId, PalletId>,
    pallet: &Pallet,
    setup: &OpeningSetup,
    index: usize,
) -> Result<&'a Fixture, OpeningRefusal> {
    let (fixture, copy) = (setup.fixture, setup.copy);
    let unknown = OpeningRefusal::UnknownFixture { index, fixture };
    let fixture = shop.fixtures.get(&fixture).ok_or(unknown)?;
    if fixture.copy(copy).is_none() {
        return Err(OpeningRefusal::UnknownCopy { index, copy });
    }
    if let Some(other) = copies.get(&copy).and_then(|other| shop.pallets.get(other)) {
        return Err(OpeningRefusal::CopyInUse {
            index,
            copy,
            pallet: other.facts.code.clone(),
        });
    }
    if !can_carry(pallet, fixture) {
        return Err(OpeningRefusal::DoesNotFit {
            index,
            fixture: fixture.facts.code.clone(),
            pallet: pallet.facts.code.clone(),
        });
    }
    copies.insert(copy, pallet.id);
    Ok(fixture)
}

fn holds(
    shop: &Shop,
    pallet: &Pallet,
    fixture: &Fixture,
    load: &OpeningLoad,
    index: usize,
) -> Result<(), OpeningRefusal> {
    let entries = load.clamped.len();
    if !(1..=CLAMPED_MAX).contains(&entries) {
        let max = CLAMPED_MAX;
        return Err(OpeningRefusal::BadCount { index, entries, max });
    }
    for (entry, one) in load.clamped.iter().enumerate() {
        let same = |other: &crate::load::Clamped| {
            (other.job, other.operation, other.rework) == (one.job, one.operation, one.rework)
        };
        if load.clamped[..entry].iter().any(same) {
            return Err(OpeningRefusal::Repeated {
                field: format!("/pallets/{index}/load/pieces/{entry}"),
                what: format!("operation {} of job {}", one.operation, one.job),
            });
        }
        if one.pieces == 0 {
            return Err(OpeningRefusal::NoPiece { index, entry });
        }
        if !opening_jobs::runs(shop, one, pallet.cell, fixture.id) {
            return Err(OpeningRefusal::DoesNotRun {
                index,
                entry,
                job: one.job,
                operation: u32::from(one.operation),
            });
        }
    }
    let pieces: u64 = load.clamped.iter().map(|one| u64::from(one.pieces)).sum();
    let nests = fixture.facts.nests;
    if pieces > u64::from(nests) {
        return Err(OpeningRefusal::NestsShort { index, pieces, nests });
    }
    Ok(())
}

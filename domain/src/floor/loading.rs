//! Clamping pieces on a pallet.

use super::act::{Telling, after_last, is_at_hand, is_in_time, known};
use super::pieces::{has_material, open_job, waiting};
use super::work::{machining, place};
use super::{LoadPallet, LoadRefusal, PalletLoaded};
use crate::fixture::Fixture;
use crate::load::{CLAMPED_MAX, Clamped, Load, Stage};
use crate::pallet::Pallet;
use crate::part::RevisionFacts;
use crate::refusal::Refusal;
use crate::shop::Shop;
use crate::size::Size;

pub fn load(shop: &Shop, command: &LoadPallet, telling: &Telling) -> Result<PalletLoaded, Refusal> {
    let pallet = known(shop, command.pallet)?;
    let entries = command.clamped.len();
    if !(1..=CLAMPED_MAX).contains(&entries) {
        let max = CLAMPED_MAX;
        return Err(LoadRefusal::BadCount { entries, max }.into());
    }
    is_in_time(pallet, command.at, telling)?;
    let fixture = can_take(shop, pallet)?;
    let setup_ended_at = pallet.setup.as_ref().and_then(|setup| setup.ended_at);
    after_last(command.at, setup_ended_at, || "this setup".to_owned())?;
    is_at_hand(shop, pallet, telling)?;
    let standing = can_be_added_to(pallet)?;
    let mut used = Vec::new();
    for (index, one) in command.clamped.iter().enumerate() {
        may_be_clamped(shop, pallet, fixture, standing, &command.clamped, index)?;
        has_material(shop, one, index, &command.overrides, &mut used, telling)?;
    }
    has_nests(fixture, standing, &command.clamped)?;
    if let Err(refusal) = fits(shop, pallet, fixture, standing, &command.clamped) {
        telling.forbids(refusal)?;
    }
    Ok(PalletLoaded {
        pallet: pallet.id,
        load: standing.map_or(command.load, |load| load.id),
        clamped: command.clamped.clone(),
        at: command.at,
        overrides: used,
    })
}

fn can_take<'a>(shop: &'a Shop, pallet: &'a Pallet) -> Result<&'a Fixture, LoadRefusal> {
    let no_setup = LoadRefusal::NoSetup { pallet: pallet.id };
    let Some(setup) = &pallet.setup else {
        return Err(no_setup);
    };
    if setup.ended_at.is_none() {
        return Err(LoadRefusal::SetupNotEnded {
            pallet: pallet.id,
            since: setup.started_at,
        });
    }
    shop.fixtures.get(&setup.fixture).ok_or(no_setup)
}

/// More may be added to a load that has not been cut and is not held.
fn can_be_added_to(pallet: &Pallet) -> Result<Option<&Load>, LoadRefusal> {
    let Some(load) = &pallet.load else {
        return Ok(None);
    };
    if load.stage != Stage::Ready {
        return Err(LoadRefusal::NotReady { pallet: pallet.id });
    }
    match load.hold {
        Some(hold) => Err(LoadRefusal::Held {
            pallet: pallet.id,
            hold,
        }),
        None => Ok(Some(load)),
    }
}

/// The job and its operation, by themselves.
fn may_be_clamped(
    shop: &Shop,
    pallet: &Pallet,
    fixture: &Fixture,
    standing: Option<&Load>,
    all: &[Clamped],
    index: usize,
) -> Result<(), LoadRefusal> {
    let one = all[index];
    let (job, operation) = (one.job, u32::from(one.operation));
    let same =
        |other: &Clamped| (other.job, other.operation, other.rework) == (one.job, one.operation, one.rework);
    if all[..index].iter().any(same) {
        return Err(LoadRefusal::Repeated {
            index,
            job,
            operation,
        });
    }
    if one.pieces == 0 {
        return Err(LoadRefusal::NoPiece { index });
    }
    let open = open_job(shop, job).ok_or(LoadRefusal::UnknownJob { index, job })?;
    let machining = machining(shop, job, one.operation).ok_or(LoadRefusal::NotMachined {
        index,
        job,
        operation,
    })?;
    if place(shop, job, one.operation, pallet.cell).is_none() {
        let cell = pallet.cell;
        return Err(LoadRefusal::WrongCell {
            index,
            operation,
            cell,
        });
    }
    if !machining.fixtures.contains(&fixture.id) {
        let fixture = fixture.facts.code.clone();
        return Err(LoadRefusal::WrongFixture {
            index,
            operation,
            fixture,
        });
    }
    let is_rework = standing.map_or(all[0].rework, Load::is_rework);
    if one.rework != is_rework {
        return Err(LoadRefusal::ReworkMixed { index });
    }
    let waiting = waiting(open, one.operation, one.rework);
    if one.pieces > waiting {
        return Err(LoadRefusal::TooManyPieces {
            index,
            pieces: u64::from(one.pieces),
            waiting,
            job,
            operation,
        });
    }
    Ok(())
}

fn has_nests(fixture: &Fixture, standing: Option<&Load>, more: &[Clamped]) -> Result<(), LoadRefusal> {
    let nests = fixture.facts.nests;
    let free = u64::from(nests).saturating_sub(standing.map_or(0, |load| u64::from(load.pieces())));
    let pieces: u64 = more.iter().map(|one| u64::from(one.pieces)).sum();
    if pieces > free {
        return Err(LoadRefusal::NestsShort {
            pieces,
            free,
            nests,
            fixture: fixture.facts.code.clone(),
        });
    }
    Ok(())
}

/// Only what is known can be too much: a piece that nobody has weighed adds nothing to the sum.
fn fits(
    shop: &Shop,
    pallet: &Pallet,
    fixture: &Fixture,
    standing: Option<&Load>,
    more: &[Clamped],
) -> Result<(), LoadRefusal> {
    let room = pallet.facts.size;
    for (index, one) in more.iter().enumerate() {
        let size = facts(shop, one).and_then(largest);
        if let Some(size) = size.filter(|size| !size.fits_in(room)) {
            return Err(LoadRefusal::TooLarge { index, size, room });
        }
    }
    let all = standing.iter().flat_map(|load| &load.clamped).chain(more);
    let mass = mass(shop, fixture, all);
    if mass.known_g > u64::from(pallet.facts.mass_max_g) {
        return Err(LoadRefusal::TooHeavy {
            mass_g: mass.known_g,
            mass_max_g: pallet.facts.mass_max_g,
        });
    }
    Ok(())
}

/// What stands on a pallet, as far as it has been weighed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Mass {
    pub known_g: u64,
    /// Fixture or pieces that nobody has weighed are not in it.
    pub is_all: bool,
}

impl Mass {
    pub fn on(shop: &Shop, fixture: &Fixture, load: Option<&Load>) -> Self {
        mass(shop, fixture, load.into_iter().flat_map(|load| &load.clamped))
    }
}

fn mass<'a>(shop: &Shop, fixture: &Fixture, clamped: impl Iterator<Item = &'a Clamped>) -> Mass {
    let mut mass = Mass {
        known_g: u64::from(fixture.facts.mass_g.unwrap_or(0)),
        is_all: fixture.facts.mass_g.is_some(),
    };
    for one in clamped {
        match facts(shop, one).and_then(heaviest) {
            Some(piece_g) => mass.known_g += u64::from(piece_g) * u64::from(one.pieces),
            None => mass.is_all = false,
        }
    }
    mass
}

fn facts<'a>(shop: &'a Shop, one: &Clamped) -> Option<&'a RevisionFacts> {
    let job = shop.jobs.get(&one.job)?;
    let part = shop.parts.get(&job.part)?;
    part.revision(&job.revision).map(|revision| &revision.facts)
}

/// A piece gets lighter while it is made: the blank's mass is the safe one to lift.
fn heaviest(facts: &RevisionFacts) -> Option<u32> {
    let blank_g = facts.blank.as_ref().and_then(|blank| blank.mass_g);
    blank_g.max(facts.mass_g)
}

fn largest(facts: &RevisionFacts) -> Option<Size> {
    let blank = facts.blank.as_ref().and_then(|blank| blank.size);
    blank.or(facts.size)
}

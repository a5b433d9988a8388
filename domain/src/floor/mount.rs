//! Mounting a fixture and taking it off.

use super::act::{Telling, after_last, is_at_hand, is_in_time, known};
use super::{
    FinishSetup, MountFixture, MountRefusal, PalletUnmounted, SetupEnded, SetupStarted, UnmountFixture,
};
use crate::fixture::{Fixture, FixtureCopy};
use crate::ids::FixtureCopyId;
use crate::pallet::{Pallet, Setup};
use crate::refusal::Refusal;
use crate::shop::Shop;
use crate::time::Timestamp;

pub fn mount(shop: &Shop, command: &MountFixture, telling: &Telling) -> Result<SetupStarted, Refusal> {
    let pallet = known(shop, command.pallet)?;
    let fixture = shop
        .fixtures
        .get(&command.fixture)
        .ok_or(MountRefusal::UnknownFixture {
            fixture: command.fixture,
        })?;
    is_in_time(pallet, command.at, telling)?;
    if let Some(setup) = &pallet.setup {
        return Err(MountRefusal::FixtureOn {
            pallet: pallet.id,
            fixture: setup.fixture,
        }
        .into());
    }
    is_at_hand(shop, pallet, telling)?;
    fits(pallet, fixture)?;
    let copy = match command.copy {
        Some(copy) => {
            let named = fixture.copy(copy).ok_or(MountRefusal::UnknownCopy {
                copy,
                fixture: fixture.id,
            })?;
            is_free(shop, fixture, named)?;
            copy
        }
        None => first_free(shop, fixture)?,
    };
    Ok(SetupStarted {
        pallet: pallet.id,
        setup: command.setup,
        fixture: fixture.id,
        copy,
        at: command.at,
    })
}

pub fn finish(shop: &Shop, command: &FinishSetup, telling: &Telling) -> Result<SetupEnded, Refusal> {
    let pallet = known(shop, command.pallet)?;
    is_in_time(pallet, command.at, telling)?;
    let setup = setup_of(pallet)?;
    is_after_its_start(setup, command.at)?;
    match setup.ended_at {
        Some(ended_at) => Err(MountRefusal::Ended {
            pallet: pallet.id,
            ended_at,
        }
        .into()),
        None => Ok(SetupEnded {
            pallet: pallet.id,
            setup: setup.id,
            at: command.at,
        }),
    }
}

pub fn unmount(shop: &Shop, command: &UnmountFixture, telling: &Telling) -> Result<PalletUnmounted, Refusal> {
    let pallet = known(shop, command.pallet)?;
    is_in_time(pallet, command.at, telling)?;
    let setup = setup_of(pallet)?;
    is_after_its_start(setup, command.at)?;
    is_at_hand(shop, pallet, telling)?;
    if let Some(load) = &pallet.load {
        return Err(MountRefusal::Loaded {
            pallet: pallet.id,
            pieces: load.pieces(),
        }
        .into());
    }
    Ok(PalletUnmounted {
        pallet: pallet.id,
        setup: setup.id,
        at: command.at,
    })
}

fn is_after_its_start(setup: &Setup, at: Timestamp) -> Result<(), Refusal> {
    after_last(at, Some(setup.started_at), || "this setup".to_owned())
}

fn setup_of(pallet: &Pallet) -> Result<&Setup, MountRefusal> {
    pallet
        .setup
        .as_ref()
        .ok_or(MountRefusal::NothingOn { pallet: pallet.id })
}

pub fn can_carry(pallet: &Pallet, fixture: &Fixture) -> bool {
    fits(pallet, fixture).is_ok()
}

/// Interface, size and mass. What nobody has measured or weighed cannot be too much.
fn fits(pallet: &Pallet, fixture: &Fixture) -> Result<(), MountRefusal> {
    let (on, under) = (&fixture.facts, &pallet.facts);
    if !on.interface.is_spoken_like(&under.interface) {
        return Err(MountRefusal::InterfaceDiffers {
            fixture: on.code.clone(),
            pallet: under.code.clone(),
            fixture_interface: on.interface.clone(),
            pallet_interface: under.interface.clone(),
        });
    }
    if let Some(size) = on.size.filter(|size| !size.fits_in(under.size)) {
        return Err(MountRefusal::TooLarge {
            fixture: on.code.clone(),
            size,
            room: under.size,
        });
    }
    match on.mass_g {
        Some(mass_g) if mass_g > under.mass_max_g => Err(MountRefusal::TooHeavy {
            fixture: on.code.clone(),
            mass_g: u64::from(mass_g),
            mass_max_g: under.mass_max_g,
        }),
        _ => Ok(()),
    }
}

/// The pallet that a copy is on.
pub fn pallet_with(shop: &Shop, copy: FixtureCopyId) -> Option<&Pallet> {
    shop.pallets
        .values()
        .find(|pallet| pallet.setup.as_ref().is_some_and(|setup| setup.copy == copy))
}

fn is_free(shop: &Shop, fixture: &Fixture, copy: &FixtureCopy) -> Result<(), MountRefusal> {
    match pallet_with(shop, copy.id) {
        Some(pallet) => Err(MountRefusal::CopyInUse {
            copy: copy.code.clone(),
            fixture: fixture.facts.code.clone(),
            pallet: pallet.id,
            pallet_code: pallet.facts.code.clone(),
            position: pallet.position,
        }),
        None => Ok(()),
    }
}

fn first_free(shop: &Shop, fixture: &Fixture) -> Result<FixtureCopyId, MountRefusal> {
    let mut copies = fixture.copies.iter();
    let free = copies.find(|copy| pallet_with(shop, copy.id).is_none());
    free.map(|copy| copy.id).ok_or_else(|| MountRefusal::NoCopyFree {
        fixture: fixture.facts.code.clone(),
        copies: fixture.copies.len(),
        where_it_is: where_copies_are(shop, fixture),
    })
}

/// In one sentence: which copy is on which pallet.
pub fn where_copies_are(shop: &Shop, fixture: &Fixture) -> String {
    let places = fixture.copies.iter().filter_map(|copy| {
        let pallet = pallet_with(shop, copy.id)?;
        Some(format!(
            "{} is on pallet {} at {}",
            copy.code, pallet.facts.code, pallet.position
        ))
    });
    places.collect::<Vec<_>>().join(", ")
}

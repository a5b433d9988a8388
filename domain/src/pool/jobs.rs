//! The job operations of a cell whose pieces wait, and why those that cannot be loaded cannot.

use super::picture::Picture;
use super::{Wait, WaitCode};
use crate::fixture::Fixture;
use crate::floor::{can_carry, pieces, where_copies_are};
use crate::ids::{JobId, PalletId};
use crate::job::Job;
use crate::load::Stage;
use crate::pallet::Pallet;
use crate::part::Machining;

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct JobLine {
    pub job: JobId,
    pub operation: u16,
    /// Pieces that wait and are wanted: none beyond what the line still needs.
    pub waiting: u32,
    /// Pieces that were cut before and wait to be put right.
    pub rework: u32,
    /// The pallets that could be loaded with it now, by their codes.
    pub pallets: Vec<PalletId>,
    /// What stands between it and a pallet, or that it can be loaded.
    pub waits_for: Wait,
}

pub(super) fn lines(picture: &Picture<'_>) -> Vec<JobLine> {
    let mut lines: Vec<_> = pieces::open_jobs(picture.shop)
        .flat_map(|job| of_job(picture, job))
        .collect();
    lines.sort_by_cached_key(|line| (picture.job(line.job), line.operation));
    lines
}

fn of_job<'a>(picture: &'a Picture<'_>, job: &'a Job) -> impl Iterator<Item = JobLine> + 'a {
    pieces::machined(job).filter_map(|(operation, machining)| {
        if machining.places.iter().all(|place| place.cell != picture.cell.id) {
            return None;
        }
        let (waiting, rework) = (
            job.pieces_to_load(operation),
            pieces::waiting(job, operation, true),
        );
        if waiting == 0 && rework == 0 {
            return None;
        }
        let pallets = can_be_loaded(picture, machining);
        let waits_for = wait(picture, job, operation, machining, &pallets);
        let can_be_loaded = waits_for.code == WaitCode::Load;
        let pallets = pallets.into_iter().filter(|_| can_be_loaded);
        Some(JobLine {
            job: job.id,
            operation,
            waiting,
            rework,
            waits_for,
            pallets: pallets.map(|pallet| pallet.id).collect(),
        })
    })
}

/// With a fixture that holds it, set up, and a free nest in a load that has not been cut.
fn can_be_loaded<'a>(picture: &Picture<'a>, machining: &Machining) -> Vec<&'a Pallet> {
    let can = |pallet: &&Pallet| {
        let Some(setup) = pallet.setup.as_ref().filter(|setup| setup.ended_at.is_some()) else {
            return false;
        };
        let nests = picture
            .shop
            .fixtures
            .get(&setup.fixture)
            .map_or(0, |fixture| fixture.facts.nests);
        let has_room = pallet
            .load
            .as_ref()
            .is_none_or(|load| load.stage == Stage::Ready && load.hold.is_none() && load.pieces() < nests);
        machining.fixtures.contains(&setup.fixture) && has_room
    };
    picture.pallets.iter().copied().filter(can).collect()
}

fn wait(
    picture: &Picture<'_>,
    job: &Job,
    operation: u16,
    machining: &Machining,
    pallets: &[&Pallet],
) -> Wait {
    if let Some(expected) = pieces::material_missing(picture.shop, job, operation) {
        return Wait::new(WaitCode::Material, format!("its material ({expected})"));
    }
    if let Some(pallet) = pallets.first() {
        return Wait::new(
            WaitCode::Load,
            format!("to be loaded, as on pallet {}", pallet.facts.code),
        );
    }
    let fixtures = machining.fixtures.iter();
    let fixtures: Vec<_> = fixtures
        .filter_map(|fixture| picture.shop.fixtures.get(fixture))
        .collect();
    let free = fixtures.iter().find(|fixture| has_free_copy(picture, fixture));
    if let Some(fixture) = free {
        return mount(picture, fixture);
    }
    let waits: Vec<_> = fixtures
        .iter()
        .map(|fixture| {
            format!(
                "fixture {} ({})",
                fixture.facts.code,
                where_copies_are(picture.shop, fixture)
            )
        })
        .collect();
    Wait::new(WaitCode::Fixture, waits.join(" or "))
}

pub(super) fn has_free_copy(picture: &Picture<'_>, fixture: &Fixture) -> bool {
    fixture
        .copies
        .iter()
        .any(|copy| !picture.copies.contains_key(&copy.id))
}

/// A fixture is free; is there a pallet for it?
fn mount(picture: &Picture<'_>, fixture: &Fixture) -> Wait {
    let mut fitting = picture
        .pallets
        .iter()
        .filter(|pallet| can_carry(pallet, fixture))
        .peekable();
    if fitting.peek().is_none() {
        let text = format!(
            "a pallet that takes fixture {}: this cell has none",
            fixture.facts.code
        );
        return Wait::new(WaitCode::Pallet, text);
    }
    match fitting.find(|pallet| pallet.setup.is_none()) {
        Some(pallet) => Wait::new(
            WaitCode::Mount,
            format!(
                "fixture {} to be mounted, as on pallet {}",
                fixture.facts.code, pallet.facts.code
            ),
        ),
        None => Wait::new(
            WaitCode::Pallet,
            format!(
                "a pallet for fixture {}: another fixture is on each that takes it",
                fixture.facts.code
            ),
        ),
    }
}

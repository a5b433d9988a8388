//! What a pallet without pieces waits for.

use super::jobs::has_free_copy;
use super::picture::Picture;
use super::wait::load_station;
use super::{JobLine, Wait, WaitCode};
use crate::floor::{can_carry, work};
use crate::ids::FixtureId;
use crate::pallet::Pallet;

pub(super) fn wait(picture: &Picture<'_>, jobs: &[JobLine], pallet: &Pallet) -> Wait {
    match &pallet.setup {
        Some(setup) => for_pieces(picture, jobs, pallet, setup.fixture),
        None => for_fixture(picture, jobs, pallet),
    }
}

fn for_pieces(picture: &Picture<'_>, jobs: &[JobLine], pallet: &Pallet, fixture: FixtureId) -> Wait {
    let mut fitting = jobs
        .iter()
        .filter(|line| holds(picture, line, fixture))
        .peekable();
    let first = fitting.peek().copied();
    let loadable = fitting.find(|line| line.waits_for.code == WaitCode::Load);
    match (loadable, first) {
        (Some(_), _) if !picture.is_at_hand(pallet) => load_station(picture),
        (Some(line), _) => {
            let text = format!(
                "to be loaded: {} of job {}, operation {}, wait",
                line.waiting + line.rework,
                picture.job(line.job),
                line.operation
            );
            Wait::new(WaitCode::Load, text)
        }
        (None, Some(line)) => {
            let text = format!("{} (job {})", line.waits_for.text, picture.job(line.job));
            Wait::new(line.waits_for.code, text)
        }
        (None, None) => Wait::new(WaitCode::Work, "work: no open job has pieces for its fixture"),
    }
}

fn for_fixture(picture: &Picture<'_>, jobs: &[JobLine], pallet: &Pallet) -> Wait {
    let needed = |code: WaitCode| jobs.iter().filter(move |line| line.waits_for.code == code);
    let of_line = |line: &JobLine| {
        let machining = work::machining(picture.shop, line.job, line.operation);
        let fixtures = machining
            .map(|machining| machining.fixtures.as_slice())
            .unwrap_or_default();
        let known = fixtures
            .iter()
            .filter_map(|fixture| picture.shop.fixtures.get(fixture));
        known
            .filter(|fixture| can_carry(pallet, fixture))
            .collect::<Vec<_>>()
    };
    for line in needed(WaitCode::Mount) {
        let fixtures = of_line(line);
        if let Some(fixture) = fixtures.iter().find(|fixture| has_free_copy(picture, fixture)) {
            if !picture.is_at_hand(pallet) {
                return load_station(picture);
            }
            let text = format!(
                "fixture {} to be mounted, for job {}",
                fixture.facts.code,
                picture.job(line.job)
            );
            return Wait::new(WaitCode::Mount, text);
        }
    }
    let mut short = needed(WaitCode::Fixture);
    match short.find(|line| !of_line(line).is_empty()) {
        Some(line) => {
            let text = format!("{}, for job {}", line.waits_for.text, picture.job(line.job));
            Wait::new(WaitCode::Fixture, text)
        }
        None => Wait::new(WaitCode::Work, "work: no open job needs another fixture on it"),
    }
}

pub(super) fn holds(picture: &Picture<'_>, line: &JobLine, fixture: FixtureId) -> bool {
    let machining = work::machining(picture.shop, line.job, line.operation);
    machining.is_some_and(|machining| machining.fixtures.contains(&fixture))
}

//! What a look into the book says about what to clamp next.

use super::Story;
use chrono::NaiveDate;
use spindlebook_domain::fixture::Fixture;
use spindlebook_domain::ids::{CellId, FixtureId, MachineId, PalletId};
use spindlebook_domain::job::Job;
use spindlebook_domain::load::{Clamped, HoldKind, Load};
use spindlebook_domain::order::{Priority, line_of};
use spindlebook_domain::part::{CycleTime, Machining, Place, Work};
use spindlebook_domain::pool::{PalletState, state_of};
use spindlebook_domain::time::Timestamp;

/// So long before everybody leaves, what may run alone is clamped first, and what may not is cut first.
const NIGHT_FILL_S: i64 = 5 * 3_600;

/// Pieces of a job operation that can be clamped in a cell.
#[derive(Clone, Copy)]
pub struct Candidate<'a> {
    pub job: &'a Job,
    pub operation: u16,
    pub machining: &'a Machining,
    pub pieces: u32,
    pub rework: bool,
    urgency: (bool, Priority, NaiveDate),
}

impl Candidate<'_> {
    /// Programs of a whole load are not put one after the other on one pallet.
    fn is_per_piece(&self) -> bool {
        let mut places = self.machining.places.iter();
        places.all(|place| matches!(place.cycle, CycleTime::PerPiece { .. }))
    }

    pub fn clamped(&self, pieces: u32) -> Clamped {
        Clamped {
            job: self.job.id,
            operation: self.operation,
            pieces,
            rework: self.rework,
        }
    }
}

pub fn place(machining: &Machining, cell: CellId) -> Option<&Place> {
    machining.places.iter().find(|place| place.cell == cell)
}

impl Story<'_> {
    pub fn fills_night(&self, at: Timestamp) -> bool {
        let leaves_at = self.pools.leaves_at(at);
        leaves_at.is_none_or(|leaves_at| leaves_at <= at.plus_s(NIGHT_FILL_S))
    }

    /// The most urgent first; in the evening first what may run alone.
    pub fn candidates(&self, cell: CellId, at: Timestamp) -> Vec<Candidate<'_>> {
        let mut candidates = Vec::new();
        let night = self.fills_night(at);
        for job in self.told.shop.jobs.values().filter(|job| job.is_open()) {
            let Some(line) = line_of(&self.told.shop, job) else {
                continue;
            };
            for (index, operation) in job.routing.operations.iter().enumerate() {
                let Work::Machining(machining) = &operation.work else {
                    continue;
                };
                let Some(place) = place(machining, cell) else {
                    continue;
                };
                let urgency = (night && place.clearances.is_empty(), line.priority, line.due);
                let number = operation.number;
                let has_material = index > 0 || !line.waits_for_material();
                let to_load = if has_material {
                    job.pieces_to_load(number)
                } else {
                    0
                };
                let to_rework = job.at(number).map_or(0, |here| here.rework);
                for (pieces, rework) in [(to_rework, true), (to_load, false)] {
                    candidates.push(Candidate {
                        job,
                        operation: number,
                        machining,
                        pieces,
                        rework,
                        urgency,
                    });
                }
            }
        }
        candidates.retain(|one| one.pieces > 0 && !self.waits_for_first_piece(one));
        candidates.sort_by_key(|one| (one.urgency, one.job.released_seq));
        candidates
    }

    /// A first piece is on its way, and more of the same would only stand.
    fn waits_for_first_piece(&self, one: &Candidate<'_>) -> bool {
        self.wants_first_piece(one) && self.carries(one).next().is_some()
    }

    fn wants_first_piece(&self, one: &Candidate<'_>) -> bool {
        let asks = one.machining.first_piece || one.machining.first_article;
        let approvals = self.told.shop.approvals.get(&one.job.id);
        asks && !approvals.is_some_and(|all| all.iter().any(|approval| approval.operation == one.operation))
    }

    fn carries<'b>(&'b self, one: &'b Candidate<'_>) -> impl Iterator<Item = PalletId> + 'b {
        self.told.shop.pallets.values().filter_map(|pallet| {
            let load = pallet.load.as_ref()?;
            let same = |clamped: &Clamped| (clamped.job, clamped.operation) == (one.job.id, one.operation);
            load.clamped.iter().any(same).then_some(pallet.id)
        })
    }

    /// What to clamp in this fixture: one operation, and if nests are left, another that it holds.
    pub fn load_for(&self, candidates: &[Candidate<'_>], fixture: FixtureId) -> Vec<Clamped> {
        let nests = self.fixture(fixture).map_or(0, |fixture| fixture.facts.nests);
        let mut fitting = candidates
            .iter()
            .filter(|one| one.machining.fixtures.contains(&fixture));
        let Some(first) = fitting.next() else {
            return Vec::new();
        };
        if self.wants_first_piece(first) {
            return vec![first.clamped(1)];
        }
        let mut free = nests;
        let mut clamped: Vec<Clamped> = Vec::new();
        let alike = |one: &&Candidate<'_>| {
            one.is_per_piece()
                && first.is_per_piece()
                && one.rework == first.rework
                && one.urgency.0 == first.urgency.0
                && !self.wants_first_piece(one)
        };
        for one in std::iter::once(first).chain(fitting.filter(alike)).take(2) {
            let pieces = one.pieces.min(free);
            if pieces > 0 {
                clamped.push(one.clamped(pieces));
                free -= pieces;
            }
        }
        clamped
    }

    /// A fixture of which too few stand mounted for the work that there is.
    pub fn fixture_wanted(&self, cell: CellId, candidates: &[Candidate<'_>]) -> Option<FixtureId> {
        let pallets = self.pallets_of(cell);
        let mounted = |fixture: FixtureId| {
            pallets
                .iter()
                .filter(|pallet| {
                    pallet
                        .setup
                        .as_ref()
                        .is_some_and(|setup| setup.fixture == fixture)
                })
                .count()
        };
        candidates.iter().find_map(|one| {
            let fixture = one
                .machining
                .fixtures
                .iter()
                .find_map(|fixture| self.fixture(*fixture))?;
            let stand = mounted(fixture.id);
            let loads = one.pieces.div_ceil(fixture.facts.nests.max(1)) as usize;
            (stand < fixture.copies.len() && stand < loads.min(2)).then_some(fixture.id)
        })
    }

    pub fn fixture(&self, id: FixtureId) -> Option<&Fixture> {
        self.told.shop.fixtures.get(&id)
    }

    /// What an inspector will want to see after this run.
    pub fn first_piece_of(&self, load: &Load, pallet: PalletId, machine: MachineId) -> Option<HoldKind> {
        let setup = self.told.shop.pallets.get(&pallet)?.setup.as_ref()?.id;
        let of = |one: &Clamped| {
            let machining = self.told.shop.jobs.get(&one.job)?.machining(one.operation)?;
            let approvals = self
                .told
                .shop
                .approvals
                .get(&one.job)
                .map_or(&[][..], Vec::as_slice);
            let mut here = approvals
                .iter()
                .filter(|approval| approval.operation == one.operation);
            if machining.first_article && !here.clone().any(|approval| approval.first_article) {
                return Some(HoldKind::FirstArticle);
            }
            let is_approved = here.any(|approval| (approval.setup, approval.machine) == (setup, machine));
            (machining.first_piece && !is_approved).then_some(HoldKind::FirstPiece)
        };
        load.clamped.iter().filter_map(of).max()
    }

    pub fn state_of(&self, pallet: PalletId) -> PalletState {
        let found = self.told.shop.pallets.get(&pallet);
        found.map_or(PalletState::Empty, |pallet| state_of(&self.told.shop, pallet))
    }
}

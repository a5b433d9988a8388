use crate::http::instant::Instant;
use crate::http::pallets::acted::MassDto;
use crate::http::pallets::dto::PalletDto;
use crate::http::text;
use serde::{Deserialize, Serialize};
use spindlebook_domain::cell::Cell;
use spindlebook_domain::code::Code;
use spindlebook_domain::floor;
use spindlebook_domain::ids::{CellId, JobId, MachineId, PalletId, Seq};
use spindlebook_domain::pool::{CutsUntil, JobLine, Link, PalletLine, PalletState, Pool, Wait, WaitCode};
use spindlebook_domain::shop::Shop;
use spindlebook_domain::time::Timestamp;
use utoipa::ToSchema;

/// The pool of a cell as it stands.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Pool, example = json!({"cell": "01936b5e-5c00-7000-8000-0000000000c1", "as_of": "2026-11-02T08:00:00Z",
    "seq": 41, "pallets": [], "jobs": [], "gridlock": []}))]
pub struct PoolDto {
    #[schema(value_type = uuid::Uuid)]
    pub cell: CellId,
    #[schema(value_type = text::Instant)]
    pub as_of: Instant,
    /// The entry that it was computed from.
    #[schema(value_type = text::Seq)]
    pub seq: Seq,
    /// By their codes.
    #[schema(max_items = 2000)]
    pub pallets: Vec<PoolPalletDto>,
    /// Job operations of the cell whose pieces wait, and why those that cannot be loaded cannot.
    #[schema(max_items = 100_000)]
    pub jobs: Vec<PoolJobDto>,
    /// Pallets that wait for each other in a circle, so that nothing moves without help from outside. Take one of them
    /// out of its place, or give the cell another one. Empty where something can still move.
    #[schema(max_items = 2000)]
    pub gridlock: Vec<LinkDto>,
}

#[derive(Debug, Serialize, ToSchema)]
#[schema(as = PoolPallet)]
pub struct PoolPalletDto {
    pub pallet: PalletDto,
    #[schema(value_type = text::PalletState)]
    pub state: PalletState,
    pub waits_for: WaitDto,
    /// The copy of the fixture that is on it.
    #[schema(value_type = Option<text::Code>)]
    pub fixture_code: Option<Code>,
    #[schema(value_type = Option<text::Code>)]
    pub copy_code: Option<Code>,
    /// Null without a fixture.
    pub nests_empty: Option<u32>,
    pub mass: Option<MassDto>,
}

/// The one thing that something waits for.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Wait)]
pub struct WaitDto {
    #[schema(value_type = text::WaitCode)]
    pub code: WaitCode,
    #[schema(value_type = text::Sentence)]
    pub text: String,
}

#[derive(Debug, Serialize, ToSchema)]
#[schema(as = PoolJob)]
pub struct PoolJobDto {
    #[schema(value_type = uuid::Uuid)]
    pub job: JobId,
    #[schema(value_type = text::Name)]
    pub job_code: String,
    pub operation: u16,
    pub waiting: u32,
    /// Pieces that were cut before and wait to be put right.
    pub rework: u32,
    /// The pallets that could be loaded with it now.
    #[schema(value_type = Vec<uuid::Uuid>, max_items = 2000)]
    pub pallets: Vec<PalletId>,
    /// `load`: it can be loaded.
    pub waits_for: WaitDto,
}

#[derive(Debug, Serialize, ToSchema)]
#[schema(as = GridlockLink)]
pub struct LinkDto {
    #[schema(value_type = uuid::Uuid)]
    pub pallet: PalletId,
    pub waits_for: WaitDto,
    /// The pallet that holds it: the next one of the circle.
    #[schema(value_type = uuid::Uuid)]
    pub held_by: PalletId,
}

/// The order in which the ready pallets of a cell go to the spindle.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Queue, example = json!({"cell": "01936b5e-5c00-7000-8000-0000000000c1",
    "pallets": ["01936b5e-5c00-7000-8000-000000000301"], "changed_seq": 40}))]
pub struct QueueDto {
    #[schema(value_type = uuid::Uuid)]
    pub cell: CellId,
    #[schema(value_type = Vec<uuid::Uuid>, max_items = 500)]
    pub pallets: Vec<PalletId>,
    /// The entry that last changed it: its version.
    #[schema(value_type = text::Seq)]
    pub changed_seq: Seq,
}

#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"pallets": ["01936b5e-5c00-7000-8000-000000000301"]}))]
pub struct QueueBody {
    #[schema(value_type = Vec<uuid::Uuid>, max_items = 500)]
    pub pallets: Vec<PalletId>,
}

/// Until when a cell cuts if nobody touches it again.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = CutsUntil, example = json!({"cell": "01936b5e-5c00-7000-8000-0000000000c1", "as_of": "2026-11-02T16:00:00Z",
    "seq": 41, "until": "2026-11-03T00:36:00Z", "machines": [], "not_counted": []}))]
pub struct CutsUntilDto {
    #[schema(value_type = uuid::Uuid)]
    pub cell: CellId,
    #[schema(value_type = text::Instant)]
    pub as_of: Instant,
    /// The entry that it was computed from.
    #[schema(value_type = text::Seq)]
    pub seq: Seq,
    /// The last of its machines; null: nothing is being cut, and nothing will be.
    #[schema(value_type = Option<text::Instant>)]
    pub until: Option<Instant>,
    #[schema(max_items = 1000)]
    pub machines: Vec<MachineCutsDto>,
    /// Pallets of the queue that no machine takes, and why.
    #[schema(max_items = 500)]
    pub not_counted: Vec<NotCountedDto>,
}

#[derive(Debug, Serialize, ToSchema)]
#[schema(as = MachineCuts)]
pub struct MachineCutsDto {
    #[schema(value_type = uuid::Uuid)]
    pub machine: MachineId,
    #[schema(value_type = Option<text::Instant>)]
    pub until: Option<Instant>,
    /// The run that is open first, then those from the queue.
    #[schema(max_items = 501)]
    pub loads: Vec<CountedLoadDto>,
    /// What ends it.
    pub ends_because: WaitDto,
}

#[derive(Debug, Serialize, ToSchema)]
#[schema(as = CountedLoad)]
pub struct CountedLoadDto {
    #[schema(value_type = uuid::Uuid)]
    pub pallet: PalletId,
    #[schema(value_type = text::Instant)]
    pub starts_at: Instant,
    #[schema(value_type = text::Instant)]
    pub ends_at: Instant,
}

#[derive(Debug, Serialize, ToSchema)]
#[schema(as = NotCounted)]
pub struct NotCountedDto {
    #[schema(value_type = uuid::Uuid)]
    pub pallet: PalletId,
    pub because: WaitDto,
}

impl From<&Wait> for WaitDto {
    fn from(wait: &Wait) -> Self {
        Self {
            code: wait.code,
            text: wait.text.clone(),
        }
    }
}

impl PoolDto {
    pub fn of(pool: &Pool, cell: CellId, shop: &Shop, now: Timestamp) -> Self {
        let pallets = pool
            .pallets
            .iter()
            .filter_map(|line| PoolPalletDto::of(line, shop));
        Self {
            cell,
            as_of: now.into(),
            seq: shop.seq,
            pallets: pallets.collect(),
            jobs: pool.jobs.iter().map(|line| PoolJobDto::of(line, shop)).collect(),
            gridlock: pool.ring.iter().map(LinkDto::from).collect(),
        }
    }
}

impl PoolPalletDto {
    fn of(line: &PalletLine, shop: &Shop) -> Option<Self> {
        let pallet = shop.pallets.get(&line.pallet)?;
        let setup = pallet.setup.as_ref();
        let fixture = setup.and_then(|setup| shop.fixtures.get(&setup.fixture));
        let copy = setup.and_then(|setup| fixture?.copy(setup.copy));
        Some(Self {
            pallet: PalletDto::of(pallet, shop),
            state: line.state,
            waits_for: WaitDto::from(&line.waits_for),
            fixture_code: fixture.map(|fixture| fixture.facts.code.clone()),
            copy_code: copy.map(|copy| copy.code.clone()),
            nests_empty: line.nests_empty,
            mass: line.mass.map(MassDto::from),
        })
    }
}

impl PoolJobDto {
    fn of(line: &JobLine, shop: &Shop) -> Self {
        Self {
            job: line.job,
            job_code: floor::job_name(shop, line.job),
            operation: line.operation,
            waiting: line.waiting,
            rework: line.rework,
            pallets: line.pallets.clone(),
            waits_for: WaitDto::from(&line.waits_for),
        }
    }
}

impl From<&Link> for LinkDto {
    fn from(link: &Link) -> Self {
        Self {
            pallet: link.pallet,
            waits_for: WaitDto::from(&link.waits_for),
            held_by: link.held_by,
        }
    }
}

impl CutsUntilDto {
    pub fn of(cuts: &CutsUntil, cell: CellId, seq: Seq, now: Timestamp) -> Self {
        let machines = cuts.machines.iter().map(|machine| MachineCutsDto {
            machine: machine.machine,
            until: machine.until.map(Instant),
            loads: machine
                .loads
                .iter()
                .map(|load| CountedLoadDto {
                    pallet: load.pallet,
                    starts_at: load.starts_at.into(),
                    ends_at: load.ends_at.into(),
                })
                .collect(),
            ends_because: WaitDto::from(&machine.ends_because),
        });
        let not_counted = cuts.not_counted.iter().map(|one| NotCountedDto {
            pallet: one.pallet,
            because: WaitDto::from(&one.because),
        });
        Self {
            cell,
            as_of: now.into(),
            seq,
            until: cuts.until.map(Instant),
            machines: machines.collect(),
            not_counted: not_counted.collect(),
        }
    }
}

impl From<&Cell> for QueueDto {
    fn from(cell: &Cell) -> Self {
        Self {
            cell: cell.id,
            pallets: cell.queue.clone(),
            changed_seq: cell.queue_changed_seq,
        }
    }
}

//! A schedule as it is read: by cell, with the names that are painted on things beside their ids.

use crate::http::instant::Instant;
use crate::http::site::WindowDto;
use crate::http::text;
use crate::planning::{Ground, Told};
use serde::Serialize;
use spindlebook_domain::code::Code;
use spindlebook_domain::floor::job_name;
use spindlebook_domain::ids::{CellId, FixtureId, HoldId, JobId, LoadId, MachineId, OrderId, PalletId, Seq};
use spindlebook_domain::load::{Clamped, HoldKind};
use spindlebook_domain::plan::model::LoadKey;
use spindlebook_domain::plan::reasons::{Reason, ReasonCode, reasons};
use spindlebook_domain::plan::schedule::{Schedule, ScheduledLoad};
use spindlebook_domain::shop::Shop;
use spindlebook_domain::time::Window;
use std::collections::BTreeMap;
use utoipa::ToSchema;

/// What is meant to happen in every cell, and why not sooner. It records and advises; nothing in it moves or permits
/// anything.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Schedule)]
pub struct ScheduleDto {
    #[schema(value_type = text::Instant)]
    pub from: Instant,
    /// Spindle time was counted until then.
    #[schema(value_type = text::Instant)]
    pub until: Instant,
    /// The entry that it was made from.
    #[schema(value_type = text::Seq)]
    pub seq: Seq,
    pub objective: ObjectiveDto,
    /// By their codes.
    #[schema(max_items = 200)]
    pub cells: Vec<CellScheduleDto>,
    /// Every line that is released and open, the latest first.
    #[schema(max_items = 100_000)]
    pub lines: Vec<ScheduledLineDto>,
    /// Loads that are not in it, and why.
    #[schema(max_items = 5_000)]
    pub left_out: Vec<LeftOutDto>,
    /// Loads that are held now, and when they are expected to be decided about.
    #[schema(max_items = 5_000)]
    pub judged: Vec<JudgedDto>,
}

/// What was made best, strictly one before the next; less is better.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = PlanObjective)]
pub struct ObjectiveDto {
    /// Over all lines: seconds late times the weight of the priority (rush 10, normal 3, fill 1).
    pub weighted_tardiness_s: i64,
    /// Spindle time until the end of the plan that is not used.
    pub idle_spindle_s: i64,
    pub fixture_changes: u32,
    /// Loads that are elsewhere, or after something else, than in the plan in force.
    pub moved_loads: u32,
    /// Schedules built in the search.
    pub schedules_built: Option<u64>,
}

#[derive(Debug, Serialize, ToSchema)]
#[schema(as = CellSchedule)]
pub struct CellScheduleDto {
    #[schema(value_type = uuid::Uuid)]
    pub cell: CellId,
    #[schema(value_type = text::Code)]
    pub cell_code: Code,
    pub spindle_s_planned: i64,
    #[schema(max_items = 5_000)]
    pub shifts: Vec<ShiftScheduleDto>,
    /// Outside of all shifts.
    pub between_shifts_spindle_s_planned: i64,
    /// By machine and start; what is only taken off comes first.
    #[schema(max_items = 5_000)]
    pub loads: Vec<ScheduledLoadDto>,
}

#[derive(Debug, Serialize, ToSchema)]
#[schema(as = ShiftSchedule)]
pub struct ShiftScheduleDto {
    #[schema(value_type = text::Name)]
    pub name: String,
    #[schema(value_type = text::Instant)]
    pub from: Instant,
    #[schema(value_type = text::Instant)]
    pub to: Instant,
    pub spindle_s_planned: i64,
}

#[derive(Debug, Serialize, ToSchema)]
#[schema(as = ScheduledLoad)]
pub struct ScheduledLoadDto {
    /// Null: it is still to be clamped.
    #[schema(value_type = Option<uuid::Uuid>)]
    pub load: Option<LoadId>,
    #[schema(value_type = Option<uuid::Uuid>)]
    pub machine: Option<MachineId>,
    #[schema(value_type = Option<text::Code>)]
    pub machine_code: Option<Code>,
    #[schema(value_type = uuid::Uuid)]
    pub pallet: PalletId,
    #[schema(value_type = text::Code)]
    pub pallet_code: String,
    #[schema(value_type = Option<uuid::Uuid>)]
    pub fixture: Option<FixtureId>,
    #[schema(value_type = Option<text::Code>)]
    pub fixture_code: Option<Code>,
    #[schema(value_type = Option<text::Code>)]
    pub copy_code: Option<Code>,
    #[schema(max_items = 100)]
    pub pieces: Vec<PlannedPiecesDto>,
    pub mount_at: Option<WindowDto>,
    pub load_at: Option<WindowDto>,
    pub run_at: Option<WindowDto>,
    /// After its run somebody has to look at it first.
    #[schema(value_type = Option<text::HoldKind>)]
    pub held_as: Option<HoldKind>,
    pub inspect_at: Option<WindowDto>,
    pub unload_at: Option<WindowDto>,
    /// In the spindle, or announced as next: no new plan moves it.
    pub is_frozen: bool,
    /// Otherwise than in the plan in force; null: it was not in it.
    pub is_moved: Option<bool>,
    /// Why it is not next; null: it is, or it is in a spindle.
    pub waits_for: Option<PlanReasonDto>,
}

#[derive(Debug, Serialize, ToSchema)]
#[schema(as = PlannedPieces)]
pub struct PlannedPiecesDto {
    #[schema(value_type = uuid::Uuid)]
    pub job: JobId,
    #[schema(value_type = text::Name)]
    pub job_code: String,
    pub operation: u16,
    pub pieces: u32,
    pub is_rework: bool,
}

/// The one thing that has to go out of the way first.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[schema(as = PlanReason)]
pub struct PlanReasonDto {
    #[schema(value_type = text::ReasonCode)]
    pub code: ReasonCode,
    #[schema(value_type = text::Sentence)]
    pub text: String,
}

#[derive(Debug, Serialize, ToSchema)]
#[schema(as = ScheduledLine)]
pub struct ScheduledLineDto {
    #[schema(value_type = uuid::Uuid)]
    pub order: OrderId,
    #[schema(value_type = text::Name)]
    pub order_code: String,
    pub line: u32,
    #[schema(value_type = Option<text::Instant>)]
    pub due: Option<Instant>,
    /// When its last wanted piece is there; null: not by this plan.
    #[schema(value_type = Option<text::Instant>)]
    pub complete: Option<Instant>,
    pub late_s: i64,
    /// Pieces that no blank is there for.
    pub pieces_short: u32,
}

#[derive(Debug, Serialize, ToSchema)]
#[schema(as = LoadLeftOut)]
pub struct LeftOutDto {
    /// Null: it is not clamped.
    #[schema(value_type = Option<uuid::Uuid>)]
    pub load: Option<LoadId>,
    #[schema(max_items = 100)]
    pub pieces: Vec<PlannedPiecesDto>,
    pub because: PlanReasonDto,
}

#[derive(Debug, Serialize, ToSchema)]
#[schema(as = JudgedHold)]
pub struct JudgedDto {
    #[schema(value_type = uuid::Uuid)]
    pub hold: HoldId,
    pub inspect_at: WindowDto,
}

impl ScheduleDto {
    pub fn of(told: &Told<'_>) -> Self {
        let (ground, schedule) = (told.ground, told.schedule);
        let why = reasons(&ground.shop, &ground.site, schedule, ground.now);
        let mut cells: Vec<_> = ground.shop.cells.values().collect();
        cells.sort_by(|a, b| a.code.cmp(&b.code));
        let cell = |cell: &&spindlebook_domain::cell::Cell| {
            CellScheduleDto::of(ground, schedule, (cell.id, &cell.code), &why)
        };
        let judged = schedule.judged.iter().map(|judged| JudgedDto {
            hold: judged.hold,
            inspect_at: judged.inspection.into(),
        });
        Self {
            from: schedule.from.into(),
            until: schedule.until.into(),
            seq: ground.shop.seq,
            objective: ObjectiveDto::of(told),
            cells: cells.iter().map(cell).collect(),
            lines: lines(&ground.shop, schedule),
            left_out: left_out(&ground.shop, schedule, &why),
            judged: judged.collect(),
        }
    }
}

impl ObjectiveDto {
    fn of(told: &Told<'_>) -> Self {
        let (cost, aim) = (told.schedule.cost, told.ground.options.aim);
        Self {
            weighted_tardiness_s: cost.tardiness(aim),
            idle_spindle_s: cost.idle_s(aim),
            fixture_changes: cost.changes,
            moved_loads: cost.moved,
            schedules_built: told.best.map(|best| best.iterations),
        }
    }
}

impl CellScheduleDto {
    fn of(
        ground: &Ground,
        schedule: &Schedule,
        (cell, code): (CellId, &Code),
        why: &BTreeMap<LoadKey, Reason>,
    ) -> Self {
        let (shifts, between_s) = schedule.spindle_by_shift(&ground.shop, &ground.site, cell);
        let shifts: Vec<_> = shifts
            .into_iter()
            .map(|(shift, spindle_s_planned)| ShiftScheduleDto {
                name: shift.name.to_string(),
                from: shift.window.from.into(),
                to: shift.window.to.into(),
                spindle_s_planned,
            })
            .collect();
        let in_shifts: i64 = shifts.iter().map(|shift| shift.spindle_s_planned).sum();
        let own = schedule.loads.iter().filter(|load| load.cell == cell);
        Self {
            cell,
            cell_code: code.clone(),
            spindle_s_planned: in_shifts + between_s,
            shifts,
            between_shifts_spindle_s_planned: between_s,
            loads: own
                .map(|load| ScheduledLoadDto::of(&ground.shop, load, why.get(&load.key)))
                .collect(),
        }
    }
}

impl ScheduledLoadDto {
    pub fn of(shop: &Shop, load: &ScheduledLoad, why: Option<&Reason>) -> Self {
        let fixture = load.fixture.and_then(|fixture| shop.fixtures.get(&fixture));
        let copy = load.copy.and_then(|copy| fixture?.copy(copy));
        let machine = load.machine.and_then(|machine| shop.machines.get(&machine));
        let pallet = shop.pallets.get(&load.pallet);
        let window = |window: Option<Window>| window.map(WindowDto::from);
        Self {
            load: load_of(load.key),
            machine: load.machine,
            machine_code: machine.map(|machine| machine.code.clone()),
            pallet: load.pallet,
            pallet_code: pallet.map_or_else(String::new, |pallet| pallet.facts.code.to_string()),
            fixture: load.fixture,
            fixture_code: fixture.map(|fixture| fixture.facts.code.clone()),
            copy_code: copy.map(|copy| copy.code.clone()),
            pieces: pieces(shop, &load.clamped),
            mount_at: window(load.mount),
            load_at: window(load.load),
            run_at: window(load.run),
            held_as: load.held_as,
            inspect_at: window(load.inspection),
            unload_at: window(load.unload),
            is_frozen: load.is_frozen,
            is_moved: load.is_moved,
            waits_for: why.map(PlanReasonDto::from),
        }
    }
}

impl From<&Reason> for PlanReasonDto {
    fn from(reason: &Reason) -> Self {
        Self {
            code: reason.code,
            text: reason.text.clone(),
        }
    }
}

pub fn order_code(shop: &Shop, order: OrderId) -> String {
    let known = shop.orders.get(&order);
    known.map_or_else(|| order.to_string(), |order| order.code.to_string())
}

pub fn pieces(shop: &Shop, clamped: &[Clamped]) -> Vec<PlannedPiecesDto> {
    let one = |one: &Clamped| PlannedPiecesDto {
        job: one.job,
        job_code: job_name(shop, one.job),
        operation: one.operation,
        pieces: one.pieces,
        is_rework: one.rework,
    };
    clamped.iter().map(one).collect()
}

const fn load_of(key: LoadKey) -> Option<LoadId> {
    match key {
        LoadKey::Standing(load) => Some(load),
        LoadKey::ToForm { .. } => None,
    }
}

fn lines(shop: &Shop, schedule: &Schedule) -> Vec<ScheduledLineDto> {
    let line = |line: &spindlebook_domain::plan::schedule::ScheduledLine| ScheduledLineDto {
        order: line.order,
        order_code: order_code(shop, line.order),
        line: line.line,
        due: line.due.map(Instant::from),
        complete: line.complete.map(Instant::from),
        late_s: line.late_s(),
        pieces_short: line.pieces_short,
    };
    let mut lines: Vec<_> = schedule.lines.iter().map(line).collect();
    // What is not done at all is the latest.
    lines.sort_by_key(|line| (line.complete.is_some(), -line.late_s, line.due));
    lines
}

fn left_out(shop: &Shop, schedule: &Schedule, why: &BTreeMap<LoadKey, Reason>) -> Vec<LeftOutDto> {
    let out = schedule.left_out.iter().filter_map(|out| {
        Some(LeftOutDto {
            load: load_of(out.key),
            pieces: pieces(shop, &out.clamped),
            because: why.get(&out.key)?.into(),
        })
    });
    out.collect()
}

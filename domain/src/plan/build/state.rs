//! What is written while a schedule is built.

use super::hands::Hands;
use super::piles::Piles;
use crate::load::HoldKind;
use crate::plan::model::{Model, NEVER, REACH_S, Stretch, Stretches};

pub const NO_TIME: i64 = i64::MIN;
pub(super) const NO_LOAD: usize = usize::MAX;
pub(super) const NO_COPY: usize = usize::MAX;
/// What a pallet holds does not come off within a year.
pub(super) const GONE: i64 = NEVER + 1;

/// From…to; without a beginning it does not take place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Span {
    pub from: i64,
    pub to: i64,
}

impl Span {
    pub const NONE: Self = Self {
        from: NO_TIME,
        to: NO_TIME,
    };

    pub const fn is_some(self) -> bool {
        self.from != NO_TIME
    }
}

/// Where and when a load is done.
#[derive(Clone, Copy, Debug)]
pub struct Placed {
    pub is_placed: bool,
    /// `None`: it is only taken off.
    pub way: Option<usize>,
    pub pallet: usize,
    pub copy: usize,
    pub mount: Span,
    pub load: Span,
    pub run: Span,
    pub held_as: Option<HoldKind>,
    pub inspection: Span,
    pub unload: Span,
}

pub(super) const NOT_PLACED: Placed = Placed {
    is_placed: false,
    way: None,
    pallet: 0,
    copy: NO_COPY,
    mount: Span::NONE,
    load: Span::NONE,
    run: Span::NONE,
    held_as: None,
    inspection: Span::NONE,
    unload: Span::NONE,
};

/// Why a load is not in the schedule.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LeftOut {
    /// Its pieces never come: material without a date, or an operation before it that is left out.
    Pieces,
    /// No machine takes it that is up, no fixture that fits, or no pallet for it.
    NoWay,
    /// Of the need at this place; short by so many seconds.
    Tool { need: usize, short_s: i64 },
    /// Not cleared to run alone, and longer than anybody is ever there.
    TooLongToAttend,
    /// Not within a year.
    TooFar,
}

#[derive(Clone, Copy, Debug)]
pub(super) struct PalletState {
    pub free_at: i64,
    pub copy: usize,
    pub is_reserved: bool,
    /// Counts the setups on it.
    pub setup: u32,
}

#[derive(Clone, Copy, Debug)]
pub(super) struct MachineState {
    pub free_at: i64,
    /// The last load on it.
    pub last: usize,
    /// In a full cell: the load whose pallet is still in the spindle.
    pub in_spindle: usize,
    /// The pallet that stood there at the beginning, until another one comes.
    pub stands: Option<usize>,
}

/// The spindle stands between two runs, so long that another may fit.
#[derive(Clone, Copy, Debug)]
pub(super) struct SpindleGap {
    pub from: i64,
    pub to: i64,
    /// The load that is cut after it.
    pub before: usize,
}

/// So many gaps of a machine are looked at; later ones are filled only by what the search puts before them.
pub(super) const GAPS_MAX: usize = 16;

#[derive(Clone, Copy, Debug)]
pub(super) struct StepState {
    pub wants_article: bool,
    pub article_open_until: i64,
    pub first_piece_open_until: i64,
    pub first_approval: usize,
    pub approvals: usize,
    /// Loads that wait for pieces here, the first of them.
    pub waiting: usize,
    pub last_waiting: usize,
}

#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Approved {
    pub pallet: usize,
    pub setup: u32,
    pub machine: usize,
    pub from: i64,
}

#[derive(Clone, Copy, Debug, Default)]
pub struct LineDone {
    pub at: i64,
    pub jobs_left: u32,
}

#[derive(Clone, Debug)]
pub struct Scratch {
    pub(super) crews: Vec<Hands>,
    /// By cell; only where stations are fewer than people.
    pub(super) stations: Vec<Hands>,
    pub(super) inspector: Hands,
    pub(super) always: Stretches,
    pub(super) piles: Piles,
    pub(super) pallets: Vec<PalletState>,
    /// By copy: free in store from then on.
    pub(super) in_store: Vec<i64>,
    pub(super) machines: Vec<MachineState>,
    /// By machine, in the order of time.
    pub(super) gaps: Vec<Vec<SpindleGap>>,
    /// By load: what is cut before it on its machine.
    pub(super) after: Vec<usize>,
    pub(super) steps: Vec<StepState>,
    pub(super) approved: Vec<Approved>,
    pub(super) tool_life: Vec<i64>,
    pub(super) next_waiting: Vec<usize>,
    pub(super) choice_of: Vec<u16>,
    /// Loads whose pieces have come meanwhile.
    pub(super) ready: Vec<usize>,
    /// Loads for which every pallet holds something that is placed later.
    pub(super) blocked: Vec<usize>,
    pub(super) job_done: Vec<bool>,
    pub(super) tardiness: i64,
    pub(super) spindle_s: i64,
    pub(super) changes: u32,
    pub(super) starts_s: i64,
    pub line_done: Vec<LineDone>,
    pub placed: Vec<Placed>,
    pub left_out: Vec<Option<LeftOut>>,
    /// How long each load runs instead of what is planned; empty: as planned.
    pub cycle_s: Vec<i64>,
}

impl Scratch {
    pub(super) fn new(model: &Model) -> Self {
        let whole = Stretch { from: 0, to: NEVER };
        let always = Stretches::new(vec![whole], REACH_S);
        let (steps, approved) = steps(model);
        let loads = model.loads.len();
        let machine = |machine: &crate::plan::model::MachineNow| MachineState {
            free_at: machine.free_from,
            last: NO_LOAD,
            in_spindle: NO_LOAD,
            stands: machine.pallet,
        };
        let in_store = |copy: &crate::plan::model::CopyNow| if copy.on.is_some() { NEVER } else { 0 };
        let mut pallets: Vec<_> = model.pallets.iter().map(pallet).collect();
        for holds in model.loads.iter().filter_map(|load| load.phase.pallet()) {
            pallets[holds].free_at = NEVER;
        }
        Self {
            crews: crews(model),
            stations: stations(model, &always),
            inspector: inspector(model),
            always,
            piles: Piles::new(model),
            pallets,
            in_store: model.copies.iter().map(in_store).collect(),
            machines: model.machines.iter().map(machine).collect(),
            gaps: vec![Vec::with_capacity(GAPS_MAX); model.machines.len()],
            after: vec![NO_LOAD; loads],
            steps,
            approved,
            tool_life: model.tool_life.clone(),
            next_waiting: vec![NO_LOAD; loads],
            choice_of: vec![0; loads],
            ready: Vec::with_capacity(loads),
            blocked: Vec::with_capacity(loads),
            job_done: vec![false; model.jobs.len()],
            tardiness: 0,
            spindle_s: 0,
            changes: 0,
            starts_s: 0,
            line_done: vec![LineDone::default(); model.lines.len()],
            placed: vec![NOT_PLACED; loads],
            left_out: vec![None; loads],
            cycle_s: Vec::new(),
        }
    }

    /// The way that was chosen for a load.
    pub fn choice(&self, load: usize) -> usize {
        usize::from(self.choice_of[load])
    }

    /// All of another one of the same model.
    pub(super) fn copy_from(&mut self, other: &Self) {
        for (hands, other) in self.crews.iter_mut().zip(&other.crews) {
            hands.copy_from(other);
        }
        for (hands, other) in self.stations.iter_mut().zip(&other.stations) {
            hands.copy_from(other);
        }
        self.inspector.copy_from(&other.inspector);
        self.piles.reset(&other.piles);
        self.pallets.copy_from_slice(&other.pallets);
        self.in_store.copy_from_slice(&other.in_store);
        self.machines.copy_from_slice(&other.machines);
        self.gaps.clone_from(&other.gaps);
        self.after.copy_from_slice(&other.after);
        self.steps.copy_from_slice(&other.steps);
        self.approved.copy_from_slice(&other.approved);
        self.tool_life.copy_from_slice(&other.tool_life);
        self.next_waiting.copy_from_slice(&other.next_waiting);
        self.choice_of.copy_from_slice(&other.choice_of);
        self.ready.clone_from(&other.ready);
        self.blocked.clone_from(&other.blocked);
        self.job_done.copy_from_slice(&other.job_done);
        (self.tardiness, self.spindle_s) = (other.tardiness, other.spindle_s);
        (self.changes, self.starts_s) = (other.changes, other.starts_s);
        self.line_done.copy_from_slice(&other.line_done);
        self.placed.copy_from_slice(&other.placed);
        self.left_out.copy_from_slice(&other.left_out);
    }

    pub(super) fn reset(&mut self, empty: &Self, jobs_of_line: &[u32]) {
        for (hands, empty) in self.crews.iter_mut().zip(&empty.crews) {
            hands.reset(empty);
        }
        for (hands, empty) in self.stations.iter_mut().zip(&empty.stations) {
            hands.reset(empty);
        }
        self.inspector.reset(&empty.inspector);
        self.piles.reset(&empty.piles);
        self.pallets.copy_from_slice(&empty.pallets);
        self.in_store.copy_from_slice(&empty.in_store);
        self.machines.copy_from_slice(&empty.machines);
        self.gaps.iter_mut().for_each(Vec::clear);
        self.after.fill(NO_LOAD);
        self.steps.copy_from_slice(&empty.steps);
        self.approved.copy_from_slice(&empty.approved);
        self.tool_life.copy_from_slice(&empty.tool_life);
        self.ready.clear();
        self.blocked.clear();
        self.job_done.fill(false);
        self.placed.fill(NOT_PLACED);
        self.left_out.fill(None);
        for (line, jobs) in self.line_done.iter_mut().zip(jobs_of_line) {
            *line = LineDone {
                at: 0,
                jobs_left: *jobs,
            };
        }
        (self.tardiness, self.spindle_s, self.changes, self.starts_s) = (0, 0, 0, 0);
    }
}

fn pallet(pallet: &crate::plan::model::PalletNow) -> PalletState {
    PalletState {
        free_at: pallet.free_from,
        copy: pallet.copy.unwrap_or(NO_COPY),
        is_reserved: pallet.is_reserved,
        setup: 0,
    }
}

/// Of all that hands do; 0 if something takes no time at all.
fn shortest_s(model: &Model) -> i64 {
    let loads = model.loads.iter().flat_map(|load| match load.phase {
        crate::plan::model::Phase::ToLoad => [load.load_s, load.unload_s],
        _ => [load.unload_s; 2],
    });
    let mounts = model.fixtures.iter().map(|fixture| fixture.mount_s);
    loads.chain(mounts).min().unwrap_or(0)
}

fn crews(model: &Model) -> Vec<Hands> {
    let shortest_s = shortest_s(model);
    let hands = |crew: &crate::plan::model::Crew| {
        let mut hands = Hands::new(crew.people.iter(), shortest_s);
        for (person, _, until) in &crew.busy {
            hands.is_at_it_until(*person, &crew.people[*person], *until);
        }
        hands.keep();
        hands
    };
    model.crews.iter().map(hands).collect()
}

fn stations(model: &Model, always: &Stretches) -> Vec<Hands> {
    let hands = |cell: &crate::plan::model::CellNow| {
        let many = cell.load_stations.unwrap_or(0);
        let mut hands = Hands::new(std::iter::repeat_n(always, many), 0);
        for (station, until) in cell.stations_busy.iter().enumerate().take(many) {
            hands.is_at_it_until(station, always, *until);
        }
        hands.keep();
        hands
    };
    model.cells.iter().map(hands).collect()
}

fn inspector(model: &Model) -> Hands {
    let mut hands = Hands::new(std::iter::once(&model.inspector), model.inspection_s);
    for (from, to) in &model.inspector_busy {
        if let Some(gap) = hands.fit(0, &model.inspector, *from, to - from) {
            hands.take(gap, &model.inspector, to - from);
        }
    }
    hands.keep();
    hands
}

fn steps(model: &Model) -> (Vec<StepState>, Vec<Approved>) {
    let mut approved = Vec::new();
    let mut steps = Vec::new();
    for step in &model.steps {
        let first_approval = approved.len();
        approved.extend(step.approved.iter().map(|(pallet, machine, from)| Approved {
            pallet: *pallet,
            setup: 0,
            machine: *machine,
            from: *from,
        }));
        approved.resize(first_approval + step.approvals_max, Approved::default());
        steps.push(StepState {
            wants_article: step.wants_article,
            article_open_until: step.article_open_until,
            first_piece_open_until: step.first_piece_open_until,
            first_approval,
            approvals: step.approved.len(),
            waiting: NO_LOAD,
            last_waiting: NO_LOAD,
        });
    }
    (steps, approved)
}

//! Runs and pallets against a model that asks of every second, from the bare marks, what was said of it. It knows
//! nothing of pieces, changes or counts.

use super::people::{CELL, MACHINE, pallet, run};
use crate::hours::{ByCategory, Category, RowSeconds, explain, sweep};
use crate::ids::{CellId, MachineId, PalletId, RunId, Track};
use crate::machine_state::{MachineState, Meaning};
use crate::pool::PalletState;
use crate::run::Purpose;
use crate::stretches::{MachineMarks, Mark, Source};
use crate::time::{Timestamp, US_PER_SECOND, Window};
use proptest::prelude::*;
use std::collections::BTreeMap;
use uuid::Uuid;

const SECONDS: i64 = 120;
const OTHER_MACHINE: MachineId = MachineId(Uuid::from_u128(0xa2));
const OTHER_CELL: CellId = CellId(Uuid::from_u128(0xc2));

fn second(second: i64) -> Timestamp {
    Timestamp::MIN.plus_s(second)
}

fn instant() -> impl Strategy<Value = Timestamp> {
    (0..SECONDS).prop_map(second)
}

type Said = (Track, Mark);

fn of_machine() -> impl Strategy<Value = Said> {
    let mark = prop_oneof![
        4 => (instant(), 0..12_u8).prop_map(|(at, code)| Mark::State { at, state: MachineState::from_code(code).unwrap() }),
        1 => (instant(), 1..30_i64).prop_map(|(from, s)| Mark::Cycle { from, to: from.plus_s(s) }),
        1 => (instant(), 1..60_i64).prop_map(|(from, s)| Mark::Covered { from, to: from.plus_s(s) }),
        1 => instant().prop_map(|at| Mark::Down { at, reason: "tooling".into() }),
        1 => instant().prop_map(|at| Mark::Up { at }),
    ];
    mark.prop_map(|mark| (MACHINE.into(), mark))
}

fn of_run() -> impl Strategy<Value = Said> {
    let start = (instant(), 1..5_u128, 1..4_u128, 0..4_usize, 0..60_u32, 0..15_u32);
    let started = start.prop_map(
        |(at, number, on, purpose, cycle_s, exchange_s)| Mark::RunStarted {
            at,
            run: run(number),
            pallet: pallet(on),
            purpose: Purpose::ALL[purpose],
            cycle_s,
            exchange_s,
        },
    );
    let act = || (instant(), 1..5_u128);
    let paused = (act(), 0..2_u8).prop_map(|((at, number), reason)| Mark::RunPaused {
        at,
        run: run(number),
        reason: reason.to_string(),
    });
    let resumed = act().prop_map(|(at, number)| Mark::RunResumed { at, run: run(number) });
    let ended = act().prop_map(|(at, number)| Mark::RunEnded {
        at,
        run: run(number),
        aborted: false,
    });
    prop_oneof![3 => started, 2 => paused, 2 => resumed, 2 => ended].prop_map(|mark| (MACHINE.into(), mark))
}

fn of_pool() -> impl Strategy<Value = Said> {
    let place = prop_oneof![
        3 => Just((CELL, None)),
        3 => Just((CELL, Some(MACHINE))),
        1 => Just((CELL, Some(OTHER_MACHINE))),
        1 => Just((OTHER_CELL, None)),
    ];
    let state = (instant(), 1..4_u128, place, 0..PalletState::ALL.len());
    let state = state.prop_map(|(at, number, (cell, at_machine), state)| {
        let state = PalletState::ALL[state];
        (
            pallet(number).into(),
            Mark::PalletState {
                at,
                cell,
                at_machine,
                state,
            },
        )
    });
    let work = (instant(), any::<bool>()).prop_map(|(at, open)| (CELL.into(), Mark::WorkOpen { at, open }));
    prop_oneof![5 => state, 1 => work]
}

#[derive(Clone, Debug)]
struct Case {
    /// Each is an entry of its own; none is said twice.
    said: Vec<Said>,
    attended: Vec<Window>,
    as_of: Timestamp,
    silent_after_s: Option<u32>,
}

prop_compose! {
    fn case()(
        machine in prop::collection::vec(of_machine(), 0..8),
        runs in prop::collection::vec(of_run(), 0..16),
        pool in prop::collection::vec(of_pool(), 0..16),
        attended_from in 0..SECONDS,
        attended_s in 1..SECONDS,
        as_of in prop_oneof![3 => Just(Timestamp::MAX), 1 => instant()],
        silent_after_s in prop::option::of(0..40_u32),
    )(
        said in Just([machine, runs, pool].concat()).prop_shuffle(),
        attended in Just(vec![Window::new(second(attended_from), second(attended_from + attended_s))]),
        as_of in Just(as_of),
        silent_after_s in Just(silent_after_s),
    ) -> Case {
        let mut once: Vec<Said> = Vec::new();
        for one in said {
            if !once.contains(&one) {
                once.push(one);
            }
        }
        Case { said: once, attended, as_of, silent_after_s }
    }
}

fn marks_of(case: &Case) -> MachineMarks {
    let entries = case.said.iter().zip(1..).map(|(said, seq)| {
        let recorded_at = Timestamp::MAX;
        (Source { seq, recorded_at }, vec![said.clone()])
    });
    MachineMarks::of_entries(MACHINE, CELL, entries)
}

/// What is known of a run at `as_of`: its acts in the order of time, at one instant in the order of the entries.
struct ModelRun {
    acts: Vec<(Timestamp, usize, Mark)>,
    start: (Timestamp, usize),
    told_end: Option<Timestamp>,
    on: Option<PalletId>,
    purpose: Option<Purpose>,
    cycle_s: i64,
    exchange_s: i64,
}

#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Was {
    NotProven,
    Paused,
    InCycle,
}

fn is_start(mark: &Mark) -> bool {
    matches!(mark, Mark::RunStarted { .. })
}

fn run_of(mark: &Mark) -> Option<RunId> {
    match mark {
        Mark::RunStarted { run, .. }
        | Mark::RunPaused { run, .. }
        | Mark::RunResumed { run, .. }
        | Mark::RunEnded { run, .. } => Some(*run),
        _ => None,
    }
}

/// In the order of their starts.
fn model_runs(case: &Case) -> Vec<ModelRun> {
    let mut acts = BTreeMap::<RunId, Vec<(Timestamp, usize, Mark)>>::new();
    for (entry, (_, mark)) in case.said.iter().enumerate() {
        if let Some(run) = run_of(mark).filter(|_| mark.at() <= case.as_of) {
            acts.entry(run)
                .or_default()
                .push((mark.at(), entry, mark.clone()));
        }
    }
    let of_acts = |mut acts: Vec<(Timestamp, usize, Mark)>| {
        acts.sort_by_key(|act| (act.0, act.1));
        let newest = |is: fn(&Mark) -> bool| acts.iter().filter(|act| is(&act.2)).max_by_key(|act| act.1);
        let start = newest(is_start).unwrap_or(&acts[0]).clone();
        let told_end = newest(|mark| matches!(mark, Mark::RunEnded { .. })).map(|act| act.0);
        let (on, purpose, cycle_s, exchange_s) = match start.2 {
            Mark::RunStarted {
                pallet,
                purpose,
                cycle_s,
                exchange_s,
                ..
            } => (
                Some(pallet),
                Some(purpose),
                i64::from(cycle_s),
                i64::from(exchange_s),
            ),
            _ => (None, None, 0, 0),
        };
        ModelRun {
            acts,
            start: (start.0, start.1),
            told_end,
            on,
            purpose,
            cycle_s,
            exchange_s,
        }
    };
    let mut runs: Vec<_> = acts.into_values().map(of_acts).collect();
    runs.sort_by_key(|run| run.start);
    runs
}

impl ModelRun {
    fn proven_end(&self, case: &Case, runs: &[Self]) -> Option<Timestamp> {
        let last = self.acts.last().map(|act| (act.0, act.1)).unwrap();
        let next = runs
            .iter()
            .map(|run| run.start)
            .filter(|start| *start > last)
            .min()
            .map(|start| start.0);
        let left = case.said.iter().filter_map(|(track, mark)| match *mark {
            Mark::PalletState {
                at,
                at_machine,
                state,
                ..
            } if self.on.is_some_and(|on| *track == on.into())
                && at > last.0
                && at <= case.as_of
                && !is_replaced(case, *track, mark)
                && !(at_machine == Some(MACHINE)
                    && [PalletState::InRun, PalletState::Held].contains(&state)) =>
            {
                Some(at)
            }
            _ => None,
        });
        next.into_iter().chain(left).min()
    }

    fn close(&self, case: &Case, runs: &[Self]) -> Timestamp {
        self.told_end
            .or_else(|| self.proven_end(case, runs))
            .unwrap_or(case.as_of)
    }

    /// Who paused it last, if nobody resumed it.
    fn pause_at(&self, at: Timestamp) -> Option<String> {
        let mut pause = None;
        for act in self
            .acts
            .iter()
            .filter(|act| self.start.0 <= act.0 && act.0 <= at)
        {
            match &act.2 {
                Mark::RunPaused { reason, .. } => pause = Some(reason.clone()),
                Mark::RunResumed { .. } => pause = None,
                _ => {}
            }
        }
        pause
    }

    fn was(&self, case: &Case, runs: &[Self], at: Timestamp) -> Option<Was> {
        let close = self.close(case, runs);
        if at < self.start.0 || close <= at {
            return None;
        }
        if self.pause_at(at).is_some() {
            return Some(Was::Paused);
        }
        let later_pause = |act: &&(Timestamp, usize, Mark)| {
            at < act.0 && act.0 < close && matches!(act.2, Mark::RunPaused { .. })
        };
        if self.told_end.is_some() || self.acts.iter().any(|act| later_pause(&act)) {
            return Some(Was::InCycle);
        }
        let mut cut_s = 0;
        let mut before = self.start.0;
        while before < at {
            cut_s += i64::from(self.pause_at(before).is_none());
            before = before.plus_s(1);
        }
        Some(if cut_s < self.cycle_s {
            Was::InCycle
        } else {
            Was::NotProven
        })
    }
}

/// A pallet is in one state at an instant: the one that was said last.
fn is_replaced(case: &Case, track: Track, mark: &Mark) -> bool {
    let mut same = case
        .said
        .iter()
        .filter(|(of, other)| *of == track && other.layer() == mark.layer() && other.at() == mark.at());
    same.next_back().is_some_and(|(_, last)| last != mark)
}

fn standing(case: &Case, at: Timestamp, is: impl Fn(&Said) -> bool) -> Option<&Mark> {
    let said = case
        .said
        .iter()
        .enumerate()
        .filter(|(_, one)| one.1.at() <= at && is(one));
    said.max_by_key(|(entry, one)| (one.1.at(), *entry))
        .map(|(_, one)| &one.1)
}

/// What the second that begins at an instant was.
#[derive(Debug, PartialEq)]
struct Second {
    category: Category,
    purpose: Option<Purpose>,
    stop_reason: Option<String>,
    by_people: bool,
    overlap: bool,
    disagree: bool,
}

/// What the machine itself says at an instant.
#[expect(clippy::struct_excessive_bools, reason = "each is one answer of the model")]
struct Machine {
    says: Meaning,
    cuts: bool,
    covered: bool,
    has_spoken: bool,
    down: bool,
}

fn machine_at(case: &Case, at: Timestamp) -> Machine {
    let state = standing(case, at, |one| matches!(one.1, Mark::State { .. }));
    let says = match state {
        Some(Mark::State { at: told, state })
            if case
                .silent_after_s
                .is_none_or(|silent| at < told.plus_s(silent.into())) =>
        {
            state.meaning()
        }
        _ => Meaning::NotKnown,
    };
    let lies_over = |from: Timestamp, to: Timestamp| from <= at && at < to;
    let is_cycle = |one: &Said| matches!(one.1, Mark::Cycle { from, to } if lies_over(from, to));
    let is_cover = |one: &Said| matches!(one.1, Mark::Covered { from, to } if lies_over(from, to));
    let machine_cuts = says == Meaning::InCycle || case.said.iter().any(is_cycle);
    let covered = case.said.iter().any(is_cover);
    let spoke = |one: &Said| {
        one.1.at() <= at
            && matches!(
                one.1,
                Mark::State { .. } | Mark::Cycle { .. } | Mark::Covered { .. }
            )
    };
    let set = standing(case, at, |one| {
        matches!(one.1, Mark::Down { .. } | Mark::Up { .. })
    });
    let down = matches!(set, Some(Mark::Down { .. }));
    Machine {
        says,
        cuts: machine_cuts,
        covered,
        has_spoken: case.said.iter().any(spoke),
        down,
    }
}

fn model(case: &Case, runs: &[ModelRun], at: Timestamp) -> Second {
    let machine = machine_at(case, at);
    let (says, machine_cuts, covered) = (machine.says, machine.cuts, machine.covered);
    let attended = case.attended.iter().any(|window| window.contains(at));
    let told: Vec<_> = runs
        .iter()
        .filter_map(|run| Some((run.was(case, runs, at)?, run)))
        .collect();
    let cutting = told.iter().filter(|one| one.0 == Was::InCycle).count();
    // Of equals the last one: that which began last.
    let lead = told.iter().max_by_key(|one| one.0);
    let was = lead.map(|one| one.0);
    let has_run_marks = case
        .said
        .iter()
        .any(|one| one.1.at() <= at && run_of(&one.1).is_some());
    let has_pallets = case
        .said
        .iter()
        .any(|one| one.1.at() <= at && matches!(one.1, Mark::PalletState { cell, .. } if cell == CELL));

    let in_cycle = if attended {
        Category::InCycleAttended
    } else {
        Category::InCycleUnattended
    };
    let silent = says == Meaning::NotKnown && !covered;
    let category = if machine_cuts {
        in_cycle
    } else if says == Meaning::Off {
        Category::Off
    } else if machine.down {
        Category::Down
    } else if silent && was == Some(Was::InCycle) {
        in_cycle
    } else if was == Some(Was::Paused) || says == Meaning::StoppedInRun {
        Category::StoppedInRun
    } else if silent && (was.is_some() || machine.has_spoken || !(has_run_marks || has_pallets)) {
        Category::NotKnown
    } else {
        nothing_runs(case, runs, at, attended)
    };
    let people_cut = was == Some(Was::InCycle);
    let machine_stands = !machine_cuts
        && (matches!(says, Meaning::NothingRuns | Meaning::Off) || (says == Meaning::NotKnown && covered));
    Second {
        category,
        purpose: lead
            .filter(|_| category.is_in_cycle())
            .and_then(|one| one.1.purpose),
        stop_reason: lead
            .filter(|one| category == Category::StoppedInRun && one.0 == Was::Paused)
            .and_then(|one| one.1.pause_at(at)),
        by_people: category.is_in_cycle() && !machine_cuts,
        overlap: cutting > 1,
        disagree: (people_cut && machine_stands)
            || (machine_cuts && has_run_marks && matches!(was, None | Some(Was::Paused))),
    }
}

fn nothing_runs(case: &Case, runs: &[ModelRun], at: Timestamp, attended: bool) -> Category {
    for (position, run) in runs.iter().enumerate().skip(1) {
        let free = runs[..position]
            .iter()
            .map(|run| run.close(case, runs))
            .max()
            .unwrap();
        let from = free.max(run.start.0.plus_s(-run.exchange_s));
        let changes = run
            .on
            .zip(runs[position - 1].on)
            .is_some_and(|(one, other)| one != other);
        if changes && from <= at && at < run.start.0 {
            return Category::PalletExchange;
        }
    }
    let mut here = Vec::new();
    let mut any_pallet = false;
    for number in 1..4 {
        let track = Track::from(pallet(number));
        if let Some(Mark::PalletState {
            cell,
            at_machine,
            state,
            ..
        }) = standing(case, at, |one| one.0 == track)
        {
            let ever_here = |one: &Said| {
                one.0 == track
                    && one.1.at() <= at
                    && matches!(one.1, Mark::PalletState { cell, .. } if cell == CELL)
            };
            any_pallet |= case.said.iter().any(ever_here);
            if *cell == CELL && *at_machine != Some(OTHER_MACHINE) {
                here.push((*state, *at_machine));
            }
        }
    }
    let any = |state| here.iter().any(|one| one.0 == state);
    let work = standing(case, at, |one| matches!(one.1, Mark::WorkOpen { .. }));
    let open = work.map(|mark| matches!(mark, Mark::WorkOpen { open: true, .. }));
    let may_run = any(PalletState::Ready) || (attended && any(PalletState::ReadyAttendedOnly));
    if here.contains(&(PalletState::InSetup, Some(MACHINE))) {
        Category::SetupAtSpindle
    } else if may_run {
        Category::ReadyNotStarted
    } else if any(PalletState::Held) {
        Category::WaitingForInspection
    } else if !attended {
        if any_pallet || open.is_some() {
            Category::UnattendedRunOut
        } else {
            Category::IdleUnattended
        }
    } else {
        match open {
            Some(true) => Category::WaitingForLoad,
            Some(false) => Category::NoWork,
            None => Category::IdleAttended,
        }
    }
}

fn window(case: &Case) -> Window {
    let whole = Window::new(second(-5), second(SECONDS + 20));
    Window::new(whole.from.min(case.as_of), whole.to.min(case.as_of))
}

fn swept(case: &Case) -> RowSeconds {
    sweep(
        &marks_of(case),
        &[window(case)],
        &case.attended,
        case.as_of,
        case.silent_after_s,
    )
    .remove(0)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn the_sweep_agrees_with_the_model_second_by_second(case in case()) {
        let runs = model_runs(&case);
        let mut expected = RowSeconds::default();
        let mut at = window(&case).from;
        while at < window(&case).to {
            let was = model(&case, &runs, at);
            expected.us[was.category] += US_PER_SECOND;
            let flag = |is: bool| if is { US_PER_SECOND } else { 0 };
            expected.in_cycle_by_people_us += flag(was.by_people);
            expected.run_overlap_us += flag(was.overlap);
            expected.people_and_machine_disagree_us += flag(was.disagree);
            if was.category.is_in_cycle() {
                expected.by_purpose_us.0[was.purpose.map_or(4, |purpose| purpose as usize)] += US_PER_SECOND;
            }
            if let Some(reason) = was.stop_reason {
                *expected.stopped_us.entry(reason).or_default() += US_PER_SECOND;
            }
            at = at.plus_s(1);
        }
        let row = swept(&case);
        prop_assert_eq!(row.us, expected.us);
        prop_assert_eq!(row.by_purpose_us, expected.by_purpose_us);
        prop_assert_eq!(&row.stopped_us, &expected.stopped_us);
        prop_assert_eq!(row.in_cycle_by_people_us, expected.in_cycle_by_people_us);
        prop_assert_eq!(row.run_overlap_us, expected.run_overlap_us);
        prop_assert_eq!(row.people_and_machine_disagree_us, expected.people_and_machine_disagree_us);
    }

    #[test]
    fn every_second_has_one_category_and_the_parts_add_up(case in case()) {
        let row = swept(&case);
        prop_assert_eq!(row.us.sum(), window(&case).us());
        prop_assert_eq!(row.seconds.sum(), row.window_s);
        prop_assert_eq!(row.by_purpose_s.0.iter().sum::<i64>(), row.seconds.in_cycle());
        prop_assert_eq!(row.by_purpose_us.0.iter().sum::<i64>(), row.us.in_cycle());
        prop_assert!(row.stopped_s.values().sum::<i64>() <= row.seconds[Category::StoppedInRun]);
        prop_assert_eq!(row.down_s.values().sum::<i64>(), row.seconds[Category::Down]);
    }

    #[test]
    fn opened_stretches_follow_each_other_and_add_up_to_the_row(case in case()) {
        let stretches = explain(&marks_of(&case), window(&case), &case.attended, case.as_of, case.silent_after_s);
        let row = swept(&case);
        let (mut us, mut disagree_us) = (ByCategory::default(), 0);
        let mut at = window(&case).from;
        for stretch in stretches {
            prop_assert_eq!(stretch.window.from, at);
            prop_assert!(!stretch.window.is_empty());
            let needs_no_entry = [Category::NotKnown, Category::IdleAttended, Category::IdleUnattended];
            prop_assert!(needs_no_entry.contains(&stretch.category) || !stretch.seqs.is_empty(), "{:?}", stretch);
            us[stretch.category] += stretch.window.us();
            disagree_us += if stretch.people_and_machine_disagree { stretch.window.us() } else { 0 };
            at = stretch.window.to;
        }
        prop_assert_eq!(us, row.us);
        prop_assert_eq!(disagree_us, row.people_and_machine_disagree_us);
    }

    /// Cut anywhere, the parts are the whole; and what was said later than a row changes only what had not been proven.
    #[test]
    fn rows_that_tile_are_the_whole(case in case(), cut in 0..SECONDS) {
        let whole = window(&case);
        let middle = second(cut).min(whole.to).max(whole.from);
        let windows = [Window::new(whole.from, middle), Window::new(middle, whole.to)];
        let rows = sweep(&marks_of(&case), &windows, &case.attended, case.as_of, case.silent_after_s);
        let mut sum = ByCategory::default();
        for row in &rows {
            sum.add(&row.us);
        }
        prop_assert_eq!(sum, swept(&case).us);
    }
}

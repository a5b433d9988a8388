//! What the spindles and the load stations did for one job, operation by operation.

use super::book::{Book, TellsOfRun};
use super::category::Category;
use super::sweep::{PURPOSES_OF_RUNS, Tracks, until};
use crate::ids::{MachineId, RunId, Seq};
use crate::run::Purpose;
use crate::stretches::{JobAct, JobMarks, MachineMarks, Portion, RUN_REACH_S};
use crate::time::{Timestamp, Window};
use std::collections::BTreeMap;

/// The time of one run.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct RunTime {
    /// `None`: its beginning lies too far back to be known.
    pub purpose: Option<Purpose>,
    pub in_cycle_us: i64,
    /// Of that, what only people say.
    pub by_people_us: i64,
    pub stopped_us: i64,
    /// By the routing, as it was when the run began.
    pub planned_us: i64,
    /// Nobody has told its end, and nothing proves it.
    pub is_open: bool,
}

/// Of the runs of a machine that were recorded in the window. Of two at once, the one that began last has the time.
pub fn run_times(
    marks: &MachineMarks,
    window: Window,
    as_of: Timestamp,
    silent_after_s: Option<u32>,
) -> BTreeMap<RunId, RunTime> {
    let mut book = Book::of(marks, as_of);
    let told = book.changes(marks, as_of);
    let mut tracks = Tracks::new(marks, told, &[], as_of, silent_after_s);
    let time = |run: &super::book::Run| RunTime {
        purpose: run.purpose,
        in_cycle_us: 0,
        by_people_us: 0,
        stopped_us: 0,
        planned_us: run.cycle_us,
        is_open: run.end.is_none(),
    };
    let mut times: Vec<_> = book.runs.iter().map(time).collect();
    tracks.walk(until(window, as_of), |stretch, moment| {
        let lead = usize::try_from(moment.told.lead).ok();
        let of_lead = lead.and_then(|lead| times.get_mut(lead));
        let Some(time) = of_lead.filter(|_| moment.told.run != TellsOfRun::Nothing) else {
            return;
        };
        let category = moment.category();
        if category.is_in_cycle() {
            time.in_cycle_us += stretch.us();
            if moment.is_by_people() {
                time.by_people_us += stretch.us();
            }
        } else if category == Category::StoppedInRun {
            time.stopped_us += stretch.us();
        }
    });
    book.runs.iter().map(|run| run.id).zip(times).collect()
}

/// What was done for one operation of a job. Of a mixed load it is the operation's share.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct OperationTime {
    pub setups: u32,
    pub setup_us: i64,
    pub runs: u32,
    /// Of those, runs in which other operations were cut, too.
    pub mixed_runs: u32,
    /// Of those, runs that nothing tells or proves the end of.
    pub open_runs: u32,
    /// Time in cycle, in the order of [`Purpose::ALL`].
    pub in_cycle_us: [i64; PURPOSES_OF_RUNS],
    pub by_people_us: i64,
    pub stopped_us: i64,
    /// What these runs should have taken by the routing; prove-outs apart, which have no plan.
    pub planned_s: i64,
    /// The entries that say which runs and setups these were, sorted.
    pub seqs: Vec<Seq>,
}

impl OperationTime {
    fn add_run(&mut self, time: Option<&RunTime>, portion: Portion, cycle_s: u32) {
        self.runs += 1;
        self.mixed_runs += u32::from(!portion.is_whole());
        let Some(time) = time else { return };
        self.open_runs += u32::from(time.is_open);
        let purpose = time.purpose.unwrap_or(Purpose::Production);
        self.in_cycle_us[purpose as usize] += portion.of(time.in_cycle_us);
        self.by_people_us += portion.of(time.by_people_us);
        self.stopped_us += portion.of(time.stopped_us);
        if purpose != Purpose::ProveOut {
            self.planned_s += i64::from(cycle_s);
        }
    }
}

/// By operation. `times`: of the runs that the job's marks name.
pub fn of_job(job: &JobMarks, times: &BTreeMap<RunId, RunTime>) -> BTreeMap<u16, OperationTime> {
    let mut operations = BTreeMap::<u16, OperationTime>::new();
    for mark in &job.marks {
        let done = operations.entry(mark.operation).or_default();
        done.seqs.extend(job.seq_of(mark));
        match mark.act {
            JobAct::Run { run, cycle_s, .. } => done.add_run(times.get(&run), mark.portion, cycle_s),
            JobAct::Setup { us, .. } => {
                done.setups += 1;
                done.setup_us += mark.portion.of(us);
            }
        }
    }
    for done in operations.values_mut() {
        done.seqs.sort_unstable();
        done.seqs.dedup();
    }
    operations
}

/// For each machine that ran for the job, from the first of its runs there until the last had certainly ended.
pub fn machines_of(job: &JobMarks) -> BTreeMap<MachineId, Window> {
    let mut windows = BTreeMap::<MachineId, Window>::new();
    for mark in &job.marks {
        if let JobAct::Run { machine, .. } = mark.act {
            let to = mark.at.plus_s(RUN_REACH_S);
            let window = windows.entry(machine).or_insert(Window::new(mark.at, to));
            *window = Window::new(window.from.min(mark.at), window.to.max(to));
        }
    }
    windows
}

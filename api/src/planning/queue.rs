//! Who computes plans: this process, one at a time, each on a thread of its own. Where a computation stands is in the
//! database, for whoever asks, in any process.

use super::ground::Ground;
use super::search::{Best, Search, Watch};
use crate::book::{Book, LedgerError};
use serde::Serialize;
use spindlebook_domain::ids::{PlanId, SiteId};
use spindlebook_domain::plan::PublishComputed;
use spindlebook_domain::plan::schedule::{Schedule, compute_with};
use spindlebook_domain::time::{Timestamp, US_PER_SECOND};
use spindlebook_store::computation::{self, Computation, Found, State};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;
use tokio::sync::Semaphore;
use tokio::task::{JoinHandle, JoinSet};
use tokio::time::sleep;

/// How often a computation says where it stands.
const BEAT: Duration = Duration::from_millis(500);
/// After that long without a beat its process has gone.
const GONE_AFTER_S: i64 = 30;
const KEPT: u32 = 200;
/// More than one at a time would only make each later.
const PLANS_AT_ONCE: usize = 1;
const QUESTIONS_AT_ONCE: usize = 2;
const QUESTION_WAITS: Duration = Duration::from_secs(20);
const WRITTEN_AGAIN: u32 = 5;

/// Clones share everything.
#[derive(Clone)]
pub struct Planning {
    book: Book,
    plans: Arc<Semaphore>,
    questions: Arc<Semaphore>,
    running: Arc<Mutex<Running>>,
}

#[derive(Default)]
struct Running {
    tasks: JoinSet<()>,
    watches: Vec<Arc<Watch>>,
}

/// What is to be computed, and for whom.
pub struct Asked {
    pub plan: PlanId,
    pub fingerprint: Vec<u8>,
    pub asked_by: String,
    pub ground: Ground,
    pub search: Search,
    /// What is kept of the schedule, for whoever reads it: JSON.
    pub told: fn(&Told<'_>) -> serde_json::Result<String>,
}

/// A schedule and what it was made from.
pub struct Told<'a> {
    pub ground: &'a Ground,
    pub schedule: &'a Schedule,
    pub best: Option<Best>,
}

/// Whether it is new, or was asked for before under the same key.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Begun {
    Now(Computation),
    Before(Computation),
}

/// Of a computation that is not over: whether nobody is at it any more.
pub fn has_gone(computation: &Computation, now: Timestamp) -> bool {
    computation.ended_at.is_none() && now.since_us(computation.beat_at) > GONE_AFTER_S * US_PER_SECOND
}

#[derive(Serialize)]
struct ProgressJson {
    schedules_built: u64,
    weighted_tardiness_s: i64,
    idle_spindle_s: i64,
    fixture_changes: u32,
    moved_loads: u32,
}

impl Planning {
    pub fn new(book: Book) -> Self {
        Self {
            book,
            plans: Arc::new(Semaphore::new(PLANS_AT_ONCE)),
            questions: Arc::new(Semaphore::new(QUESTIONS_AT_ONCE)),
            running: Arc::default(),
        }
    }

    /// Takes it down and goes on by itself.
    pub async fn begin(&self, site: SiteId, asked: Asked) -> Result<Begun, LedgerError> {
        let now = self.book.now();
        let new = Computation {
            id: asked.plan,
            fingerprint: asked.fingerprint.clone(),
            state: State::Waiting,
            stop_asked: false,
            asked_by: asked.asked_by.clone(),
            asked_at: now,
            beat_at: now,
            ended_at: None,
            progress: None,
            failure: None,
        };
        let mut transaction = self.book.store().begin().await?;
        let is_new = computation::add(&mut transaction, site, &new).await?;
        if !is_new {
            let before = computation::find(&mut transaction, site, asked.plan).await?;
            return Ok(Begun::Before(before.unwrap_or(new)));
        }
        let in_force = asked.ground.shop.current_plan;
        computation::forget(&mut transaction, site, KEPT, in_force).await?;
        transaction.commit().await?;
        let watch = Arc::new(Watch::default());
        let task = Task {
            planning: self.clone(),
            site,
            plan: asked.plan,
            watch: Arc::clone(&watch),
        };
        let mut running = self.running.lock().unwrap_or_else(PoisonError::into_inner);
        while running.tasks.try_join_next().is_some() {}
        running.watches.retain(|watch| Arc::strong_count(watch) > 1);
        running.watches.push(watch);
        running.tasks.spawn(task.run(asked));
        Ok(Begun::Now(new))
    }

    /// Something that is answered while the caller waits, on a thread of its own. `None`: too many ask.
    pub async fn answer<T: Send + 'static>(&self, work: impl FnOnce() -> T + Send + 'static) -> Option<T> {
        let permit = tokio::time::timeout(QUESTION_WAITS, Arc::clone(&self.questions).acquire_owned());
        let permit = permit.await.ok()?.ok()?;
        let done = tokio::task::spawn_blocking(move || {
            let answer = work();
            drop(permit);
            answer
        });
        done.await
            .inspect_err(|error| tracing::error!(%error, "a question about plans ended in a fault: {error}"))
            .ok()
    }

    /// Ends what is being computed, each with the best that it has.
    pub async fn stop(&self) {
        let (mut tasks, watches) = {
            let mut running = self.running.lock().unwrap_or_else(PoisonError::into_inner);
            (
                std::mem::take(&mut running.tasks),
                std::mem::take(&mut running.watches),
            )
        };
        for watch in watches {
            watch.stop();
        }
        while tasks.join_next().await.is_some() {}
    }
}

/// One computation under way.
struct Task {
    planning: Planning,
    site: SiteId,
    plan: PlanId,
    watch: Arc<Watch>,
}

impl Task {
    async fn run(self, asked: Asked) {
        let mut turn = Box::pin(Arc::clone(&self.planning.plans).acquire_owned());
        let permit = loop {
            tokio::select! {
                permit = &mut turn => break permit,
                () = sleep(BEAT) => self.beat(State::Waiting).await,
            }
        };
        let watch = Arc::clone(&self.watch);
        let plan = self.plan;
        let mut work = tokio::task::spawn_blocking(move || compute(&asked, plan, &watch));
        let ended = self.until_done(&mut work).await;
        drop(permit);
        self.keep(ended).await;
    }

    async fn until_done(&self, work: &mut JoinHandle<Result<Found, String>>) -> Result<Found, String> {
        self.beat(State::Running).await;
        loop {
            tokio::select! {
                done = &mut *work => return done.unwrap_or_else(|error| Err(of_fault(&error))),
                () = sleep(BEAT) => self.beat(State::Running).await,
            }
        }
    }

    async fn beat(&self, state: State) {
        let progress = self.watch.best().map(progress_json);
        let beat = async {
            let mut transaction = self.planning.book.store().begin().await?;
            let now = self.planning.book.now();
            let told = (state, progress.as_deref());
            let stop = computation::beat(&mut transaction, self.site, self.plan, now, told).await?;
            transaction.commit().await?;
            Ok::<_, LedgerError>(stop)
        };
        match beat.await {
            Ok(true) => self.watch.stop(),
            Ok(false) => {}
            Err(error) => {
                tracing::warn!(plan = %self.plan, %error, "where a computation stands could not be written: {error}");
            }
        }
    }

    /// A database that is away for a moment costs no plan.
    async fn keep(&self, ended: Result<Found, String>) {
        let progress = self.watch.best().map(progress_json).unwrap_or_default();
        for again in 1..=WRITTEN_AGAIN {
            let written = async {
                let mut transaction = self.planning.book.store().begin().await?;
                let now = self.planning.book.now();
                let ended = ended.as_ref().map_err(String::as_str);
                let ended = ended.map(|found| (found, progress.as_str()));
                computation::end(&mut transaction, self.site, self.plan, now, ended).await?;
                transaction.commit().await?;
                Ok::<_, LedgerError>(())
            };
            match written.await {
                Ok(()) => return,
                Err(error) => {
                    tracing::error!(plan = %self.plan, %error, "a plan could not be written: {error}");
                    sleep(BEAT * again).await;
                }
            }
        }
    }
}

fn of_fault(error: &dyn std::fmt::Display) -> String {
    tracing::error!(%error, "a plan ended in a fault: {error}");
    "the service failed; its log says why".to_owned()
}

fn compute(asked: &Asked, plan: PlanId, watch: &Watch) -> Result<Found, String> {
    let ground = &asked.ground;
    let computed = asked.search.run(watch, |effort| {
        let mut note = |progress: spindlebook_domain::plan::search::Progress<'_, _>| watch.note(&progress);
        compute_with(
            &ground.shop,
            &ground.site,
            &ground.options,
            ground.now,
            effort,
            &mut note,
        )
    });
    let schedule = computed.map_err(|faults| {
        let first = faults.first().map(ToString::to_string).unwrap_or_default();
        tracing::error!(%plan, faults = faults.len(), "a plan broke {} rules, the first: {first}", faults.len());
        format!("no plan that keeps all rules was found ({first})")
    })?;
    let told = Told {
        ground,
        schedule: &schedule,
        best: watch.best(),
    };
    let result = (asked.told)(&told).map_err(|error| of_fault(&error))?;
    let publish = Publishable::of(&schedule);
    Ok(Found {
        result,
        plan: serde_json::to_string(&publish).map_err(|error| of_fault(&error))?,
    })
}

fn progress_json(best: Best) -> String {
    let json = ProgressJson {
        schedules_built: best.iterations,
        weighted_tardiness_s: best.cost.first,
        idle_spindle_s: best.cost.second,
        fixture_changes: best.cost.changes,
        moved_loads: best.cost.moved,
    };
    serde_json::to_string(&json).unwrap_or_default()
}

/// What goes into the ledger if it is published.
#[derive(Serialize, serde::Deserialize)]
pub struct Publishable {
    slots: Vec<spindlebook_domain::plan::Slot>,
    loads: Vec<spindlebook_domain::plan::PlannedLoad>,
    lines: Vec<spindlebook_domain::plan::PlannedLine>,
}

impl Publishable {
    pub fn of(schedule: &Schedule) -> Self {
        Self {
            slots: schedule.slots(),
            loads: schedule.planned_loads(),
            lines: schedule.planned_lines(),
        }
    }

    pub fn slots(&self) -> &[spindlebook_domain::plan::Slot] {
        &self.slots
    }

    pub fn into_command(self, plan: PlanId) -> PublishComputed {
        PublishComputed {
            plan,
            slots: self.slots,
            loads: self.loads,
            lines: self.lines,
        }
    }
}

//! From an order to a schedule: the person always does what can be done first, unloading before clamping, and clamps the
//! first load of the order that has a pallet and a fixture. The spindle takes loads as they were clamped.

use super::{Pool, Times};

/// A load as the builder walks over it.
#[derive(Clone, Copy)]
struct Row {
    setup: i64,
    cut: i64,
    unload: i64,
    due: i64,
    weight: i64,
    release: i64,
    kind: usize,
}

impl Row {
    /// If unloading begins at that minute.
    fn tardiness(&self, unload_at: i64) -> i64 {
        self.weight * (unload_at + self.unload - self.due).max(0)
    }
}

/// A clamped load that waits for its end: when its cut ends, and which it is.
#[derive(Clone, Copy, Default)]
struct Waiting {
    cut_end: i64,
    load: u32,
}

enum Step {
    Setup,
    Cut,
    Unload,
}

/// Behind the last place of each kind.
const NONE: u32 = u32::MAX;

pub struct Scratch {
    rows: Vec<Row>,
    /// The loads of each kind in the order, each kind from its `base` on, closed by `NONE`: place and load.
    queues: Vec<(u32, u32)>,
    base: Vec<usize>,
    heads: Vec<usize>,
    free: Vec<usize>,
    waiting: Vec<Waiting>,
}

impl Scratch {
    pub fn new(pool: &Pool) -> Self {
        let rows = pool.loads.iter().map(|load| Row {
            setup: load.setup,
            cut: load.cut,
            unload: load.unload,
            due: load.due,
            weight: load.weight,
            release: load.release,
            kind: load.kind,
        });
        let mut base = Vec::new();
        let mut next = 0;
        for kind in 0..pool.copies.len() {
            base.push(next);
            next += pool.loads.iter().filter(|load| load.kind == kind).count() + 1;
        }
        Self {
            rows: rows.collect(),
            queues: vec![(NONE, NONE); next],
            heads: base.clone(),
            base,
            free: pool.copies.clone(),
            waiting: vec![Waiting::default(); pool.loads.len()],
        }
    }

    /// Weighted tardiness of the schedule of the order, unless it is above the limit.
    #[expect(clippy::cast_possible_truncation, reason = "far beyond any tardiness")]
    pub fn cost(&mut self, pool: &Pool, order: &[u32], limit: f64) -> Option<i64> {
        let limit = limit.min(1e18) as i64;
        self.walk(pool, order, limit, &mut |_, _, _| {})
    }

    /// When each load is touched, by the number of the load.
    pub fn times(&mut self, pool: &Pool, order: &[u32]) -> Vec<Times> {
        let mut times = vec![Times::default(); order.len()];
        self.walk(pool, order, i64::MAX, &mut |load, step, at| {
            let times = &mut times[load as usize];
            match step {
                Step::Setup => times.setup_start = at,
                Step::Cut => times.cut_start = at,
                Step::Unload => times.unload_start = at,
            }
        });
        times
    }

    fn queue_up(&mut self, order: &[u32]) {
        self.heads.copy_from_slice(&self.base);
        for (place, &load) in (0..).zip(order) {
            let head = &mut self.heads[self.rows[load as usize].kind];
            self.queues[*head] = (place, load);
            *head += 1;
        }
        self.heads.copy_from_slice(&self.base);
    }

    /// The first load of the order for which a fixture is free: its place, itself, its kind.
    fn first_with_fixture(&self) -> (u32, u32, usize) {
        let mut first = (NONE, NONE, 0);
        for (kind, (&head, &free)) in self.heads.iter().zip(&self.free).enumerate() {
            let (place, load) = self.queues[head];
            if free > 0 && place < first.0 {
                first = (place, load, kind);
            }
        }
        first
    }

    fn walk(
        &mut self,
        pool: &Pool,
        order: &[u32],
        limit: i64,
        told: &mut impl FnMut(u32, Step, i64),
    ) -> Option<i64> {
        self.queue_up(order);
        self.free.copy_from_slice(&pool.copies);
        let mut person = Person::new(pool);
        let (mut spindle_free, mut pallets, mut tardiness) = (pool.start, pool.pallets, 0);
        let (mut clamped, mut unloaded) = (0, 0);
        let loads = order.len();
        while unloaded < loads {
            let next = if pallets > 0 {
                self.first_with_fixture()
            } else {
                (NONE, NONE, 0)
            };
            let oldest = (unloaded < clamped).then(|| self.waiting[unloaded]);
            let unload_at = oldest.map(|waiting| {
                let minutes = self.rows[waiting.load as usize].unload;
                person.next(waiting.cut_end, minutes)
            });
            if next.0 != NONE {
                let row = self.rows[next.1 as usize];
                let at = person.next(row.release, row.setup);
                if unload_at.is_none_or(|unload_at| at < unload_at) {
                    person.work(at, row.setup);
                    told(next.1, Step::Setup, at);
                    spindle_free = spindle_free.max(at + row.setup) + row.cut;
                    told(next.1, Step::Cut, spindle_free - row.cut);
                    self.waiting[clamped] = Waiting {
                        cut_end: spindle_free,
                        load: next.1,
                    };
                    // It will be at least so late: known now, it ends a bad schedule sooner.
                    tardiness += row.tardiness(spindle_free);
                    if tardiness > limit {
                        return None;
                    }
                    clamped += 1;
                    pallets -= 1;
                    self.free[next.2] -= 1;
                    self.heads[next.2] += 1;
                    continue;
                }
            }
            let (Some(waiting), Some(at)) = (oldest, unload_at) else {
                return None;
            };
            let row = self.rows[waiting.load as usize];
            person.work(at, row.unload);
            told(waiting.load, Step::Unload, at);
            unloaded += 1;
            pallets += 1;
            self.free[row.kind] += 1;
            tardiness += row.tardiness(at) - row.tardiness(waiting.cut_end);
            if tardiness > limit {
                return None;
            }
        }
        Some(tardiness)
    }
}

/// The one person: free from `now` on, in the window `window` or later.
struct Person<'a> {
    attended: &'a [(i64, i64)],
    window: usize,
    now: i64,
}

impl<'a> Person<'a> {
    fn new(pool: &'a Pool) -> Self {
        Self {
            attended: &pool.attended,
            window: 0,
            now: pool.start,
        }
    }

    /// The first minute, not before `from`, at which so much work fits into one window.
    fn next(&self, from: i64, minutes: i64) -> i64 {
        let from = from.max(self.now);
        for &(begin, end) in &self.attended[self.window..] {
            let at = from.max(begin);
            if at + minutes <= end {
                return at;
            }
        }
        from.max(NEVER)
    }

    fn work(&mut self, at: i64, minutes: i64) {
        self.now = at + minutes;
        while self
            .attended
            .get(self.window)
            .is_some_and(|window| window.1 <= self.now)
        {
            self.window += 1;
        }
    }
}

/// Work that fits into no window is done then, so that its tardiness tells.
const NEVER: i64 = 100_000_000;

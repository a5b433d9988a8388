//! Closed rows that were computed before. They are used again only while everything that they rest on is the same.

use super::load::After;
use spindlebook_domain::hours::MachineRow;
use spindlebook_domain::hours::rows::{By, DayRule};
use spindlebook_domain::ids::{MachineId, Seq, SiteId};
use spindlebook_domain::time::{Timestamp, Window};
use std::collections::HashMap;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// Some 100 MB. A year of eight machines by day has 3,000.
const ROWS_MAX: usize = 200_000;

/// Which rows: of one machine, from the request's beginning on.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Key {
    pub site: SiteId,
    pub machine: MachineId,
    pub by: By,
    pub rule: DayRule,
    pub from: Timestamp,
}

/// What the rows rest on, apart from marks and plans.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Ground {
    /// The site's zone stands in its newest change.
    pub site_seq: Seq,
    /// The cell's own calendar or the site's, and its newest change.
    pub is_own_calendar: bool,
    pub calendar_seq: Seq,
    pub silent_after_s: Option<u32>,
    /// The marks were read after so many rebuilds of the read tables.
    pub rebuilds: i64,
}

#[derive(Clone, Debug)]
pub struct Rows {
    pub windows: Arc<[Window]>,
    pub figures: Arc<[MachineRow]>,
    pub ground: Ground,
    /// How many plans had been published before the last row ended.
    pub plans: usize,
    /// What comes after the last row and still reaches back.
    pub after: After,
    /// The newest entry among the marks that the rows rest on.
    pub marks_seq: Seq,
    /// Nothing had touched the rows when the ledger was here.
    pub valid_at: Seq,
}

impl Rows {
    pub fn window(&self) -> Option<Window> {
        Some(Window::new(self.windows.first()?.from, self.windows.last()?.to))
    }
}

#[derive(Debug, Default)]
pub struct Kept(Mutex<Shelf>);

#[derive(Debug, Default)]
struct Shelf {
    entries: HashMap<Key, Entry>,
    rows: usize,
    /// Counts the uses, to tell which entry has not been used for longest.
    ticks: u64,
}

#[derive(Debug)]
struct Entry {
    rows: Rows,
    used: u64,
}

impl Kept {
    pub fn find(&self, key: &Key, ground: Ground) -> Option<Rows> {
        let mut held = self.shelf();
        let tick = held.tick();
        let entry = held
            .entries
            .get_mut(key)
            .filter(|entry| entry.rows.ground == ground)?;
        entry.used = tick;
        Some(entry.rows.clone())
    }

    pub fn put(&self, key: Key, rows: Rows) {
        let mut held = self.shelf();
        let tick = held.tick();
        held.rows += rows.figures.len();
        if let Some(old) = held.entries.insert(key, Entry { rows, used: tick }) {
            held.rows -= old.rows.figures.len();
        }
        if held.rows > ROWS_MAX {
            held.make_room();
        }
    }

    /// The rows were looked at again and nothing had touched them.
    pub fn still_valid(&self, key: &Key, marks_seq: Seq, at: Seq) {
        if let Some(entry) = self.shelf().entries.get_mut(key)
            && entry.rows.marks_seq == marks_seq
        {
            entry.rows.valid_at = entry.rows.valid_at.max(at);
        }
    }

    fn shelf(&self) -> MutexGuard<'_, Shelf> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Shelf {
    fn tick(&mut self) -> u64 {
        self.ticks += 1;
        self.ticks
    }

    /// Half of it at once, so that it is not done for every new row.
    fn make_room(&mut self) {
        let mut last_uses: Vec<_> = self.entries.values().map(|entry| entry.used).collect();
        last_uses.sort_unstable();
        let oldest_kept = last_uses.get(last_uses.len() / 2).copied().unwrap_or(u64::MAX);
        self.entries.retain(|_, entry| entry.used > oldest_kept);
        self.rows = self.entries.values().map(|entry| entry.rows.figures.len()).sum();
    }
}

//! A year of machine states, computed stage by stage. The other side of the comparison reads the same file.
//!
//! One line on standard input asks for one round, one line of JSON on standard output answers: whoever measures
//! alternates between us and the other side.

use crate::workload::three_shifts;
use anyhow::{Context, Result, bail};
use chrono_tz::Tz;
use serde_json::json;
use spindlebook_domain::actor::Actor;
use spindlebook_domain::calendar::{CalendarVersions, attended, staffed};
use spindlebook_domain::entry::EntryMeta;
use spindlebook_domain::event::Event;
use spindlebook_domain::hours::rows::{By, Cut, DayRule, Row, rows};
use spindlebook_domain::hours::{CellInput, HoursReport, MachineInput, Plans, report, sweep};
use spindlebook_domain::ids::MachineId;
use spindlebook_domain::machine::{SIGNAL_ROWS_PER_ENTRY_MAX, SignalsReceived};
use spindlebook_domain::machine_state::MachineState;
use spindlebook_domain::shop::Shop;
use spindlebook_domain::stretches::{DayMarks, MachineMarks, StretchDays};
use spindlebook_domain::time::{Timestamp, US_PER_SECOND, Window};
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::fs;
use std::io::{BufRead, Write as _, stdin, stdout};
use std::path::Path;
use std::time::Instant;
use uuid::Uuid;

const ZONE: Tz = chrono_tz::Europe::Berlin;
/// How often a device posts what it has seen.
const POSTED_EVERY_US: i64 = 3_600 * US_PER_SECOND;
/// A row of the file: instant as i64, machine and state code as a byte each.
const ROW_BYTES: usize = 10;

pub struct Year {
    window: Window,
    calendar: CalendarVersions,
    machines: Vec<(MachineId, Vec<Packed>)>,
    transitions: usize,
}

/// A row of the store, in its packed form.
type Packed = Vec<u8>;

struct Decoded {
    rows: Vec<Row>,
    staffed: Vec<Window>,
    attended: Vec<Window>,
    marks: Vec<(MachineId, MachineMarks)>,
}

/// Serves rounds until standard input ends. The figures go to `figures` once, to be held against the other side's.
pub fn serve(states: &Path, figures: &Path, from: i64, to: i64) -> Result<()> {
    let year = Year::read(states, Window::new(Timestamp(from), Timestamp(to)))?;
    let decoded = year.decode()?;
    write_figures(&decoded, year.window.to, figures)?;
    let entries: usize = decoded.marks.iter().map(|(_, marks)| marks.sources.len()).sum();
    drop(decoded);
    let bytes: usize = year
        .machines
        .iter()
        .flat_map(|(_, days)| days)
        .map(Vec::len)
        .sum();
    let days: usize = year.machines.iter().map(|(_, days)| days.len()).sum();
    say(
        &json!({ "transitions": year.transitions, "stored_rows": days, "stored_bytes": bytes, "entries": entries }),
    )?;
    for line in stdin().lock().lines() {
        line?;
        say(&year.round()?)?;
    }
    Ok(())
}

fn say(answer: &serde_json::Value) -> Result<()> {
    println!("{answer}");
    Ok(stdout().flush()?)
}

impl Year {
    /// Folds the file into marks the way the ledger does: entry by entry, then packs them the way the store does.
    fn read(states: &Path, window: Window) -> Result<Self> {
        let bytes = fs::read(states).with_context(|| format!("cannot read {}", states.display()))?;
        let mut by_machine = BTreeMap::<u8, Vec<(Timestamp, MachineState)>>::new();
        for row in bytes.chunks_exact(ROW_BYTES) {
            let at = i64::from_le_bytes(row[..8].try_into()?);
            let state = MachineState::from_code(row[9]).context("the file holds an unknown state")?;
            by_machine.entry(row[8]).or_default().push((Timestamp(at), state));
        }
        let mut machines = Vec::new();
        let mut seq = 0;
        for (number, rows) in by_machine {
            let machine = MachineId(Uuid::from_u128(u128::from(number)));
            machines.push((machine, packed(machine, &rows, &mut seq)?));
        }
        let calendar = BTreeMap::from([three_shifts()?]).into();
        let transitions = bytes.len() / ROW_BYTES;
        Ok(Self {
            window,
            calendar,
            machines,
            transitions,
        })
    }

    /// Times each stage for itself.
    fn round(&self) -> Result<serde_json::Value> {
        let as_of = self.window.to;
        let mut clock = Instant::now();
        let mut lap = || {
            let ms = clock.elapsed().as_secs_f64() * 1_000.0;
            clock = Instant::now();
            ms
        };
        let mut unpacked = Vec::new();
        for (machine, days) in &self.machines {
            unpacked.push((*machine, unpack(days)?));
        }
        let unpack_ms = lap();
        let marks = unpacked
            .into_iter()
            .map(|(machine, days)| (machine, MachineMarks::from_rows(days)))
            .collect();
        let assemble_ms = lap();
        let decoded = self.with_rows(marks);
        let rows_ms = lap();
        let windows: Vec<_> = decoded.rows.iter().map(|row| row.window).collect();
        let swept: Vec<_> = decoded
            .marks
            .iter()
            .map(|(_, marks)| sweep(marks, &windows, &decoded.attended, as_of, None))
            .collect();
        let sweep_ms = lap();
        let report = decoded.report(as_of);
        let report_ms = lap();
        // Something must depend on both, or the optimiser may leave them out.
        let swept_us: i64 = swept.iter().flatten().map(|row| row.us.in_cycle()).sum();
        if swept_us / US_PER_SECOND < report.total.realised_s() / 2 {
            bail!("the sweep and the report disagree");
        }
        Ok(json!({
            "unpack_ms": unpack_ms, "assemble_ms": assemble_ms, "rows_ms": rows_ms,
            "sweep_ms": sweep_ms, "report_ms": report_ms,
        }))
    }

    fn decode(&self) -> Result<Decoded> {
        let machines = self.machines.iter();
        let marks: Result<_> = machines
            .map(|(machine, days)| Ok((*machine, MachineMarks::from_rows(unpack(days)?))))
            .collect();
        Ok(self.with_rows(marks?))
    }

    fn with_rows(&self, marks: Vec<(MachineId, MachineMarks)>) -> Decoded {
        let (calendar, zone) = (&self.calendar, ZONE);
        let cut = Cut {
            calendar,
            zone,
            by: By::Shift,
            rule: DayRule::ShiftDate,
        };
        Decoded {
            rows: rows(&cut, self.window, self.window.to),
            staffed: staffed(calendar, zone, self.window),
            attended: attended(calendar, zone, self.window),
            marks,
        }
    }
}

impl Decoded {
    fn report(&self, as_of: Timestamp) -> HoursReport {
        let machines: Vec<_> = self
            .marks
            .iter()
            .map(|(machine, marks)| MachineInput {
                machine: *machine,
                marks,
                silent_after_s: None,
            })
            .collect();
        let plans = Plans::default();
        let cell = CellInput {
            staffed: &self.staffed,
            attended: &self.attended,
            plans: &plans,
            machines: &machines,
        };
        report(self.rows.clone(), &cell, as_of)
    }
}

/// In the batches in which a device would post them.
fn packed(machine: MachineId, rows: &[(Timestamp, MachineState)], seq: &mut u64) -> Result<Vec<Packed>> {
    let (mut shop, mut days) = (Shop::default(), StretchDays::whole());
    let hour_of = |row: &(Timestamp, MachineState)| row.0.us() / POSTED_EVERY_US;
    for hour in rows.chunk_by(|one, next| hour_of(one) == hour_of(next)) {
        for batch in hour.chunks(SIGNAL_ROWS_PER_ENTRY_MAX) {
            *seq += 1;
            let recorded_at = Timestamp((hour_of(&batch[0]) + 1) * POSTED_EVERY_US);
            let received = SignalsReceived::pack(machine, 0, batch).context("a batch has rows")?;
            let meta = EntryMeta {
                seq: *seq,
                occurred_at: recorded_at,
                recorded_at,
                actor: Actor::System,
            };
            let marks = shop.fold(&Event::from(received), &meta);
            days.apply_marks(marks, &meta)?;
        }
    }
    let parts = days.iter().flat_map(|(_, marks)| marks.parts_after(0));
    parts.map(|(_, part)| Ok(postcard::to_stdvec(&part)?)).collect()
}

fn unpack(days: &[Packed]) -> Result<Vec<DayMarks>> {
    days.iter().map(|day| Ok(postcard::from_bytes(day)?)).collect()
}

/// A line for each row and machine: when its whole shift begins, the machine's number, in cycle to the microsecond as
/// the sweep has it and to the second as the report says it.
fn write_figures(decoded: &Decoded, as_of: Timestamp, to: &Path) -> Result<()> {
    let windows: Vec<_> = decoded.rows.iter().map(|row| row.window).collect();
    let report = decoded.report(as_of);
    let mut text = String::new();
    for (position, (machine, marks)) in decoded.marks.iter().enumerate() {
        let swept = sweep(marks, &windows, &decoded.attended, as_of, None);
        for (row, swept) in report.rows.iter().zip(swept) {
            let (from, us) = (row.row.whole.from.us(), swept.us.in_cycle());
            let said_s = row.machines[position].figures.realised_s();
            writeln!(text, "{from},{},{us},{said_s}", machine.0.as_u128())?;
        }
    }
    fs::write(to, text).with_context(|| format!("cannot write {}", to.display()))
}

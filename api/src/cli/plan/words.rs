//! Plans in words, for people who read a terminal. Times are those of the site's wall clock.

use crate::cli::hours_table::{Align, Table, hours_and_minutes};
use crate::http::instant::Instant;
use crate::http::plans::schedule_dto::{LeftOutDto, PlannedPiecesDto, ScheduledLineDto, ScheduledLoadDto};
use crate::http::site::WindowDto;
use chrono_tz::Tz;
use spindlebook_domain::local_time::local_instant;

/// A wall clock that always says the day: plans go over many.
#[derive(Clone, Copy)]
pub struct WallClock(pub Tz);

impl WallClock {
    pub fn at(self, at: Instant) -> String {
        local_instant(self.0, at.0)
            .local
            .format("%a %d.%m. %H:%M")
            .to_string()
    }

    pub fn at_or(self, at: Option<Instant>, otherwise: &str) -> String {
        at.map_or_else(|| otherwise.to_owned(), |at| self.at(at))
    }

    /// The day of the end is said where it is another one.
    pub fn window(self, window: Option<&WindowDto>) -> String {
        let Some(window) = window else {
            return String::new();
        };
        let local = |at: Instant| local_instant(self.0, at.0).local;
        let (from, to) = (local(window.from), local(window.to));
        let form = if from.date() == to.date() {
            "%H:%M"
        } else {
            "%a %H:%M"
        };
        format!("{}-{}", self.at(window.from), to.format(form))
    }
}

pub fn pieces(pieces: &[PlannedPiecesDto]) -> String {
    let one = |one: &PlannedPiecesDto| {
        let rework = if one.is_rework { " rework" } else { "" };
        format!("{} x {}/{}{rework}", one.pieces, one.job_code, one.operation)
    };
    pieces.iter().map(one).collect::<Vec<_>>().join(", ")
}

pub fn loads(loads: &[ScheduledLoadDto], clock: WallClock) -> String {
    let heads = [
        "machine",
        "pallet",
        "fixture",
        "pieces",
        "clamp",
        "cut",
        "waits for",
    ];
    let mut table = Table::new(heads.map(|head| (head, "", Align::Left)));
    for load in loads {
        let machine = load.machine_code.as_ref();
        let fixture = load.copy_code.as_ref().or(load.fixture_code.as_ref());
        table.row(vec![
            machine.map_or_else(|| "(taken off)".to_owned(), ToString::to_string),
            load.pallet_code.clone(),
            fixture.map(ToString::to_string).unwrap_or_default(),
            pieces(&load.pieces),
            clock.window(load.load_at.as_ref()),
            clock.window(load.run_at.as_ref()),
            note(load),
        ]);
    }
    table.to_string()
}

fn note(load: &ScheduledLoadDto) -> String {
    let held = load
        .held_as
        .map(|kind| format!("then held ({kind})").replace('_', " "));
    let waits = load.waits_for.as_ref().map(|reason| reason.text.clone());
    let frozen = load.is_frozen.then(|| "stays as it is".to_owned());
    [waits, frozen, held]
        .into_iter()
        .flatten()
        .collect::<Vec<_>>()
        .join("; ")
}

pub fn lines(lines: &[ScheduledLineDto], clock: WallClock) -> String {
    let mut table = Table::new(["line", "due", "there"].map(|head| (head, "", Align::Left)));
    table.column("late", "h", Align::Right);
    for line in lines {
        table.row(vec![
            format!("{}/{}", line.order_code, line.line),
            clock.at_or(line.due, "-"),
            clock.at_or(line.complete, "not by this plan"),
            if line.late_s > 0 {
                hours_and_minutes(line.late_s)
            } else {
                String::new()
            },
        ]);
    }
    table.to_string()
}

/// Loads of the same work with the same reason in one line.
pub fn left_out(left_out: &[LeftOutDto]) -> String {
    let mut lines: Vec<(String, &str, usize, u32)> = Vec::new();
    for load in left_out {
        let name = |one: &PlannedPiecesDto| format!("{}/{}", one.job_code, one.operation);
        let work = load.pieces.iter().map(name).collect::<Vec<_>>().join(", ");
        let (why, pieces) = (
            load.because.text.as_str(),
            load.pieces.iter().map(|one| one.pieces).sum::<u32>(),
        );
        match lines.iter_mut().find(|line| line.0 == work && line.1 == why) {
            Some(line) => (line.2, line.3) = (line.2 + 1, line.3 + pieces),
            None => lines.push((work, why, 1, pieces)),
        }
    }
    let mut table = Table::new([("work", "", Align::Left)]);
    for head in ["loads", "pieces"] {
        table.column(head, "", Align::Right);
    }
    table.column("because of", "", Align::Left);
    for (work, why, loads, pieces) in lines {
        table.row(vec![work, loads.to_string(), pieces.to_string(), why.to_owned()]);
    }
    table.to_string()
}

//! What stands before the figures: which row it is, by the clock on the wall.

use super::Line;
use chrono_tz::Tz;
use spindlebook_domain::hours::rows::{Row, RowKind};
use spindlebook_domain::local_time::local_instant;

pub struct Names {
    pub heads: Vec<&'static str>,
    pub rows: Vec<Vec<String>>,
}

pub fn of(lines: &[Line], zone: Tz) -> Names {
    let is_by_shift = lines
        .iter()
        .any(|line| matches!(line.row.kind, RowKind::Shift | RowKind::Gap));
    let has_owners = lines.iter().any(|line| line.of.is_some());
    let mut heads = match lines.first().map(|line| line.row.kind) {
        Some(RowKind::Month) => vec!["month"],
        Some(RowKind::Week) => vec!["week"],
        Some(RowKind::Day) => vec!["day", ""],
        _ if is_by_shift => vec!["shift date", "", "shift", "from – to"],
        _ => vec!["row"],
    };
    if has_owners {
        heads.push("of");
    }
    let rows = lines.iter().map(|line| {
        let mut name = name(line.row, zone);
        if has_owners {
            name.push(line.of.unwrap_or_default().to_owned());
        }
        name
    });
    Names {
        rows: rows.collect(),
        heads,
    }
}

fn name(row: &Row, zone: Tz) -> Vec<String> {
    let weekday = row.date.format("%a").to_string();
    match row.kind {
        RowKind::Shift | RowKind::Gap => {
            vec![
                row.date.to_string(),
                weekday,
                row.name.clone(),
                wall_times(row, zone),
            ]
        }
        RowKind::Day => vec![row.name.clone(), weekday],
        RowKind::Week | RowKind::Month => vec![row.name.clone()],
    }
}

/// `22:00 – 06:00 +1`: how many days later it ends stands behind it. Of a gap that began some days before what is
/// shown of it, the day stands in front.
fn wall_times(row: &Row, zone: Tz) -> String {
    let (from, to) = (
        local_instant(zone, row.window.from).local,
        local_instant(zone, row.window.to).local,
    );
    let days = (to.date() - from.date()).num_days();
    let later = if days == 0 {
        String::new()
    } else {
        format!(" +{days}")
    };
    let begins = if from.date() == row.date {
        "%H:%M"
    } else {
        "%a %d %b %H:%M"
    };
    format!("{} – {}{later}", from.format(begins), to.format("%H:%M"))
}

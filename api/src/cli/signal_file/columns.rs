//! Which column holds what.

use super::fault::{Fault, Faults};
use csv::StringRecord;

pub const REMEDY: &str = "the first line must name the columns: timestamp,state";

/// What loggers call the two, where it cannot be read as a misspelling.
const OTHER_NAMES: [(&str, &[&str]); 2] = [
    (
        "timestamp",
        &["time", "datetime", "date_time", "date", "ts", "at", "occurred_at"],
    ),
    (
        "state",
        &["status", "execution", "value", "event", "mode", "machine_state"],
    ),
];

#[derive(Clone, Debug)]
pub struct Columns {
    pub count: usize,
    /// Position and name.
    pub timestamp: (usize, String),
    pub state: (usize, String),
    pub unused: Vec<String>,
}

impl Columns {
    /// The two columns may stand anywhere among others. Their names are taken to the letter; a near one is a hint.
    pub fn find(header: &StringRecord) -> Result<Self, Faults> {
        let names: Vec<_> = header.iter().map(str::trim).collect();
        let mut faults = Faults::default();
        let mut find = |name: &str| {
            let mut places = names.iter().enumerate().filter(|(_, given)| **given == name);
            let found = places.next().map(|(position, _)| position);
            if let (Some(_), Some((second, _))) = (found, places.next()) {
                faults.push(Fault::header(
                    name,
                    format!("stands twice, again as column {}: keep one", second + 1),
                ));
            } else if found.is_none() {
                faults.push(Fault::header(name, missing(name, &names)));
            }
            (found.unwrap_or_default(), name.to_owned())
        };
        let (timestamp, state) = (find("timestamp"), find("state"));
        let is_unused = |(position, _): &(usize, &&str)| ![timestamp.0, state.0].contains(position);
        let unused = names
            .iter()
            .enumerate()
            .filter(is_unused)
            .map(|(_, name)| (*name).to_owned())
            .collect();
        faults.or(Self {
            count: names.len(),
            timestamp,
            state,
            unused,
        })
    }
}

/// Spreadsheets of half of Europe separate with semicolons.
pub fn delimiter(text: &str) -> u8 {
    let header = text.lines().next().unwrap_or_default();
    let other = b";\t".iter().find(|other| header.as_bytes().contains(other));
    match other {
        Some(other) if !header.contains(',') => *other,
        _ => b',',
    }
}

fn missing(name: &str, names: &[&str]) -> String {
    let others = OTHER_NAMES
        .iter()
        .find(|(known, _)| *known == name)
        .map_or(&[][..], |(_, others)| others);
    let is_near = |given: &&&str| {
        let given = given.to_ascii_lowercase();
        given == name || others.contains(&given.as_str()) || distance(&given, name) <= 2
    };
    match names.iter().find(is_near) {
        Some(near) => format!("there is no such column; is it `{near}`? Then rename that to `{name}`"),
        None => format!("there is no such column; {REMEDY}"),
    }
}

/// Letters to change, add or take out (Levenshtein), for hints only.
fn distance(one: &str, other: &str) -> usize {
    let other: Vec<_> = other.chars().collect();
    let mut row: Vec<usize> = (0..=other.len()).collect();
    for (i, a) in one.chars().enumerate() {
        let mut diagonal = std::mem::replace(&mut row[0], i + 1);
        for (j, b) in other.iter().enumerate() {
            let changed = diagonal + usize::from(a != *b);
            diagonal = row[j + 1];
            row[j + 1] = changed.min(diagonal + 1).min(row[j] + 1);
        }
    }
    row[other.len()]
}

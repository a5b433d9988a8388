//! Hours as people like to read them: realised in hours to two digits, the rest in hours and minutes, every
//! percentage under the name of its denominator, and the totals made from seconds, never from rounded rows.

mod columns;
mod layout;
mod row_names;
#[cfg(test)]
mod tests;
mod written;

pub use layout::{Align, Table};
pub use written::{count, hours_and_minutes};

use chrono_tz::Tz;
use columns::Column;
use spindlebook_domain::hours::rows::Row;
use spindlebook_domain::hours::{Category, Figures};
use spindlebook_domain::run::Purpose;

/// What is known beside the machine's own word, and therefore has columns.
#[derive(Clone, Copy, Debug)]
pub struct Known {
    /// A shift calendar: attended and unattended are told apart, and there are staffed hours.
    pub calendar: bool,
    pub plans: bool,
}

/// A row of the report with the figures to show for it.
#[derive(Clone, Copy, Debug)]
pub struct Line<'a> {
    pub row: &'a Row,
    /// Whose figures they are, where a row has several.
    pub of: Option<&'a str>,
    pub figures: &'a Figures,
}

/// The table and, below it, what its words mean.
pub fn write(lines: &[Line], total: &Figures, zone: Tz, known: Known) -> String {
    let columns = columns::of(total, known);
    let names = row_names::of(lines, zone);
    let mut table = Table::new(names.heads.iter().map(|head| (*head, "", Align::Left)));
    for column in &columns {
        table.column(column.name, column.unit, Align::Right);
    }
    let (mut next, mut noted) = (0, false);
    while let Some(line) = lines.get(next) {
        let silent = lines[next..]
            .iter()
            .take_while(|line| is_all_unknown(line))
            .count();
        if silent > 1 {
            table.row(unknown_stretch(
                &lines[next..next + silent],
                &names,
                next,
                &columns,
            ));
            noted = true;
            next += silent;
            continue;
        }
        let cells = columns.iter().map(|column| (column.cell)(line.figures));
        let note = note(line);
        noted |= !note.is_empty();
        table.row(
            names.rows[next]
                .iter()
                .cloned()
                .chain(cells)
                .chain([note])
                .collect(),
        );
        next += 1;
    }
    if noted {
        table.column("note", "", Align::Left);
    }
    let mut foot = vec![String::new(); names.heads.len()];
    "total".clone_into(&mut foot[0]);
    table.foot(
        foot.into_iter()
            .chain(columns.iter().map(|column| (column.cell)(total)))
            .collect(),
    );
    table.to_string()
}

/// One line a cell.
pub fn write_cells(cells: &[(String, &Figures)]) -> String {
    let mut table = Table::new([("cell", "", Align::Left)]);
    for column in &columns::SMALL {
        table.column(column.name, column.unit, Align::Right);
    }
    let mut total = Figures::default();
    for (cell, figures) in cells {
        total.add(figures);
        let figures = columns::SMALL.iter().map(|column| (column.cell)(figures));
        table.row(std::iter::once(cell.clone()).chain(figures).collect());
    }
    let total = columns::SMALL.iter().map(|column| (column.cell)(&total));
    table.foot(std::iter::once("all cells".to_owned()).chain(total).collect());
    table.to_string()
}

/// Where the time went in which nothing was cut, one line a category, the longest first, one column a cell.
pub fn write_rest(cells: &[(String, &Figures)]) -> String {
    let mut table = Table::new([("not in cycle", "h:mm", Align::Left)]);
    let mut total = Figures::default();
    for (cell, figures) in cells {
        table.column(cell, "", Align::Right);
        total.add(figures);
    }
    table.column("together", "", Align::Right);
    let mut categories: Vec<_> = Category::ALL
        .into_iter()
        .filter(|category| !category.is_in_cycle() && total.seconds[*category] > 0)
        .collect();
    categories.sort_by_key(|category| std::cmp::Reverse(total.seconds[*category]));
    let all = || cells.iter().map(|(_, figures)| *figures).chain([&total]);
    for category in categories {
        let cells = all().map(|figures| hours_and_minutes(figures.seconds[category]));
        table.row(
            std::iter::once(columns::name_of(category).to_owned())
                .chain(cells)
                .collect(),
        );
    }
    let rest = all().map(|figures| hours_and_minutes(figures.window_s - figures.realised_s()));
    table.foot(
        std::iter::once("window − realised".to_owned())
            .chain(rest)
            .collect(),
    );
    table.to_string()
}

fn is_all_unknown(line: &Line) -> bool {
    line.figures.window_s > 0
        && line.figures.seconds[Category::NotKnown] == line.figures.window_s
        && line.figures.planned_s.is_none_or(|planned_s| planned_s == 0)
}

/// Days on end without a word from the machine are one line.
fn unknown_stretch(
    lines: &[Line],
    names: &row_names::Names,
    first: usize,
    columns: &[Column],
) -> Vec<String> {
    let mut sum = Figures::default();
    for line in lines {
        sum.add(line.figures);
    }
    let last = &names.rows[first + lines.len() - 1][0];
    let mut label = vec![String::new(); names.heads.len()];
    label[0] = format!("{} … {last}", names.rows[first][0]);
    let cells = columns.iter().map(|column| (column.cell)(&sum));
    let note = format!("{} rows of which nothing is known", lines.len());
    label.into_iter().chain(cells).chain([note]).collect()
}

fn note(line: &Line) -> String {
    let figures = line.figures;
    let mut notes = Vec::new();
    if line.row.in_progress {
        notes.push("in progress".to_owned());
    } else if line.row.is_clipped() {
        notes.push("only a part of it".to_owned());
    }
    if figures.still_open {
        notes.push("provisional: still going on".to_owned());
    }
    if let Some(at) = figures.restated_at {
        notes.push(format!("restated {at}"));
    }
    if figures.in_cycle_against_down_s > 0 {
        let against = hours_and_minutes(figures.in_cycle_against_down_s);
        notes.push(format!("{against} in cycle while set down"));
    }
    if figures.cycle_overlap_s > 0 {
        notes.push(format!(
            "{} of overlap counted once",
            hours_and_minutes(figures.cycle_overlap_s)
        ));
    }
    if figures.run_overlap_s > 0 {
        let overlap = hours_and_minutes(figures.run_overlap_s);
        notes.push(format!("{overlap} of overlapping runs counted once"));
    }
    if figures.people_and_machine_disagree_s > 0 {
        let differ = hours_and_minutes(figures.people_and_machine_disagree_s);
        notes.push(format!("people and machine disagree for {differ}"));
    }
    notes.join("; ")
}

/// What the words of the table mean, one sentence a line.
pub fn legend(total: &Figures, known: Known) -> Vec<String> {
    let mut lines = vec![
        "realised: the spindle was in cycle (the machine said ACTIVE, or told of the cut); stops within a run are not in it"
            .to_owned(),
        "of window: realised ÷ window; the window is all the time of the row, also what is not known of".to_owned(),
    ];
    if known.calendar {
        let mut staffed = "of staffed: realised ÷ staffed; staffed is shifts without their breaks".to_owned();
        if let Some(note) = total
            .share_of_staffed()
            .and_then(spindlebook_domain::hours::Share::note)
        {
            staffed = format!("{staffed}; {note}");
        }
        lines.push(staffed);
        lines.push("unattended: outside of shifts; somebody is there in a break".to_owned());
    } else {
        lines.push("no shift calendar given: attended and unattended are not told apart, and there are no staffed hours".to_owned());
    }
    if known.plans {
        lines.push("of planned: realised ÷ planned, only where a plan was in force all the time".to_owned());
        lines.push("planned: from the plan that was in force when the shift, or the gap between shifts, began; – where there was none".to_owned());
    }
    lines.extend(of_people(total));
    lines.push("totals are made from seconds, not from the rounded rows".to_owned());
    lines
}

/// What people recorded: only where they did.
fn of_people(total: &Figures) -> Vec<String> {
    let mut lines = Vec::new();
    let time = hours_and_minutes;
    if total.in_cycle_by_people_s > 0 {
        let by_people = time(total.in_cycle_by_people_s);
        lines.push(format!(
            "of realised, {by_people} is what people recorded where the machine said nothing"
        ));
    }
    if total.by_purpose_s.no_run() < total.realised_s() {
        let of = |purpose: &Purpose| (purpose.as_str(), total.by_purpose_s.of(*purpose));
        let all = Purpose::ALL
            .iter()
            .map(of)
            .chain([("no run recorded", total.by_purpose_s.no_run())]);
        let told = all.filter(|(_, seconds)| *seconds > 0);
        let told: Vec<_> = told
            .map(|(name, seconds)| format!("{} {}", name.replace('_', "-"), time(seconds)))
            .collect();
        lines.push(format!("realised by purpose: {}", told.join(", ")));
    }
    if !total.stopped_s.is_empty() {
        let given = total
            .stopped_s
            .iter()
            .map(|(reason, seconds)| (reason.as_str(), *seconds));
        let all = given.chain([("no reason given", total.stopped_without_reason_s())]);
        let told: Vec<_> = all
            .map(|(reason, seconds)| format!("{reason} {}", time(seconds)))
            .collect();
        lines.push(format!("stopped in run by reason: {}", told.join(", ")));
    }
    if let Some(earned) = total.earned {
        let mut line = "earned: planned cycle time of the good pieces".to_owned();
        if earned.uncounted_runs > 0 {
            line = format!(
                "{line}; provisional: {} runs are not counted yet",
                earned.uncounted_runs
            );
        }
        lines.push(line);
    }
    lines
}

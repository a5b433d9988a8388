//! The figures of a row, column by column.

use super::Known;
use super::written::{decimal_hours, hours_and_minutes, percent};
use spindlebook_domain::hours::{Category, Figures};

#[derive(Clone, Copy)]
pub struct Column {
    pub name: &'static str,
    pub unit: &'static str,
    pub cell: fn(&Figures) -> String,
}

const PLANNED: Column = Column {
    name: "planned",
    unit: "h",
    cell: |figures| figures.planned_s.map_or_else(|| "–".to_owned(), decimal_hours),
};
const REALISED: Column = Column {
    name: "realised",
    unit: "h",
    cell: |figures| decimal_hours(figures.realised_s()),
};
const EARNED: Column = Column {
    name: "earned",
    unit: "h",
    cell: |figures| {
        figures
            .earned
            .map_or_else(|| "–".to_owned(), |earned| decimal_hours(earned.earned_s))
    },
};
const IDLE: Column = Column {
    name: "idle",
    unit: "h:mm",
    cell: |figures| hours_and_minutes(figures.idle_s()),
};
const WINDOW: Column = Column {
    name: "window",
    unit: "h:mm",
    cell: |figures| hours_and_minutes(figures.window_s),
};
const STAFFED: Column = Column {
    name: "staffed",
    unit: "h:mm",
    cell: |figures| hours_and_minutes(figures.staffed_s),
};
const OF_WINDOW: Column = Column {
    name: "of window",
    unit: "%",
    cell: |figures| percent(figures.share_of_window()),
};
const OF_STAFFED: Column = Column {
    name: "of staffed",
    unit: "%",
    cell: |figures| percent(figures.share_of_staffed()),
};
const OF_PLANNED: Column = Column {
    name: "of planned",
    unit: "%",
    cell: |figures| percent(figures.share_of_planned()),
};
const UTILISATION: Column = Column {
    name: "in cut of powered on",
    unit: "%, by counters",
    cell: |figures| percent(figures.utilisation()),
};

macro_rules! time_in {
    ($category:ident, $name:literal) => {
        Column {
            name: $name,
            unit: "h:mm",
            cell: |figures| hours_and_minutes(figures.seconds[Category::$category]),
        }
    };
}

/// Without a calendar nothing is said about people. What is rare has a column only where there
/// is any.
pub fn of(total: &Figures, known: Known) -> Vec<Column> {
    let any = |category| total.seconds[category] > 0;
    let pool = |category| known.calendar && any(category);
    // Where the pool says why nothing ran, idle time without a reason is shown only if there is any.
    let has_idle = |category| known.calendar && (total.pool_known_s == 0 || any(category));
    let columns = [
        (known.plans, PLANNED),
        (true, REALISED),
        (known.plans, OF_PLANNED),
        (total.earned.is_some(), EARNED),
        (known.calendar, time_in!(InCycleUnattended, "of it unattended")),
        (true, time_in!(StoppedInRun, "stopped in run")),
        (!known.calendar, IDLE),
        (
            pool(Category::PalletExchange),
            time_in!(PalletExchange, "pallet exchange"),
        ),
        (
            pool(Category::SetupAtSpindle),
            time_in!(SetupAtSpindle, "setup at spindle"),
        ),
        (
            pool(Category::WaitingForInspection),
            time_in!(WaitingForInspection, "waiting for inspection"),
        ),
        (
            pool(Category::ReadyNotStarted),
            time_in!(ReadyNotStarted, "ready, not started"),
        ),
        (
            pool(Category::WaitingForLoad),
            time_in!(WaitingForLoad, "waiting for load"),
        ),
        (
            pool(Category::UnattendedRunOut),
            time_in!(UnattendedRunOut, "unattended, run out"),
        ),
        (pool(Category::NoWork), time_in!(NoWork, "no work")),
        (
            has_idle(Category::IdleAttended),
            time_in!(IdleAttended, "idle attended"),
        ),
        (
            has_idle(Category::IdleUnattended),
            time_in!(IdleUnattended, "idle unattended"),
        ),
        (any(Category::Down), time_in!(Down, "down")),
        (any(Category::Off), time_in!(Off, "off")),
        (true, time_in!(NotKnown, "not known")),
        (true, WINDOW),
        (known.calendar, STAFFED),
        (true, OF_WINDOW),
        (known.calendar, OF_STAFFED),
        (total.counters.is_some(), UTILISATION),
    ];
    columns
        .into_iter()
        .filter(|(shown, _)| *shown)
        .map(|(_, column)| column)
        .collect()
}

/// A small table: what was planned, what was realised, and against what.
pub const SMALL: [Column; 8] = [
    PLANNED,
    REALISED,
    OF_PLANNED,
    time_in!(InCycleUnattended, "of it unattended"),
    STAFFED,
    OF_STAFFED,
    WINDOW,
    OF_WINDOW,
];

/// A category as the tables call it.
pub const fn name_of(category: Category) -> &'static str {
    match category {
        Category::InCycleAttended => "in cycle, attended",
        Category::InCycleUnattended => "in cycle, unattended",
        Category::Off => "off",
        Category::Down => "down",
        Category::NotKnown => "not known",
        Category::StoppedInRun => "stopped in run",
        Category::PalletExchange => "pallet exchange",
        Category::SetupAtSpindle => "setup at spindle",
        Category::WaitingForInspection => "waiting for inspection",
        Category::ReadyNotStarted => "ready, not started",
        Category::WaitingForLoad => "waiting for load",
        Category::UnattendedRunOut => "unattended, run out",
        Category::NoWork => "no work",
        Category::IdleAttended => "idle attended",
        Category::IdleUnattended => "idle unattended",
    }
}

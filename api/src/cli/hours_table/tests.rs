use super::written::{count, decimal_hours, hours_and_minutes};
use super::{Known, Line, write};
use chrono::NaiveDate;
use chrono_tz::Europe::Berlin;
use spindlebook_domain::hours::rows::{Row, RowKind};
use spindlebook_domain::hours::{ByCategory, Category, Figures};
use spindlebook_domain::time::{Timestamp, Window};

const NO_CALENDAR: Known = Known {
    calendar: false,
    plans: false,
};

fn day(number: i64) -> Row {
    // 2026-11-02, a Monday, begins at 2026-11-01T23:00:00Z in Berlin.
    let from = Timestamp(1_793_574_000_000_000).plus_s(number * 86_400);
    let date = NaiveDate::from_ymd_opt(2026, 11, 2).unwrap() + chrono::Days::new(number.unsigned_abs());
    Row {
        kind: RowKind::Day,
        name: date.to_string(),
        date,
        window: Window::new(from, from.plus_s(86_400)),
        whole: Window::new(from, from.plus_s(86_400)),
        in_progress: false,
        pieces: Vec::new(),
    }
}

fn figures(seconds: &[(Category, i64)]) -> Figures {
    let mut by_category = ByCategory::default();
    for (category, s) in seconds {
        by_category[*category] = *s;
    }
    Figures {
        window_s: by_category.sum(),
        seconds: by_category,
        ..Figures::default()
    }
}

/// Floor case E20: three cuts of exactly 20 minutes are 1.00 hours, not three times 0.33.
#[test]
fn a_total_is_made_from_seconds_and_not_from_rounded_rows() {
    let one_cut = figures(&[
        (Category::InCycleUnattended, 1_200),
        (Category::IdleUnattended, 85_200),
    ]);
    let rows = [day(0), day(1), day(2)];
    let lines: Vec<_> = rows
        .iter()
        .map(|row| Line {
            row,
            of: None,
            figures: &one_cut,
        })
        .collect();
    let mut total = Figures::default();
    for line in &lines {
        total.add(line.figures);
    }
    let table = write(&lines, &total, Berlin, NO_CALENDAR);
    let lines: Vec<_> = table.lines().collect();
    assert_eq!(
        lines[0],
        "day              realised  stopped in run   idle  not known  window  of window"
    );
    assert_eq!(
        lines[1],
        "                        h            h:mm   h:mm       h:mm    h:mm          %"
    );
    assert_eq!(
        lines[2],
        "2026-11-02  Mon      0.33            0:00  23:40       0:00   24:00        1.4"
    );
    assert_eq!(
        lines[6],
        "total                1.00            0:00  71:00       0:00   72:00        1.4"
    );
}

#[test]
fn rows_on_end_of_which_nothing_is_known_are_one_line_and_stay_in_the_total() {
    let silent = figures(&[(Category::NotKnown, 86_400)]);
    let cut = figures(&[(Category::InCycleUnattended, 3_600), (Category::NotKnown, 82_800)]);
    let rows: Vec<_> = (0..4).map(day).collect();
    let of = |row: usize| if row == 3 { &cut } else { &silent };
    let lines: Vec<_> = rows
        .iter()
        .enumerate()
        .map(|(i, row)| Line {
            row,
            of: None,
            figures: of(i),
        })
        .collect();
    let mut total = Figures::default();
    for line in &lines {
        total.add(line.figures);
    }
    let table = write(&lines, &total, Berlin, NO_CALENDAR);
    let lines: Vec<_> = table.lines().collect();
    assert!(lines[2].starts_with("2026-11-02 … 2026-11-04"), "{table}");
    assert!(lines[2].ends_with("3 rows of which nothing is known"), "{table}");
    assert!(lines[2].contains("72:00"), "{table}");
    assert!(lines[5].contains("96:00"), "{table}");
}

#[test]
fn numbers_are_rounded_half_up_and_grouped() {
    for (seconds, hours, minutes) in [
        (0, "0.00", "0:00"),
        (17, "0.00", "0:00"),
        (18, "0.01", "0:00"),
        (30, "0.01", "0:01"),
        (1_200, "0.33", "0:20"),
        (3_599, "1.00", "1:00"),
        (1_036_188, "287.83", "287:50"),
    ] {
        assert_eq!(
            (
                decimal_hours(seconds).as_str(),
                hours_and_minutes(seconds).as_str()
            ),
            (hours, minutes)
        );
    }
    assert_eq!(
        [0, 999, 1_000, 26_409, 1_234_567].map(count),
        ["0", "999", "1,000", "26,409", "1,234,567"]
    );
}

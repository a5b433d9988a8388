//! A shift calendar as a TOML file, for reports that need no database. `docs/shifts.md` describes it.

use chrono::{NaiveDate, Weekday};
use serde::{Deserialize, Deserializer, de};
use spindlebook_domain::calendar::{
    Break, Calendar, CalendarException, CalendarRefusal, CalendarVersions, Closed, Holiday, Overtime,
    TimeOfDay, WeeklyShift,
};
use spindlebook_domain::code::Name;

/// Shown by `--help`, and read by a test.
pub const EXAMPLE: &str = r#"[[shift]]
name = "early"
days = ["Mon", "Tue", "Wed", "Thu", "Fri"]
starts = "06:00"
ends = "14:00"
breaks = [{ starts = "09:00", ends = "09:15" }, { starts = "12:00", ends = "12:30" }]

[[shift]]
name = "night"          # ends at or before it starts: on the next day
days = ["Mon", "Tue", "Wed", "Thu"]
starts = "22:00"
ends = "06:00"

[[holiday]]             # no shift begins on this date
date = "2026-12-25"
name = "Christmas Day"

[[closed]]
date = "2026-12-28"

[[overtime]]            # one shift on one date
date = "2026-11-14"
name = "Saturday"
starts = "06:00"
ends = "12:00"
"#;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ShiftsFile {
    #[serde(default)]
    shift: Vec<Shift>,
    #[serde(default)]
    holiday: Vec<HolidayOn>,
    #[serde(default)]
    closed: Vec<ClosedOn>,
    #[serde(default)]
    overtime: Vec<OvertimeOn>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Shift {
    name: Name,
    days: Vec<Weekday>,
    starts: TimeOfDay,
    ends: TimeOfDay,
    #[serde(default)]
    breaks: Vec<Break>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct HolidayOn {
    #[serde(deserialize_with = "date")]
    date: NaiveDate,
    name: Name,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ClosedOn {
    #[serde(deserialize_with = "date")]
    date: NaiveDate,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct OvertimeOn {
    #[serde(deserialize_with = "date")]
    date: NaiveDate,
    name: Name,
    starts: TimeOfDay,
    ends: TimeOfDay,
    #[serde(default)]
    breaks: Vec<Break>,
}

/// TOML has dates of its own; people also write them in quotes.
fn date<'de, D: Deserializer<'de>>(deserializer: D) -> Result<NaiveDate, D::Error> {
    let text = match toml::Value::deserialize(deserializer)? {
        toml::Value::String(text) => text,
        toml::Value::Datetime(date) => date.to_string(),
        other => {
            return Err(de::Error::custom(format!(
                "a {} is no date: write \"2026-12-25\"",
                other.type_str()
            )));
        }
    };
    NaiveDate::parse_from_str(&text, "%Y-%m-%d").map_err(|_| {
        de::Error::custom(format!(
            "`{text}` is no date: write year, month and day as in 2026-12-25"
        ))
    })
}

/// The calendar holds for all time: a file has no versions.
pub fn parse(text: &str) -> Result<CalendarVersions, String> {
    let file: ShiftsFile = toml::from_str(text).map_err(|error| error.to_string().trim_end().to_owned())?;
    if file.shift.is_empty() && file.overtime.is_empty() {
        return Err("there is no [[shift]] in it: without one nobody ever works".to_owned());
    }
    if let Some(shift) = file.shift.iter().find(|shift| shift.days.is_empty()) {
        return Err(format!(
            "the shift `{}` is on no day: name its days, like [\"Mon\", \"Tue\"]",
            shift.name
        ));
    }
    let weekly = file.shift.iter().flat_map(|shift| {
        shift.days.iter().map(|weekday| WeeklyShift {
            name: shift.name.clone(),
            weekday: *weekday,
            starts: shift.starts,
            ends: shift.ends,
            breaks: shift.breaks.clone(),
        })
    });
    let weekly: Vec<_> = weekly.collect();
    let exceptions: Vec<_> = exceptions(&file).collect();
    let places = weekly
        .iter()
        .map(|shift| format!("shift `{}` on {}", shift.name, shift.weekday));
    let places: Vec<_> = places.collect();
    let calendar = Calendar::new(weekly, exceptions.clone())
        .map_err(|refusal| format!("{}: {}", place(&refusal, &places, &exceptions), refusal.rule))?;
    let mut versions = CalendarVersions::default();
    versions.set(NaiveDate::MIN, calendar);
    Ok(versions)
}

fn exceptions(file: &ShiftsFile) -> impl Iterator<Item = CalendarException> {
    let holidays = file.holiday.iter().map(|holiday| {
        CalendarException::Holiday(Holiday {
            date: holiday.date,
            name: holiday.name.clone(),
        })
    });
    let closed = file
        .closed
        .iter()
        .map(|closed| CalendarException::Closed(Closed { date: closed.date }));
    let overtime = file.overtime.iter().map(|overtime| {
        CalendarException::Overtime(Overtime {
            date: overtime.date,
            name: overtime.name.clone(),
            starts: overtime.starts,
            ends: overtime.ends,
            breaks: overtime.breaks.clone(),
        })
    });
    holidays.chain(closed).chain(overtime)
}

/// The domain points into lists that the file does not have: one entry in it may stand for five weekdays.
fn place(refusal: &CalendarRefusal, shifts: &[String], exceptions: &[CalendarException]) -> String {
    let mut segments = refusal.pointer.split('/').skip(1);
    let (list, index) = (
        segments.next(),
        segments.next().and_then(|index| index.parse::<usize>().ok()),
    );
    match (list, index) {
        (Some("shifts"), Some(index)) => shifts.get(index).cloned(),
        (Some("exceptions"), Some(index)) => exceptions.get(index).map(|exception| {
            let kind = match exception {
                CalendarException::Holiday(_) => "holiday",
                CalendarException::Closed(_) => "closed",
                CalendarException::Overtime(_) => "overtime",
            };
            format!("{kind} on {}", exception.date())
        }),
        _ => None,
    }
    .unwrap_or_else(|| "the calendar".to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono_tz::Europe::Berlin;
    use spindlebook_domain::calendar::shifts_of;

    fn on(year: i32, month: u32, day: u32) -> NaiveDate {
        NaiveDate::from_ymd_opt(year, month, day).unwrap()
    }

    #[test]
    fn the_example_of_the_help_reads() {
        let versions = parse(EXAMPLE).unwrap();
        let many = |date| shifts_of(&versions, Berlin, date).len();
        // A Thursday with both shifts, a Friday without a night, the holiday, the overtime Saturday.
        assert_eq!((many(on(2026, 11, 12)), many(on(2026, 11, 13))), (2, 1));
        assert_eq!((many(on(2026, 12, 25)), many(on(2026, 11, 14))), (0, 1));
        let early = &shifts_of(&versions, Berlin, on(2026, 11, 12))[0];
        assert_eq!((early.name.as_str(), early.breaks.len()), ("early", 2));
    }

    #[test]
    fn the_document_shows_the_same_example() {
        let document = include_str!("../../../docs/shifts.md");
        assert!(document.contains(EXAMPLE));
    }

    #[test]
    fn dates_read_with_and_without_quotes() {
        let quoted = "[[shift]]\nname=\"a\"\ndays=[\"Mon\"]\nstarts=\"06:00\"\nends=\"14:00\"\n[[closed]]\ndate=\"2026-12-28\"\n";
        assert_eq!(
            parse(quoted),
            parse(&quoted.replace("\"2026-12-28\"", "2026-12-28"))
        );
    }

    #[test]
    fn a_file_that_is_not_right_is_refused_with_its_place() {
        let shift = |more: &str| format!("[[shift]]\nname = \"early\"\n{more}");
        let times = "days = [\"Mon\", \"Tue\"]\nstarts = \"06:00\"\nends = \"14:00\"\n";
        for (text, told) in [
            (String::new(), "no [[shift]]"),
            (
                shift("days = []\nstarts = \"06:00\"\nends = \"14:00\"\n"),
                "`early` is on no day",
            ),
            (
                shift("days = [\"Monday\"]\nstarts = \"6\"\nends = \"14:00\"\n"),
                "`6` is no time of day",
            ),
            (
                shift("starts = \"06:00\"\nends = \"14:00\"\n"),
                "missing field `days`",
            ),
            (shift(&format!("{times}pause = 1\n")), "unknown field `pause`"),
            (
                shift(&format!(
                    "{times}breaks = [{{ starts = \"15:00\", ends = \"15:15\" }}]\n"
                )),
                "shift `early` on Mon: the break from 15:00 to 15:15 is not inside of its shift",
            ),
            (
                shift(&format!(
                    "{times}[[closed]]\ndate = 2026-12-28\n[[holiday]]\ndate = 2026-12-28\nname = \"x\"\n"
                )),
                "on 2026-12-28: 2026-12-28 is closed already",
            ),
            (
                shift(&format!("{times}[[closed]]\ndate = \"28.12.2026\"\n")),
                "`28.12.2026` is no date",
            ),
        ] {
            let refused = parse(&text).unwrap_err();
            assert!(refused.contains(told), "{text}\n{refused}");
        }
    }
}

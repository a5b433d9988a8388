use crate::http::body;
use crate::http::text;
use crate::problem::{FieldError, Place, Problem};
use chrono::{NaiveDate, Weekday};
use chrono_tz::Tz;
use serde::{Deserialize, Serialize};
use spindlebook_domain::calendar::{
    Break, Calendar, CalendarException, CalendarVersions, Closed, Holiday, Overtime, TimeOfDay, WeeklyShift,
};
use spindlebook_domain::code::Name;
use spindlebook_domain::ids::Seq;
use spindlebook_domain::local_time::local_date;
use spindlebook_domain::time::Timestamp;
use utoipa::{IntoParams, ToSchema};

/// The working calendar: all its versions, or the one that applies on `date`.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Calendar, example = json!({"of": "site", "changed_seq": 7, "versions": [{"valid_from": "2026-01-01",
    "shifts": [{"name": "Night", "weekday": "monday", "starts": "22:00", "ends": "06:00",
    "breaks": [{"starts": "02:00", "ends": "02:30"}]}], "exceptions": [{"kind": "holiday",
    "date": "2026-12-25", "name": "Christmas Day"}, {"kind": "overtime", "date": "2026-12-05",
    "name": "Saturday", "starts": "06:00", "ends": "12:00"}]}]}))]
pub struct CalendarDto {
    /// Whose calendar it is: the site's, or the cell's own.
    pub of: CalendarOf,
    /// The entry that last changed it: its version.
    #[schema(value_type = text::Seq)]
    pub changed_seq: Seq,
    /// From the oldest to the newest. Before the first one nobody works.
    #[schema(max_items = 1000)]
    pub versions: Vec<VersionDto>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum CalendarOf {
    Site,
    Cell,
}

#[derive(Debug, Serialize, ToSchema)]
#[schema(as = CalendarVersion)]
pub struct VersionDto {
    /// The first shift date to which it applies.
    pub valid_from: NaiveDate,
    #[schema(max_items = 70)]
    pub shifts: Vec<ShiftDto>,
    #[schema(max_items = 2000)]
    pub exceptions: Vec<ExceptionDto>,
}

#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"valid_from": "2026-01-01", "shifts": [{"name": "Night", "weekday": "monday",
    "starts": "22:00", "ends": "06:00", "breaks": [{"starts": "02:00", "ends": "02:30"}]}],
    "exceptions": [{"kind": "holiday", "date": "2026-12-25", "name": "Christmas Day"},
    {"kind": "overtime", "date": "2026-12-05", "name": "Saturday", "starts": "06:00",
    "ends": "12:00"}]}))]
pub struct CalendarBody {
    /// The first shift date to which it applies; without it, today at the site. A version with the same date is
    /// replaced, for the past too.
    pub valid_from: Option<NaiveDate>,
    #[serde(default)]
    #[schema(max_items = 70)]
    pub shifts: Vec<ShiftDto>,
    #[serde(default)]
    #[schema(max_items = 2000)]
    pub exceptions: Vec<ExceptionDto>,
}

/// A shift that comes every week. `ends` at or before `starts` is on the next day.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = WeeklyShift)]
pub struct ShiftDto {
    #[schema(value_type = text::Name)]
    pub name: Name,
    pub weekday: WeekdayName,
    #[schema(value_type = text::TimeOfDay)]
    pub starts: TimeOfDay,
    #[schema(value_type = text::TimeOfDay)]
    pub ends: TimeOfDay,
    #[serde(default)]
    #[schema(max_items = 10)]
    pub breaks: Vec<BreakDto>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
#[schema(as = Weekday)]
pub enum WeekdayName {
    Monday,
    Tuesday,
    Wednesday,
    Thursday,
    Friday,
    Saturday,
    Sunday,
}

/// People rest: unstaffed, but somebody is there.
#[derive(Clone, Copy, Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = Break)]
pub struct BreakDto {
    #[schema(value_type = text::TimeOfDay)]
    pub starts: TimeOfDay,
    #[schema(value_type = text::TimeOfDay)]
    pub ends: TimeOfDay,
}

/// A date that differs. A `holiday` (with a name) and a `closed` date have no weekly shifts; `overtime` (with name,
/// starts, ends and perhaps breaks) is a shift beside whatever else the date has.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = CalendarException)]
pub struct ExceptionDto {
    pub kind: ExceptionKind,
    pub date: NaiveDate,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<text::Name>)]
    pub name: Option<Name>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<text::TimeOfDay>)]
    pub starts: Option<TimeOfDay>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<text::TimeOfDay>)]
    pub ends: Option<TimeOfDay>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schema(max_items = 10)]
    pub breaks: Vec<BreakDto>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum ExceptionKind {
    Holiday,
    Closed,
    Overtime,
}

impl ExceptionKind {
    const fn as_str(self) -> &'static str {
        match self {
            Self::Holiday => "holiday",
            Self::Closed => "closed",
            Self::Overtime => "overtime",
        }
    }
}

impl CalendarDto {
    /// With `date`, only the version that applies then.
    pub fn new(
        of: CalendarOf,
        changed_seq: Seq,
        versions: &CalendarVersions,
        date: Option<NaiveDate>,
    ) -> Self {
        let dto = |(valid_from, calendar)| VersionDto::new(valid_from, calendar);
        let versions = match date {
            Some(date) => versions.version_for(date).map(dto).into_iter().collect(),
            None => versions.iter().map(dto).collect(),
        };
        Self {
            of,
            changed_seq,
            versions,
        }
    }
}

impl VersionDto {
    fn new(valid_from: NaiveDate, calendar: &Calendar) -> Self {
        Self {
            valid_from,
            shifts: calendar.shifts().iter().map(ShiftDto::from).collect(),
            exceptions: calendar.exceptions().iter().map(ExceptionDto::from).collect(),
        }
    }
}

#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct DateQuery {
    /// Only the version that applies on this shift date.
    pub date: Option<NaiveDate>,
}

impl CalendarBody {
    /// Without a date it applies from today on, by the clock on the wall at the site.
    pub fn valid_from(&self, zone: Tz, now: Timestamp) -> NaiveDate {
        self.valid_from.unwrap_or_else(|| local_date(zone, now))
    }

    pub fn calendar(self) -> Result<Calendar, Problem> {
        calendar_of(self.shifts, self.exceptions, "")
    }
}

/// `at`: the pointer of the object that holds both lists.
pub fn calendar_of(
    shifts: Vec<ShiftDto>,
    exceptions: Vec<ExceptionDto>,
    at: &str,
) -> Result<Calendar, Problem> {
    let shifts = shifts.into_iter().map(WeeklyShift::from).collect();
    let exceptions = exceptions.into_iter().zip(0..);
    let exceptions: Result<Vec<_>, FieldError> = exceptions.map(|(one, index)| one.read(at, index)).collect();
    let exceptions = exceptions.map_err(body::invalid)?;
    Calendar::new(shifts, exceptions).map_err(|refusal| {
        let place = Place::pointer(format!("{at}{}", refusal.pointer));
        body::invalid(FieldError::at(place, refusal.code(), refusal.rule.to_string()))
    })
}

impl ExceptionDto {
    fn read(self, at: &str, index: usize) -> Result<CalendarException, FieldError> {
        let place = |field: &str| Place::pointer(format!("{at}/exceptions/{index}/{field}"));
        let missing = |field: &str| {
            let detail = format!("`{field}` is missing; `{}` needs it", self.kind.as_str());
            FieldError::at(place(field), "missing", detail)
        };
        let idle = |field: &str| {
            let detail = format!(
                "`{}` has no `{field}`: leave it out, or say overtime",
                self.kind.as_str()
            );
            FieldError::at(place(field), "unknown", detail)
        };
        let date = self.date;
        if self.kind != ExceptionKind::Overtime {
            let given = [
                ("starts", self.starts.is_some()),
                ("ends", self.ends.is_some()),
                ("breaks", !self.breaks.is_empty()),
                ("name", self.name.is_some() && self.kind == ExceptionKind::Closed),
            ];
            if let Some((field, _)) = given.into_iter().find(|(_, given)| *given) {
                return Err(idle(field));
            }
        }
        if self.kind == ExceptionKind::Closed {
            return Ok(CalendarException::Closed(Closed { date }));
        }
        let name = self.name.clone().ok_or_else(|| missing("name"))?;
        if self.kind == ExceptionKind::Holiday {
            return Ok(CalendarException::Holiday(Holiday { date, name }));
        }
        Ok(CalendarException::Overtime(Overtime {
            date,
            name,
            starts: self.starts.ok_or_else(|| missing("starts"))?,
            ends: self.ends.ok_or_else(|| missing("ends"))?,
            breaks: self.breaks.into_iter().map(Break::from).collect(),
        }))
    }
}

impl From<&CalendarException> for ExceptionDto {
    fn from(exception: &CalendarException) -> Self {
        let plain = |kind, name: Option<&Name>| Self {
            kind,
            date: exception.date(),
            name: name.cloned(),
            starts: None,
            ends: None,
            breaks: Vec::new(),
        };
        match exception {
            CalendarException::Holiday(holiday) => plain(ExceptionKind::Holiday, Some(&holiday.name)),
            CalendarException::Closed(_) => plain(ExceptionKind::Closed, None),
            CalendarException::Overtime(overtime) => Self {
                starts: Some(overtime.starts),
                ends: Some(overtime.ends),
                breaks: overtime.breaks.iter().copied().map(BreakDto::from).collect(),
                ..plain(ExceptionKind::Overtime, Some(&overtime.name))
            },
        }
    }
}

impl From<ShiftDto> for WeeklyShift {
    fn from(shift: ShiftDto) -> Self {
        Self {
            name: shift.name,
            weekday: shift.weekday.into(),
            starts: shift.starts,
            ends: shift.ends,
            breaks: shift.breaks.into_iter().map(Break::from).collect(),
        }
    }
}

impl From<&WeeklyShift> for ShiftDto {
    fn from(shift: &WeeklyShift) -> Self {
        Self {
            name: shift.name.clone(),
            weekday: shift.weekday.into(),
            starts: shift.starts,
            ends: shift.ends,
            breaks: shift.breaks.iter().copied().map(BreakDto::from).collect(),
        }
    }
}

impl From<BreakDto> for Break {
    fn from(BreakDto { starts, ends }: BreakDto) -> Self {
        Self { starts, ends }
    }
}

impl From<Break> for BreakDto {
    fn from(Break { starts, ends }: Break) -> Self {
        Self { starts, ends }
    }
}

macro_rules! weekdays {
    ($($long:ident = $short:ident),+) => {
        impl From<WeekdayName> for Weekday {
            fn from(name: WeekdayName) -> Self {
                match name { $(WeekdayName::$long => Self::$short,)+ }
            }
        }

        impl From<Weekday> for WeekdayName {
            fn from(day: Weekday) -> Self {
                match day { $(Weekday::$short => Self::$long,)+ }
            }
        }
    };
}

weekdays!(
    Monday = Mon,
    Tuesday = Tue,
    Wednesday = Wed,
    Thursday = Thu,
    Friday = Fri,
    Saturday = Sat,
    Sunday = Sun
);

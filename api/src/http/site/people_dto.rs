use super::calendar_dto::{ExceptionDto, ShiftDto, calendar_of};
use crate::http::text;
use crate::http::whole::Whole;
use crate::problem::Problem;
use serde::{Deserialize, Serialize};
use spindlebook_domain::calendar::Calendar;
use spindlebook_domain::code::Name;
use spindlebook_domain::ids::Seq;
use spindlebook_domain::site::{Headcount, People, SetSitePeople, Site};
use utoipa::ToSchema;

/// Who is there to load and to inspect.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = People, example = json!({"headcount": [{"shift": "Early", "people": 3}], "inspectors": null, "changed_seq": 9}))]
pub struct PeopleDto {
    /// A shift that does not stand here has one person.
    #[schema(max_items = 70)]
    pub headcount: Vec<HeadcountDto>,
    /// Null: inspectors work when the site does.
    pub inspectors: Option<InspectorsDto>,
    /// The entry that last changed it: its version.
    #[schema(value_type = text::Seq)]
    pub changed_seq: Seq,
}

#[derive(Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = Headcount)]
pub struct HeadcountDto {
    /// The shift's name in the calendar.
    #[schema(value_type = text::Name)]
    pub shift: Name,
    /// Who can load and unload.
    pub people: Whole<0, 1_000>,
}

/// The inspectors' own week and the dates that differ.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = Inspectors)]
pub struct InspectorsDto {
    #[serde(default)]
    #[schema(max_items = 70)]
    pub shifts: Vec<ShiftDto>,
    #[serde(default)]
    #[schema(max_items = 2000)]
    pub exceptions: Vec<ExceptionDto>,
}

#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"headcount": [{"shift": "Early", "people": 3}], "inspectors": {"shifts": [{"name": "Inspection",
    "weekday": "monday", "starts": "07:00", "ends": "15:30"}]}}))]
pub struct PeopleBody {
    #[serde(default)]
    #[schema(max_items = 70)]
    pub headcount: Vec<HeadcountDto>,
    pub inspectors: Option<InspectorsDto>,
}

impl PeopleBody {
    pub fn into_command(self, expected: Option<Seq>) -> Result<SetSitePeople, Problem> {
        let headcount = self.headcount.into_iter().map(|one| Headcount {
            shift: one.shift,
            people: one.people.to(),
        });
        let week = |week: InspectorsDto| calendar_of(week.shifts, week.exceptions, "/inspectors");
        Ok(SetSitePeople {
            people: People {
                headcount: headcount.collect(),
                inspectors: self.inspectors.map(week).transpose()?,
            },
            expected,
        })
    }
}

impl From<&Site> for PeopleDto {
    fn from(site: &Site) -> Self {
        let headcount = site.people.headcount.iter().map(|one| HeadcountDto {
            shift: one.shift.clone(),
            people: Whole::clamped(i64::from(one.people)),
        });
        let week = |week: &Calendar| InspectorsDto {
            shifts: week.shifts().iter().map(ShiftDto::from).collect(),
            exceptions: week.exceptions().iter().map(ExceptionDto::from).collect(),
        };
        Self {
            headcount: headcount.collect(),
            inspectors: site.people.inspectors.as_ref().map(week),
            changed_seq: site.people_changed_seq,
        }
    }
}

use crate::http::site::calendar_dto::WeekdayName;
use crate::http::text;
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};
use spindlebook_domain::code::{Code, Name};
use spindlebook_domain::ids::{Seq, VendorId};
use spindlebook_domain::shop::Shop;
use spindlebook_domain::vendor::{AddVendor, ChangeVendor, Vendor, VendorFacts, Workday};
use utoipa::ToSchema;

/// Whoever does a step outside, and the days on which they work.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Vendor, example = json!({"id": "01936b5e-5c00-7000-8000-000000000201", "code": "HARDCOAT", "name": "Hardcoat", "workdays": ["monday", "tuesday", "wednesday", "thursday", "friday"], "closed": ["2026-12-25"], "changed_seq": 21}))]
pub struct VendorDto {
    #[schema(value_type = uuid::Uuid)]
    pub id: VendorId,
    #[schema(value_type = text::Code)]
    pub code: Code,
    #[schema(value_type = text::Name)]
    pub name: Name,
    /// From Monday on.
    #[schema(max_items = 7)]
    pub workdays: Vec<WeekdayName>,
    /// Holidays and the like.
    #[schema(max_items = 2000)]
    pub closed: Vec<NaiveDate>,
    /// The entry that last changed it: its version.
    #[schema(value_type = text::Seq)]
    pub changed_seq: Seq,
}

/// Lead times count the days on which the vendor works.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"code": "HARDCOAT", "name": "Hardcoat", "workdays": ["monday", "tuesday", "wednesday", "thursday", "friday"], "closed": ["2026-12-25"]}))]
pub struct VendorBody {
    #[schema(value_type = text::Code)]
    pub code: Code,
    #[schema(value_type = text::Name)]
    pub name: Name,
    #[schema(min_items = 1, max_items = 7)]
    pub workdays: Vec<WeekdayName>,
    #[serde(default)]
    #[schema(max_items = 2000)]
    pub closed: Vec<NaiveDate>,
}

/// A page of vendors.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"items": [{"id": "01936b5e-5c00-7000-8000-000000000201", "code": "HARDCOAT", "name": "Hardcoat", "workdays": ["monday", "tuesday", "wednesday", "thursday", "friday"], "closed": ["2026-12-25"], "changed_seq": 21}], "next_cursor": null}))]
pub struct VendorPage {
    #[schema(max_items = 200)]
    pub items: Vec<VendorDto>,
    /// Null on the last page.
    #[schema(value_type = Option<text::Cursor>)]
    pub next_cursor: Option<String>,
}

impl VendorBody {
    fn facts(self) -> VendorFacts {
        VendorFacts {
            code: self.code,
            name: self.name,
            workdays: self.workdays.into_iter().map(|day| Workday(day.into())).collect(),
            closed: self.closed.into_iter().collect(),
        }
    }

    pub fn into_command(self, vendor: VendorId) -> AddVendor {
        let facts = self.facts();
        AddVendor { vendor, facts }
    }

    pub fn into_change(self, vendor: VendorId, expected: Option<Seq>) -> ChangeVendor {
        let facts = self.facts();
        ChangeVendor {
            vendor,
            facts,
            expected,
        }
    }
}

impl VendorDto {
    pub fn of(vendor: &Vendor, _: &Shop) -> Self {
        let facts = &vendor.facts;
        Self {
            id: vendor.id,
            code: facts.code.clone(),
            name: facts.name.clone(),
            workdays: facts.workdays.iter().map(|day| day.0.into()).collect(),
            closed: facts.closed.iter().copied().collect(),
            changed_seq: vendor.changed_seq,
        }
    }
}

use crate::http::instant::Instant;
use crate::http::text;
use serde::{Deserialize, Serialize};
use spindlebook_domain::code::Code;
use spindlebook_domain::hours::{Category, Stretch};
use spindlebook_domain::ids::{MachineId, Seq};
use utoipa::ToSchema;

/// A page of stretches, in the order of time. Together they fill the window up to now.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"machine": "01936b5e-5c00-7000-8000-0000000000a1", "code": "MILL-1",
    "from": "2026-11-02T06:00:00Z", "to": "2026-11-02T07:02:00Z", "as_of": "2026-11-03T06:00:00Z",
    "seq": 4211, "items": [{"from": "2026-11-02T06:00:00Z", "to": "2026-11-02T07:02:00Z",
    "length_us": 3_720_000_000_i64, "category": "in_cycle_attended", "down_reason": null, "cycles": 0,
    "entries": [{"seq": 4211, "href": "/v1/ledger/4211"}]}], "next_cursor": null}))]
pub struct StretchPage {
    #[schema(value_type = uuid::Uuid)]
    pub machine: MachineId,
    #[schema(value_type = text::Code)]
    pub code: Code,
    #[schema(value_type = text::Instant)]
    pub from: Instant,
    #[schema(value_type = text::Instant)]
    pub to: Instant,
    #[schema(value_type = text::Instant)]
    pub as_of: Instant,
    /// The entry up to which the ledger was read.
    #[schema(value_type = text::Seq)]
    pub seq: Seq,
    #[schema(max_items = 200)]
    pub items: Vec<StretchDto>,
    /// Null on the last page.
    #[schema(value_type = Option<text::Cursor>)]
    pub next_cursor: Option<String>,
}

/// A stretch of one category for one reason.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Stretch)]
pub struct StretchDto {
    #[schema(value_type = text::Instant)]
    pub from: Instant,
    #[schema(value_type = text::Instant)]
    pub to: Instant,
    pub length_us: i64,
    pub category: CategoryName,
    /// A person had set the machine down; in cycle all the same, if that is the category.
    #[schema(max_length = 40)]
    pub down_reason: Option<String>,
    /// How many of the device's cycles lie over it; more than one is an overlap.
    pub cycles: u32,
    /// The entries that decide it. None: nothing has been said.
    #[schema(max_items = 1_000)]
    pub entries: Vec<EntryLinkDto>,
}

#[derive(Debug, Serialize, ToSchema)]
#[schema(as = EntryLink)]
pub struct EntryLinkDto {
    #[schema(value_type = text::Seq)]
    pub seq: Seq,
    #[schema(max_length = 40)]
    pub href: String,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
#[schema(as = Category)]
pub enum CategoryName {
    InCycleAttended,
    InCycleUnattended,
    Off,
    Down,
    NotKnown,
    StoppedInRun,
    IdleAttended,
    IdleUnattended,
}

impl From<&Stretch> for StretchDto {
    fn from(stretch: &Stretch) -> Self {
        let link = |seq: &Seq| EntryLinkDto {
            seq: *seq,
            href: format!("/v1/ledger/{seq}"),
        };
        Self {
            from: stretch.window.from.into(),
            to: stretch.window.to.into(),
            length_us: stretch.window.us(),
            category: stretch.category.into(),
            down_reason: stretch.down_reason.clone(),
            cycles: stretch.cycles,
            entries: stretch.seqs.iter().map(link).collect(),
        }
    }
}

impl From<Category> for CategoryName {
    fn from(category: Category) -> Self {
        match category {
            Category::InCycleAttended => Self::InCycleAttended,
            Category::InCycleUnattended => Self::InCycleUnattended,
            Category::Off => Self::Off,
            Category::Down => Self::Down,
            Category::NotKnown => Self::NotKnown,
            Category::StoppedInRun => Self::StoppedInRun,
            Category::IdleAttended => Self::IdleAttended,
            Category::IdleUnattended => Self::IdleUnattended,
        }
    }
}

use crate::http::instant::Instant;
use crate::http::text;
use serde::{Deserialize, Serialize};
use spindlebook_domain::code::Code;
use spindlebook_domain::hours::{Category, Stretch};
use spindlebook_domain::ids::{MachineId, RunId, Seq};
use spindlebook_domain::run::Purpose;
use utoipa::ToSchema;

/// A page of stretches, in the order of time. Together they fill the window up to now.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"machine": "01936b5e-5c00-7000-8000-0000000000a1", "code": "MILL-1",
    "from": "2026-11-02T06:00:00Z", "to": "2026-11-02T07:02:00Z", "as_of": "2026-11-03T06:00:00Z",
    "seq": 4211, "items": [{"from": "2026-11-02T06:00:00Z", "to": "2026-11-02T07:02:00Z",
    "length_us": 3_720_000_000_i64, "category": "in_cycle_attended", "down_reason": null, "cycles": 0, "run": null,
    "purpose": null, "stop_reason": null, "runs_in_cycle": 0, "by_people": false,
    "people_and_machine_disagree": false,
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
    /// The run that people recorded there.
    #[schema(value_type = Option<uuid::Uuid>)]
    pub run: Option<RunId>,
    pub purpose: Option<PurposeName>,
    /// Why a person paused it.
    #[schema(max_length = 80)]
    pub stop_reason: Option<String>,
    /// How many recorded runs are in cycle; more than one is an overlap.
    pub runs_in_cycle: u32,
    /// In cycle by what people recorded, where the machine said nothing.
    pub by_people: bool,
    /// People had a run in cycle while the machine said that nothing ran, or the reverse.
    pub people_and_machine_disagree: bool,
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

impl EntryLinkDto {
    pub fn of(seq: Seq) -> Self {
        let href = format!("/v1/ledger/{seq}");
        Self { seq, href }
    }
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
    PalletExchange,
    SetupAtSpindle,
    WaitingForInspection,
    ReadyNotStarted,
    WaitingForLoad,
    UnattendedRunOut,
    NoWork,
    IdleAttended,
    IdleUnattended,
}

/// What a run was for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
#[schema(as = Purpose)]
pub enum PurposeName {
    Production,
    ProveOut,
    Rework,
    FirstPiece,
}

impl From<Purpose> for PurposeName {
    fn from(purpose: Purpose) -> Self {
        match purpose {
            Purpose::Production => Self::Production,
            Purpose::ProveOut => Self::ProveOut,
            Purpose::Rework => Self::Rework,
            Purpose::FirstPiece => Self::FirstPiece,
        }
    }
}

impl From<&Stretch> for StretchDto {
    fn from(stretch: &Stretch) -> Self {
        Self {
            from: stretch.window.from.into(),
            to: stretch.window.to.into(),
            length_us: stretch.window.us(),
            category: stretch.category.into(),
            down_reason: stretch.down_reason.clone(),
            cycles: stretch.cycles,
            run: stretch.run,
            purpose: stretch.purpose.map(PurposeName::from),
            stop_reason: stretch.stop_reason.clone(),
            runs_in_cycle: stretch.runs_in_cycle,
            by_people: stretch.by_people,
            people_and_machine_disagree: stretch.people_and_machine_disagree,
            entries: stretch.seqs.iter().map(|seq| EntryLinkDto::of(*seq)).collect(),
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
            Category::PalletExchange => Self::PalletExchange,
            Category::SetupAtSpindle => Self::SetupAtSpindle,
            Category::WaitingForInspection => Self::WaitingForInspection,
            Category::ReadyNotStarted => Self::ReadyNotStarted,
            Category::WaitingForLoad => Self::WaitingForLoad,
            Category::UnattendedRunOut => Self::UnattendedRunOut,
            Category::NoWork => Self::NoWork,
            Category::IdleAttended => Self::IdleAttended,
            Category::IdleUnattended => Self::IdleUnattended,
        }
    }
}

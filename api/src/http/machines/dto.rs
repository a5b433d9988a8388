use crate::http::instant::{AtLocal, Instant};
use crate::http::local_time::Given;
use crate::http::text;
use crate::http::whole::Whole;
use crate::problem::Problem;
use chrono_tz::Tz;
use serde::{Deserialize, Serialize};
use spindlebook_domain::code::{Code, Name};
use spindlebook_domain::ids::{CellId, MachineId, Seq, TextId};
use spindlebook_domain::machine::{AddMachine, ChangeMachine, Condition, DownReason, Machine, Placement};
use spindlebook_domain::note::NOTE_CHARS_MAX;
use spindlebook_domain::time::Timestamp;
use utoipa::ToSchema;

/// It has one spindle.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Machine, example = json!({"id": "01936b5e-5c00-7000-8000-0000000000a1", "cell": "01936b5e-5c00-7000-8000-0000000000c1",
    "code": "MILL-1", "name": "Five-axis mill", "silent_after_s": 3600,
    "condition": {"down": false, "since": null, "reason": null},
    "heard_until": "2026-11-02T05:59:30Z", "changed_seq": 13}))]
pub struct MachineDto {
    #[schema(value_type = uuid::Uuid)]
    pub id: MachineId,
    #[schema(value_type = uuid::Uuid)]
    pub cell: CellId,
    #[schema(value_type = text::Code)]
    pub code: Code,
    #[schema(value_type = text::Name)]
    pub name: Name,
    /// After so long without any row it counts as not known; null: a state lasts until the next row.
    pub silent_after_s: Option<u32>,
    pub condition: ConditionDto,
    /// The newest instant that its signals tell of.
    #[schema(value_type = Option<text::Instant>)]
    pub heard_until: Option<Instant>,
    /// The entry that last changed it (code, name, silence): its version.
    #[schema(value_type = text::Seq)]
    pub changed_seq: Seq,
}

/// The machine that was set down, and where to read what was written about it.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = MachineSetDown, example = json!({"id": "01936b5e-5c00-7000-8000-0000000000a1",
    "cell": "01936b5e-5c00-7000-8000-0000000000c1", "code": "MILL-1", "name": "Five-axis mill", "silent_after_s": 3600,
    "condition": {"down": true, "since": "2026-11-02T06:10:00Z", "reason": "breakdown"},
    "heard_until": "2026-11-02T05:59:30Z", "changed_seq": 13, "note": "01936b5e-5c00-7000-8000-0000000000f1"}))]
pub struct MachineSetDownDto {
    #[serde(flatten)]
    pub machine: MachineDto,
    /// The id of the note, for `/v1/notes/{id}`; null without one.
    #[schema(value_type = Option<uuid::Uuid>)]
    pub note: Option<TextId>,
}

/// What people say of the machine.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Condition)]
pub struct ConditionDto {
    pub down: bool,
    /// Null when nobody ever set it down.
    #[schema(value_type = Option<text::Instant>)]
    pub since: Option<Instant>,
    pub reason: Option<DownReasonName>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
#[schema(as = DownReason)]
pub enum DownReasonName {
    Breakdown,
    PlannedMaintenance,
    Tooling,
    /// Electricity, air, coolant supply.
    Utilities,
    Other,
}

#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"code": "MILL-1", "name": "Five-axis mill", "cell": "01936b5e-5c00-7000-8000-0000000000c1",
    "silent_after_s": 3600}))]
pub struct AddMachineBody {
    #[schema(value_type = text::Code)]
    pub code: Code,
    #[schema(value_type = text::Name)]
    pub name: Name,
    /// Without it the machine is standalone and becomes a cell of its own, with the same code and name.
    #[schema(value_type = Option<uuid::Uuid>)]
    pub cell: Option<CellId>,
    pub silent_after_s: Option<SilentAfter>,
}

#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"code": "MILL-1", "name": "Five-axis mill", "silent_after_s": 3600}))]
pub struct ChangeMachineBody {
    #[schema(value_type = text::Code)]
    pub code: Code,
    #[schema(value_type = text::Name)]
    pub name: Name,
    pub silent_after_s: Option<SilentAfter>,
}

/// Up to a week.
pub type SilentAfter = Whole<1, 604_800>;

/// `at` or `at_local`; without either, now.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"at": "2026-11-02T06:10:00Z", "reason": "breakdown", "note": "Coolant pump makes noise"}))]
pub struct DownBody {
    #[schema(value_type = Option<text::Instant>)]
    pub at: Option<Instant>,
    pub at_local: Option<AtLocal>,
    pub reason: DownReasonName,
    #[schema(value_type = Option<text::Note>)]
    pub note: Option<NoteText>,
}

/// `at` or `at_local`; without either, now.
#[derive(Debug, Default, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"at_local": {"local": "2026-10-25T02:30", "occurrence": "second"}}))]
pub struct UpBody {
    #[schema(value_type = Option<text::Instant>)]
    pub at: Option<Instant>,
    pub at_local: Option<AtLocal>,
}

/// When it happened: as the body says, else now.
pub fn at_or_now(
    zone: Tz,
    at: Option<Instant>,
    at_local: Option<AtLocal>,
    now: Timestamp,
) -> Result<Timestamp, Problem> {
    Ok(at_if_told(zone, at, at_local)?.unwrap_or(now))
}

/// The same of something that need not have a time.
pub fn at_if_told(
    zone: Tz,
    at: Option<Instant>,
    at_local: Option<AtLocal>,
) -> Result<Option<Timestamp>, Problem> {
    let given = Given {
        place: &String::new,
        field: "at",
        local_field: "at_local",
        at,
        at_local,
    };
    given.instant(zone)
}

/// A page of machines.
#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"items": [{"id": "01936b5e-5c00-7000-8000-0000000000a1",
    "cell": "01936b5e-5c00-7000-8000-0000000000c1", "code": "MILL-1", "name": "Five-axis mill",
    "silent_after_s": 3600, "condition": {"down": false, "since": null, "reason": null},
    "heard_until": "2026-11-02T05:59:30Z", "changed_seq": 13}], "next_cursor": null}))]
pub struct MachinePage {
    #[schema(max_items = 200)]
    pub items: Vec<MachineDto>,
    /// Null on the last page.
    #[schema(value_type = Option<text::Cursor>)]
    pub next_cursor: Option<String>,
}

#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[serde(try_from = "String")]
pub struct NoteText(pub String);

#[derive(Debug, thiserror::Error)]
#[error("a note has 1 to {NOTE_CHARS_MAX} characters, at least one of them visible; this one has {chars}")]
pub struct NotANote {
    chars: usize,
}

impl TryFrom<String> for NoteText {
    type Error = NotANote;
    fn try_from(text: String) -> Result<Self, NotANote> {
        let chars = text.chars().count();
        if (1..=NOTE_CHARS_MAX).contains(&chars) && !text.trim().is_empty() && !text.contains('\0') {
            Ok(Self(text))
        } else {
            Err(NotANote { chars })
        }
    }
}

impl AddMachineBody {
    /// `own_cell` is used where the machine is standalone.
    pub fn into_command(self, machine: MachineId, own_cell: CellId) -> AddMachine {
        AddMachine {
            machine,
            placement: self.cell.map_or(Placement::Standalone(own_cell), Placement::In),
            code: self.code,
            name: self.name,
            silent_after_s: self.silent_after_s.map(Whole::to),
        }
    }
}

impl ChangeMachineBody {
    pub fn into_command(self, machine: MachineId, expected: Option<Seq>) -> ChangeMachine {
        ChangeMachine {
            machine,
            code: self.code,
            name: self.name,
            silent_after_s: self.silent_after_s.map(Whole::to),
            expected,
        }
    }
}

impl From<&Machine> for MachineDto {
    fn from(machine: &Machine) -> Self {
        Self {
            id: machine.id,
            cell: machine.cell,
            code: machine.code.clone(),
            name: machine.name.clone(),
            silent_after_s: machine.silent_after_s,
            condition: machine.condition.into(),
            heard_until: machine.heard_until.map(Instant),
            changed_seq: machine.changed_seq,
        }
    }
}

impl From<Condition> for ConditionDto {
    fn from(condition: Condition) -> Self {
        let reason = match condition {
            Condition::Down { reason, .. } => Some(reason.into()),
            Condition::NeverDown | Condition::Up { .. } => None,
        };
        Self {
            down: reason.is_some(),
            since: condition.since().map(Instant),
            reason,
        }
    }
}

macro_rules! reasons {
    ($($reason:ident),+) => {
        impl From<DownReasonName> for DownReason {
            fn from(name: DownReasonName) -> Self {
                match name { $(DownReasonName::$reason => Self::$reason,)+ }
            }
        }

        impl From<DownReason> for DownReasonName {
            fn from(reason: DownReason) -> Self {
                match reason { $(DownReason::$reason => Self::$reason,)+ }
            }
        }
    };
}

reasons!(Breakdown, PlannedMaintenance, Tooling, Utilities, Other);

//! The schemas of the texts that the domain checks itself: it says what is right, these say the same to a reader of
//! the OpenAPI document.

use super::whole::EXACT_MAX;
use crate::auth::LOGIN_CHARS_MAX;
use spindlebook_domain::code::{CODE_CHARS_MAX, NAME_CHARS_MAX};
use spindlebook_domain::note::NOTE_CHARS_MAX;
use std::borrow::Cow;
use utoipa::openapi::schema::{KnownFormat, ObjectBuilder, Schema, SchemaFormat, Type};
use utoipa::openapi::{RefOr, schema::SchemaType};
use utoipa::{PartialSchema, ToSchema};

macro_rules! text_schemas {
    ($($(#[doc = $doc:literal])+ $name:ident = $builder:expr;)+) => {$(
        pub struct $name;

        impl PartialSchema for $name {
            fn schema() -> RefOr<Schema> {
                let text: ObjectBuilder = $builder(ObjectBuilder::new().schema_type(SchemaType::Type(Type::String)));
                text.description(Some(concat!($($doc),+).trim())).into()
            }
        }

        impl ToSchema for $name {
            fn name() -> Cow<'static, str> {
                Cow::Borrowed(stringify!($name))
            }
        }
    )+};
}

fn sized(text: ObjectBuilder, least: usize, most: usize) -> ObjectBuilder {
    text.min_length(Some(least)).max_length(Some(most))
}

fn formatted(text: ObjectBuilder, format: KnownFormat) -> ObjectBuilder {
    text.format(Some(SchemaFormat::KnownFormat(format)))
}

text_schemas! {
    /// The short name that the shop paints on the thing; two that differ only in case are one.
    Code = |text| sized(text, 1, CODE_CHARS_MAX).pattern(Some("^[A-Za-z0-9._-]+$")).examples(["MILL-1"]);
    /// One line without control characters.
    Name = |text| sized(text, 1, NAME_CHARS_MAX).pattern(Some(r"^\S(.*\S)?$")).examples(["Pallet pool"]);
    /// What a person signs in by; capitals do not count.
    Login = |text| sized(text, 2, LOGIN_CHARS_MAX).pattern(Some("^[A-Za-z0-9._@-]+$")).examples(["anna"]);
    /// Six digits; patterns like 000000 or 123456 are refused.
    Pin = |text| formatted(sized(text, 6, 6), KnownFormat::Password).pattern(Some("^[0-9]{6}$")).examples(["730518"]);
    /// What somebody may be here.
    Role = |text| sized(text, 5, 12).enum_values(Some(spindlebook_domain::role::Role::ALL.map(spindlebook_domain::role::Role::as_str)))
        .examples(["planner"]);
    /// A free text, kept apart from the ledger so that it can be forgotten.
    Note = |text| sized(text, 1, NOTE_CHARS_MAX).pattern(Some(r"\S")).examples(["Coolant pump makes noise"]);
    /// A time on the wall clock, 00:00 to 23:59.
    TimeOfDay = |text| sized(text, 5, 5).pattern(Some("^([01][0-9]|2[0-3]):[0-5][0-9]$")).examples(["22:00"]);
    /// A name of the IANA time zone database.
    Zone = |text| sized(text, 1, 64).pattern(Some("^[A-Za-z0-9_+/-]+$")).examples(["Europe/Berlin"]);
    /// An instant as RFC 3339 writes it; any offset is taken, `Z` is given. At most microseconds are kept.
    Instant = |text| formatted(sized(text, 20, 40), KnownFormat::DateTime).examples(["2026-11-02T06:00:00Z"]);
    /// What the wall clock at the site showed.
    LocalTime = |text| sized(text, 16, 26)
        .pattern(Some(r"^\d{4}-\d{2}-\d{2}T\d{2}:\d{2}(:\d{2}(\.\d{1,6})?)?$"))
        .examples(["2026-10-25T02:30"]);
    /// A value of `MTConnect`'s EXECUTION, or `OFF`.
    MachineState = |text| sized(text, 3, 24)
        .enum_values(Some(spindlebook_domain::machine_state::MachineState::ALL.map(spindlebook_domain::machine_state::MachineState::name)))
        .examples(["ACTIVE"]);
    /// A sentence for people.
    Sentence = |text| sized(text, 1, 4_000).examples(["to be unloaded and counted"]);
    /// Why a load is not next in a plan.
    ReasonCode = |text| sized(text, 3, 40).enum_values(Some(spindlebook_domain::plan::reasons::ReasonCode::NAMES.iter().copied())).examples(["turn"]);
    /// What a run is for.
    Purpose = |text| sized(text, 3, 40).enum_values(Some(spindlebook_domain::run::Purpose::NAMES.iter().copied())).examples(["production"]);
    /// Why the spindle stands in a run.
    PauseReason = |text| sized(text, 3, 40).enum_values(Some(spindlebook_domain::run::PauseReason::NAMES.iter().copied())).examples(["alarm"]);
    /// Why a run was broken off.
    AbortReason = |text| sized(text, 3, 40).enum_values(Some(spindlebook_domain::run::AbortReason::NAMES.iter().copied())).examples(["tool"]);
    /// Why a load is held.
    HoldKind = |text| sized(text, 3, 40).enum_values(Some(spindlebook_domain::load::HoldKind::NAMES.iter().copied())).examples(["first_piece"]);
    /// The code of a rule.
    RuleCode = |text| sized(text, 3, 80).pattern(Some("^[a-z0-9.-]+$")).examples(["run.held"]);
    /// `person:`, `client:` and an id, or `system`.
    ActorName = |text| sized(text, 6, 43).examples(["person:01936b5e-5c00-7000-8000-0000000000e1"]);
    /// What was decided about a held load.
    Disposition = |text| sized(text, 3, 40).enum_values(Some(spindlebook_domain::load::Disposition::NAMES.iter().copied())).examples(["accept"]);
    /// As what somebody decided.
    Authority = |text| sized(text, 3, 40).enum_values(Some(spindlebook_domain::inspection::Authority::NAMES.iter().copied())).examples(["inspector"]);
    /// After what a first piece is looked at again.
    Occasion = |text| sized(text, 3, 40).enum_values(Some(spindlebook_domain::inspection::Occasion::NAMES.iter().copied())).examples(["new_setup"]);
    /// Who decides while no inspector is there.
    NightPolicy = |text| sized(text, 3, 40).enum_values(Some(spindlebook_domain::inspection::NightPolicy::NAMES.iter().copied())).examples(["till_day"]);
    /// A rule that a planner may override with a reason.
    OverridableRule = |text| sized(text, 3, 40).enum_values(Some(spindlebook_domain::floor::OverridableRule::NAMES.iter().copied())).examples(["run.not-next"]);
    /// What state a pallet is in.
    PalletState = |text| sized(text, 3, 40).enum_values(Some(spindlebook_domain::pool::PalletState::NAMES.iter().copied())).examples(["ready"]);
    /// What something waits for.
    WaitCode = |text| sized(text, 3, 40).enum_values(Some(spindlebook_domain::pool::WaitCode::NAMES.iter().copied())).examples(["unload"]);
    /// Where the next page begins. Opaque; good only for the same filter.
    Cursor = |text| sized(text, 1, 256).pattern(Some("^[A-Za-z0-9_-]+$"));
    /// A web address or a path on the shop's server.
    Link = |text| sized(text, 8, spindlebook_domain::part::LINK_CHARS_MAX).pattern(Some(r"^(https|http|file)://\S+$"))
        .examples(["https://files.example/4711-10.pdf"]);
    /// A code or an id.
    CodeOrId = |text| sized(text, 1, 36).pattern(Some("^[A-Za-z0-9._-]+$")).examples(["POOL-A"]);
    /// An RFC 3339 instant, or a date at the site: then the day's beginning there.
    InstantOrDate = |text| sized(text, 10, 40)
        .pattern(Some(r"^\d{4}-\d{2}-\d{2}([Tt ].+)?$"))
        .examples(["2026-11-02"]);
}

/// The number of an entry.
pub struct Seq;

impl PartialSchema for Seq {
    fn schema() -> RefOr<Schema> {
        ObjectBuilder::new()
            .schema_type(Type::Integer)
            .format(Some(SchemaFormat::KnownFormat(KnownFormat::Int64)))
            .minimum(Some(0))
            .maximum(Some(EXACT_MAX))
            .description(Some(
                "The number of an entry: 1, 2, 3 … without a gap; 0 before the first",
            ))
            .into()
    }
}

impl ToSchema for Seq {
    fn name() -> Cow<'static, str> {
        Cow::Borrowed("Seq")
    }
}

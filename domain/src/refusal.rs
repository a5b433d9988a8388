//! Refusals: a rule of the domain said no. Each has a stable code that is a statement, a sentence with the values,
//! and the facts that a person needs to act.

use crate::time::Timestamp;

/// What a refusal means for whoever asked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RefusalKind {
    /// The thing that the command acts on is not here.
    NotFound,
    /// A rule forbids it as things stand.
    Rule,
    /// Whoever asks may not: others may.
    Forbidden,
    /// It was decided on an older version of the thing.
    Stale,
    /// The command cannot be right at any time: a field is wrong in itself.
    Invalid,
}

/// A value that belongs to a refusal.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Fact {
    Text(String),
    Integer(i64),
    Instant(Timestamp),
}

macro_rules! fact_from_display {
    ($($kind:ty),+ $(,)?) => {$(
        impl From<&$kind> for Fact {
            fn from(value: &$kind) -> Self {
                Self::Text(value.to_string())
            }
        }
    )+};
}

fact_from_display!(
    crate::ids::BadgeId,
    crate::ids::CommandId,
    crate::ids::CellId,
    crate::ids::CustomerId,
    crate::ids::FixtureCopyId,
    crate::ids::FixtureId,
    crate::ids::JobId,
    crate::ids::MachineId,
    crate::ids::OrderId,
    crate::ids::SetupId,
    crate::ids::LoadId,
    crate::ids::RunId,
    crate::ids::HoldId,
    crate::ids::ParkedId,
    crate::ids::PalletId,
    crate::ids::PartId,
    crate::ids::VendorId,
    crate::pallet::Position,
    crate::ids::PlanId,
    crate::ids::PrincipalId,
    crate::code::Code,
    crate::code::Name,
    crate::role::Role,
    chrono::NaiveDate,
    crate::machine::DownReason,
    crate::run::Purpose,
    crate::load::HoldKind,
    crate::load::Disposition,
    crate::size::Size,
    String,
    &'static str
);

impl From<&Timestamp> for Fact {
    fn from(value: &Timestamp) -> Self {
        Self::Instant(*value)
    }
}

impl From<&i64> for Fact {
    fn from(value: &i64) -> Self {
        Self::Integer(*value)
    }
}

impl From<&u64> for Fact {
    fn from(value: &u64) -> Self {
        Self::Integer(i64::try_from(*value).unwrap_or(i64::MAX))
    }
}

impl From<&u32> for Fact {
    fn from(value: &u32) -> Self {
        Self::Integer(i64::from(*value))
    }
}

impl From<&usize> for Fact {
    fn from(value: &usize) -> Self {
        Self::Integer(i64::try_from(*value).unwrap_or(i64::MAX))
    }
}

/// Declares the refusals of one topic: for each its fields, kind, stable code, the JSON pointer of the field that is
/// wrong (`""` where none is; it may hold the refusal's own fields, like `/slots/{index}`) and the sentence.
macro_rules! refusals {
    ($(#[$outer:meta])* pub enum $name:ident {
        $($(#[$doc:meta])* $variant:ident { $($field:ident : $type:ty),* $(,)? } => ($kind:ident, $code:literal, $pointer:literal, $sentence:literal)),+ $(,)?
    }) => {
        $(#[$outer])*
        #[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
        pub enum $name {
            $($(#[$doc])* #[error($sentence)] $variant { $($field: $type),* },)+
        }

        impl $name {
            pub const CODES: &'static [&'static str] = &[$($code),+];
            pub const KINDS: &'static [$crate::refusal::RefusalKind] = &[$($crate::refusal::RefusalKind::$kind),+];

            pub const fn code(&self) -> &'static str {
                match self { $(Self::$variant { .. } => $code,)+ }
            }

            pub const fn kind(&self) -> $crate::refusal::RefusalKind {
                match self { $(Self::$variant { .. } => $crate::refusal::RefusalKind::$kind,)+ }
            }

            /// The JSON pointer of the field that is wrong, empty where no single one is.
            pub fn pointer(&self) -> String {
                match self {
                    $(Self::$variant { $($field),* } => {
                        // A pointer names only the fields that lead to it.
                        let _ = ($($field,)*);
                        format!($pointer)
                    })+
                }
            }

            pub fn facts(&self) -> Vec<(&'static str, $crate::refusal::Fact)> {
                match self {
                    $(Self::$variant { $($field),* } => vec![$((stringify!($field), $crate::refusal::Fact::from($field))),*],)+
                }
            }
        }
    };
}
pub(crate) use refusals;

macro_rules! any_refusal {
    ($($topic:ident($type:ty)),+ $(,)?) => {
        /// Any refusal of the domain.
        #[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
        pub enum Refusal {
            $(#[error(transparent)] $topic(#[from] $type),)+
        }

        impl Refusal {
            pub const fn code(&self) -> &'static str {
                match self { $(Self::$topic(refusal) => refusal.code(),)+ }
            }

            pub const fn kind(&self) -> RefusalKind {
                match self { $(Self::$topic(refusal) => refusal.kind(),)+ }
            }

            pub fn pointer(&self) -> String {
                match self { $(Self::$topic(refusal) => refusal.pointer(),)+ }
            }

            pub fn facts(&self) -> Vec<(&'static str, Fact)> {
                match self { $(Self::$topic(refusal) => refusal.facts(),)+ }
            }

            /// Every code that there is.
            pub fn all_codes() -> Vec<&'static str> {
                [$(<$type>::CODES),+].concat()
            }

            /// Every code with its kind.
            pub fn all_kinds() -> Vec<(&'static str, RefusalKind)> {
                let kinds = [$(<$type>::KINDS),+].concat();
                Self::all_codes().into_iter().zip(kinds).collect()
            }
        }
    };
}

any_refusal!(
    Access(crate::access::AccessRefusal),
    Device(crate::device::DeviceRefusal),
    Badge(crate::device::BadgeRefusal),
    Site(crate::site::SiteRefusal),
    Cell(crate::cell::CellRefusal),
    Machine(crate::machine::MachineRefusal),
    Pallet(crate::pallet::PalletRefusal),
    Fixture(crate::fixture::FixtureRefusal),
    Customer(crate::customer::CustomerRefusal),
    Vendor(crate::vendor::VendorRefusal),
    Part(crate::part::PartRefusal),
    Order(crate::order::OrderRefusal),
    Job(crate::job::JobRefusal),
    Act(crate::floor::ActRefusal),
    Mount(crate::floor::MountRefusal),
    Load(crate::floor::LoadRefusal),
    Move(crate::floor::MoveRefusal),
    Queue(crate::floor::QueueRefusal),
    Run(crate::floor::RunRefusal),
    Unload(crate::floor::UnloadRefusal),
    Hold(crate::floor::HoldRefusal),
    Disposition(crate::inspection::DispositionRefusal),
    InspectionRule(crate::inspection::InspectionRuleRefusal),
    Opening(crate::floor::OpeningRefusal),
    Late(crate::late::LateRefusal),
    Correction(crate::correction::CorrectionRefusal),
    Handover(crate::handover::HandoverRefusal),
    Plan(crate::plan::PlanRefusal),
);

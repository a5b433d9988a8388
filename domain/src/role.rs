//! What a person or a client may be here. Which role may do which operation stands in one table at the edge.

use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

/// A person may have several roles; shops are small.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Role {
    /// Enters orders and answers customers.
    FrontOffice,
    /// The shop lead: plans, sets up cells and machines, overrides rules that are not about safety or quality.
    Planner,
    /// Works at the load station and at the machines.
    Operator,
    /// Lifts holds.
    Inspector,
    /// Reads everything, changes nothing.
    Viewer,
    /// Keeps users, clients and the site itself.
    Admin,
    /// A machine client: a quoting tool, an accounting tool, a device that reports signals.
    Integration,
    /// An enrolled tablet: delivers acts, each with the badge of the person who tapped.
    Device,
}

impl Role {
    pub const ALL: [Self; 8] = [
        Self::FrontOffice,
        Self::Planner,
        Self::Operator,
        Self::Inspector,
        Self::Viewer,
        Self::Admin,
        Self::Integration,
        Self::Device,
    ];

    pub const fn as_str(self) -> &'static str {
        match self {
            Self::FrontOffice => "front_office",
            Self::Planner => "planner",
            Self::Operator => "operator",
            Self::Inspector => "inspector",
            Self::Viewer => "viewer",
            Self::Admin => "admin",
            Self::Integration => "integration",
            Self::Device => "device",
        }
    }
}

impl fmt::Display for Role {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error(
    "`{0}` is no role; the roles are front_office, planner, operator, inspector, viewer, admin, integration, device"
)]
pub struct NoSuchRole(pub String);

impl FromStr for Role {
    type Err = NoSuchRole;
    fn from_str(text: &str) -> Result<Self, NoSuchRole> {
        Self::ALL
            .into_iter()
            .find(|role| role.as_str() == text)
            .ok_or_else(|| NoSuchRole(text.to_owned()))
    }
}

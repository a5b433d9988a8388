//! Who did it: an opaque id. Names live outside of the ledger, where they can be forgotten.

use crate::ids::PrincipalId;
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

/// Written as its text.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(into = "String", try_from = "String")]
pub enum Actor {
    Person(PrincipalId),
    /// A machine client.
    Client(PrincipalId),
    /// The service itself or somebody at its command line.
    System,
}

/// The person, if it was one.
pub const fn person(actor: Actor) -> Option<PrincipalId> {
    match actor {
        Actor::Person(id) => Some(id),
        Actor::Client(_) | Actor::System => None,
    }
}

impl fmt::Display for Actor {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Person(id) => write!(f, "person:{id}"),
            Self::Client(id) => write!(f, "client:{id}"),
            Self::System => f.write_str("system"),
        }
    }
}

#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("`{0}` is no actor: expected person:UUID, client:UUID or system")]
pub struct NoSuchActor(pub String);

impl From<Actor> for String {
    fn from(actor: Actor) -> Self {
        actor.to_string()
    }
}

impl TryFrom<String> for Actor {
    type Error = NoSuchActor;
    fn try_from(text: String) -> Result<Self, NoSuchActor> {
        text.parse()
    }
}

impl FromStr for Actor {
    type Err = NoSuchActor;
    fn from_str(text: &str) -> Result<Self, NoSuchActor> {
        let refused = || NoSuchActor(text.to_owned());
        match text.split_once(':') {
            None if text == "system" => Ok(Self::System),
            Some(("person", id)) => id.parse().map(Self::Person).map_err(|_| refused()),
            Some(("client", id)) => id.parse().map(Self::Client).map_err(|_| refused()),
            _ => Err(refused()),
        }
    }
}

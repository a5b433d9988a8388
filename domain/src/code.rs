//! The short name that a shop gives to a thing and paints on it.

use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

pub const CODE_CHARS_MAX: usize = 32;
pub const NAME_CHARS_MAX: usize = 80;

/// One to 32 letters, digits, `.`, `_` or `-`; kept exactly as typed (leading zeros matter).
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Code(String);

#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("`{0}` is no code: use 1 to 32 letters, digits, `.`, `_` or `-`")]
pub struct NotACode(pub String);

impl Code {
    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// Two codes that differ only in case are one code: people say them aloud.
    pub fn is_spoken_like(&self, other: &Self) -> bool {
        self.0.eq_ignore_ascii_case(&other.0)
    }
}

impl TryFrom<String> for Code {
    type Error = NotACode;
    fn try_from(text: String) -> Result<Self, NotACode> {
        let allowed = |c: char| c.is_ascii_alphanumeric() || matches!(c, '.' | '_' | '-');
        let fits = (1..=CODE_CHARS_MAX).contains(&text.len()) && text.chars().all(allowed);
        if fits { Ok(Self(text)) } else { Err(NotACode(text)) }
    }
}

impl FromStr for Code {
    type Err = NotACode;
    fn from_str(text: &str) -> Result<Self, NotACode> {
        Self::try_from(text.to_owned())
    }
}

impl From<Code> for String {
    fn from(code: Code) -> Self {
        code.0
    }
}

impl fmt::Display for Code {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// What people call it: one line of 1 to 80 characters, no control characters.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Name(String);

#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("`{0}` is no name: use one line of 1 to 80 characters")]
pub struct NotAName(pub String);

impl Name {
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl TryFrom<String> for Name {
    type Error = NotAName;
    fn try_from(text: String) -> Result<Self, NotAName> {
        let chars = text.chars().count();
        let fits = (1..=NAME_CHARS_MAX).contains(&chars)
            && !text.chars().any(char::is_control)
            && text.trim() == text;
        if fits { Ok(Self(text)) } else { Err(NotAName(text)) }
    }
}

impl FromStr for Name {
    type Err = NotAName;
    fn from_str(text: &str) -> Result<Self, NotAName> {
        Self::try_from(text.to_owned())
    }
}

impl From<Name> for String {
    fn from(name: Name) -> Self {
        name.0
    }
}

impl fmt::Display for Name {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

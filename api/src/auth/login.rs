//! The name by which a person signs in.

use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

pub const LOGIN_CHARS_MAX: usize = 64;

/// 2 to 64 letters, digits, `.`, `_`, `-` or `@`. Kept in small letters: nobody is kept out by a capital.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Login(String);

#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("`{0}` is no login: use 2 to 64 letters, digits, `.`, `_`, `-` or `@`")]
pub struct NotALogin(pub String);

impl Login {
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl TryFrom<String> for Login {
    type Error = NotALogin;
    fn try_from(text: String) -> Result<Self, NotALogin> {
        let allowed = |c: char| c.is_ascii_alphanumeric() || matches!(c, '.' | '_' | '-' | '@');
        let fits = (2..=LOGIN_CHARS_MAX).contains(&text.len()) && text.chars().all(allowed);
        if fits {
            Ok(Self(text.to_ascii_lowercase()))
        } else {
            Err(NotALogin(text))
        }
    }
}

impl FromStr for Login {
    type Err = NotALogin;
    fn from_str(text: &str) -> Result<Self, NotALogin> {
        Self::try_from(text.to_owned())
    }
}

impl From<Login> for String {
    fn from(login: Login) -> Self {
        login.0
    }
}

impl fmt::Display for Login {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

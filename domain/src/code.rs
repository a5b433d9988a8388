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

/// What people call it: one line of 1 to 80 characters, no control characters and none that are not seen.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Name(String);

#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("`{shown}` is no name: use one line of 1 to 80 characters that can be seen", shown = .0.escape_debug())]
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
            && !text.chars().any(|c| c.is_control() || is_format_control(c))
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

/// With these a name looks like another, or turns the text beside it around. The two joiners (U+200C, U+200D) stay:
/// some scripts cannot be written without them.
const fn is_format_control(c: char) -> bool {
    matches!(
        c,
        '\u{ad}'
            | '\u{600}'..='\u{605}'
            | '\u{61c}'
            | '\u{6dd}'
            | '\u{70f}'
            | '\u{890}'..='\u{891}'
            | '\u{8e2}'
            | '\u{180e}'
            | '\u{200b}'
            | '\u{200e}'..='\u{200f}'
            | '\u{2028}'..='\u{202e}'
            | '\u{2060}'..='\u{206f}'
            | '\u{feff}'
            | '\u{fff9}'..='\u{fffb}'
            | '\u{110bd}'
            | '\u{110cd}'
            | '\u{13430}'..='\u{1343f}'
            | '\u{1bca0}'..='\u{1bca3}'
            | '\u{1d173}'..='\u{1d17a}'
            | '\u{e0000}'..='\u{e007f}'
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    // The Unicode Character Database, general category Cf, and the line and paragraph separators (Zl, Zp).
    #[test]
    fn a_name_has_nothing_that_is_not_seen() {
        let unseen = ('\u{202a}'..='\u{202e}').chain('\u{2066}'..='\u{2069}').chain([
            '\u{200b}',
            '\u{200f}',
            '\u{2028}',
            '\u{2060}',
            '\u{feff}',
            '\u{ad}',
            '\u{e0041}',
        ]);
        for c in unseen {
            let text = format!("Lathe{c}7");
            let refused = Name::try_from(text.clone()).unwrap_err();
            assert!(!refused.to_string().contains(c), "{refused}: shown as an escape");
            assert_eq!(refused, NotAName(text));
        }
        for fine in ["Lathe 7", "Fräsmaschine", "旋盤 3", "می\u{200c}خواهم", "מחרטה"] {
            assert!(Name::try_from(fine.to_owned()).is_ok(), "{fine}");
        }
    }
}

//! A text that must not get into a log.

use serde::{Deserialize, Serialize};
use std::fmt;
use utoipa::ToSchema;

/// A password, client secret or refresh token. Shown only where it is asked for by name.
#[derive(Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(transparent)]
#[schema(value_type = String, format = Password, max_length = 1024)]
pub struct Secret(String);

impl Secret {
    pub fn new(text: impl Into<String>) -> Self {
        Self(text.into())
    }

    /// 256 bits that nobody can guess, in characters that stand in headers and forms as they are.
    pub fn random() -> Self {
        use base64::Engine;
        let bytes: [u8; 32] = rand::random();
        Self(base64::engine::general_purpose::URL_SAFE_NO_PAD.encode(bytes))
    }

    pub fn reveal(&self) -> &str {
        &self.0
    }

    /// What is stored of a random one. Guessing 256 bits is hopeless, so a fast hash is enough.
    pub fn sha256(&self) -> [u8; 32] {
        use sha2::{Digest, Sha256};
        Sha256::digest(self.0.as_bytes()).into()
    }
}

impl fmt::Debug for Secret {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Secret(…)")
    }
}

#[cfg(test)]
mod tests {
    use super::Secret;

    #[test]
    fn a_secret_does_not_show_itself() {
        assert_eq!(format!("{:?}", Secret::new("hunter2")), "Secret(…)");
    }

    #[test]
    fn random_ones_differ_and_are_long() {
        let (a, b) = (Secret::random(), Secret::random());
        assert_ne!(a, b);
        assert_eq!(a.reveal().len(), 43);
    }
}

//! Free text apart from the ledger. An entry keeps the text's id and a salted hash: the text can be forgotten
//! and the chain still verifies; while it is there, the hash proves that it is the text that was entered.

use crate::ids::TextId;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::fmt::Write;

/// Long enough for a sentence or five; whole reports belong elsewhere.
pub const NOTE_CHARS_MAX: usize = 2_000;

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NoteRef {
    pub text: TextId,
    /// SHA-256 over salt and text, in hexadecimal.
    pub sha256: String,
}

impl NoteRef {
    pub fn new(text: TextId, salt: &[u8; 16], body: &str) -> Self {
        Self {
            text,
            sha256: salted_digest(salt, body),
        }
    }

    pub fn is_of(&self, salt: &[u8; 16], body: &str) -> bool {
        self.sha256 == salted_digest(salt, body)
    }
}

fn salted_digest(salt: &[u8; 16], body: &str) -> String {
    let digest = Sha256::new()
        .chain_update(salt)
        .chain_update(body.as_bytes())
        .finalize();
    digest.iter().fold(String::with_capacity(64), |mut hex, byte| {
        // Writing to a String cannot fail.
        let _ = write!(hex, "{byte:02x}");
        hex
    })
}

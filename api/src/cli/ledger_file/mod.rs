//! An exported ledger: JSON lines that anybody can check without this program. `docs/ledger-export.md` describes them.
//!
//! First a header, then one line for each entry with its payload as the exact text that was hashed, and last the head
//! with the site's signature. Nothing in it identifies a person.

mod line;
mod read;
#[cfg(test)]
mod tests;

pub use line::{EntryLine, HeadLine, HeaderLine};
pub use read::{check, head};

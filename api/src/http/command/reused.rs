//! What is told of a key that was used for another request.

use crate::book::{Book, BookError};
use crate::problem::Problem;
use spindlebook_domain::ids::SiteId;

/// An act gives a handful of entries.
const RECORDED_MAX: u32 = 10;

/// Of an act on the floor both are shown, what was recorded first and what is sent now: whoever counted sees which of
/// the two is right. Other bodies may hold what must not be shown.
pub async fn key_reused(book: &Book, site: SiteId, sent: Option<&[u8]>, error: BookError) -> Problem {
    let entries = match (&error, sent) {
        (BookError::KeyReused { entries, .. }, Some(_)) => *entries,
        _ => None,
    };
    let problem = Problem::from(error);
    let (Some((first, last)), Some(sent)) = (entries, sent) else {
        return problem;
    };
    let limit = u32::try_from(last - first + 1)
        .unwrap_or(u32::MAX)
        .min(RECORDED_MAX);
    let recorded = match book.entries_after(site, first - 1, limit).await {
        Ok(recorded) => recorded,
        Err(error) => return error.into(),
    };
    let read = |bytes: &[u8]| serde_json::from_slice(bytes).unwrap_or(serde_json::Value::Null);
    let recorded = recorded.iter().map(|entry| {
        serde_json::json!({ "seq": entry.envelope.seq, "kind": entry.envelope.kind, "payload": read(&entry.payload) })
    });
    problem
        .with("recorded", recorded.collect::<Vec<_>>())
        .with("sent", read(sent))
}

//! What is computed while the caller waits.

use crate::http::ask::Ask;
use crate::planning::{DueTime, Ground, Planning};
use crate::problem::{Code, Problem};
use spindlebook_domain::plan::check::Fault;
use spindlebook_domain::refusal::Refusal;
use spindlebook_domain::site::SiteRefusal;
use std::sync::Arc;

pub async fn ground_of<O>(ask: &Ask<O>, due: &[DueTime]) -> Result<Ground, Problem> {
    let ground = Ground::of(&ask.book, ask.caller.site, Arc::clone(&ask.shop), due).await?;
    ground.ok_or_else(|| Problem::from(Refusal::from(SiteRefusal::NotOpened {})))
}

/// On a thread of its own, when it is its turn.
pub async fn within<T: Send + 'static>(
    planning: &Planning,
    work: impl FnOnce() -> Result<T, Vec<Fault>> + Send + 'static,
) -> Result<T, Problem> {
    let busy = || {
        let detail = "Others are asking for plans; ask again in a moment.";
        Problem::new(Code::Busy, detail).with_retry_after_s(5)
    };
    let answer = planning.answer(work).await.ok_or_else(busy)?;
    answer.map_err(|faults| {
        let first = faults.first().map(ToString::to_string).unwrap_or_default();
        Problem::fault(&format!(
            "a plan breaks {} rules, the first: {first}",
            faults.len()
        ))
    })
}

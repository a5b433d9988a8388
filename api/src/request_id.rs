//! The id of the request being answered: in the header `x-request-id`, in every problem and on every log line.

use std::future::Future;
use uuid::Uuid;

tokio::task_local! {
    static CURRENT: Uuid;
}

/// Answers `request` under a new id.
pub async fn under<F: Future>(id: Uuid, request: F) -> F::Output {
    CURRENT.scope(id, request).await
}

/// `None` outside of a request.
pub fn current() -> Option<Uuid> {
    CURRENT.try_with(|id| *id).ok()
}

//! The id of the request being answered: in the header `x-request-id`, in every problem and on every log line.

use std::future::Future;
use uuid::Uuid;

tokio::task_local! {
    static CURRENT: Uuid;
}

/// Answers `request` under this id.
pub async fn under<F: Future>(id: Uuid, request: F) -> F::Output {
    CURRENT.scope(id, request).await
}

/// The same for work that does not wait: what the writer does for a request runs in a task of its own.
pub fn under_sync<T>(id: Uuid, work: impl FnOnce() -> T) -> T {
    CURRENT.sync_scope(id, work)
}

/// `None` outside of a request.
pub fn current() -> Option<Uuid> {
    CURRENT.try_with(|id| *id).ok()
}

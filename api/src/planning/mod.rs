//! Plans are computed here, beside the book: what is planned from, how long is searched, and by whom. Nothing of it
//! changes the ledger.

mod ground;
mod queue;
mod search;

pub use ground::{DueTime, Ground};
pub use queue::{Asked, Begun, Planning, Publishable, Told, has_gone};
pub use search::{Best, ITERATIONS_MAX, SECONDS_MAX, Search, Watch};

//! What the tests of the service stand on: throw-away databases, the service in process or as a process of its own,
//! callers, load, and the checks of the source tree itself.

#![expect(
    clippy::missing_panics_doc,
    reason = "what a test stands on says no by panicking"
)]

pub mod answer;
pub mod app;
pub mod caller;
mod contract;
pub mod cut_proxy;
pub mod engine;
pub mod golden;
mod guardian;
pub mod http_client;
pub mod ledger_rows;
pub mod load;
pub mod postgres;
pub mod process;
pub mod signal;
pub mod site;
pub mod sse;
pub mod sync_trace;
pub mod temporary;
pub mod tidy;

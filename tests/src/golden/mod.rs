//! Golden logs: the exported ledger of each release. Every later release must read it and come to the same shop and
//! the same hours. `golden-log` (a program of this package) writes one.

mod approved;
mod catalogue;
mod held;
mod late;
mod log;
mod story;
mod tablets;
mod work;
mod work_shop;

pub use catalogue::catalogue;
pub use late::late;
pub use log::GoldenLog;
pub use story::{Told, tell};
pub use tablets::tablets;
pub use work::work;
pub use work_shop::WorkShop;

use crate::app::TestApp;
use anyhow::Result;
use std::path::PathBuf;

/// What a log came to when it was written.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Expected {
    pub entries: u64,
    pub head_hash: String,
    /// Raised with every change of the shop's serialised shape: another shape has another digest.
    pub shop_schema: u32,
    pub shop_sha256: String,
    /// Whose hours are kept beside it, and who may ask for them.
    pub cell: String,
    pub viewer: String,
    pub from: String,
    pub to: String,
}

/// The hours of the log's cell by shift, as CSV, from a service that the log was brought into.
pub async fn hours(app: &TestApp, log: &GoldenLog, expected: &Expected) -> Result<String> {
    log.restore(&app.store).await?;
    app.service.book.open_site(log.site).await?;
    let viewer = app.as_principal(log.site, expected.viewer.parse()?);
    let Expected { cell, from, to, .. } = expected;
    let path = format!("/v1/hours?cell={cell}&from={from}&to={to}&by=shift&format=csv");
    Ok(viewer.get(&path).await.expect_status(200).text())
}

pub fn folder() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("data/golden")
}

//! A whole ledger read and folded, page by page; the two are timed apart.

use anyhow::{Context, Result};
use serde_json::json;
use spindlebook::book::Folded;
use spindlebook_store::{Store, entry, site};
use std::time::{Duration, Instant};

const PAGE: u32 = 5_000;

pub async fn run(url: &str) -> Result<()> {
    let store = Store::open(url, 2).await?;
    let mut session = store.session().await?;
    let sites = site::all(&mut session).await?;
    let site = sites.first().context("the database has no site")?;
    let mut folded = Folded::default();
    let (mut reading, mut folding) = (Duration::ZERO, Duration::ZERO);
    loop {
        let began = Instant::now();
        let page = entry::after(&mut session, site.id, folded.head.seq, PAGE).await?;
        reading += began.elapsed();
        if page.is_empty() {
            break;
        }
        let began = Instant::now();
        for entry in &page {
            folded.apply(entry)?;
        }
        folding += began.elapsed();
    }
    let entries = folded.head.seq;
    let (reading_s, folding_s) = (reading.as_secs_f64(), folding.as_secs_f64());
    println!(
        "{}",
        json!({ "entries": entries, "reading_s": reading_s, "folding_s": folding_s })
    );
    Ok(())
}

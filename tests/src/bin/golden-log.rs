//! Writes the golden log of a release: `cargo run --bin golden-log -- NAME`, once for each release, before it is made.
//! See `tests/data/golden/README.md`.

use anyhow::{Context, Result, bail};
use sha2::{Digest, Sha256};
use spindlebook::cli::{Terminal, run_with};
use spindlebook_domain::shop::SHOP_SCHEMA;
use spindlebook_store::Store;
use spindlebook_tests::app::TestApp;
use spindlebook_tests::engine::Engine;
use spindlebook_tests::golden::{Expected, GoldenLog, folder, hours, tell};
use std::ffi::OsString;
use std::{fs, io};

#[tokio::main]
async fn main() -> Result<()> {
    let name = std::env::args()
        .nth(1)
        .context("say which release, as release-0.1")?;
    let log_file = folder().join(format!("{name}.jsonl"));
    if log_file.exists() {
        bail!(
            "{} is there already, and golden logs never change",
            log_file.display()
        );
    }
    let data = tempfile::tempdir()?;
    let store = Store::open(
        &format!(
            "sqlite://{}?mode=rwc",
            data.path().join("spindlebook.sqlite").display()
        ),
        4,
    )
    .await?;
    let told = tell(&store, "golden").await?;
    store.close().await;
    export(
        data.path().as_os_str().to_owned(),
        log_file.as_os_str().to_owned(),
    )
    .await?;
    let log = GoldenLog::read(&log_file)?;
    let last = log.entries.last().context("nothing was told")?;
    let shop = serde_json::to_vec(&log.shop()?)?;
    let expected = Expected {
        entries: last.envelope.seq,
        head_hash: hex::encode(last.hash),
        shop_schema: SHOP_SCHEMA,
        shop_sha256: hex::encode(Sha256::digest(&shop)),
        cell: told.cell.to_string(),
        viewer: told.viewer.to_string(),
        from: told.from.to_string(),
        to: told.to.to_string(),
    };
    let hours = hours(&TestApp::new(Engine::Sqlite).await, &log, &expected).await?;
    fs::write(folder().join(format!("{name}.hours.csv")), hours)?;
    fs::write(folder().join(format!("{name}.shop.json")), shop)?;
    fs::write(
        folder().join(format!("{name}.expected.json")),
        serde_json::to_string_pretty(&expected)? + "\n",
    )?;
    Ok(())
}

/// By the command line itself, as anybody would.
async fn export(data: OsString, out: OsString) -> Result<()> {
    let arguments = ["spindlebook", "export", "ledger", "--data"].map(OsString::from);
    let arguments: Vec<_> = arguments
        .into_iter()
        .chain([data, OsString::from("--out"), out])
        .collect();
    let run = move || {
        let mut terminal = Terminal {
            out: &mut io::stdout(),
            err: &mut io::stderr(),
            watched: false,
        };
        run_with(arguments, &mut terminal)
    };
    match tokio::task::spawn_blocking(run).await? {
        0 => Ok(()),
        code => bail!("the export ended with {code}"),
    }
}

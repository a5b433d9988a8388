//! `spindlebook rebuild`: the read tables anew from the ledger.

use super::failure::Failure;
use super::place::PlaceArgs;
use super::terminal::Terminal;
use crate::book;
use clap::Args;
use serde::Serialize;

const HELP: &str = "\
Whoever reads meanwhile sees the old rows or the new ones; commands wait. The ledger itself is not touched.

Example:
  spindlebook rebuild && spindlebook verify

Exit codes: 0 done; 1 refused; 2 wrong usage.";

#[derive(Args, Debug)]
#[command(after_help = HELP)]
pub struct RebuildArgs {
    /// Print JSON
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    place: PlaceArgs,
}

#[derive(Serialize)]
struct RebuildView {
    site: String,
    entries: u64,
    rows: u64,
}

pub async fn run(args: &RebuildArgs, terminal: &mut Terminal<'_>) -> Result<(), Failure> {
    let chosen = args.place.choose()?;
    let store = chosen.store().await?;
    let site = chosen.site(&store).await?;
    let report = {
        let mut progress = terminal.progress("entries read", site.head.seq);
        book::rebuild(&store, site.id, &mut |at: book::Progress| progress.at(at.done)).await?
    };
    let view = RebuildView {
        site: site.code,
        entries: report.entries,
        rows: report.rows,
    };
    if args.json {
        return terminal.json(&view);
    }
    writeln!(
        terminal.out,
        "{}: {} rows written from {} entries",
        view.site, view.rows, view.entries
    )?;
    Ok(())
}

//! `spindlebook verify`: does the ledger hold together, and is it the one that was exported?

use super::failure::Failure;
use super::place::PlaceArgs;
use super::terminal::Terminal;
use crate::book;
use clap::Args;
use serde::Serialize;

const HELP: &str = "\
Checks every entry (numbers without a gap, hashes, readable), the head, and every row of the read tables.

Example:
  spindlebook verify

Exit codes: 0 sound; 1 not sound, every fault is listed; 2 wrong usage.";

#[derive(Args, Debug)]
#[command(after_help = HELP)]
pub struct VerifyArgs {
    /// Print JSON
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    place: PlaceArgs,
}

#[derive(Serialize)]
struct VerifyView {
    site: String,
    sound: bool,
    entries: u64,
    head_hash: String,
    rows_compared: u64,
    faults: Vec<String>,
}

pub async fn run(args: &VerifyArgs, terminal: &mut Terminal<'_>) -> Result<(), Failure> {
    let chosen = args.place.choose()?;
    let store = chosen.store().await?;
    let site = chosen.site(&store).await?;
    let report = {
        let mut progress = terminal.progress("entries checked", site.head.seq);
        book::verify(&store, site.id, None, &mut |at: book::Progress| {
            progress.at(at.done)
        })
        .await?
    };
    let view = VerifyView {
        site: report.code.clone(),
        sound: report.is_sound(),
        entries: report.head.seq,
        head_hash: hex::encode(report.head.hash),
        rows_compared: report.rows_compared,
        faults: report.faults.iter().map(ToString::to_string).collect(),
    };
    let not_sound = Failure::refused(format!(
        "the ledger of {} is not sound: {} faults",
        view.site,
        view.faults.len()
    ));
    if args.json {
        terminal.json(&view)?;
    } else {
        for fault in &view.faults {
            writeln!(terminal.out, "{fault}")?;
        }
        if view.sound {
            writeln!(
                terminal.out,
                "{}: {} entries and {} rows are sound; the last entry has the hash {}",
                view.site, view.entries, view.rows_compared, view.head_hash
            )?;
        }
    }
    if view.sound { Ok(()) } else { Err(not_sound) }
}

//! `spindlebook export ledger`: every entry, and the head signed by the site.

use super::failure::Failure;
use super::ledger_file::{EntryLine, HeadLine, HeaderLine};
use super::new_file::NewFile;
use super::place::PlaceArgs;
use super::terminal::Terminal;
use crate::auth::SigningKey;
use crate::clock::{Clock, SystemClock};
use clap::{Args, Subcommand};
use serde::Serialize;
use spindlebook_domain::entry::GENESIS;
use spindlebook_domain::ids::SiteId;
use spindlebook_store::{Session, entry, site};
use std::fs::OpenOptions;
use std::io::{BufWriter, Write};
use std::path::PathBuf;

const HELP: &str = "\
JSON lines: a header, one line for each entry with its payload as the exact text that was hashed, and last the head
with an Ed25519 signature by the signing key of the data folder. docs/ledger-export.md says how to check it by hand.
Names of people and notes are not in it: they lie apart from the ledger.

Example:
  spindlebook export ledger --out north.jsonl && spindlebook verify --file north.jsonl

Exit codes: 0 done; 1 refused; 2 wrong usage.";

#[derive(Args, Debug)]
pub struct ExportArgs {
    #[command(subcommand)]
    command: ExportCommand,
}

#[derive(Subcommand, Debug)]
enum ExportCommand {
    /// Write the whole ledger out, as of one moment
    #[command(after_help = HELP)]
    Ledger(ExportLedgerArgs),
}

#[derive(Args, Debug)]
struct ExportLedgerArgs {
    /// The file to write; without it, standard output
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    #[command(flatten)]
    place: PlaceArgs,
}

const PAGE: u32 = 1_000;

pub async fn run(args: &ExportArgs, terminal: &mut Terminal<'_>) -> Result<(), Failure> {
    let ExportCommand::Ledger(args) = &args.command;
    let chosen = args.place.choose()?;
    let file = args.out.as_deref().map(NewFile::at).transpose()?;
    let store = chosen.store().await?;
    let key = SigningKey::load_or_create(&chosen.place.signing_key)?;
    let id = chosen.site(&store).await?.id;
    let mut session = store.frozen_session().await?;
    match file {
        None => {
            let mut out = Vec::new();
            // Lines go out page by page, between the pages nothing waits for the reader.
            write(&mut session, id, &key, &mut out, &mut |bytes| {
                terminal.out.write_all(bytes)
            })
            .await?;
        }
        Some(file) => {
            let mut out = BufWriter::new(OpenOptions::new().write(true).open(file.draft())?);
            let entries = {
                let mut progress = terminal.progress("entries exported", 0);
                let mut written = Vec::new();
                let mut pages = 0;
                write(&mut session, id, &key, &mut written, &mut |bytes| {
                    pages += 1;
                    progress.at(pages * u64::from(PAGE));
                    out.write_all(bytes)
                })
                .await?
            };
            out.into_inner()
                .map_err(std::io::IntoInnerError::into_error)?
                .sync_all()?;
            file.keep()?;
            let to = args
                .out
                .as_deref()
                .map(|out| out.display().to_string())
                .unwrap_or_default();
            writeln!(
                terminal.out,
                "{entries} entries written to {to}, signed by the key {}",
                key.id()
            )?;
        }
    }
    Ok(())
}

/// Gives the number of entries.
async fn write(
    session: &mut Session,
    id: SiteId,
    key: &SigningKey,
    page: &mut Vec<u8>,
    write_out: &mut (dyn FnMut(&[u8]) -> std::io::Result<()> + Send),
) -> Result<u64, Failure> {
    let site = site::one(session, id)
        .await?
        .ok_or_else(|| Failure::refused("the site is gone"))?;
    line(page, &HeaderLine::new(id, &site.code, SystemClock.now()))?;
    let (mut seq, mut hash) = (0, GENESIS);
    loop {
        let entries = entry::after(session, id, seq, PAGE).await?;
        if entries.is_empty() {
            break;
        }
        for entry in entries {
            (seq, hash) = (entry.envelope.seq, entry.hash);
            line(page, &EntryLine::new(entry).map_err(Failure::refused)?)?;
        }
        write_out(page)?;
        page.clear();
    }
    if (seq, hash) != (site.head.seq, site.head.hash) {
        return Err(Failure::refused(format!(
            "the ledger ends with entry {seq}, but its head tells of entry {}: run `spindlebook verify`; it is not signed",
            site.head.seq
        )));
    }
    line(page, &HeadLine::new(id, seq, &hash, key))?;
    write_out(page)?;
    Ok(seq)
}

fn line(out: &mut Vec<u8>, value: &impl Serialize) -> Result<(), Failure> {
    serde_json::to_writer(&mut *out, value)?;
    out.push(b'\n');
    Ok(())
}

//! `spindlebook verify`: does the ledger hold together, and is it the one that was exported?

use super::failure::Failure;
use super::ledger_file;
use super::place::PlaceArgs;
use super::terminal::Terminal;
use crate::auth::{PublicKey, SigningKey};
use crate::book::{self, ExportedHead};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use clap::Args;
use serde::Serialize;
use spindlebook_domain::ids::SiteId;
use std::path::{Path, PathBuf};

const HELP: &str = "\
Checks every entry (numbers without a gap, hashes, readable), the head, and every row of the read tables. --against
also holds it against a ledger that was exported before: what was exported must still be there, unchanged, and signed
by the key of this data folder. --file checks an exported ledger alone, and needs no database.

Example:
  spindlebook verify --against north.jsonl
  spindlebook verify --file north.jsonl

Exit codes: 0 sound; 1 not sound, every fault is listed; 2 wrong usage.";

#[derive(Args, Debug)]
#[command(after_help = HELP)]
pub struct VerifyArgs {
    /// An exported ledger that this one must continue
    #[arg(long, value_name = "EXPORT", conflicts_with = "file")]
    against: Option<PathBuf>,
    /// Check this exported ledger instead of the database
    #[arg(long, value_name = "EXPORT")]
    file: Option<PathBuf>,
    /// The key (Base64) that the export must be signed with
    #[arg(long, value_name = "KEY")]
    public_key: Option<String>,
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
    head_hash: Option<String>,
    rows_compared: Option<u64>,
    signed_by: Option<String>,
    faults: Vec<String>,
}

pub async fn run(args: &VerifyArgs, terminal: &mut Terminal<'_>) -> Result<(), Failure> {
    let wanted = args.public_key.as_deref().map(public_key).transpose()?;
    let view = match &args.file {
        Some(file) => verify_file(file, wanted, terminal)?,
        None => verify_ledger(args, wanted, terminal).await?,
    };
    if args.json {
        terminal.json(&view)?;
    } else {
        print(&view, terminal)?;
    }
    if view.sound {
        Ok(())
    } else {
        let many = view.faults.len();
        let faults = if many == 1 {
            "1 fault".to_owned()
        } else {
            format!("{many} faults")
        };
        Err(Failure::refused(format!(
            "the ledger of {} is not sound: {faults}",
            view.site
        )))
    }
}

fn public_key(text: &str) -> Result<PublicKey, Failure> {
    let wrong = |what: String| Failure::usage(format!("--public-key {what}"));
    let bytes = STANDARD
        .decode(text)
        .map_err(|error| wrong(format!("does not read as Base64: {error}")))?;
    let length = bytes.len();
    let bytes = bytes
        .try_into()
        .map_err(|_| wrong(format!("has {length} bytes, not 32")))?;
    Ok(PublicKey(bytes))
}

fn verify_file(
    path: &Path,
    wanted: Option<PublicKey>,
    terminal: &mut Terminal<'_>,
) -> Result<VerifyView, Failure> {
    let checked = {
        let mut progress = terminal.progress("entries checked", 0);
        ledger_file::check(path, |seq| progress.at(seq))
    };
    let mut checked = checked.map_err(|why| Failure::refused(format!("{}: {why}", path.display())))?;
    if let Some(signer) = checked
        .signer
        .filter(|signer| wanted.is_some_and(|wanted| wanted != *signer))
    {
        checked.faults.push(format!(
            "it is signed by another key, {}",
            STANDARD.encode(signer.0)
        ));
    }
    Ok(VerifyView {
        site: checked.header.code,
        sound: checked.faults.is_empty(),
        entries: checked.entries,
        head_hash: None,
        rows_compared: None,
        signed_by: checked.signer.map(|signer| STANDARD.encode(signer.0)),
        faults: checked.faults,
    })
}

async fn verify_ledger(
    args: &VerifyArgs,
    wanted: Option<PublicKey>,
    terminal: &mut Terminal<'_>,
) -> Result<VerifyView, Failure> {
    let chosen = args.place.choose()?;
    let store = chosen.store().await?;
    let site = chosen.site(&store).await?;
    let exported = match &args.against {
        None => None,
        Some(path) => {
            let key = match wanted {
                Some(key) => key,
                None => SigningKey::load(&chosen.place.signing_key)?.public_key(),
            };
            Some(exported_head(path, site.id, key)?)
        }
    };
    let report = {
        let mut progress = terminal.progress("entries checked", site.head.seq);
        book::verify(&store, site.id, exported, &mut |at: book::Progress| {
            progress.at(at.done);
        })
        .await?
    };
    Ok(VerifyView {
        sound: report.is_sound(),
        entries: report.head.seq,
        head_hash: Some(hex::encode(report.head.hash)),
        rows_compared: Some(report.rows_compared),
        signed_by: None,
        faults: report.faults.iter().map(ToString::to_string).collect(),
        site: report.code,
    })
}

/// An export that is not this site's, or not signed by its key, proves nothing about the ledger.
fn exported_head(path: &Path, site: SiteId, key: PublicKey) -> Result<ExportedHead, Failure> {
    let refuse = |why: String| Failure::refused(format!("{}: {why}", path.display()));
    let (of, exported, signer) = ledger_file::head(path).map_err(refuse)?;
    if of != site {
        return Err(refuse(format!("it is an export of another site ({of})")));
    }
    if signer != key {
        return Err(refuse(format!(
            "it is signed by another key, {}",
            STANDARD.encode(signer.0)
        )));
    }
    Ok(exported)
}

fn print(view: &VerifyView, terminal: &mut Terminal) -> Result<(), Failure> {
    for fault in &view.faults {
        writeln!(terminal.out, "{fault}")?;
    }
    if !view.sound {
        return Ok(());
    }
    match (&view.head_hash, view.rows_compared) {
        (Some(hash), Some(rows)) => writeln!(
            terminal.out,
            "{}: {} entries and {rows} rows are sound; the last entry has the hash {hash}",
            view.site, view.entries
        )?,
        _ => writeln!(
            terminal.out,
            "{}: {} entries are sound, signed by the key {}; compare it with the one you know",
            view.site,
            view.entries,
            view.signed_by.as_deref().unwrap_or("–")
        )?,
    }
    Ok(())
}

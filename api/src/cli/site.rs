//! `spindlebook site add` and `list`.

use super::failure::Failure;
use super::place::LedgerArgs;
use super::terminal::Terminal;
use crate::book::create_site;
use crate::clock::SystemClock;
use chrono_tz::Tz;
use clap::{Args, Subcommand};
use serde::Serialize;
use spindlebook_domain::code::{Code, Name};
use spindlebook_domain::ids::SiteId;
use spindlebook_domain::site::OpenSite;
use spindlebook_store::{Store, site};
use uuid::Uuid;

const ADD_HELP: &str = "\
Makes the data folder and the database if there are none yet.

Example:
  spindlebook site add north --name \"North hall\" --zone Europe/Berlin

Exit codes: 0 done; 1 refused; 2 wrong usage.";

const LIST_HELP: &str = "\
Example:
  spindlebook site list --json

Exit codes: 0 done; 1 refused; 2 wrong usage.";

#[derive(Args, Debug)]
pub struct SiteArgs {
    #[command(subcommand)]
    command: SiteCommand,
}

#[derive(Subcommand, Debug)]
enum SiteCommand {
    /// Begin the ledger of a new site
    #[command(after_help = ADD_HELP)]
    Add(AddArgs),
    /// List the sites
    #[command(after_help = LIST_HELP)]
    List(ListArgs),
}

#[derive(Args, Debug)]
struct AddArgs {
    /// A short name, 1 to 32 letters, digits, `.`, `_` or `-`
    code: Code,
    /// What people call it [default: the code]
    #[arg(long)]
    name: Option<Name>,
    /// The IANA time zone by which its days and shifts are cut
    #[arg(long, value_parser = crate::cli::instant::zone)]
    zone: Tz,
    /// Print JSON
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    ledger: LedgerArgs,
}

#[derive(Args, Debug)]
struct ListArgs {
    /// Print JSON
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    ledger: LedgerArgs,
}

#[derive(Serialize)]
struct SiteView {
    id: SiteId,
    code: String,
    entries: u64,
}

pub async fn run(args: &SiteArgs, terminal: &mut Terminal<'_>) -> Result<(), Failure> {
    match &args.command {
        SiteCommand::Add(args) => add(args, terminal).await,
        SiteCommand::List(args) => list(args, terminal).await,
    }
}

async fn add(args: &AddArgs, terminal: &mut Terminal<'_>) -> Result<(), Failure> {
    let chosen = args.ledger.choose()?;
    let store = chosen.store_or_new().await?;
    let open = OpenSite {
        site: SiteId(Uuid::now_v7()),
        code: args.code.clone(),
        name: name_or_code(args.name.as_ref(), &args.code)?,
        zone: args.zone,
    };
    let id = open.site;
    not_taken(&store, &args.code).await?;
    create_site(&store, &SystemClock, open).await?;
    if args.json {
        return terminal.json(&SiteView {
            id,
            code: args.code.to_string(),
            entries: 1,
        });
    }
    writeln!(
        terminal.out,
        "site {} begun in {}, times of {}",
        args.code,
        chosen.place.name(),
        args.zone
    )?;
    Ok(())
}

/// Two codes that differ only in case are one code: people say them aloud.
async fn not_taken(store: &Store, code: &Code) -> Result<(), Failure> {
    let sites = site::all(&mut store.session().await?).await?;
    match sites
        .iter()
        .find(|site| site.code.eq_ignore_ascii_case(code.as_str()))
    {
        Some(taken) => Err(Failure::refused(format!(
            "a site with the code {} exists already",
            taken.code
        ))),
        None => Ok(()),
    }
}

/// A code is a name too.
pub fn name_or_code(name: Option<&Name>, code: &Code) -> Result<Name, Failure> {
    match name {
        Some(name) => Ok(name.clone()),
        None => code
            .as_str()
            .parse()
            .map_err(|error| Failure::usage(format!("{error}"))),
    }
}

async fn list(args: &ListArgs, terminal: &mut Terminal<'_>) -> Result<(), Failure> {
    let chosen = args.ledger.choose()?;
    let store = chosen.store().await?;
    let sites = site::all(&mut store.session().await?).await?;
    if args.json {
        let views: Vec<_> = sites
            .into_iter()
            .map(|site| SiteView {
                id: site.id,
                code: site.code,
                entries: site.head.seq,
            })
            .collect();
        return terminal.json(&views);
    }
    for site in sites {
        writeln!(terminal.out, "{}  {} entries", site.code, site.head.seq)?;
    }
    Ok(())
}

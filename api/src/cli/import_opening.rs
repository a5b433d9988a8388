//! `spindlebook import opening`: what stands on the floor on day one, into the ledger.

use super::failure::Failure;
use super::place::{PlaceArgs, close};
use super::submit::submit_document;
use super::terminal::Terminal;
use crate::http::body;
use crate::http::opening::dto::OpeningBody;
use clap::Args;
use std::fmt::Display;
use std::fs;
use std::path::PathBuf;

pub const HELP: &str = "\
The file is the body of POST /v1/opening-statement: pallets with their places, fixtures and pieces, and half-done jobs.
It is taken whole or not at all, and only of things with which nothing has been done yet. A service may run meanwhile.

Example:
  spindlebook import opening day-one.json

Exit codes: 0 done; 1 refused, nothing was imported; 2 wrong usage.";

#[derive(Args, Debug)]
pub struct OpeningArgs {
    /// The statement (JSON)
    #[arg(value_name = "FILE.json")]
    file: PathBuf,
    #[command(flatten)]
    place: PlaceArgs,
}

pub async fn run(args: &OpeningArgs, terminal: &mut Terminal<'_>) -> Result<(), Failure> {
    let shown = args.file.display();
    let bytes = fs::read(&args.file).map_err(|error| Failure::refused(format!("{shown}: {error}")))?;
    let statement: OpeningBody = body::parse(&bytes).map_err(|problem| wrong(&shown, &problem))?;
    let chosen = args.place.choose()?;
    let (book, site) = chosen.book_and_site().await?;
    let command = statement
        .into_command(book.now())
        .map_err(|problem| wrong(&shown, &problem));
    let done = match command {
        Ok(command) => {
            let (pallets, jobs) = (command.pallets.len(), command.jobs.len());
            submit_document(&book, site, command)
                .await
                .map(|()| (pallets, jobs))
        }
        Err(failure) => Err(failure),
    };
    close(&book).await;
    let (pallets, jobs) = done?;
    writeln!(terminal.out, "{shown}: {pallets} pallets and {jobs} jobs stated")?;
    Ok(())
}

fn wrong(file: &impl Display, why: &impl Display) -> Failure {
    Failure::refused(format!("{file}: {why}"))
}

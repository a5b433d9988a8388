//! `spindlebook import signals`: a machine's log into the ledger.

use super::failure::Failure;
use super::hours_table::count;
use super::import_opening;
use super::log_file;
use super::place::{PlaceArgs, close};
use super::terminal::Terminal;
use crate::book::{Answer, Book, Decision, PrivateRows, Submission, Submitted};
use clap::{Args, Subcommand};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use spindlebook_domain::actor::Actor;
use spindlebook_domain::event::Event;
use spindlebook_domain::ids::{CommandId, MachineId, Seq, SiteId};
use spindlebook_domain::machine::{FUTURE_MAX_S, Machine, ReceiveSignals, SIGNAL_ROWS_PER_ENTRY_MAX};
use spindlebook_domain::machine_state::MachineState;
use spindlebook_domain::shop::Shop;
use spindlebook_domain::stretches::normalise;
use spindlebook_domain::time::Timestamp;
use std::path::PathBuf;
use uuid::Builder;

const HELP: &str = "\
The file is read as `spindlebook hours` reads it: a header `timestamp,state`, RFC 3339 instants, MTConnect EXECUTION
states. It is read whole before anything is written: with one bad row nothing is imported. A file that was imported
before, or in part, adds only what is new; running it again changes nothing. A service may run meanwhile.

Example:
  spindlebook import signals --machine M3 mill3.csv

Exit codes: 0 done; 1 refused, nothing was imported; 2 wrong usage.";

#[derive(Args, Debug)]
pub struct ImportArgs {
    #[command(subcommand)]
    command: ImportCommand,
}

#[derive(Subcommand, Debug)]
enum ImportCommand {
    /// Import a machine's log of states
    #[command(after_help = HELP)]
    Signals(SignalsArgs),
    /// Import what stands on the floor on day one
    #[command(after_help = import_opening::HELP)]
    Opening(import_opening::OpeningArgs),
}

#[derive(Args, Debug)]
struct SignalsArgs {
    /// The log (CSV); - reads standard input
    #[arg(value_name = "FILE.csv")]
    file: PathBuf,
    /// The machine's code
    #[arg(long, value_name = "CODE")]
    machine: String,
    /// Print JSON
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    place: PlaceArgs,
}

type Rows = [(Timestamp, MachineState)];

/// What became of the rows. The first four add up to all of them.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
struct Counts {
    new: usize,
    already_there: usize,
    /// Replaced by a later row of the file at the same instant.
    superseded: usize,
}

#[derive(Serialize)]
struct Imported {
    machine: String,
    rows: usize,
    #[serde(flatten)]
    counts: Counts,
    out_of_order: usize,
    first_seq: Option<Seq>,
    last_seq: Option<Seq>,
}

/// What the writer keeps as the answer to a batch.
#[derive(Serialize, Deserialize)]
struct BatchAnswer {
    new: usize,
    seqs: Vec<Seq>,
    refused: Option<String>,
}

pub async fn run(args: &ImportArgs, terminal: &mut Terminal<'_>) -> Result<(), Failure> {
    let args = match &args.command {
        ImportCommand::Signals(args) => args,
        ImportCommand::Opening(args) => return import_opening::run(args, terminal).await,
    };
    let file = log_file::read(&args.file, "imported")?;
    let chosen = args.place.choose()?;
    let (book, site) = chosen.book_and_site().await?;
    let shop = book.shop(site).unwrap_or_default();
    let machine = machine(&shop, &args.machine)?;
    none_in_future(&file.rows, book.now())?;
    let imported = import(&book, site, machine, &file.rows, terminal).await;
    close(&book).await;
    let imported = imported?;
    if args.json {
        return terminal.json(&imported);
    }
    writeln!(terminal.out, "{}", sentence(&imported))?;
    Ok(())
}

fn machine<'a>(shop: &'a Shop, code: &str) -> Result<&'a Machine, Failure> {
    shop.machine_by_code(code).ok_or_else(|| {
        let mut codes: Vec<_> = shop
            .machines
            .values()
            .map(|machine| machine.code.as_str())
            .collect();
        codes.sort_unstable();
        let known = if codes.is_empty() {
            "none yet".to_owned()
        } else {
            codes.join(", ")
        };
        Failure::refused(format!(
            "there is no machine `{code}` at this site; there are: {known}"
        ))
    })
}

/// The ledger would refuse the batch with that row, and those before it would be in already.
fn none_in_future(rows: &Rows, now: Timestamp) -> Result<(), Failure> {
    match rows.iter().map(|(at, _)| *at).max() {
        Some(last) if last > now.plus_s(FUTURE_MAX_S) => Err(Failure::refused(format!(
            "a row is of {last}, which lies in the future (it is {now}): is the clock of the machine right? Nothing was imported"
        ))),
        _ => Ok(()),
    }
}

async fn import(
    book: &Book,
    site: SiteId,
    machine: &Machine,
    rows: &Rows,
    terminal: &mut Terminal<'_>,
) -> Result<Imported, Failure> {
    let mut imported = Imported {
        machine: machine.code.to_string(),
        rows: rows.len(),
        counts: Counts::default(),
        out_of_order: normalise(&[], None, rows).counts.out_of_order,
        first_seq: None,
        last_seq: None,
    };
    // Sorted, so that the same file always gives the same batches, and no batch waits for one that comes later.
    let mut sorted = rows.to_vec();
    sorted.sort_by_key(|(at, _)| *at);
    let mut progress = terminal.progress("rows imported", rows.len() as u64);
    let mut done = 0;
    for batch in sorted.chunks(SIGNAL_ROWS_PER_ENTRY_MAX) {
        let superseded = normalise(&[], None, batch).counts.superseded;
        let submitted = book.submit(site, submission(site, machine.id, batch)).await?;
        let (Submitted::First(kept) | Submitted::Repeat { answer: kept, .. }) = &submitted;
        let answer: BatchAnswer = serde_json::from_slice(&kept.body)?;
        // A refusal is kept as an answer too: sent again, it comes back as a repeat.
        if let Some(refusal) = answer.refused {
            return Err(Failure::refused(format!("{refusal} (after {done} rows)")));
        }
        match submitted {
            Submitted::Repeat { .. } => imported.counts.already_there += batch.len(),
            Submitted::First(_) => {
                imported.counts.new += answer.new;
                imported.counts.superseded += superseded;
                imported.counts.already_there += batch.len().saturating_sub(answer.new + superseded);
                imported.first_seq = imported.first_seq.or(answer.seqs.first().copied());
                imported.last_seq = answer.seqs.last().copied().or(imported.last_seq);
            }
        }
        done += batch.len();
        progress.at(done as u64);
    }
    Ok(imported)
}

/// Its key comes from what is in it: the same rows of the same machine are the same command, whenever they come.
fn submission(site: SiteId, machine: MachineId, rows: &Rows) -> Submission {
    let mut digest = Sha256::new();
    digest.update(b"import signals");
    digest.update(site.0.as_bytes());
    digest.update(machine.0.as_bytes());
    for (at, state) in rows {
        digest.update(at.us().to_be_bytes());
        digest.update([state.code()]);
    }
    let fingerprint: [u8; 32] = digest.finalize().into();
    let mut key = [0; 16];
    key.copy_from_slice(&fingerprint[..16]);
    Submission {
        actor: Actor::System,
        device: None,
        key: CommandId(Builder::from_custom_bytes(key).into_uuid()),
        fingerprint,
        occurred_at: rows.last().map(|(at, _)| *at),
        command: ReceiveSignals {
            machine,
            rows: rows.to_vec(),
            cycles: Vec::new(),
            covers: None,
            clock: None,
        }
        .into(),
        private: PrivateRows::default(),
        answer: Box::new(answer),
    }
}

fn answer(decision: &Decision<'_>) -> Answer {
    let (status, body) = match decision {
        Decision::Accepted { entries, .. } => {
            let rows = entries.iter().map(|recorded| match &recorded.event {
                Event::SignalsReceived(received) => received.rows().count(),
                _ => 0,
            });
            let body = BatchAnswer {
                new: rows.sum(),
                seqs: entries
                    .iter()
                    .map(|recorded| recorded.entry.envelope.seq)
                    .collect(),
                refused: None,
            };
            (200, body)
        }
        Decision::Refused { refusal, .. } => {
            let body = BatchAnswer {
                new: 0,
                seqs: Vec::new(),
                refused: Some(refusal.to_string()),
            };
            (409, body)
        }
    };
    Answer {
        status,
        body: serde_json::to_vec(&body).unwrap_or_default(),
        etag: None,
        location: None,
    }
}

fn sentence(imported: &Imported) -> String {
    let Counts {
        new,
        already_there,
        superseded,
    } = imported.counts;
    let entries = match (imported.first_seq, imported.last_seq) {
        (Some(first), Some(last)) if first == last => format!(" as entry {first}"),
        (Some(first), Some(last)) => format!(" as entries {first} to {last}"),
        _ => String::new(),
    };
    format!(
        "{}: {} new{entries}, {} already there, {} replaced by a later row of the same instant; {} of {} rows were out of order",
        imported.machine,
        count(new),
        count(already_there),
        count(superseded),
        count(imported.out_of_order),
        count(imported.rows)
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::{QUEUE_MAX, create_site};
    use crate::clock::{Clock, SetClock};
    use spindlebook_domain::ids::CellId;
    use spindlebook_domain::machine::{AddMachine, Placement};
    use spindlebook_domain::site::OpenSite;
    use spindlebook_store::Store;
    use std::sync::Arc;
    use uuid::Uuid;

    const START: Timestamp = Timestamp(1_793_599_200_000_000);

    async fn book_of(site: SiteId, url: &str) -> Book {
        let clock: Arc<dyn Clock> = Arc::new(SetClock::at(START));
        let store = Store::open(url, 2).await.unwrap();
        let open = OpenSite {
            site,
            code: "one".parse().unwrap(),
            name: "Invented shop".parse().unwrap(),
            zone: chrono_tz::Tz::UTC,
        };
        create_site(&store, clock.as_ref(), open).await.unwrap();
        Book::open(store, clock, QUEUE_MAX).await.unwrap()
    }

    #[tokio::test]
    async fn a_batch_that_was_refused_before_is_not_there_already() {
        let file = std::env::temp_dir().join(format!("spindlebook-import-{}.sqlite", Uuid::new_v4()));
        let site = SiteId(Uuid::now_v7());
        let book = book_of(site, &format!("sqlite:{}", file.display())).await;
        let machine = MachineId(Uuid::now_v7());
        let add = AddMachine {
            machine,
            placement: Placement::Standalone(CellId(Uuid::now_v7())),
            code: "M1".parse().unwrap(),
            name: "Mill".parse().unwrap(),
            silent_after_s: None,
        };
        let add = Submission {
            command: add.into(),
            ..submission(site, machine, &[])
        };
        book.submit(site, add).await.unwrap();
        let shop = book.shop(site).unwrap();
        let machine = shop.machines.get(&machine).unwrap();
        let future = [(START.plus_s(86_400), MachineState::Active)];
        let (mut out, mut err) = (Vec::new(), Vec::new());
        for time in ["the first time", "sent again"] {
            let mut terminal = Terminal {
                out: &mut out,
                err: &mut err,
                watched: false,
            };
            let imported = import(&book, site, machine, &future, &mut terminal).await;
            assert!(imported.is_err(), "{time}");
        }
        book.stop().await;
        book.store().close().await;
        std::fs::remove_file(file).unwrap();
    }
}

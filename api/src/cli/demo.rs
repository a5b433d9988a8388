//! `spindlebook demo`: an invented shop to look at.

use super::failure::Failure;
use super::hours_table::{self, Known};
use super::place::{Chosen, LedgerArgs, close};
use super::pool_table::{self, PalletWords};
use super::serving::{self, Addresses, Sockets};
use super::terminal::Terminal;
use crate::auth::{PasswordCost, Passwords, Secret, SigningKey, client_secret_hash};
use crate::book::{Book, QUEUE_MAX};
use crate::clock::{Clock, SystemClock};
use crate::config::LISTEN_DEFAULT;
use crate::demo::{self, History, Login};
use crate::hours::{Hours, HoursRequest, HoursSource};
use crate::http::limits::LimitSettings;
use clap::Args;
use serde::Serialize;
use spindlebook_domain::access::PrincipalKind;
use spindlebook_domain::hours::Figures;
use spindlebook_domain::hours::rows::{By, DayRule};
use spindlebook_domain::ids::{PrincipalId, SiteId};
use spindlebook_store::private::AccountChange;
use spindlebook_store::{Store, site};
use std::collections::BTreeMap;
use std::net::SocketAddr;
use std::sync::Arc;

const HELP: &str = "\
The shop is invented, its people, parts and customers too: two pool cells and a standalone machine with orders, pallets,
runs, holds, scrap, a rush order, an anodiser and nights that run on until nothing is ready, told for some five weeks
until now, beside what the machines say of themselves: a gap in the data, a breakdown, a change of the clocks. It is told
to a new ledger in the data folder by the commands that people use; one that holds anything already is left alone.
Passwords are made anew and shown once.

Example:
  spindlebook demo
  spindlebook demo --once --data /tmp/demo

Exit codes: 0 done; 1 refused; 2 wrong usage.";

#[derive(Args, Debug)]
#[command(after_help = HELP)]
pub struct DemoArgs {
    /// Print last week's hours and the pools and end, instead of serving
    #[arg(long)]
    once: bool,
    /// Address and port to listen on [default: 127.0.0.1:8080]
    #[arg(long, value_name = "ADDRESS:PORT", conflicts_with = "once")]
    listen: Option<SocketAddr>,
    /// Another seed gives another history
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Print the hours and the sign-ins as JSON
    #[arg(long, requires = "once")]
    json: bool,
    #[command(flatten)]
    ledger: LedgerArgs,
}

/// Shown once: only its hash is kept.
struct SignIn<'a> {
    login: &'a Login,
    secret: Secret,
}

/// The hours of a cell in the week before the current one.
struct CellWeek {
    code: String,
    name: String,
    figures: Figures,
}

/// What is shown of the shop.
struct Told<'a> {
    week: Vec<CellWeek>,
    pallets: Vec<PalletWords>,
    sign_ins: &'a [SignIn<'a>],
    history: &'a History,
}

pub async fn run(args: &DemoArgs, terminal: &mut Terminal<'_>) -> Result<(), Failure> {
    let chosen = args.ledger.choose()?;
    let sockets = if args.once {
        None
    } else {
        Some(Sockets::bind(&addresses(args, &chosen)?)?)
    };
    let store = empty_store(&chosen).await?;
    let key = SigningKey::load_or_create(&chosen.place.signing_key)?;
    let history =
        demo::history(args.seed, SystemClock.now()).map_err(|error| Failure::refused(error.to_string()))?;
    let sign_ins = sign_ins(&history);
    let accounts = accounts(&sign_ins)?;
    let site = {
        let mut progress = terminal.progress("commands told", history.steps.len() as u64);
        let told = demo::tell(&store, &history, &accounts, |done| progress.at(done as u64)).await;
        told.map_err(|error| Failure::refused(error.to_string()))?
    };
    let book = Book::open(store, Arc::new(SystemClock), QUEUE_MAX).await?;
    let told = Told {
        week: last_week(&book, site, &history).await?,
        pallets: pools(&book, site, &history),
        sign_ins: &sign_ins,
        history: &history,
    };
    if args.json {
        return terminal.json(&view(&told));
    }
    print(&told, &chosen, terminal)?;
    let Some(sockets) = sockets else {
        close(&book).await;
        return Ok(());
    };
    serving::log_to_stderr(false);
    serving::serve(book, &key, sockets, LimitSettings::default(), terminal).await
}

fn addresses(args: &DemoArgs, chosen: &Chosen) -> Result<Addresses, Failure> {
    let listen = match args.listen.or(chosen.file.listen) {
        Some(listen) => listen,
        None => LISTEN_DEFAULT
            .parse()
            .map_err(|error| Failure::usage(format!("{LISTEN_DEFAULT}: {error}")))?,
    };
    Ok(Addresses {
        listen,
        metrics_listen: None,
        tls: None,
    })
}

async fn empty_store(chosen: &Chosen) -> Result<Store, Failure> {
    let store = chosen.store_to_serve().await?;
    let sites = site::all(&mut store.session().await?).await?;
    let Some(first) = sites.first() else {
        return Ok(store);
    };
    let place = chosen.place.name();
    let look = if first.code == demo::SITE_CODE {
        format!("look at it with `spindlebook serve --data {place}`, or ")
    } else {
        String::new()
    };
    Err(Failure::refused(format!(
        "{place} holds a ledger already (site {}, {} entries), and nothing is invented into it: {look}give the demo an \
         empty folder with --data DIR",
        first.code, first.head.seq
    )))
}

fn sign_ins(history: &History) -> Vec<SignIn<'_>> {
    let secret = |login: &Login| match login.kind {
        PrincipalKind::Person => spoken_password(),
        PrincipalKind::Client => Secret::random(),
    };
    history
        .logins
        .iter()
        .map(|login| SignIn {
            secret: secret(login),
            login,
        })
        .collect()
}

/// Twelve syllables of 75 are 74 bits: long enough for a password that nobody chose, and possible to type.
fn spoken_password() -> Secret {
    const CONSONANTS: &[u8; 15] = b"bdfghjklmnprstv";
    const VOWELS: &[u8; 5] = b"aeiou";
    let syllable = || {
        let of = |letters: &[u8]| char::from(letters[usize::from(rand::random::<u16>()) % letters.len()]);
        [of(CONSONANTS), of(VOWELS)]
    };
    let words: Vec<String> = (0..4)
        .map(|_| (0..3).flat_map(|_| syllable()).collect())
        .collect();
    Secret::new(words.join("-"))
}

fn accounts(sign_ins: &[SignIn]) -> Result<BTreeMap<PrincipalId, AccountChange>, Failure> {
    let passwords = Passwords::new(PasswordCost::default()).map_err(Failure::refused)?;
    let account = |sign_in: &SignIn| {
        let Login {
            principal,
            kind,
            login,
            name,
            ..
        } = sign_in.login;
        let (login, hash) = match kind {
            PrincipalKind::Person => (
                (*login).to_owned(),
                passwords.hash_now(&sign_in.secret).map_err(Failure::refused)?,
            ),
            PrincipalKind::Client => (principal.to_string(), client_secret_hash(&sign_in.secret)),
        };
        let account = AccountChange::Add {
            id: *principal,
            kind: *kind,
            login,
            display_name: Some((*name).to_owned()),
            secret_hash: Some(hash),
        };
        Ok((*principal, account))
    };
    sign_ins.iter().map(account).collect()
}

async fn last_week(book: &Book, site: SiteId, history: &History) -> Result<Vec<CellWeek>, Failure> {
    let source = HoursSource {
        site,
        shop: book.shop(site).unwrap_or_default(),
        as_of: book.now(),
        rebuilds: book.rebuilds(site),
    };
    let hours = Hours::new(book.store().clone());
    let mut cells: Vec<_> = source.shop.cells.values().collect();
    cells.sort_by(|one, other| one.code.cmp(&other.code));
    let mut week = Vec::new();
    for cell in cells {
        let asked = HoursRequest {
            cell: cell.id,
            machine: None,
            window: history.frame.last_week(),
            by: By::Week,
            rule: DayRule::Calendar,
        };
        week.push(CellWeek {
            code: cell.code.to_string(),
            name: cell.name.to_string(),
            figures: hours.report(&source, &asked).await?.total,
        });
    }
    Ok(week)
}

const KNOWN: Known = Known {
    calendar: true,
    plans: true,
};

fn print(told: &Told<'_>, chosen: &Chosen, terminal: &mut Terminal) -> Result<(), Failure> {
    let out = &mut *terminal.out;
    let (entries, weeks) = (told.history.steps.len(), told.history.frame.weeks());
    writeln!(
        out,
        "This shop is invented: its machines, parts, people and {weeks} weeks of history ({entries} commands)."
    )?;
    writeln!(out)?;
    write!(out, "{}", hours_of(&told.week, told.history))?;
    writeln!(out)?;
    writeln!(out, "The pools now")?;
    writeln!(out)?;
    write!(out, "{}", pool_table::write(&told.pallets))?;
    writeln!(out)?;
    writeln!(out, "Sign-ins (shown only now):")?;
    for SignIn { login, secret } in told.sign_ins {
        let name = match login.kind {
            PrincipalKind::Person => login.login.to_owned(),
            PrincipalKind::Client => login.principal.to_string(),
        };
        writeln!(
            out,
            "  {:<12} {:<36}  {}",
            login.role.as_str(),
            name,
            secret.reveal()
        )?;
    }
    writeln!(out)?;
    writeln!(out, "The ledger lies in {}.", chosen.place.name())?;
    Ok(())
}

/// Planned and realised by cell, and where the rest of the time went.
fn hours_of(week: &[CellWeek], history: &History) -> String {
    let named: Vec<_> = week
        .iter()
        .map(|cell| (format!("{} {}", cell.code, cell.name), &cell.figures))
        .collect();
    let coded: Vec<_> = week
        .iter()
        .map(|cell| (cell.code.clone(), &cell.figures))
        .collect();
    let mut total = Figures::default();
    for cell in week {
        total.add(&cell.figures);
    }
    let legend = hours_table::legend(&total, KNOWN).join("\n");
    format!(
        "Spindle hours of last week, {}, by calendar days of {}\n\n{}\n{}\n{legend}\n\
         window and staffed count every spindle: P1 has two\n",
        history.frame.last_week_name(),
        demo::ZONE,
        hours_table::write_cells(&named),
        hours_table::write_rest(&coded),
    )
}

fn pools(book: &Book, site: SiteId, history: &History) -> Vec<PalletWords> {
    let shop = book.shop(site).unwrap_or_default();
    pool_table::words(&shop, book.now(), |hold| history.reason_of(hold))
}

#[derive(Serialize)]
struct DemoView<'a> {
    invented: bool,
    week: String,
    cells: Vec<CellWeekView<'a>>,
    pallets: Vec<PalletView<'a>>,
    sign_ins: Vec<SignInView<'a>>,
}

#[derive(Serialize)]
struct CellWeekView<'a> {
    cell: &'a str,
    name: &'a str,
    figures: crate::http::hours::figures_dto::FiguresDto,
}

#[derive(Serialize)]
struct PalletView<'a> {
    cell: &'a str,
    pallet: &'a str,
    at: &'a str,
    state: &'static str,
    holds: &'a str,
    waits_for: &'a str,
}

impl<'a> From<&'a PalletWords> for PalletView<'a> {
    fn from(words: &'a PalletWords) -> Self {
        Self {
            cell: &words.cell,
            pallet: &words.pallet,
            at: &words.at,
            state: words.state,
            holds: &words.holds,
            waits_for: &words.waits_for,
        }
    }
}

#[derive(Serialize)]
struct SignInView<'a> {
    role: &'static str,
    login: String,
    secret: &'a str,
}

fn view<'a>(told: &'a Told<'a>) -> DemoView<'a> {
    DemoView {
        invented: true,
        week: told.history.frame.last_week_name(),
        pallets: told.pallets.iter().map(PalletView::from).collect(),
        cells: told
            .week
            .iter()
            .map(|cell| CellWeekView {
                cell: &cell.code,
                name: &cell.name,
                figures: (&cell.figures).into(),
            })
            .collect(),
        sign_ins: told
            .sign_ins
            .iter()
            .map(|sign_in| SignInView {
                role: sign_in.login.role.as_str(),
                login: match sign_in.login.kind {
                    PrincipalKind::Person => sign_in.login.login.to_owned(),
                    PrincipalKind::Client => sign_in.login.principal.to_string(),
                },
                secret: sign_in.secret.reveal(),
            })
            .collect(),
    }
}

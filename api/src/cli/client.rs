//! `spindlebook client`: machine clients, added with their secret, listed, disabled.

use super::failure::Failure;
use super::place::{PlaceArgs, close};
use super::submit::submit;
use super::terminal::Terminal;
use crate::auth::{Secret, client_secret_hash};
use crate::cli::hours_table::{Align, Table};
use clap::{Args, Subcommand};
use serde::Serialize;
use spindlebook_domain::access::{AddPrincipal, DisablePrincipal, Principal, PrincipalKind, Standing};
use spindlebook_domain::code::Name;
use spindlebook_domain::ids::PrincipalId;
use spindlebook_domain::role::Role;
use spindlebook_store::account::{self, AccountRow};
use spindlebook_store::private::AccountChange;
use uuid::Uuid;

const HELP: &str = "\
The secret is shown once, here. Whoever loses it disables the client and adds another.

Roles: integration (reports signals, imports), device (an enrolled tablet), viewer.

Example:
  spindlebook client add \"Gateway in hall 2\" --role integration

Exit codes: 0 done; 1 refused; 2 wrong usage.";

const LIST_HELP: &str = "\
Example:
  spindlebook client list --json

Exit codes: 0 done; 1 refused; 2 wrong usage.";

const DISABLE_HELP: &str = "\
For good: its secret gives no tokens any more, and a running service refuses those that it has within a second. What it
sent stays in the ledger. `spindlebook client list` tells the ids.

Example:
  spindlebook client disable 01936b5e-5c00-7000-8000-000000000009

Exit codes: 0 done; 1 refused; 2 wrong usage.";

#[derive(Args, Debug)]
pub struct ClientArgs {
    #[command(subcommand)]
    command: ClientCommand,
}

#[derive(Subcommand, Debug)]
enum ClientCommand {
    /// Add a machine client (OAuth 2.0 client credentials)
    #[command(after_help = HELP)]
    Add(AddArgs),
    /// List the machine clients
    #[command(after_help = LIST_HELP)]
    List(ListArgs),
    /// Let a machine client in no more
    #[command(after_help = DISABLE_HELP)]
    Disable(DisableArgs),
}

#[derive(Args, Debug)]
struct ListArgs {
    /// Print JSON
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    place: PlaceArgs,
}

#[derive(Args, Debug)]
struct DisableArgs {
    /// Its client id
    id: PrincipalId,
    #[command(flatten)]
    place: PlaceArgs,
}

#[derive(Args, Debug)]
struct AddArgs {
    /// What people call it
    name: Name,
    /// A role; may be given several times
    #[arg(long = "role", value_name = "ROLE", required = true)]
    roles: Vec<Role>,
    /// Print JSON
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    place: PlaceArgs,
}

#[derive(Serialize)]
struct AddedView<'a> {
    client_id: String,
    client_secret: &'a str,
}

#[derive(Serialize)]
struct ClientView {
    client_id: PrincipalId,
    name: Option<String>,
    roles: Vec<&'static str>,
    standing: Standing,
}

impl ClientView {
    fn new(principal: &Principal, account: &AccountRow) -> Self {
        Self {
            client_id: principal.id,
            name: account.display_name.clone(),
            roles: principal.roles.iter().map(|role| role.as_str()).collect(),
            standing: principal.standing,
        }
    }
}

pub async fn run(args: &ClientArgs, terminal: &mut Terminal<'_>) -> Result<(), Failure> {
    match &args.command {
        ClientCommand::Add(args) => add(args, terminal).await,
        ClientCommand::List(args) => list(args, terminal).await,
        ClientCommand::Disable(args) => disable(args, terminal).await,
    }
}

async fn add(args: &AddArgs, terminal: &mut Terminal<'_>) -> Result<(), Failure> {
    let (book, site) = args.place.choose()?.book_and_site().await?;
    let (id, secret) = (PrincipalId(Uuid::now_v7()), Secret::random());
    let account = AccountChange::Add {
        id,
        kind: PrincipalKind::Client,
        login: id.to_string(),
        display_name: Some(args.name.to_string()),
        secret_hash: Some(client_secret_hash(&secret)),
    };
    let add = AddPrincipal {
        principal: id,
        kind: PrincipalKind::Client,
        roles: args.roles.iter().copied().collect(),
    };
    let done = submit(&book, site, add, Some(account)).await;
    close(&book).await;
    done?;
    let added = AddedView {
        client_id: id.to_string(),
        client_secret: secret.reveal(),
    };
    if args.json {
        return terminal.json(&added);
    }
    writeln!(terminal.out, "client id      {}", added.client_id)?;
    writeln!(
        terminal.out,
        "client secret  {}   (shown only now)",
        added.client_secret
    )?;
    Ok(())
}

async fn list(args: &ListArgs, terminal: &mut Terminal<'_>) -> Result<(), Failure> {
    let (book, site) = args.place.choose()?.book_and_site().await?;
    let shop = book.shop(site).unwrap_or_default();
    let accounts = account::all(&mut book.store().session().await?, site, PrincipalKind::Client).await?;
    close(&book).await;
    let clients: Vec<_> = accounts
        .iter()
        .filter_map(|account| Some(ClientView::new(shop.principals.get(&account.id)?, account)))
        .collect();
    if args.json {
        return terminal.json(&clients);
    }
    let mut table =
        Table::new(["client id", "name", "roles", "standing"].map(|head| (head, "", Align::Left)));
    for client in &clients {
        table.row(vec![
            client.client_id.to_string(),
            client.name.clone().unwrap_or_else(|| "–".to_owned()),
            client.roles.join(", "),
            format!("{:?}", client.standing).to_lowercase(),
        ]);
    }
    write!(terminal.out, "{table}")?;
    Ok(())
}

async fn disable(args: &DisableArgs, terminal: &mut Terminal<'_>) -> Result<(), Failure> {
    let (book, site) = args.place.choose()?.book_and_site().await?;
    let shop = book.shop(site).unwrap_or_default();
    let is_client = |one: &&Principal| one.kind == PrincipalKind::Client;
    let done = match shop.principals.get(&args.id).filter(is_client) {
        Some(client) => {
            let command = DisablePrincipal {
                principal: client.id,
                expected: None,
            };
            submit(&book, site, command, None).await
        }
        None => Err(Failure::refused(format!(
            "there is no machine client {} at this site (`spindlebook client list`)",
            args.id
        ))),
    };
    close(&book).await;
    done?;
    writeln!(terminal.out, "{} is let in no more", args.id)?;
    Ok(())
}

//! `spindlebook client add`: a machine client with its secret.

use super::failure::Failure;
use super::place::{PlaceArgs, close};
use super::submit::submit;
use super::terminal::Terminal;
use crate::auth::{Secret, client_secret_hash};
use clap::{Args, Subcommand};
use serde::Serialize;
use spindlebook_domain::access::{AddPrincipal, PrincipalKind};
use spindlebook_domain::code::Name;
use spindlebook_domain::ids::PrincipalId;
use spindlebook_domain::role::Role;
use spindlebook_store::private::AccountChange;
use uuid::Uuid;

const HELP: &str = "\
The secret is shown once, here. Whoever loses it disables the client and adds another.

Roles: integration (reports signals, imports), device (an enrolled tablet), viewer.

Example:
  spindlebook client add \"Gateway in hall 2\" --role integration

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

pub async fn run(args: &ClientArgs, terminal: &mut Terminal<'_>) -> Result<(), Failure> {
    let ClientCommand::Add(args) = &args.command;
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

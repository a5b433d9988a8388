use super::password;
use crate::auth::Login;
use crate::cli::failure::Failure;
use crate::cli::place::{PlaceArgs, close};
use crate::cli::submit::submit;
use crate::cli::terminal::Terminal;
use clap::Args;
use spindlebook_domain::access::{AddPrincipal, PrincipalKind};
use spindlebook_domain::code::Name;
use spindlebook_domain::ids::PrincipalId;
use spindlebook_domain::role::Role;
use spindlebook_store::private::AccountChange;
use uuid::Uuid;

pub const HELP: &str = "\
The password is asked for twice, or read from the first line of standard input with --password-stdin. Name, login and
password are kept apart from the ledger, so that a person can be forgotten.

Roles: front_office, planner, operator, inspector, viewer, admin. A person may have several.

Example:
  spindlebook user add \"Ada Berg\" --login ada --role planner --role inspector

Exit codes: 0 done; 1 refused; 2 wrong usage.";

#[derive(Args, Debug)]
pub struct AddArgs {
    /// What people call her or him
    name: Name,
    /// The name to sign in with
    #[arg(long)]
    login: Login,
    /// A role; may be given several times
    #[arg(long = "role", value_name = "ROLE", required = true)]
    roles: Vec<Role>,
    /// Read the password from standard input
    #[arg(long)]
    password_stdin: bool,
    #[command(flatten)]
    place: PlaceArgs,
}

pub async fn run(args: &AddArgs, terminal: &mut Terminal<'_>) -> Result<(), Failure> {
    let (book, site) = args.place.choose()?.book_and_site().await?;
    let shop = book.shop(site).unwrap_or_default();
    let password = password::ask(&args.login, &shop, args.password_stdin)?;
    let id = PrincipalId(Uuid::now_v7());
    let account = AccountChange::Add {
        id,
        kind: PrincipalKind::Person,
        login: args.login.to_string(),
        display_name: Some(args.name.to_string()),
        secret_hash: Some(password::hash(&password)?),
    };
    let add = AddPrincipal {
        principal: id,
        kind: PrincipalKind::Person,
        roles: args.roles.iter().copied().collect(),
    };
    let done = submit(&book, site, add, Some(account)).await;
    close(&book).await;
    done?;
    writeln!(terminal.out, "{} may sign in as {}", args.name, args.login)?;
    Ok(())
}

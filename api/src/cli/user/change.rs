use super::{WhoArgs, find, password as asked};
use crate::auth::Login;
use crate::cli::failure::Failure;
use crate::cli::place::{PlaceArgs, close};
use crate::cli::submit::submit;
use crate::cli::terminal::Terminal;
use clap::Args;
use spindlebook_domain::access::{
    DisablePrincipal, EnablePrincipal, ForgetPrincipal, SetPrincipalRoles, SetPrincipalSecret,
};
use spindlebook_domain::command::Command;
use spindlebook_domain::ids::PrincipalId;
use spindlebook_domain::role::Role;
use spindlebook_store::private::AccountChange;

pub const PASSWORD_HELP: &str = "\
Sessions of this person cannot be refreshed afterwards.

Example:
  spindlebook user password ada

Exit codes: 0 done; 1 refused; 2 wrong usage.";
pub const ROLES_HELP: &str = "\
The roles given here replace the ones before.

Example:
  spindlebook user roles ada --role planner

Exit codes: 0 done; 1 refused; 2 wrong usage.";
pub const DISABLE_HELP: &str = "\
Example:
  spindlebook user disable ada

Exit codes: 0 done; 1 refused (the last admin stays); 2 wrong usage.";
pub const ENABLE_HELP: &str = "\
Example:
  spindlebook user enable ada

Exit codes: 0 done; 1 refused; 2 wrong usage.";
pub const FORGET_HELP: &str = "\
What the person did stays in the ledger, under an id that then means nobody; the chain of hashes still verifies.

Example:
  spindlebook user forget ada --yes

Exit codes: 0 done; 1 refused; 2 wrong usage.";

#[derive(Args, Debug)]
pub struct PasswordArgs {
    /// The login
    login: Login,
    /// Read the password from standard input
    #[arg(long)]
    password_stdin: bool,
    #[command(flatten)]
    place: PlaceArgs,
}

#[derive(Args, Debug)]
pub struct RolesArgs {
    /// The login
    login: Login,
    /// A role; may be given several times
    #[arg(long = "role", value_name = "ROLE", required = true)]
    roles: Vec<Role>,
    #[command(flatten)]
    place: PlaceArgs,
}

#[derive(Args, Debug)]
pub struct ForgetArgs {
    /// The login
    login: Login,
    /// It cannot be taken back: say that it is meant
    #[arg(long, required = true)]
    yes: bool,
    #[command(flatten)]
    place: PlaceArgs,
}

pub async fn password(args: &PasswordArgs, terminal: &mut Terminal<'_>) -> Result<(), Failure> {
    let (book, site) = args.place.choose()?.book_and_site().await?;
    let principal = find(book.store(), site, &args.login).await?;
    let shop = book.shop(site).unwrap_or_default();
    let password = asked::ask(&args.login, &shop, args.password_stdin)?;
    let account = AccountChange::SetSecret {
        id: principal,
        secret_hash: asked::hash(&password)?,
        at: book.now(),
    };
    let command = SetPrincipalSecret {
        principal,
        expected: None,
    };
    let done = submit(&book, site, command, Some(account)).await;
    close(&book).await;
    done?;
    writeln!(terminal.out, "{} has a new password", args.login)?;
    Ok(())
}

pub async fn roles(args: &RolesArgs, terminal: &mut Terminal<'_>) -> Result<(), Failure> {
    let roles: std::collections::BTreeSet<_> = args.roles.iter().copied().collect();
    let names: Vec<_> = roles.iter().map(|role| role.as_str()).collect();
    let told = format!("{} is now {}", args.login, names.join(", "));
    let command = |principal| SetPrincipalRoles {
        principal,
        roles,
        expected: None,
    };
    change(&args.login, &args.place, command, &told, terminal).await
}

pub async fn disable(args: &WhoArgs, terminal: &mut Terminal<'_>) -> Result<(), Failure> {
    let told = format!("{} cannot sign in any more", args.login);
    let command = |principal| DisablePrincipal {
        principal,
        expected: None,
    };
    change(&args.login, &args.place, command, &told, terminal).await
}

pub async fn enable(args: &WhoArgs, terminal: &mut Terminal<'_>) -> Result<(), Failure> {
    let told = format!("{} can sign in again", args.login);
    let command = |principal| EnablePrincipal {
        principal,
        expected: None,
    };
    change(&args.login, &args.place, command, &told, terminal).await
}

pub async fn forget(args: &ForgetArgs, terminal: &mut Terminal<'_>) -> Result<(), Failure> {
    let told = format!("{} is forgotten", args.login);
    let command = |principal| ForgetPrincipal { principal };
    change(&args.login, &args.place, command, &told, terminal).await
}

async fn change<C: Into<Command>>(
    login: &Login,
    place: &PlaceArgs,
    command: impl FnOnce(PrincipalId) -> C,
    told: &str,
    terminal: &mut Terminal<'_>,
) -> Result<(), Failure> {
    let (book, site) = place.choose()?.book_and_site().await?;
    let principal = find(book.store(), site, login).await?;
    let command: Command = command(principal).into();
    let at = book.now();
    let account = match &command {
        Command::ForgetPrincipal(_) => Some(AccountChange::Forget { id: principal, at }),
        Command::DisablePrincipal(_) => Some(AccountChange::SignOut { id: principal, at }),
        _ => None,
    };
    let done = submit(&book, site, command, account).await;
    close(&book).await;
    done?;
    writeln!(terminal.out, "{told}")?;
    Ok(())
}

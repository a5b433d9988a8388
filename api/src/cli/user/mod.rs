//! `spindlebook user`: who may sign in.

mod add;
mod change;
mod list;
mod password;

use super::failure::Failure;
use super::place::PlaceArgs;
use super::terminal::Terminal;
use crate::auth::Login;
use clap::{Args, Subcommand};
use spindlebook_domain::ids::{PrincipalId, SiteId};
use spindlebook_store::Store;
use spindlebook_store::account;

#[derive(Args, Debug)]
pub struct UserArgs {
    #[command(subcommand)]
    command: UserCommand,
}

#[derive(Subcommand, Debug)]
enum UserCommand {
    /// Add a person
    #[command(after_help = add::HELP)]
    Add(add::AddArgs),
    /// List the people who may sign in
    #[command(after_help = list::HELP)]
    List(list::ListArgs),
    /// Set somebody's password
    #[command(after_help = change::PASSWORD_HELP)]
    Password(change::PasswordArgs),
    /// Give somebody other roles
    #[command(after_help = change::ROLES_HELP)]
    Roles(change::RolesArgs),
    /// Keep somebody from signing in; sessions end within a second
    #[command(after_help = change::DISABLE_HELP)]
    Disable(WhoArgs),
    /// Let somebody sign in again
    #[command(after_help = change::ENABLE_HELP)]
    Enable(WhoArgs),
    /// Blank somebody's name, login and password for good
    #[command(after_help = change::FORGET_HELP)]
    Forget(change::ForgetArgs),
}

#[derive(Args, Debug)]
pub struct WhoArgs {
    /// The login
    login: Login,
    #[command(flatten)]
    place: PlaceArgs,
}

pub async fn run(args: &UserArgs, terminal: &mut Terminal<'_>) -> Result<(), Failure> {
    match &args.command {
        UserCommand::Add(args) => add::run(args, terminal).await,
        UserCommand::List(args) => list::run(args, terminal).await,
        UserCommand::Password(args) => change::password(args, terminal).await,
        UserCommand::Roles(args) => change::roles(args, terminal).await,
        UserCommand::Disable(args) => change::disable(args, terminal).await,
        UserCommand::Enable(args) => change::enable(args, terminal).await,
        UserCommand::Forget(args) => change::forget(args, terminal).await,
    }
}

async fn find(store: &Store, site: SiteId, login: &Login) -> Result<PrincipalId, Failure> {
    let account = account::by_login(&mut store.session().await?, site, login.as_str()).await?;
    let missing = || {
        Failure::refused(format!(
            "nobody signs in as `{login}` at this site (`spindlebook user list`)"
        ))
    };
    account.map(|account| account.id).ok_or_else(missing)
}

use crate::cli::failure::Failure;
use crate::cli::hours_table::{Align, Table};
use crate::cli::place::PlaceArgs;
use crate::cli::terminal::Terminal;
use clap::Args;
use serde::Serialize;
use spindlebook_domain::access::{Principal, PrincipalKind, Standing};
use spindlebook_domain::ids::PrincipalId;
use spindlebook_store::account::{self, AccountRow};

pub const HELP: &str = "\
Example:
  spindlebook user list --json

Exit codes: 0 done; 1 refused; 2 wrong usage.";

#[derive(Args, Debug)]
pub struct ListArgs {
    /// Print JSON
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    place: PlaceArgs,
}

/// A forgotten person has neither login nor name.
#[derive(Serialize)]
struct UserView {
    id: PrincipalId,
    login: Option<String>,
    name: Option<String>,
    roles: Vec<&'static str>,
    standing: Standing,
}

impl UserView {
    fn new(principal: &Principal, account: &AccountRow) -> Self {
        let is_known = account.forgotten_at.is_none();
        Self {
            id: principal.id,
            login: is_known.then(|| account.login.clone()),
            name: account.display_name.clone(),
            roles: principal.roles.iter().map(|role| role.as_str()).collect(),
            standing: principal.standing,
        }
    }
}

pub async fn run(args: &ListArgs, terminal: &mut Terminal<'_>) -> Result<(), Failure> {
    let (book, site) = args.place.choose()?.book_and_site().await?;
    let shop = book.shop(site).unwrap_or_default();
    let accounts = account::all(&mut book.store().session().await?, site, PrincipalKind::Person).await?;
    let users: Vec<_> = accounts
        .iter()
        .filter_map(|account| Some(UserView::new(shop.principals.get(&account.id)?, account)))
        .collect();
    if args.json {
        return terminal.json(&users);
    }
    let mut table = Table::new(["login", "name", "roles", "standing"].map(|head| (head, "", Align::Left)));
    for user in &users {
        table.row(vec![
            user.login.clone().unwrap_or_else(|| "–".to_owned()),
            user.name.clone().unwrap_or_else(|| "–".to_owned()),
            user.roles.join(", "),
            format!("{:?}", user.standing).to_lowercase(),
        ]);
    }
    write!(terminal.out, "{table}")?;
    Ok(())
}

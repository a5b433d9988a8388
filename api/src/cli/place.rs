//! Which ledger a command works on: the options that all of them share.

use super::failure::Failure;
use crate::book::{Book, QUEUE_MAX};
use crate::clock::SystemClock;
use crate::config::{ConfigFile, DATA_DEFAULT, Place};
use clap::Args;
use spindlebook_domain::ids::SiteId;
use spindlebook_store::Store;
use spindlebook_store::site::{self, SiteRow};
use std::path::PathBuf;
use std::sync::Arc;

/// A command does one thing at a time; the writer of a site takes one connection of its own.
const CONNECTIONS_MAX: u32 = 4;
const SERVING_CONNECTIONS_MAX: u32 = 16;

/// For commands that are not about one site.
#[derive(Args, Debug)]
#[command(next_help_heading = "Which ledger")]
pub struct LedgerArgs {
    /// The data folder: signing key, and the database unless that is elsewhere [default: ./data]
    #[arg(long, env = "SPINDLEBOOK_DATA", value_name = "DIR")]
    data: Option<PathBuf>,
    /// A PostgreSQL (or SQLite) address instead of the SQLite file in the data folder
    #[arg(long, env = "DATABASE_URL", hide_env_values = true, value_name = "URL")]
    database_url: Option<String>,
    /// A TOML file with settings; what is said here or in the environment counts more
    #[arg(long, env = "SPINDLEBOOK_CONFIG", value_name = "FILE")]
    config: Option<PathBuf>,
}

#[derive(Args, Debug)]
pub struct PlaceArgs {
    #[command(flatten)]
    ledger: LedgerArgs,
    /// The site's code, where there are several
    #[arg(
        long,
        env = "SPINDLEBOOK_SITE",
        value_name = "CODE",
        help_heading = "Which ledger"
    )]
    site: Option<String>,
}

/// What the options come to.
pub struct Chosen {
    pub place: Place,
    pub site: Option<String>,
    pub file: ConfigFile,
}

impl LedgerArgs {
    pub fn choose(&self) -> Result<Chosen, Failure> {
        let file = match &self.config {
            Some(path) => ConfigFile::read(path).map_err(|error| Failure::usage(error.to_string()))?,
            None => ConfigFile::default(),
        };
        let data = self
            .data
            .clone()
            .or_else(|| file.data.clone())
            .unwrap_or_else(|| DATA_DEFAULT.into());
        let url = self.database_url.clone().or_else(|| file.database_url.clone());
        Ok(Chosen {
            place: Place::new(data, url, file.signing_key.clone()),
            site: file.site.clone(),
            file,
        })
    }
}

impl PlaceArgs {
    pub fn choose(&self) -> Result<Chosen, Failure> {
        let chosen = self.ledger.choose()?;
        Ok(Chosen {
            site: self.site.clone().or(chosen.site),
            ..chosen
        })
    }
}

impl Chosen {
    /// Opens what is there. A folder without a ledger is most often the wrong folder, so nothing is made in it.
    pub async fn store(&self) -> Result<Store, Failure> {
        if self.place.is_new() {
            return Err(Failure::refused(format!(
                "there is no ledger in {}: name its folder with --data, or begin one with `spindlebook site add`",
                self.place.name()
            )));
        }
        self.store_or_new().await
    }

    pub async fn store_or_new(&self) -> Result<Store, Failure> {
        self.opened(CONNECTIONS_MAX).await
    }

    /// With connections for many who read at once.
    pub async fn store_to_serve(&self) -> Result<Store, Failure> {
        self.opened(SERVING_CONNECTIONS_MAX).await
    }

    async fn opened(&self, connections_max: u32) -> Result<Store, Failure> {
        make_private_folder(&self.place.data)?;
        Store::open(&self.place.url(), connections_max)
            .await
            .map_err(|error| Failure::refused(format!("{} cannot be opened: {error}", self.place.name())))
    }

    pub async fn book(&self) -> Result<Book, Failure> {
        Ok(Book::open(self.store().await?, Arc::new(SystemClock), QUEUE_MAX).await?)
    }

    /// The site that was asked for, or the only one.
    pub async fn site(&self, store: &Store) -> Result<SiteRow, Failure> {
        let sites = site::all(&mut store.session().await?).await?;
        let codes = || {
            sites
                .iter()
                .map(|site| site.code.as_str())
                .collect::<Vec<_>>()
                .join(", ")
        };
        match (&self.site, sites.as_slice()) {
            (_, []) => Err(Failure::refused(format!(
                "there is no site in {} yet: begin one with `spindlebook site add`",
                self.place.name()
            ))),
            (None, [only]) => Ok(only.clone()),
            (None, _) => Err(Failure::usage(format!(
                "there are several sites: say which with --site ({})",
                codes()
            ))),
            (Some(code), all) => all
                .iter()
                .find(|site| site.code.eq_ignore_ascii_case(code))
                .cloned()
                .ok_or_else(|| {
                    Failure::refused(format!("there is no site `{code}`; there are: {}", codes()))
                }),
        }
    }

    pub async fn book_and_site(&self) -> Result<(Book, SiteId), Failure> {
        let book = self.book().await?;
        let site = self.site(book.store()).await?.id;
        Ok((book, site))
    }
}

/// The folder holds the signing key: nobody else needs to look into it.
fn make_private_folder(folder: &std::path::Path) -> Result<(), Failure> {
    let mut builder = std::fs::DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder.create(folder).map_err(|error| {
        Failure::refused(format!(
            "the data folder {} cannot be made: {error}",
            folder.display()
        ))
    })
}

/// Finishes and keeps what there is; the last connection that closes leaves SQLite as one file.
pub async fn close(book: &Book) {
    book.stop().await;
    book.store().close().await;
}

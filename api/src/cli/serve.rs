//! `spindlebook serve`.

use super::failure::Failure;
use super::place::{Chosen, LedgerArgs};
use super::serving::{self, Addresses, Sockets};
use super::site::name_or_code;
use super::terminal::Terminal;
use crate::auth::SigningKey;
use crate::book::{Book, QUEUE_MAX, create_site};
use crate::clock::SystemClock;
use crate::config::LISTEN_DEFAULT;
use crate::http::limits::LimitSettings;
use chrono_tz::Tz;
use clap::{Args, ValueEnum};
use spindlebook_domain::access::PrincipalKind;
use spindlebook_domain::code::{Code, Name};
use spindlebook_domain::ids::SiteId;
use spindlebook_domain::site::OpenSite;
use spindlebook_store::Store;
use spindlebook_store::site;
use std::net::SocketAddr;
use std::path::PathBuf;
use std::sync::Arc;
use uuid::Uuid;

const HELP: &str = "\
Listens until SIGINT or SIGTERM; then it finishes what has begun. The signing key is made on the first start, in the
data folder. What happens is logged to standard error; RUST_LOG says how much (info if it is not set).

Example:
  spindlebook serve
  spindlebook serve --init-site north --zone Europe/Berlin
  spindlebook serve --listen 0.0.0.0:8443 --tls-cert cert.pem --tls-key key.pem

Exit codes: 0 stopped in good order; 1 refused to start, or failed; 2 wrong usage.";

#[derive(Args, Debug)]
#[command(after_help = HELP)]
pub struct ServeArgs {
    /// Address and port to listen on [default: 127.0.0.1:8080]
    #[arg(long, env = "SPINDLEBOOK_LISTEN", value_name = "ADDRESS:PORT")]
    listen: Option<SocketAddr>,
    /// Speak HTTPS with this certificate chain (PEM)
    #[arg(long, env = "SPINDLEBOOK_TLS_CERT", value_name = "FILE")]
    tls_cert: Option<PathBuf>,
    /// The certificate's private key (PEM)
    #[arg(long, env = "SPINDLEBOOK_TLS_KEY", value_name = "FILE")]
    tls_key: Option<PathBuf>,
    /// Also give figures about the service here, without signing in
    #[arg(long, env = "SPINDLEBOOK_METRICS_LISTEN", value_name = "ADDRESS:PORT")]
    metrics_listen: Option<SocketAddr>,
    /// Begin this site first if there is none yet
    #[arg(long, value_name = "CODE", requires = "zone")]
    init_site: Option<Code>,
    /// The name of that site [default: its code]
    #[arg(long, requires = "init_site")]
    init_name: Option<Name>,
    /// The IANA time zone of that site
    #[arg(long, requires = "init_site", value_parser = crate::cli::instant::zone)]
    zone: Option<Tz>,
    /// How many requests a second one user, client or address may make for long; 0 sets no limit [default: 500]
    #[arg(long, env = "SPINDLEBOOK_REQUESTS_PER_SECOND", value_name = "NUMBER")]
    requests_per_second: Option<u32>,
    /// How to write the log
    #[arg(long, value_enum, default_value = "text")]
    log: LogForm,
    #[command(flatten)]
    ledger: LedgerArgs,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum LogForm {
    Text,
    Json,
}

pub async fn run(args: &ServeArgs, terminal: &mut Terminal<'_>) -> Result<(), Failure> {
    let chosen = args.ledger.choose()?;
    let sockets = Sockets::bind(&addresses(args, &chosen)?)?;
    serving::log_to_stderr(args.log == LogForm::Json);
    let store = open(args, &chosen).await?;
    let key = SigningKey::load_or_create(&chosen.place.signing_key)?;
    let book = Book::open(store, Arc::new(SystemClock), QUEUE_MAX).await?;
    say_who_is_missing(&book, &chosen, terminal)?;
    let limits = args
        .requests_per_second
        .map_or_else(LimitSettings::default, LimitSettings::of_per_second);
    serving::serve(book, &key, sockets, limits, terminal).await
}

fn addresses(args: &ServeArgs, chosen: &Chosen) -> Result<Addresses, Failure> {
    let file = &chosen.file;
    let cert = args.tls_cert.clone().or_else(|| file.tls_cert.clone());
    let key = args.tls_key.clone().or_else(|| file.tls_key.clone());
    let tls = match (cert, key) {
        (Some(cert), Some(key)) => Some((cert, key)),
        (None, None) => None,
        (Some(_), None) => return Err(Failure::usage("--tls-cert needs --tls-key: HTTPS takes both")),
        (None, Some(_)) => return Err(Failure::usage("--tls-key needs --tls-cert: HTTPS takes both")),
    };
    let listen = match args.listen.or(file.listen) {
        Some(listen) => listen,
        None => LISTEN_DEFAULT
            .parse()
            .map_err(|error| Failure::usage(format!("{LISTEN_DEFAULT}: {error}")))?,
    };
    Ok(Addresses {
        listen,
        metrics_listen: args.metrics_listen.or(file.metrics_listen),
        tls,
    })
}

/// A service without a site has nothing to do: it says how to begin one instead.
async fn open(args: &ServeArgs, chosen: &Chosen) -> Result<Store, Failure> {
    let how_to_begin = || {
        let place = chosen.place.data.display();
        Failure::refused(format!(
            "there is no site in {} yet. Begin one and add somebody who may sign in:\n  \
             spindlebook site add CODE --name NAME --zone Europe/Berlin --data {place}\n  \
             spindlebook user add NAME --login LOGIN --role admin --data {place}\n\
             or let this command begin it: spindlebook serve --init-site CODE --zone Europe/Berlin",
            chosen.place.name()
        ))
    };
    if chosen.place.is_new() && args.init_site.is_none() {
        return Err(how_to_begin());
    }
    let store = chosen.store_to_serve().await?;
    let sites = site::all(&mut store.session().await?).await?;
    match (&args.init_site, args.zone) {
        (Some(code), Some(zone)) if sites.is_empty() => {
            let open = OpenSite {
                site: SiteId(Uuid::now_v7()),
                code: code.clone(),
                name: name_or_code(args.init_name.as_ref(), code)?,
                zone,
            };
            create_site(&store, &SystemClock, open).await?;
        }
        (Some(code), _)
            if !sites
                .iter()
                .any(|site| site.code.eq_ignore_ascii_case(code.as_str())) =>
        {
            let codes: Vec<_> = sites.iter().map(|site| site.code.as_str()).collect();
            return Err(Failure::refused(format!(
                "--init-site {code}: there is a site already ({}); add another with `spindlebook site add`",
                codes.join(", ")
            )));
        }
        (None, _) if sites.is_empty() => return Err(how_to_begin()),
        _ => {}
    }
    Ok(store)
}

fn say_who_is_missing(book: &Book, chosen: &Chosen, terminal: &mut Terminal) -> Result<(), Failure> {
    for (site, code) in book.sites() {
        let shop = book.shop(site).unwrap_or_default();
        let mut people = shop
            .principals
            .values()
            .filter(|principal| principal.kind == PrincipalKind::Person);
        if people.next().is_none() {
            terminal.say(format!(
                "spindlebook: nobody can sign in to {code} yet: spindlebook user add NAME --login LOGIN --role admin --site {code} --data {}",
                chosen.place.data.display()
            ))?;
        }
    }
    Ok(())
}

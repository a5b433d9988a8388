//! Listening until somebody asks for the end.

use super::failure::Failure;
use super::place::close;
use super::terminal::Terminal;
use crate::app::{Bound, Listening, Service};
use crate::auth::{Auth, AuthSettings, SigningKey};
use crate::book::{Book, forget_outcomes};
use crate::daily;
use crate::hours::Hours;
use crate::http::ledger::streams::Streams;
use crate::http::limits::LimitSettings;
use actix_web::web::Data;
use metrics_exporter_prometheus::{PrometheusBuilder, PrometheusHandle};
use rustls::pki_types::pem::PemObject;
use rustls::pki_types::{CertificateDer, PrivateKeyDer};
use std::io::{self, IsTerminal};
use std::net::{SocketAddr, TcpListener};
use std::path::{Path, PathBuf};
use std::time::Duration;
use tokio::task::JoinHandle;

/// What a service listens on, bound before anything long is begun.
pub struct Sockets {
    main: TcpListener,
    metrics: Option<TcpListener>,
    tls: Option<rustls::ServerConfig>,
}

#[derive(Clone, Debug)]
pub struct Addresses {
    pub listen: SocketAddr,
    pub metrics_listen: Option<SocketAddr>,
    /// Certificate and key.
    pub tls: Option<(PathBuf, PathBuf)>,
}

const TIDY_EVERY: Duration = Duration::from_hours(1);

impl Sockets {
    pub fn bind(addresses: &Addresses) -> Result<Self, Failure> {
        let tls = addresses
            .tls
            .as_ref()
            .map(|(cert, key)| tls(cert, key))
            .transpose()?;
        Ok(Self {
            main: bind(addresses.listen, "--listen")?,
            metrics: addresses
                .metrics_listen
                .map(|address| bind(address, "--metrics-listen"))
                .transpose()?,
            tls,
        })
    }

    pub fn url(&self) -> io::Result<String> {
        let scheme = if self.tls.is_some() { "https" } else { "http" };
        Ok(format!("{scheme}://{}", self.main.local_addr()?))
    }

    /// Others than this machine can reach it, and read along.
    fn is_open_to_listeners(&self) -> bool {
        self.tls.is_none()
            && self
                .main
                .local_addr()
                .is_ok_and(|address| !address.ip().is_loopback())
    }
}

fn bind(address: SocketAddr, option: &str) -> Result<TcpListener, Failure> {
    TcpListener::bind(address).map_err(|error| {
        let remedy = match error.kind() {
            io::ErrorKind::AddrInUse => {
                "another program listens there: end it, or choose another address with"
            }
            io::ErrorKind::PermissionDenied => "that port needs more rights: choose one above 1023 with",
            _ => "choose another address with",
        };
        Failure::refused(format!("cannot listen on {address} ({error}); {remedy} {option}"))
    })
}

/// Serves until SIGINT or SIGTERM, then finishes what has begun and keeps a snapshot of each site.
pub async fn serve(
    book: Book,
    key: &SigningKey,
    sockets: Sockets,
    limits: LimitSettings,
    terminal: &mut Terminal<'_>,
) -> Result<(), Failure> {
    let auth = Auth::new(book.clone(), key, AuthSettings::default())
        .map_err(|error| Failure::refused(error.to_string()))?;
    if sockets.is_open_to_listeners() {
        terminal.say("spindlebook: plain HTTP on an address that others can reach: whoever is between reads passwords along. Give --tls-cert and --tls-key, or put a proxy with TLS in front")?;
    }
    let url = sockets.url()?;
    let service = Service::new(book.clone(), auth, limits, metrics());
    let tidying = tidy(service.auth.clone(), book.clone());
    let reporting = report_days(service.book.clone(), service.hours.clone());
    let how = Listening {
        tls: sockets.tls,
        workers: None,
    };
    let main = service.listen(sockets.main, how)?;
    let metrics = sockets
        .metrics
        .map(|socket| service.listen_for_metrics(socket))
        .transpose()?;
    writeln!(
        terminal.out,
        "Spindlebook listens on {url}   (the API's page: {url}/docs)"
    )?;
    if let Some(metrics) = &metrics {
        writeln!(
            terminal.out,
            "figures about the service: http://{}/metrics",
            metrics.address
        )?;
    }
    terminal.out.flush()?;
    let served = until_stopped(main, metrics, &service.streams).await;
    tidying.abort();
    reporting.abort();
    service.planning.stop().await;
    close(&book).await;
    served?;
    terminal.say("spindlebook: stopped in good order")?;
    Ok(())
}

async fn until_stopped(main: Bound, metrics: Option<Bound>, streams: &Streams) -> Result<(), Failure> {
    let handle = main.server.handle();
    let metrics = metrics.map(|metrics| (metrics.server.handle(), tokio::spawn(metrics.server)));
    let mut server = tokio::spawn(main.server);
    let ended = tokio::select! {
        ended = &mut server => ended,
        asked = asked_to_stop() => {
            asked?;
            streams.close();
            handle.stop(true).await;
            server.await
        }
    };
    if let Some((handle, server)) = metrics {
        handle.stop(true).await;
        let _ = server.await;
    }
    Ok(ended.map_err(io::Error::other)??)
}

#[cfg(unix)]
async fn asked_to_stop() -> io::Result<()> {
    use tokio::signal::unix::{SignalKind, signal};
    let (mut interrupt, mut terminate) = (signal(SignalKind::interrupt())?, signal(SignalKind::terminate())?);
    tokio::select! {
        _ = interrupt.recv() => {}
        _ = terminate.recv() => {}
    }
    Ok(())
}

#[cfg(not(unix))]
async fn asked_to_stop() -> io::Result<()> {
    tokio::signal::ctrl_c().await
}

/// One recorder for the process; a second service in it goes without.
fn metrics() -> Option<PrometheusHandle> {
    PrometheusBuilder::new().install_recorder().ok()
}

fn tidy(auth: Data<Auth>, book: Book) -> JoinHandle<()> {
    tokio::spawn(async move {
        let mut hours = tokio::time::interval(TIDY_EVERY);
        loop {
            hours.tick().await;
            if let Err(error) = auth.tidy().await {
                tracing::warn!(%error, "expired sessions were not cleared away: {error}");
            }
            if let Err(error) = forget_outcomes(book.store(), book.now()).await {
                tracing::warn!(%error, "outcomes whose time is over were not cleared away: {error}");
            }
        }
    })
}

fn report_days(book: Data<Book>, hours: Data<Hours>) -> JoinHandle<()> {
    tokio::spawn(async move {
        let mut times = tokio::time::interval(daily::EVERY);
        loop {
            times.tick().await;
            if let Err(error) = daily::keep(&book, &hours).await {
                tracing::warn!(%error, "the daily reports were not kept: {error}");
            }
        }
    })
}

fn tls(cert: &Path, key: &Path) -> Result<rustls::ServerConfig, Failure> {
    install_crypto();
    let refuse =
        |path: &Path, why: &dyn std::fmt::Display| Failure::refused(format!("{}: {why}", path.display()));
    let chain = CertificateDer::pem_file_iter(cert)
        .and_then(Iterator::collect::<Result<Vec<_>, _>>)
        .map_err(|error| refuse(cert, &format!("no certificate can be read from it: {error}")))?;
    if chain.is_empty() {
        return Err(refuse(
            cert,
            &"there is no certificate in it; it must hold the chain in PEM",
        ));
    }
    let private = PrivateKeyDer::from_pem_file(key)
        .map_err(|error| refuse(key, &format!("no private key can be read from it: {error}")))?;
    rustls::ServerConfig::builder()
        .with_no_client_auth()
        .with_single_cert(chain, private)
        .map_err(|error| refuse(key, &format!("it does not go with {}: {error}", cert.display())))
}

/// For the process; whoever was first has installed the same.
pub fn install_crypto() {
    let _ = rustls::crypto::ring::default_provider().install_default();
}

/// What the service says of itself, and of others only what is wrong.
const LOGGED: &str = "info,actix_server=warn,sea_orm_migration=warn,sqlx=warn";

/// What happens goes to standard error; `RUST_LOG` says how much.
pub fn log_to_stderr(as_json: bool) {
    let filter = tracing_subscriber::EnvFilter::try_from_default_env()
        .unwrap_or_else(|_| tracing_subscriber::EnvFilter::new(LOGGED));
    let log = tracing_subscriber::fmt()
        .with_env_filter(filter)
        .with_ansi(io::stderr().is_terminal())
        .with_writer(io::stderr);
    // A second service in one process logs where the first one does.
    let _ = if as_json {
        log.json().try_init()
    } else {
        log.try_init()
    };
}

//! The application as it is served, put together once: `serve` listens where it is told, tests on a port of their own.

use crate::auth::Auth;
use crate::book::Book;
use crate::hours::Hours;
use crate::http::acts::within::{Answer, Ask, Within};
use crate::http::health::show_details;
use crate::http::ledger::streams::Streams;
use crate::http::limits::{LimitSettings, Limits, around};
use crate::http::metrics::{MetricsSource, measure, render};
use crate::http::openapi::{self, DocsConfig, DocumentText, docs_file};
use crate::http::routes;
use crate::http::shown::Shown;
use crate::planning::Planning;
use crate::problem::{Problem, Routes, path_config, unmatched};
use actix_service::IntoServiceFactory;
use actix_web::body::{MessageBody, to_bytes};
use actix_web::dev::{AppConfig, Server, Service as _, ServiceFactory, ServiceRequest, ServiceResponse};
use actix_web::middleware::{Compress, from_fn};
use actix_web::web::{self, Data};
use actix_web::{App, Error, HttpServer};
use metrics_exporter_prometheus::PrometheusHandle;
use std::io;
use std::net::{SocketAddr, TcpListener};
use std::rc::Rc;
use std::time::Duration;
use utoipa_actix_web::AppExt;

/// Everything that the service is made of. Clones share it.
#[derive(Clone)]
pub struct Service {
    pub book: Data<Book>,
    pub auth: Data<Auth>,
    pub hours: Data<Hours>,
    /// To be stopped before the book is.
    pub planning: Data<Planning>,
    /// To be closed before the server is stopped, which waits for whoever reads.
    pub streams: Data<Streams>,
    limits: Data<Limits>,
    metrics: Data<MetricsSource>,
    known_routes: Data<Routes>,
    document: Data<DocumentText>,
    docs: Data<DocsConfig>,
}

/// How a listener is served.
#[derive(Clone, Debug, Default)]
pub struct Listening {
    /// Without it, plain HTTP.
    pub tls: Option<rustls::ServerConfig>,
    /// Without it, as many as there are cores.
    pub workers: Option<usize>,
}

/// A server that listens and waits to be run.
pub struct Bound {
    pub address: SocketAddr,
    pub server: Server,
}

/// Longer than any answer takes; then connections are cut.
const SHUTDOWN_WITHIN_S: u64 = 30;
/// Whoever takes longer for the head of a request keeps a connection busy for nothing.
const REQUEST_HEAD_WITHIN: Duration = Duration::from_secs(10);
const IDLE_CONNECTION_WITHIN: Duration = Duration::from_secs(75);

impl Service {
    pub fn new(book: Book, auth: Auth, limits: LimitSettings, metrics: Option<PrometheusHandle>) -> Self {
        let document = openapi::document();
        Self {
            hours: Data::new(Hours::new(book.store().clone())),
            planning: Data::new(Planning::new(book.clone())),
            auth: Data::new(auth),
            streams: Data::default(),
            limits: Data::new(Limits::new(limits)),
            metrics: Data::new(MetricsSource(metrics)),
            known_routes: Data::new(Routes::of(&openapi::mounted())),
            document: Data::new(DocumentText(document.to_string())),
            docs: Data::default(),
            book: Data::new(book),
        }
    }

    /// Serves the API on a socket that is bound already.
    pub fn listen(&self, socket: TcpListener, how: Listening) -> io::Result<Bound> {
        let address = socket.local_addr()?;
        let service = self.clone();
        let workers = how.workers.unwrap_or_else(cores);
        // Signals are for the program to take: it has more to stop than this server.
        let server = HttpServer::new(move || service.app())
            .workers(workers)
            .disable_signals()
            .shutdown_timeout(SHUTDOWN_WITHIN_S)
            .client_request_timeout(REQUEST_HEAD_WITHIN)
            .keep_alive(IDLE_CONNECTION_WITHIN);
        let server = match how.tls {
            Some(tls) => server.listen_rustls_0_23(socket, tls)?,
            None => server.listen(socket)?,
        };
        let server = server.run();
        Ok(Bound { address, server })
    }

    /// Serves figures about the service, and how far it has read each site, to whoever reaches this socket, without signing in.
    pub fn listen_for_metrics(&self, socket: TcpListener) -> io::Result<Bound> {
        let address = socket.local_addr()?;
        let (metrics, book) = (self.metrics.clone(), self.book.clone());
        let app = move || {
            App::new()
                .app_data(metrics.clone())
                .app_data(book.clone())
                .route("/metrics", web::get().to(metrics_for_all))
                .route("/health/ready", web::get().to(show_details))
        };
        let server = HttpServer::new(app).workers(1).disable_signals().listen(socket)?;
        let server = server.run();
        Ok(Bound { address, server })
    }

    fn app(
        &self,
    ) -> App<
        impl ServiceFactory<
            ServiceRequest,
            Config = (),
            Response = ServiceResponse<impl MessageBody + use<>>,
            Error = Error,
            InitError = (),
        > + use<>,
    > {
        let service = self.clone();
        // In each worker its own: it never leaves the thread.
        let within = Rc::new(Within::new(move || {
            let service = service.clone();
            Box::pin(async move { service.within().await })
        }));
        self.plain()
            .app_data(within)
            .route("/docs/{file:.*}", web::get().to(docs_file))
            .wrap(Compress::default())
            .wrap(from_fn(measure))
            .wrap(from_fn(around))
    }

    /// The operations as whoever is within asks them: without limits, and without packing the answers.
    async fn within(&self) -> Result<Ask, Problem> {
        let factory = self.plain().into_factory();
        let made = factory.new_service(AppConfig::default()).await;
        let made = made.map_err(|()| Problem::fault(&"the application could not be built within itself"))?;
        let made = Rc::new(made);
        Ok(Rc::new(move |request| {
            let made = Rc::clone(&made);
            Box::pin(async move {
                let fault = |error: &dyn std::fmt::Display| Problem::fault(error);
                let answered: ServiceResponse = made.call(request).await.map_err(|error| fault(&error))?;
                let (head, body) = answered.into_parts().1.into_parts();
                let body = to_bytes(body).await.map_err(|error| fault(&error))?;
                Ok(Answer {
                    status: head.status(),
                    headers: head.headers().clone(),
                    body,
                })
            })
        }))
    }

    fn plain(
        &self,
    ) -> App<
        impl ServiceFactory<
            ServiceRequest,
            Config = (),
            Response = ServiceResponse,
            Error = Error,
            InitError = (),
        > + use<>,
    > {
        let (app, _) = App::new()
            .app_data(self.book.clone())
            .app_data(self.auth.clone())
            .app_data(self.hours.clone())
            .app_data(self.planning.clone())
            .app_data(self.streams.clone())
            .app_data(self.limits.clone())
            .app_data(self.metrics.clone())
            .app_data(self.known_routes.clone())
            .app_data(self.document.clone())
            .app_data(self.docs.clone())
            .app_data(path_config())
            .into_utoipa_app()
            .configure(routes)
            .split_for_parts();
        app.default_service(web::to(unmatched))
    }
}

fn cores() -> usize {
    std::thread::available_parallelism().map_or(1, std::num::NonZeroUsize::get)
}

async fn metrics_for_all(source: Data<MetricsSource>) -> Result<Shown, Problem> {
    render(&source)
}

//! A server in a container, where an engine answers. Statics are never dropped in Rust, so the container ends itself:
//! a loop in it stops the server once no client has been connected for a minute, and the engine removes it then.

use anyhow::{Context, Result};
use sqlx::postgres::PgConnectOptions;
use sqlx::{Connection, PgConnection};
use std::os::unix::net::UnixStream;
use std::time::{Duration, Instant};
use testcontainers::core::IntoContainerPort;
use testcontainers::runners::AsyncRunner;
use testcontainers::{GenericImage, ImageExt};

const START_S_MAX: u64 = 120;

const SERVE_UNTIL_ALONE: &str = r#"
docker-entrypoint.sh postgres -c fsync=off -c synchronous_commit=off -c max_connections=300 &
server=$!
alone=0
while kill -0 "$server" && [ "$alone" -lt 12 ]; do
    sleep 5
    others=$(psql -U postgres -Atc "select count(*) from pg_stat_activity
        where backend_type = 'client backend' and pid <> pg_backend_pid()")
    if [ "$others" = 0 ]; then alone=$((alone + 1)); else alone=0; fi
done
kill -QUIT "$server"
wait "$server"
"#;

pub(super) struct Container {
    pub administrator: PgConnectOptions,
    /// Keeps the container up: open as long as this process lives.
    _presence: PgConnection,
}

/// `None` where no engine answers.
pub(super) async fn start() -> Option<Result<Container>> {
    engine_answers().then_some(())?;
    Some(start_container().await)
}

/// The library itself waits much longer before it says that there is no engine.
fn engine_answers() -> bool {
    let host = std::env::var("DOCKER_HOST").unwrap_or_default();
    match host.strip_prefix("unix://") {
        Some(socket) => UnixStream::connect(socket).is_ok(),
        None if host.is_empty() => UnixStream::connect("/var/run/docker.sock").is_ok(),
        None => true,
    }
}

async fn start_container() -> Result<Container> {
    let container = GenericImage::new("postgres", "16-alpine")
        .with_exposed_port(5432.tcp())
        .with_env_var("POSTGRES_HOST_AUTH_METHOD", "trust")
        .with_cmd(["sh", "-c", SERVE_UNTIL_ALONE])
        .with_host_config_modifier(|host| host.auto_remove = Some(true))
        .start()
        .await
        .context("the container engine answers, but PostgreSQL does not start in it")?;
    let host = container.get_host().await?.to_string();
    let port = container.get_host_port_ipv4(5432).await?;
    // Dropping it would stop it.
    std::mem::forget(container);
    let administrator = PgConnectOptions::new_without_pgpass()
        .host(&host)
        .port(port)
        .username("postgres")
        .database("postgres");
    let began = Instant::now();
    loop {
        match PgConnection::connect_with(&administrator).await {
            Ok(presence) => {
                return Ok(Container {
                    administrator,
                    _presence: presence,
                });
            }
            Err(error) if began.elapsed() > Duration::from_secs(START_S_MAX) => {
                return Err(error).context("PostgreSQL in the container does not take connections");
            }
            Err(_) => tokio::time::sleep(Duration::from_millis(100)).await,
        }
    }
}

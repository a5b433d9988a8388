//! A cluster with fsync for the crash tests: its own folder, its own processes, and every way to lose them.

use super::binaries;
use super::database::run;
use super::folder::{Folder, socket_url};
use crate::guardian::Guardian;
use crate::signal::{self, Signal};
use anyhow::{Context, Result, bail};
use sqlx::{Connection, PgConnection};
use std::path::Path;
use std::process::{Child, Command};
use std::time::{Duration, Instant};
use tempfile::TempDir;

/// The database that the service under test uses.
const DATABASE: &str = "spindlebook";

const SETTINGS: &str = "fsync = on\nsynchronous_commit = on\nfull_page_writes = on\nmax_connections = 100\n\
    shared_buffers = 32MB\nautovacuum = off\nrecovery_init_sync_method = syncfs\n";

const END_S_MAX: u64 = 30;

/// `$1` is the folder.
const STOP_AND_REMOVE: &str = r#"
server=$(head -n 1 "$1/data/postmaster.pid" 2>/dev/null)
if [ -n "$server" ] && grep -q "$1/data" "/proc/$server/cmdline" 2>/dev/null; then
    kill -CONT "$server"
    kill -QUIT "$server"
    while kill -0 "$server" 2>/dev/null; do sleep 0.1; done
fi
rm -rf "$1"
# Where we were killed while initdb was at work, it wrote on until it missed its folder.
sleep 2
rm -rf "$1"
"#;

pub struct DurableCluster {
    // Fields are dropped in this order: no guardian may act on a folder that is gone.
    _guardian: Guardian,
    server: Option<Child>,
    folder: Folder,
    _root: TempDir,
}

impl DurableCluster {
    /// With an empty database, whose URL is [`DurableCluster::url`].
    pub async fn start() -> Result<Self> {
        Self::with_settings("").await
    }

    /// `extra` is lines of `postgresql.conf` that outdo the ordinary ones.
    pub async fn with_settings(extra: &str) -> Result<Self> {
        let root = tempfile::Builder::new()
            .prefix("spindlebook-durable-")
            .tempdir()?;
        let folder = Folder::prepare(root.path().to_owned())?;
        let guardian = Guardian::at_our_end(STOP_AND_REMOVE, &[root.path()])?;
        folder.make_cluster(&format!("{SETTINGS}{extra}\n"))?;
        let server = Some(folder.start()?);
        let cluster = Self {
            _guardian: guardian,
            server,
            folder,
            _root: root,
        };
        let mut connection = PgConnection::connect_with(&cluster.folder.administrator()).await?;
        run(&mut connection, format!("create database {DATABASE}")).await?;
        connection.close().await?;
        Ok(cluster)
    }

    pub fn url(&self) -> String {
        socket_url(&self.folder.root, DATABASE)
    }

    /// Brings what `pg_dump --format=custom` wrote into a new database, by the server's own program; gives its URL.
    pub async fn restore(&self, dump: &Path, database: &str) -> Result<String> {
        let mut connection = PgConnection::connect_with(&self.folder.administrator()).await?;
        run(&mut connection, format!("create database {database}")).await?;
        connection.close().await?;
        let url = socket_url(&self.folder.root, database);
        let done = Command::new(binaries::folder()?.join("pg_restore"))
            .args(["--exit-on-error", "--dbname", &url])
            .arg(dump)
            .output()
            .context("pg_restore did not start")?;
        if !done.status.success() {
            bail!("pg_restore failed: {}", String::from_utf8_lossy(&done.stderr));
        }
        Ok(url)
    }

    /// Where a proxy connects to.
    pub fn socket(&self) -> std::path::PathBuf {
        self.folder.socket()
    }

    /// The server's own log, for the message of a test that fails.
    pub fn log(&self) -> String {
        self.folder.log()
    }

    /// An orderly stop that does not wait for clients to leave.
    pub fn stop(&mut self) -> Result<()> {
        self.end(Signal::Interrupt)
    }

    /// The postmaster and every one of its children, with no chance to write another byte.
    pub fn kill(&mut self) -> Result<()> {
        let mut server = self.server.take().context("the server is not running")?;
        // Standing still it cannot start a child between the listing and the killing.
        signal::send(Signal::Stop, &[server.id()])?;
        let children = signal::children_of(server.id())?;
        server.kill()?;
        server.wait()?;
        signal::send(Signal::Kill, &children)?;
        wait_until(
            || !children.iter().any(|child| signal::is_alive(*child)),
            "the server's children still live",
        )
    }

    pub fn restart(&mut self) -> Result<()> {
        if self.server.is_some() {
            bail!("the server is running already");
        }
        self.server = Some(self.folder.start()?);
        Ok(())
    }

    /// Sends the signal to one process that serves a client of the database; `None` where no client is connected.
    pub async fn signal_backend(&self, signal: Signal) -> Result<Option<u32>> {
        let mut connection = PgConnection::connect_with(&self.folder.administrator()).await?;
        // The one in a transaction first: that is the moment which the crash tests are about.
        let backend: Option<i32> = sqlx::query_scalar(
            "select pid from pg_stat_activity where datname = $1 and backend_type = 'client backend' \
             order by xact_start is null, random() limit 1",
        )
        .bind(DATABASE)
        .fetch_optional(&mut connection)
        .await?;
        let Some(backend) = backend.map(u32::try_from).transpose()? else {
            return Ok(None);
        };
        signal::send(signal, &[backend])?;
        Ok(Some(backend))
    }

    /// A client's connection for looking at what the service wrote.
    pub async fn connect(&self) -> Result<PgConnection> {
        Ok(PgConnection::connect(&self.url()).await?)
    }

    fn end(&mut self, signal: Signal) -> Result<()> {
        let mut server = self.server.take().context("the server is not running")?;
        signal::send(signal, &[server.id()])?;
        let ended = wait_until(
            || matches!(server.try_wait(), Ok(Some(_))),
            "the server does not stop",
        );
        if ended.is_err() {
            server.kill()?;
            server.wait()?;
        }
        ended
    }
}

impl Drop for DurableCluster {
    fn drop(&mut self) {
        if self.server.is_some() {
            let _ = self.end(Signal::Quit);
        }
    }
}

fn wait_until(mut holds: impl FnMut() -> bool, otherwise: &str) -> Result<()> {
    let began = Instant::now();
    while !holds() {
        if began.elapsed() > Duration::from_secs(END_S_MAX) {
            bail!("{otherwise} after {END_S_MAX} s");
        }
        std::thread::sleep(Duration::from_millis(10));
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[tokio::test]
    async fn a_killed_cluster_comes_back_with_what_was_committed() {
        let mut cluster = DurableCluster::start().await.unwrap();
        let mut connection = cluster.connect().await.unwrap();
        let fsync: String = sqlx::query_scalar("show fsync")
            .fetch_one(&mut connection)
            .await
            .unwrap();
        assert_eq!(fsync, "on");
        run(&mut connection, "create table kept (n int)".into())
            .await
            .unwrap();
        run(&mut connection, "insert into kept values (7)".into())
            .await
            .unwrap();
        cluster.kill().unwrap();
        assert!(
            run(&mut connection, "select 1".into()).await.is_err(),
            "a killed server must not answer"
        );
        cluster.restart().unwrap();
        let mut connection = cluster.connect().await.unwrap();
        let kept: i32 = sqlx::query_scalar("select n from kept")
            .fetch_one(&mut connection)
            .await
            .unwrap();
        assert_eq!(kept, 7);
        cluster
            .signal_backend(Signal::Kill)
            .await
            .unwrap()
            .expect("our own connection is there");
        assert!(
            run(&mut connection, "select 1".into()).await.is_err(),
            "a killed backend must not answer"
        );
        cluster.stop().ok();
    }

    #[tokio::test]
    async fn nothing_is_left_of_a_cluster() {
        let cluster = DurableCluster::with_settings("fsync = off").await.unwrap();
        let (root, server) = (cluster.folder.root.clone(), cluster.folder.postmaster().unwrap());
        assert!(signal::is_alive(server));
        drop(cluster);
        assert!(!signal::is_alive(server) && !root.exists());
    }
}

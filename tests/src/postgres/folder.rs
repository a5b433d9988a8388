//! The folder of one cluster: its data, its socket, its log; making it and starting its server.

use super::account::{Account, command};
use super::binaries;
use anyhow::{Context, Result, bail};
use sqlx::postgres::PgConnectOptions;
use std::fs::{self, File};
use std::os::unix::fs::{PermissionsExt, chown};
use std::os::unix::net::UnixStream;
use std::os::unix::process::CommandExt;
use std::path::{Path, PathBuf};
use std::process::Child;
use std::time::{Duration, Instant};

const START_S_MAX: u64 = 60;

pub(super) struct Folder {
    pub root: PathBuf,
    account: Option<Account>,
}

impl Folder {
    /// Makes the folder if it is not there, and gives it to the account that will run the server.
    pub(super) fn prepare(root: PathBuf) -> Result<Self> {
        let account = Account::for_server()?;
        fs::create_dir_all(&root).with_context(|| format!("cannot make {}", root.display()))?;
        fs::set_permissions(&root, fs::Permissions::from_mode(0o755))?;
        if let Some(account) = account {
            chown(&root, Some(account.user), Some(account.group))?;
        }
        Ok(Self { root, account })
    }

    pub(super) fn data(&self) -> PathBuf {
        self.root.join("data")
    }

    pub(super) fn socket(&self) -> PathBuf {
        self.root.join(".s.PGSQL.5432")
    }

    /// What the server wrote to its log, for the message of a test that fails.
    pub(super) fn log(&self) -> String {
        fs::read_to_string(self.root.join("server.log")).unwrap_or_default()
    }

    /// The socket accepts before the server takes queries; line 8 of its pid file tells when it does.
    pub(super) fn is_ready(&self) -> bool {
        self.pid_file_line(8)
            .is_some_and(|status| status.trim() == "ready")
            && UnixStream::connect(self.socket()).is_ok()
    }

    pub(super) fn postmaster(&self) -> Option<u32> {
        self.pid_file_line(1)?.trim().parse().ok()
    }

    fn pid_file_line(&self, number: usize) -> Option<String> {
        let text = fs::read_to_string(self.data().join("postmaster.pid")).ok()?;
        text.lines().nth(number.checked_sub(1)?).map(str::to_owned)
    }

    /// Makes an empty cluster with these settings. Whatever lay in the data folder is gone.
    pub(super) fn make_cluster(&self, settings: &str) -> Result<()> {
        if self.data().exists() {
            fs::remove_dir_all(self.data())?;
        }
        let output = command(&binaries::folder()?.join("initdb"), self.account, &self.root)
            .arg("-D")
            .arg(self.data())
            .args(["-U", "postgres", "-A", "trust", "-E", "UTF8", "--locale=C.UTF-8"])
            .args(["--no-sync", "--no-instructions"])
            .output()
            .context("initdb did not start")?;
        if !output.status.success() {
            bail!("initdb failed: {}", String::from_utf8_lossy(&output.stderr));
        }
        self.write_settings(settings)
    }

    /// They hold from the next start on.
    pub(super) fn write_settings(&self, settings: &str) -> Result<()> {
        let everywhere = format!(
            "listen_addresses = ''\nunix_socket_directories = '{}'\nport = 5432\ntimezone = 'UTC'\njit = off\n\
             log_min_messages = warning\n",
            self.root.display()
        );
        fs::write(self.data().join("postgresql.auto.conf"), everywhere + settings)?;
        Ok(())
    }

    /// Starts the server and waits until it takes queries.
    pub(super) fn start(&self) -> Result<Child> {
        let log = File::options()
            .create(true)
            .append(true)
            .open(self.root.join("server.log"))?;
        let mut child = command(&binaries::folder()?.join("postgres"), self.account, &self.root)
            .arg("-D")
            .arg(self.data())
            .stdout(log.try_clone()?)
            .stderr(log)
            .process_group(0)
            .spawn()
            .context("postgres did not start")?;
        let began = Instant::now();
        while !(self.is_ready() && self.postmaster() == Some(child.id())) {
            if let Some(status) = child.try_wait()? {
                bail!("postgres ended with {status}: {}", self.log());
            }
            if began.elapsed() > Duration::from_secs(START_S_MAX) {
                let _ = child.kill();
                let _ = child.wait();
                bail!("postgres was not ready after {START_S_MAX} s: {}", self.log());
            }
            std::thread::sleep(Duration::from_millis(10));
        }
        Ok(child)
    }

    /// The administrator's connection.
    pub(super) fn administrator(&self) -> PgConnectOptions {
        PgConnectOptions::new_without_pgpass()
            .socket(&self.root)
            .port(5432)
            .username("postgres")
            .database("postgres")
    }
}

/// The URL of a database behind a socket in `folder`.
pub(super) fn socket_url(folder: &Path, database: &str) -> String {
    format!(
        "postgres://postgres@localhost:5432/{database}?host={}",
        folder.display()
    )
}

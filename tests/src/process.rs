//! The service as a process of its own, which can be killed at any moment and started again.

use crate::guardian::Guardian;
use crate::http_client;
use crate::signal::{self, Signal};
use anyhow::{Context, Result, bail};
use std::ffi::OsString;
use std::fs::{self, File};
use std::net::TcpListener;
use std::os::unix::process::CommandExt;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, ExitStatus, Output, Stdio};
use std::time::{Duration, Instant};

const READY_S_MAX: u64 = 60;
const END_S_MAX: u64 = 30;

/// How the binary is called: with which data folder, on which database.
#[derive(Clone, Debug)]
pub struct Binary {
    program: PathBuf,
    folder: PathBuf,
    /// `None`: the SQLite file in the data folder.
    database_url: Option<String>,
    /// What `RUST_LOG` says to it.
    log: Option<String>,
}

impl Binary {
    /// `program` is what `env!("CARGO_BIN_EXE_spindlebook-under-test")` says.
    pub fn new(program: &str, folder: &Path, database_url: Option<&str>) -> Self {
        Self {
            program: PathBuf::from(program),
            folder: folder.to_owned(),
            database_url: database_url.map(str::to_owned),
            log: None,
        }
    }

    #[must_use]
    pub fn logging(self, what: &str) -> Self {
        Self {
            log: Some(what.to_owned()),
            ..self
        }
    }

    /// With nothing of our environment that could change what it does.
    pub fn command(&self, arguments: &[&str]) -> Command {
        self.wrapped(&[], arguments)
    }

    /// Runs it to its end.
    pub fn run(&self, arguments: &[&str]) -> Result<Output> {
        self.command(arguments)
            .output()
            .with_context(|| format!("{} did not start", self.program.display()))
    }

    fn wrapped(&self, wrapper: &[OsString], arguments: &[&str]) -> Command {
        let mut command = match wrapper {
            [] => Command::new(&self.program),
            [program, rest @ ..] => {
                let mut command = Command::new(program);
                command.args(rest).arg(&self.program);
                command
            }
        };
        command
            .args(arguments)
            .current_dir(&self.folder)
            .env_clear()
            .env("PATH", std::env::var_os("PATH").unwrap_or_default())
            .env("RUST_BACKTRACE", "1")
            .env("SPINDLEBOOK_DATA", &self.folder)
            .stdin(Stdio::null());
        if let Some(log) = &self.log {
            command.env("RUST_LOG", log);
        }
        if let Some(url) = &self.database_url {
            command.env("DATABASE_URL", url);
        }
        command
    }
}

/// `spindlebook serve` at one address, through any number of deaths.
pub struct Service {
    binary: Binary,
    wrapper: Vec<OsString>,
    address: String,
    running: Option<Running>,
}

struct Running {
    // The guardian goes first: after the child was waited for, its number may be somebody else's.
    guardian: Guardian,
    child: Child,
}

impl Service {
    /// Does not start it yet.
    pub fn new(binary: Binary) -> Result<Self> {
        // Free now, and hardly taken by somebody else until we use it: the kernel hands ports out in turn.
        let address = TcpListener::bind("127.0.0.1:0")?.local_addr()?.to_string();
        Ok(Self {
            binary,
            wrapper: Vec::new(),
            address,
            running: None,
        })
    }

    /// Another program that gets the service's command line as its last arguments, as `strace` does.
    #[must_use]
    pub fn wrapped_in(mut self, wrapper: &[&str]) -> Self {
        self.wrapper = wrapper.iter().map(OsString::from).collect();
        self
    }

    pub fn base_url(&self) -> String {
        format!("http://{}", self.address)
    }

    /// Everything that it and its predecessors wrote to stdout and stderr.
    pub fn log(&self) -> String {
        fs::read_to_string(self.log_path()).unwrap_or_default()
    }

    /// Starts it and waits until it says that it is ready; how long that took.
    pub async fn start(&mut self) -> Result<Duration> {
        let began = Instant::now();
        self.spawn()?;
        let http = http_client::new()?;
        loop {
            let answer = http.get(format!("{}/health/ready", self.base_url())).send().await;
            if answer.is_ok_and(|answer| answer.status().is_success()) {
                return Ok(began.elapsed());
            }
            let Some(running) = &mut self.running else {
                bail!("it was ended while it started")
            };
            if let Some(status) = running.child.try_wait()? {
                self.running = None;
                bail!("the service ended with {status}: {}", self.log());
            }
            if began.elapsed() > Duration::from_secs(READY_S_MAX) {
                bail!("the service was not ready after {READY_S_MAX} s: {}", self.log());
            }
            tokio::time::sleep(Duration::from_millis(5)).await;
        }
    }

    /// Starts it where it is expected to refuse: its status and its log.
    pub fn start_and_wait_for_its_end(&mut self) -> Result<(ExitStatus, String)> {
        self.spawn()?;
        let status = self.wait()?;
        Ok((status, self.log()))
    }

    /// SIGKILL: no last word, no cleaning up.
    pub fn kill(&mut self) -> Result<()> {
        let processes = self.processes()?;
        signal::send(Signal::Kill, &processes)?;
        self.wait().map(drop)
    }

    /// SIGTERM: an orderly end.
    pub fn stop(&mut self) -> Result<ExitStatus> {
        let served = self
            .processes()?
            .into_iter()
            .next_back()
            .context("the service is not running")?;
        signal::send(Signal::Terminate, &[served])?;
        self.wait()
    }

    fn spawn(&mut self) -> Result<()> {
        if self.running.is_some() {
            bail!("the service is running already");
        }
        let log = File::options().create(true).append(true).open(self.log_path())?;
        let child = self
            .binary
            .wrapped(&self.wrapper, &["serve", "--listen", &self.address])
            // Its clients send as fast as it answers.
            .args(["--requests-per-second", "0"])
            .stdout(log.try_clone()?)
            .stderr(log)
            .process_group(0)
            .spawn()
            .with_context(|| format!("{} did not start", self.binary.program.display()))?;
        let guardian = Guardian::at_our_end("kill -KILL -- \"-$1\"", &[child.id().to_string()])?;
        self.running = Some(Running { guardian, child });
        Ok(())
    }

    /// What was spawned and, where that is a wrapper, the service below it.
    fn processes(&self) -> Result<Vec<u32>> {
        let running = self.running.as_ref().context("the service is not running")?;
        let mut processes = vec![running.child.id()];
        if !self.wrapper.is_empty() {
            processes.extend(signal::children_of(running.child.id())?);
        }
        Ok(processes)
    }

    fn wait(&mut self) -> Result<ExitStatus> {
        let Running { guardian, mut child } = self.running.take().context("the service is not running")?;
        let began = Instant::now();
        loop {
            if let Some(status) = child.try_wait()? {
                drop(guardian);
                return Ok(status);
            }
            if began.elapsed() > Duration::from_secs(END_S_MAX) {
                child.kill()?;
                child.wait()?;
                bail!("the service did not end within {END_S_MAX} s: {}", self.log());
            }
            std::thread::sleep(Duration::from_millis(2));
        }
    }

    fn log_path(&self) -> PathBuf {
        self.binary.folder.join("service.log")
    }
}

impl Drop for Service {
    fn drop(&mut self) {
        if self.running.is_some() {
            let _ = self.kill();
        }
    }
}

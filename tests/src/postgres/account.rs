//! Whom the server runs as: it refuses to run as root.

use anyhow::{Context, Result, bail};
use std::fs;
use std::os::unix::process::CommandExt;
use std::path::Path;
use std::process::{Command, Stdio};

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Account {
    pub user: u32,
    pub group: u32,
}

impl Account {
    /// `None` where we are no root and the server can run as ourselves.
    pub(super) fn for_server() -> Result<Option<Self>> {
        let status = fs::read_to_string("/proc/self/status").unwrap_or_default();
        if effective_user(&status) != Some(0) {
            return Ok(None);
        }
        let accounts = fs::read_to_string("/etc/passwd").context("/etc/passwd cannot be read")?;
        match unprivileged(&accounts) {
            Some(account) => Ok(Some(account)),
            None => bail!(
                "running as root, and there is neither a user `postgres` nor `nobody` to run the server"
            ),
        }
    }
}

fn effective_user(status: &str) -> Option<u32> {
    let line = status.lines().find_map(|line| line.strip_prefix("Uid:"))?;
    line.split_whitespace().nth(1)?.parse().ok()
}

fn unprivileged(accounts: &str) -> Option<Account> {
    ["postgres", "nobody"].into_iter().find_map(|name| {
        let line = accounts
            .lines()
            .find(|line| line.split(':').next() == Some(name))?;
        let fields: Vec<&str> = line.split(':').collect();
        Some(Account {
            user: fields.get(2)?.parse().ok()?,
            group: fields.get(3)?.parse().ok()?,
        })
    })
}

/// A command of the server's own programs, with nothing of our environment that could change what they do.
pub(super) fn command(program: &Path, account: Option<Account>, folder: &Path) -> Command {
    let mut command = Command::new(program);
    command
        .current_dir(folder)
        .env_clear()
        .env("PATH", std::env::var_os("PATH").unwrap_or_default())
        .env("LC_ALL", "C.UTF-8")
        .env("TZ", "UTC")
        .stdin(Stdio::null());
    if let Some(account) = account {
        command.uid(account.user).gid(account.group);
    }
    command
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_second_number_of_the_uid_line_is_the_effective_user() {
        assert_eq!(effective_user("Name:\tx\nUid:\t1000\t0\t1000\t1000\n"), Some(0));
        assert_eq!(effective_user("Name:\tx\n"), None);
    }

    #[test]
    fn postgres_is_preferred_to_nobody() {
        let both = "nobody:x:65534:65533::/:/bin/sh\npostgres:x:101:104:,,,:/var:/bin/sh\n";
        assert_eq!(
            unprivileged(both),
            Some(Account {
                user: 101,
                group: 104
            })
        );
        assert_eq!(
            unprivileged("nobody:x:65534:65533::/:/bin/sh\n"),
            Some(Account {
                user: 65534,
                group: 65533
            })
        );
        assert_eq!(unprivileged("postgresql:x:1:1::/:/bin/sh\n"), None);
    }
}

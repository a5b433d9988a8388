//! One cluster for all test processes of one checkout. Each holds a shared lock for its life; a detached watchdog
//! stops the cluster and removes it when nobody has held the lock for a while, also after a crash.

use super::folder::Folder;
use anyhow::{Context, Result};
use sha2::{Digest, Sha256};
use std::fs::File;
use std::os::unix::process::CommandExt;
use std::path::PathBuf;
use std::process::{Command, Stdio};

/// Fast and forgetful: ordinary tests never outlive the cluster.
const SETTINGS: &str = "fsync = off\nsynchronous_commit = off\nfull_page_writes = off\nmax_connections = 300\n\
    shared_buffers = 128MB\nautovacuum = off\nwal_level = minimal\nmax_wal_senders = 0\nmax_wal_size = 4GB\n\
    checkpoint_timeout = 1h\n";

/// `$1` is the folder. Only one watchdog at a time; it takes the start lock first, so that no process can join
/// while it stops the server.
const WATCHDOG: &str = r#"
cd "$1" || exit 0
exec 9>>watchdog.lock 8>>start.lock 7>>users.lock
flock -n 9 || exit 0
while sleep 10 7>&- 8>&- 9>&-; do
    flock -n 8 || continue
    if flock -n 7; then
        server=$(head -n 1 data/postmaster.pid 2>/dev/null)
        if [ -n "$server" ] && grep -q "$1/data" "/proc/$server/cmdline" 2>/dev/null; then
            kill -QUIT "$server"
            while kill -0 "$server" 2>/dev/null; do sleep 0.1 7>&- 8>&- 9>&-; done
        fi
        rm -rf data server.log .s.PGSQL.5432*
        exit 0
    fi
    flock -u 8
done
"#;

pub(super) struct SharedCluster {
    pub folder: Folder,
    /// Held locked while this process lives.
    _user: File,
}

/// Joins the cluster of this checkout, or makes it.
pub(super) fn join() -> Result<SharedCluster> {
    let folder = Folder::prepare(root())?;
    let lock = |name: &str| {
        File::options()
            .create(true)
            .append(true)
            .open(folder.root.join(name))
    };
    let start = lock("start.lock")?;
    start.lock()?;
    let user = lock("users.lock")?;
    user.lock_shared()?;
    if !folder.is_ready() {
        folder.make_cluster(SETTINGS)?;
        // Not ours to wait for: the watchdog stops it.
        drop(folder.start()?);
    }
    watch(&folder)?;
    start.unlock()?;
    Ok(SharedCluster { folder, _user: user })
}

/// Checkouts must not meet in one cluster: each may have migrations of its own.
fn root() -> PathBuf {
    let checkout = Sha256::digest(env!("CARGO_MANIFEST_DIR"));
    std::env::temp_dir().join(format!("spindlebook-postgres-{}", hex::encode(&checkout[..6])))
}

fn watch(folder: &Folder) -> Result<()> {
    Command::new("sh")
        .args(["-c", WATCHDOG, "watchdog"])
        .arg(&folder.root)
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .process_group(0)
        .current_dir("/")
        .spawn()
        .map(drop)
        .context("the watchdog of the test cluster did not start")
}

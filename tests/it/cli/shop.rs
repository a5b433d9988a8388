//! A data folder with a site and a machine, made by commands, and the command line on it.

use super::{Ran, binary, spindlebook};
use spindlebook::book::{Book, QUEUE_MAX};
use spindlebook::clock::SystemClock;
use spindlebook_domain::ids::{MachineId, SiteId};
use spindlebook_store::Store;
use spindlebook_tests::process::Binary;
use spindlebook_tests::site;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use tempfile::TempDir;
use tokio::runtime::Runtime;

pub struct Shop {
    folder: TempDir,
    runtime: Runtime,
    pub site: SiteId,
    /// Its code is M1, its cell's C1.
    pub machine: MachineId,
}

impl Shop {
    pub fn new(code: &str, zone: chrono_tz::Tz) -> Self {
        let folder = folder();
        let runtime = Runtime::new().unwrap();
        let (site, machine) = runtime.block_on(async {
            let book = book(folder.path()).await;
            let site = site::create(book.store(), &SystemClock, code, zone)
                .await
                .unwrap();
            book.open_site(site).await.unwrap();
            let (_, machines) = site::add_cell_of(&book, site, 1).await.unwrap();
            book.stop().await;
            book.store().close().await;
            (site, machines[0])
        });
        Self {
            folder,
            runtime,
            site,
            machine,
        }
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// With `--data` at its end.
    pub fn run(&self, arguments: &[&str]) -> Ran {
        on(self.folder.path(), arguments)
    }

    pub fn binary(&self) -> Binary {
        binary(self.folder.path(), None)
    }

    pub fn write(&self, name: &str, content: &str) -> String {
        let path = self.path(name);
        std::fs::write(&path, content).unwrap();
        path.to_str().unwrap().to_owned()
    }

    /// The folder opened as a service opens it.
    pub fn with_book<T>(&self, work: impl AsyncFnOnce(&Book) -> T) -> T {
        self.runtime.block_on(async {
            let book = book(self.folder.path()).await;
            let done = work(&book).await;
            book.stop().await;
            book.store().close().await;
            done
        })
    }
}

pub fn folder() -> TempDir {
    tempfile::Builder::new()
        .prefix("spindlebook-cli-")
        .tempdir()
        .unwrap()
}

pub fn on(folder: &Path, arguments: &[&str]) -> Ran {
    let data = folder.to_str().unwrap();
    spindlebook(&[arguments, &["--data", data]].concat())
}

async fn book(folder: &Path) -> Book {
    let url = format!("sqlite://{}/spindlebook.sqlite?mode=rwc", folder.display());
    let store = Store::open(&url, 4).await.unwrap();
    Book::open(store, Arc::new(SystemClock), QUEUE_MAX).await.unwrap()
}

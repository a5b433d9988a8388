//! A site with 64 machines, the service as a process before it, and clients that report what the machines did.

use serde_json::json;
use spindlebook::auth::{Identity, SigningKey, TokenSettings, Tokens};
use spindlebook::book::{Book, QUEUE_MAX};
use spindlebook::clock::{Clock, SystemClock};
use spindlebook_domain::ids::{MachineId, PrincipalId, SiteId};
use spindlebook_domain::role::Role;
use spindlebook_domain::time::Timestamp;
use spindlebook_store::Store;
use spindlebook_tests::ledger_rows;
use spindlebook_tests::load::{Load, Sending, Tally, TokenSource};
use spindlebook_tests::postgres::DurableCluster;
use spindlebook_tests::process::{Binary, Service};
use spindlebook_tests::site;
use spindlebook_tests::temporary;
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};
use tempfile::TempDir;

pub const CLIENTS: usize = 64;

/// One command of five gives two entries: states and a cycle.
const TWO_ENTRIES_EVERY: usize = 5;

/// Long past, so that no instant of a load is ever in the future: 2020-01-06T00:00:00Z.
const FIRST_SIGNAL: Timestamp = Timestamp(1_578_268_800_000_000);

pub struct Workshop {
    pub service: Service,
    pub binary: Binary,
    pub token: TokenSource,
    /// Where a test looks past the service.
    pub url: String,
    machines: Arc<Vec<MachineId>>,
    // Last, so that the service is gone before its folder is.
    _folder: TempDir,
}

impl Workshop {
    pub async fn on_sqlite() -> Self {
        let folder = folder();
        let url = format!(
            "sqlite://{}?mode=rwc",
            folder.path().join("spindlebook.sqlite").display()
        );
        Self::new(folder, &url, None).await
    }

    /// The service reaches the cluster by `service_url`, as through a proxy.
    pub async fn on_postgres(cluster: &DurableCluster, service_url: &str) -> Self {
        Self::new(folder(), &cluster.url(), Some(service_url)).await
    }

    async fn new(folder: TempDir, url: &str, service_url: Option<&str>) -> Self {
        let key = SigningKey::load_or_create(&folder.path().join("signing-key.pem")).unwrap();
        let store = Store::open(url, 4).await.unwrap();
        let shop = site::create(&store, &SystemClock, "shop", chrono_tz::Europe::Berlin)
            .await
            .unwrap();
        let book = Book::open(store.clone(), Arc::new(SystemClock), QUEUE_MAX)
            .await
            .unwrap();
        let client = site::add_principal(&book, shop, Role::Integration).await.unwrap();
        let (_, machines) = site::add_cell_of(&book, shop, CLIENTS).await.unwrap();
        book.stop().await;
        store.close().await;
        let binary = binary(folder.path(), service_url);
        Self {
            service: Service::new(binary.clone()).unwrap(),
            binary,
            token: token_source(&key, shop, client),
            url: url.to_owned(),
            machines: Arc::new(machines),
            _folder: folder,
        }
    }

    pub fn load(&self, clients: usize) -> Load {
        let machines = Arc::clone(&self.machines);
        Load::start(
            &self.service.base_url(),
            &self.token,
            clients,
            move |client, n| signals(machines[client], n),
        )
        .unwrap()
    }

    /// The clients have had all their answers: is every one of them kept, once and whole?
    pub async fn check(&self, tally: &Tally) {
        assert_eq!(tally.unexpected, [], "{}", self.service.log());
        let rows = ledger_rows::read(&self.url).await.unwrap();
        let complaints = ledger_rows::complaints(&rows, tally);
        assert!(complaints.is_empty(), "{}", complaints.join("\n"));
        let verified = self.binary.run(&["verify"]).unwrap();
        let said = format!(
            "{}{}",
            String::from_utf8_lossy(&verified.stdout),
            String::from_utf8_lossy(&verified.stderr)
        );
        assert!(verified.status.success(), "{said}");
    }
}

/// Waits until the clients got another so many answers; when the first of them came.
pub async fn answers(load: &Load, more: usize, within: Duration) -> Duration {
    let (began, before) = (Instant::now(), load.acknowledged());
    let mut first = None;
    while load.acknowledged() < before + more {
        assert!(
            began.elapsed() < within,
            "{} answers within {within:?}, not {more}",
            load.acknowledged() - before
        );
        tokio::time::sleep(Duration::from_millis(1)).await;
        first = first.or_else(|| (load.acknowledged() > before).then(|| began.elapsed()));
    }
    first.unwrap_or_else(|| began.elapsed())
}

pub fn binary(folder: &Path, database_url: Option<&str>) -> Binary {
    Binary::new(env!("CARGO_BIN_EXE_spindlebook-under-test"), folder, database_url)
}

pub fn folder() -> TempDir {
    temporary::folder().unwrap()
}

/// What the machine did in its n-th twenty minutes.
fn signals(machine: MachineId, n: usize) -> Sending {
    let begin = FIRST_SIGNAL.plus_s(i64::try_from(n).unwrap() * 1_200);
    let at = |seconds| begin.plus_s(seconds).to_string();
    let transitions = json!([{ "at": at(0), "state": "ACTIVE" }, { "at": at(600), "state": "READY" }]);
    let path = format!("/v1/machines/{machine}/signals");
    if n.is_multiple_of(TWO_ENTRIES_EVERY) {
        let cycles = json!([{ "from": at(660), "to": at(720) }]);
        Sending {
            path,
            body: json!({ "transitions": transitions, "cycles": cycles }),
            entries: 2,
        }
    } else {
        Sending {
            path,
            body: json!({ "transitions": transitions }),
            entries: 1,
        }
    }
}

/// Signs new tokens before the old ones end. Each client has one of its own, as people have.
fn token_source(key: &SigningKey, site: SiteId, client: PrincipalId) -> TokenSource {
    const RENEW_AFTER: Duration = Duration::from_mins(5);
    let tokens = Tokens::new(key, TokenSettings::default()).unwrap();
    let identity = Identity {
        principal: client,
        site,
        session: None,
        device: None,
    };
    let issued: Mutex<BTreeMap<usize, (Instant, String)>> = Mutex::default();
    Arc::new(move |number| {
        let mut issued = issued.lock().unwrap();
        let known = issued
            .get(&number)
            .filter(|(since, _)| since.elapsed() < RENEW_AFTER);
        if let Some((_, token)) = known {
            return token.clone();
        }
        let token = tokens
            .issue(&identity, &client.to_string(), SystemClock.now())
            .unwrap();
        issued.insert(number, (Instant::now(), token.clone()));
        token
    })
}

//! The real service in this process, on a port of its own, with a clock that stands still until a test sets it.

use crate::caller::Caller;
use crate::engine::{Engine, Storage};
use crate::http_client;
use crate::site;
use anyhow::Result;
use spindlebook::app::{Listening, Service};
use spindlebook::auth::{Auth, AuthSettings, Identity, PasswordCost, SigningKey, ThrottleSettings};
use spindlebook::book::{Book, QUEUE_MAX};
use spindlebook::clock::{Clock, SetClock};
use spindlebook::http::limits::LimitSettings;
use spindlebook_domain::ids::{PrincipalId, SiteId};
use spindlebook_domain::role::Role;
use spindlebook_domain::time::Timestamp;
use spindlebook_store::Store;
use std::collections::BTreeMap;
use std::net::TcpListener;
use std::sync::Arc;

/// 2026-11-02T06:00:00Z, a Monday: what every test's clock says first.
pub const START: Timestamp = Timestamp(1_793_599_200_000_000);

/// A test asks far more often than a tablet does, and from one address.
const NO_LIMIT: u32 = 1_000_000;

/// What a test may want otherwise.
#[derive(Clone, Copy, Debug)]
pub struct Options {
    pub zone: chrono_tz::Tz,
    pub throttle: ThrottleSettings,
    pub limits: LimitSettings,
    /// As if the disk under SQLite were full after so many pages of 4 KiB.
    pub pages_max: Option<u32>,
    /// So many commands may wait at a site.
    pub queue_max: usize,
}

impl Default for Options {
    fn default() -> Self {
        let throttle = ThrottleSettings {
            login_burst: NO_LIMIT,
            address_burst: NO_LIMIT,
            ..ThrottleSettings::default()
        };
        let limits = LimitSettings {
            per_second: NO_LIMIT,
            burst: NO_LIMIT,
        };
        Self {
            zone: chrono_tz::Europe::Berlin,
            throttle,
            limits,
            pages_max: None,
            queue_max: QUEUE_MAX,
        }
    }
}

/// A service that keeps two sites, `one` and `other`, each with somebody for each role. Tests are about `one`; from
/// `other` nobody may see it.
pub struct TestApp {
    pub clock: Arc<SetClock>,
    pub store: Store,
    pub service: Service,
    pub site: SiteId,
    pub other_site: SiteId,
    pub storage: Storage,
    pub base_url: String,
    anonymous: Caller,
    principals: BTreeMap<(SiteId, Role), PrincipalId>,
    server: actix_web::dev::ServerHandle,
}

impl TestApp {
    pub async fn new(engine: Engine) -> Self {
        Self::with(engine, Options::default()).await
    }

    pub async fn with(engine: Engine, options: Options) -> Self {
        Self::start(engine, options)
            .await
            .unwrap_or_else(|error| panic!("the service did not start: {error:#}"))
    }

    async fn start(engine: Engine, options: Options) -> Result<Self> {
        let storage = Storage::new(engine).await?;
        let store = match options.pages_max {
            Some(pages_max) => Store::open_full_after(&storage.url, 4, pages_max).await?,
            None => Store::open_for_tests(&storage.url, 4).await?,
        };
        let clock = Arc::new(SetClock::at(START));
        let site = site::create(&store, clock.as_ref(), "one", options.zone).await?;
        let other_site = site::create(&store, clock.as_ref(), "other", options.zone).await?;
        let book = Book::open(
            store.clone(),
            Arc::clone(&clock) as Arc<dyn Clock>,
            options.queue_max,
        )
        .await?;
        let mut principals = BTreeMap::new();
        for site in [site, other_site] {
            let of_site = site::one_principal_per_role(&book, site).await?;
            principals.extend(
                of_site
                    .into_iter()
                    .map(|(role, principal)| ((site, role), principal)),
            );
        }
        let settings = AuthSettings {
            // As cheap as argon2 goes: what is tested is who gets in, not how long it takes.
            password_cost: PasswordCost {
                memory_kib: 8,
                passes: 1,
            },
            throttle: options.throttle,
            ..AuthSettings::default()
        };
        let auth = Auth::new(book.clone(), &SigningKey::random(), settings)?;
        let service = Service::new(book, auth, options.limits, None);
        let how = Listening {
            workers: Some(1),
            ..Listening::default()
        };
        let bound = service.listen(TcpListener::bind("127.0.0.1:0")?, how)?;
        let base_url = format!("http://{}", bound.address);
        let server = bound.server.handle();
        tokio::spawn(bound.server);
        let anonymous = Caller::anonymous(http_client::new()?, &base_url);
        Ok(Self {
            clock,
            store,
            service,
            site,
            other_site,
            storage,
            base_url,
            anonymous,
            principals,
            server,
        })
    }

    pub fn anonymous(&self) -> Caller {
        self.anonymous.clone()
    }

    /// Whoever has this role and no other, at the site that the test is about.
    pub fn with_role(&self, role: Role) -> Caller {
        self.caller(self.site, role)
    }

    /// The same role at the other site.
    pub fn from_other_site(&self, role: Role) -> Caller {
        self.caller(self.other_site, role)
    }

    pub fn front_office(&self) -> Caller {
        self.with_role(Role::FrontOffice)
    }

    pub fn planner(&self) -> Caller {
        self.with_role(Role::Planner)
    }

    pub fn operator(&self) -> Caller {
        self.with_role(Role::Operator)
    }

    pub fn inspector(&self) -> Caller {
        self.with_role(Role::Inspector)
    }

    pub fn viewer(&self) -> Caller {
        self.with_role(Role::Viewer)
    }

    pub fn admin(&self) -> Caller {
        self.with_role(Role::Admin)
    }

    /// A machine client, as a device that reports signals.
    pub fn machine_client(&self) -> Caller {
        self.with_role(Role::Integration)
    }

    pub fn principal(&self, role: Role) -> PrincipalId {
        self.principals[&(self.site, role)]
    }

    /// How many entries the ledger of the site has.
    pub fn seq(&self) -> u64 {
        self.service
            .book
            .current(self.site)
            .map_or(0, |current| current.head.seq)
    }

    /// Whoever this is, at any site that the service keeps. The token is valid from now on, as the test's clock goes, for
    /// as long as the service lets one be.
    pub fn as_principal(&self, site: SiteId, principal: PrincipalId) -> Caller {
        let identity = Identity {
            principal,
            site,
            session: None,
            device: None,
        };
        let issued = self
            .service
            .auth
            .tokens
            .issue(&identity, "tests", self.clock.now());
        self.anonymous
            .with_token(issued.unwrap_or_else(|error| panic!("no token for {principal}: {error}")))
    }

    fn caller(&self, site: SiteId, role: Role) -> Caller {
        self.as_principal(site, self.principals[&(site, role)])
    }
}

impl Drop for TestApp {
    fn drop(&mut self) {
        // Whether it is waited for makes no difference: the stop is asked for at once.
        drop(self.server.stop(false));
    }
}

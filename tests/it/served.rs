//! A whole service in process: one site (or two) with somebody for each role, on a port of its own.

use actix_web::dev::ServerHandle;
use serde_json::{Value, json};
use spindlebook::app::{Listening, Service};
use spindlebook::auth::{Auth, AuthSettings, Identity, PasswordCost, SigningKey};
use spindlebook::book::{Book, QUEUE_MAX};
use spindlebook::clock::{Clock, SetClock};
use spindlebook::http::limits::LimitSettings;
use spindlebook_domain::ids::{PrincipalId, SiteId};
use spindlebook_domain::role::Role;
use spindlebook_domain::time::Timestamp;
use spindlebook_store::Store;
use spindlebook_tests::caller::Caller;
use spindlebook_tests::engine::{Engine, Storage};
use spindlebook_tests::{http_client, site};
use std::collections::BTreeMap;
use std::net::TcpListener;
use std::sync::Arc;

pub struct Served {
    pub clock: Arc<SetClock>,
    pub book: Book,
    pub site: SiteId,
    pub service: Service,
    anonymous: Caller,
    principals: BTreeMap<Role, PrincipalId>,
    server: ServerHandle,
    _storage: Storage,
}

impl Drop for Served {
    fn drop(&mut self) {
        drop(self.server.stop(false));
    }
}

impl Served {
    /// In Berlin, at this instant.
    pub async fn at(engine: Engine, now: &str) -> Self {
        Self::in_zone(engine, chrono_tz::Europe::Berlin, now).await
    }

    pub async fn in_zone(engine: Engine, zone: chrono_tz::Tz, now: &str) -> Self {
        let storage = Storage::new(engine).await.unwrap();
        let store = Store::open_for_tests(&storage.url, 4).await.unwrap();
        let clock = Arc::new(SetClock::at(instant(now)));
        let site = site::create(&store, &*clock, "north", zone).await.unwrap();
        let book = Book::open(store, clock.clone(), QUEUE_MAX).await.unwrap();
        let principals = site::one_principal_per_role(&book, site).await.unwrap();
        let settings = AuthSettings {
            password_cost: PasswordCost {
                memory_kib: 8,
                passes: 1,
            },
            ..AuthSettings::default()
        };
        let auth = Auth::new(book.clone(), &SigningKey::from_bytes(&[7; 32]), settings).unwrap();
        let service = Service::new(book.clone(), auth, LimitSettings::default(), None);
        let socket = TcpListener::bind("127.0.0.1:0").unwrap();
        let how = Listening {
            workers: Some(1),
            ..Listening::default()
        };
        let bound = service.listen(socket, how).unwrap();
        let server = bound.server.handle();
        tokio::spawn(bound.server);
        Self {
            clock,
            book,
            site,
            service,
            anonymous: Caller::anonymous(http_client::new().unwrap(), &format!("http://{}", bound.address)),
            principals,
            server,
            _storage: storage,
        }
    }

    pub fn anonymous(&self) -> &Caller {
        &self.anonymous
    }

    pub fn having(&self, role: Role) -> Caller {
        self.caller(self.site, self.principals[&role])
    }

    pub fn planner(&self) -> Caller {
        self.having(Role::Planner)
    }

    pub fn operator(&self) -> Caller {
        self.having(Role::Operator)
    }

    pub fn admin(&self) -> Caller {
        self.having(Role::Admin)
    }

    pub fn viewer(&self) -> Caller {
        self.having(Role::Viewer)
    }

    /// A machine client.
    pub fn device(&self) -> Caller {
        self.having(Role::Integration)
    }

    /// A planner of another site of the same service.
    pub async fn planner_elsewhere(&self) -> Caller {
        let other = site::create(
            self.book.store(),
            &*self.clock,
            "south",
            chrono_tz::Europe::Berlin,
        )
        .await
        .unwrap();
        self.book.open_site(other).await.unwrap();
        let planner = site::add_principal(&self.book, other, Role::Planner)
            .await
            .unwrap();
        self.caller(other, planner)
    }

    pub fn head_seq(&self) -> u64 {
        self.book.shop(self.site).unwrap().seq
    }

    /// The sign-in is not what these tests are about, so the token is made as signing in makes it.
    fn caller(&self, site: SiteId, principal: PrincipalId) -> Caller {
        let identity = Identity {
            principal,
            site,
            session: None,
        };
        let token = self
            .service
            .auth
            .tokens
            .issue(&identity, "test", self.clock.now())
            .unwrap();
        self.anonymous.with_token(token)
    }

    /// A standalone machine with this code; gives its id.
    pub async fn add_machine(&self, code: &str) -> String {
        let body = json!({ "code": code, "name": format!("Mill {code}") });
        self.planner()
            .post("/v1/machines", &body)
            .await
            .expect_status(201)
            .string("/id")
    }

    pub async fn set_site_calendar(&self, calendar: &Value) {
        let planner = self.planner();
        let etag = planner.get("/v1/site/calendar").await.etag();
        planner
            .put("/v1/site/calendar", &etag, calendar)
            .await
            .expect_status(200);
    }

    /// The report of a machine's cell; query without the machine.
    pub async fn hours(&self, machine: &str, query: &str) -> Value {
        self.viewer()
            .get(&format!("/v1/hours?machine={machine}&{query}"))
            .await
            .expect_status(200)
            .json()
    }

    pub async fn send_cycles(&self, machine: &str, cycles: &[(&str, &str)]) -> Value {
        let cycles: Vec<_> = cycles
            .iter()
            .map(|(from, to)| json!({ "from": from, "to": to }))
            .collect();
        let path = format!("/v1/machines/{machine}/signals");
        self.device()
            .post(&path, &json!({ "cycles": cycles }))
            .await
            .expect_status(201)
            .json()
    }
}

pub fn instant(rfc3339: &str) -> Timestamp {
    Timestamp::from_utc(chrono::DateTime::parse_from_rfc3339(rfc3339).unwrap().to_utc())
}

//! A site with an admin and nothing else, served.

use serde_json::{Value, json};
use spindlebook::app::{Listening, Service};
use spindlebook::auth::{Auth, AuthSettings, PasswordCost, SigningKey, ThrottleSettings};
use spindlebook::book::{Book, PrivateRows, QUEUE_MAX, Submission, create_site};
use spindlebook::clock::{Clock, SetClock};
use spindlebook::http::limits::LimitSettings;
use spindlebook_domain::access::{AddPrincipal, PrincipalKind};
use spindlebook_domain::actor::Actor;
use spindlebook_domain::ids::{CommandId, PrincipalId, SiteId};
use spindlebook_domain::role::Role;
use spindlebook_domain::site::OpenSite;
use spindlebook_domain::time::Timestamp;
use spindlebook_store::Store;
use spindlebook_store::private::AccountChange;
use spindlebook_tests::caller::Caller;
use spindlebook_tests::engine::{Engine, Storage};
use spindlebook_tests::http_client;
use std::collections::BTreeSet;
use std::net::TcpListener;
use std::sync::Arc;
use uuid::Uuid;

/// 2026-11-02T06:00:00Z
const START: Timestamp = Timestamp(1_793_599_200_000_000);
pub const ADMIN_PASSWORD: &str = "four words that stand apart";

pub struct Access {
    pub clock: Arc<SetClock>,
    pub store: Store,
    pub anonymous: Caller,
    pub admin: Caller,
    pub admin_id: String,
    server: actix_web::dev::ServerHandle,
    _storage: Storage,
}

impl Drop for Access {
    fn drop(&mut self) {
        drop(self.server.stop(false));
    }
}

impl Access {
    pub async fn on(engine: Engine) -> Self {
        Self::with(
            engine,
            ThrottleSettings {
                login_burst: 1_000,
                address_burst: 1_000,
                ..Default::default()
            },
        )
        .await
    }

    pub async fn with(engine: Engine, throttle: ThrottleSettings) -> Self {
        let storage = Storage::new(engine).await.unwrap();
        let store = Store::open_for_tests(&storage.url, 4).await.unwrap();
        let clock = Arc::new(SetClock::at(START));
        let book = a_site(&store, clock.clone(), "north").await;
        let key = SigningKey::from_bytes(&[5; 32]);
        let password_cost = PasswordCost {
            memory_kib: 8,
            passes: 1,
        };
        let settings = AuthSettings {
            password_cost,
            throttle,
            ..AuthSettings::default()
        };
        let auth = Auth::new(book.clone(), &key, settings).unwrap();
        let admin_id = add_admin(&book, &auth).await;
        let socket = TcpListener::bind("127.0.0.1:0").unwrap();
        let how = Listening {
            workers: Some(1),
            ..Listening::default()
        };
        let service = Service::new(book, auth, LimitSettings::default(), None);
        let bound = service.listen(socket, how).unwrap();
        let base_url = format!("http://{}", bound.address);
        let server = bound.server.handle();
        tokio::spawn(bound.server);
        let anonymous = Caller::anonymous(http_client::new().unwrap(), &base_url);
        let admin = sign_in(&anonymous, "admin", ADMIN_PASSWORD).await;
        Self {
            clock,
            store,
            anonymous,
            admin,
            admin_id,
            server,
            _storage: storage,
        }
    }

    /// Adds a user and signs in; the id comes with it.
    pub async fn user(&self, login: &str, roles: &[&str]) -> (String, Caller) {
        let password = format!("{login} likes long words");
        let body = json!({"login": login, "display_name": "Some One", "roles": roles, "password": password});
        let id = self
            .admin
            .post("/v1/users", &body)
            .await
            .expect_status(201)
            .string("/id");
        (id, sign_in(&self.anonymous, login, &password).await)
    }

    pub async fn etag(&self, path: &str) -> String {
        self.admin.get(path).await.expect_status(200).etag()
    }
}

pub async fn sign_in(anonymous: &Caller, login: &str, password: &str) -> Caller {
    let tokens = anonymous
        .post("/v1/session", &signing_in(login, password))
        .await
        .expect_status(200);
    anonymous.with_token(tokens.string("/access_token"))
}

pub fn signing_in(login: &str, password: &str) -> Value {
    json!({"login": login, "password": password})
}

async fn a_site(store: &Store, clock: Arc<dyn Clock>, code: &str) -> Book {
    let open = OpenSite {
        site: SiteId(Uuid::now_v7()),
        code: code.parse().unwrap(),
        name: "Harbour Gearworks".parse().unwrap(),
        zone: chrono_tz::Europe::Berlin,
    };
    create_site(store, clock.as_ref(), open).await.unwrap();
    Book::open(store.clone(), clock, QUEUE_MAX).await.unwrap()
}

/// As the command line does it: nobody can sign in yet.
async fn add_admin(book: &Book, auth: &Auth) -> String {
    let id = PrincipalId(Uuid::now_v7());
    let account = AccountChange::Add {
        id,
        kind: PrincipalKind::Person,
        login: "admin".to_owned(),
        display_name: Some("Ada Min".to_owned()),
        secret_hash: Some(
            auth.passwords
                .hash_now(&spindlebook::auth::Secret::new(ADMIN_PASSWORD))
                .unwrap(),
        ),
    };
    let submission = Submission {
        actor: Actor::System,
        device: None,
        key: CommandId(Uuid::now_v7()),
        fingerprint: [0; 32],
        occurred_at: None,
        command: AddPrincipal {
            principal: id,
            kind: PrincipalKind::Person,
            roles: BTreeSet::from([Role::Admin]),
        }
        .into(),
        private: PrivateRows {
            account: Some(account),
            ..PrivateRows::default()
        },
        answer: Box::new(|_| spindlebook::book::Answer {
            status: 201,
            body: vec![],
            etag: None,
            location: None,
        }),
    };
    let site = book.sites()[0].0;
    book.submit(site, submission).await.unwrap();
    id.to_string()
}

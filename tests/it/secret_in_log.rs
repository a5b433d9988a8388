//! The service's log, as talkative as it gets, holds no secret of those who sign in.

use crate::cli::binary;
use base64::Engine as _;
use base64::prelude::{BASE64_STANDARD, BASE64_URL_SAFE_NO_PAD};
use reqwest::Method;
use serde_json::json;
use spindlebook_tests::answer::Answer;
use spindlebook_tests::caller::Caller;
use spindlebook_tests::http_client;
use spindlebook_tests::postgres::DurableCluster;
use spindlebook_tests::process::{Binary, Service};
use std::fs;
use std::io::Write;
use std::path::Path;
use std::process::Stdio;
use uuid::Uuid;

const PASSWORD: &str = "seven harbours under one sky";
const WRONG: &str = "a guess that misses by far";
const NEXT: &str = "eight lanterns along the quay";
const SET_BY_ADMIN: &str = "nine ropes coiled on the deck";
/// Too short to be taken.
const WEAK: &str = "q7w9";

const GRANT: (&str, &str) = ("grant_type", "client_credentials");

/// Everything that must not stand in the log, with its name.
struct Secrets(Vec<(String, String)>);

impl Secrets {
    fn keep(&mut self, name: &str, secret: impl Into<String>) {
        self.0.push((name.to_owned(), secret.into()));
    }

    fn keep_tokens(&mut self, name: &str, answer: &Answer) {
        for token in ["access_token", "refresh_token"] {
            if let Some(secret) = answer.json()[token].as_str() {
                self.keep(&format!("{name}, {token}"), secret);
            }
        }
    }
}

fn begin(program: &Binary) -> (String, String) {
    let ran = |arguments: &[&str], stdin: &str| {
        let mut child = program
            .command(arguments)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        writeln!(child.stdin.take().unwrap(), "{stdin}").unwrap();
        let done = child.wait_with_output().unwrap();
        assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
        String::from_utf8(done.stdout).unwrap()
    };
    ran(&["site", "add", "north", "--zone", "Europe/Berlin"], "");
    let add = [
        "user",
        "add",
        "Ada Berg",
        "--login",
        "ada",
        "--role",
        "admin",
        "--password-stdin",
    ];
    ran(&add, PASSWORD);
    let client = ran(
        &["client", "add", "Gateway", "--role", "integration", "--json"],
        "",
    );
    let client: serde_json::Value = serde_json::from_str(&client).unwrap();
    let text = |name: &str| client[name].as_str().unwrap().to_owned();
    (text("client_id"), text("client_secret"))
}

/// Signs in, refreshes and gets it wrong in every way that there is.
async fn sign_in_in_every_way(anonymous: &Caller, client: (&str, &str), secrets: &mut Secrets) {
    let sign_in = |password: &str| json!({ "login": "ada", "password": password });
    anonymous
        .post("/v1/session", &sign_in(WRONG))
        .await
        .expect_status(401);
    let misspelt = json!({ "login": "ada", "pasword": PASSWORD, "password": [PASSWORD] });
    anonymous.post("/v1/session", &misspelt).await.expect_status(400);
    let cut_off = format!("{{\"login\": \"ada\", \"password\": \"{PASSWORD}");
    anonymous
        .post_text("/v1/session", None, &cut_off)
        .await
        .expect_status(400);
    let first = anonymous
        .post("/v1/session", &sign_in(PASSWORD))
        .await
        .expect_status(200);
    secrets.keep_tokens("first session", &first);
    let refresh = json!({ "refresh_token": first.string("/refresh_token") });
    let refreshed = anonymous
        .post("/v1/session/refresh", &refresh)
        .await
        .expect_status(200);
    secrets.keep_tokens("refreshed session", &refreshed);
    anonymous
        .post("/v1/session/refresh", &refresh)
        .await
        .expect_status(401);
    let (id, secret) = client;
    let by_form = [GRANT, ("client_id", id), ("client_secret", secret)];
    let by_form = anonymous
        .post_form("/oauth/token", &by_form)
        .await
        .expect_status(200);
    secrets.keep_tokens("client by form", &by_form);
    let by_header = |secret: &str| {
        let (anonymous, id, secret) = (anonymous.clone(), id.to_owned(), secret.to_owned());
        async move {
            let with = |request: reqwest::RequestBuilder| request.basic_auth(id, Some(secret)).form(&[GRANT]);
            anonymous.send(Method::POST, "/oauth/token", with).await
        }
    };
    secrets.keep_tokens("client by header", &by_header(secret).await.expect_status(200));
    by_header(WRONG).await.expect_status(401);
    let pretending = anonymous.with_token(format!("{}x", first.string("/access_token")));
    pretending.get("/v1/users").await.expect_status(401);
}

/// Passwords set, changed, refused, and the client's secret made by the API.
async fn change_passwords(anonymous: &Caller, secrets: &mut Secrets) {
    let body = json!({ "login": "ada", "password": PASSWORD });
    let session = anonymous.post("/v1/session", &body).await.expect_status(200);
    secrets.keep_tokens("second session", &session);
    let ada = anonymous.with_token(session.string("/access_token"));
    let ben = json!({ "login": "ben", "display_name": "Ben", "roles": ["viewer"], "password": SET_BY_ADMIN });
    let added = ada.post("/v1/users", &ben).await.expect_status(201);
    let path = format!("/v1/users/{}", added.string("/id"));
    let etag = ada.get(&path).await.etag();
    let set = json!({ "password": format!("{SET_BY_ADMIN} again") });
    ada.put(&format!("{path}/password"), &etag, &set)
        .await
        .expect_status(204);
    let client = json!({ "name": "Quoting tool", "roles": ["integration"] });
    let client = ada.post("/v1/clients", &client).await.expect_status(201);
    secrets.keep("client by the API", client.string("/client_secret"));
    let change = |current: &str, new: &str| json!({ "current_password": current, "password": new });
    let path = "/v1/session/password";
    ada.post(path, &change(WRONG, NEXT)).await.expect_status(409);
    ada.post(path, &change(PASSWORD, WEAK)).await.expect_status(400);
    let key = Uuid::now_v7();
    ada.post_with_key(path, key, &change(PASSWORD, NEXT))
        .await
        .expect_status(204);
    let session = json!({ "login": "ada", "password": NEXT });
    let session = anonymous.post("/v1/session", &session).await.expect_status(200);
    secrets.keep_tokens("third session", &session);
    let ada = anonymous.with_token(session.string("/access_token"));
    ada.post_with_key(path, key, &change(PASSWORD, NEXT))
        .await
        .expect_status(204);
    ada.delete("/v1/session").await.expect_status(204);
}

async fn the_log_holds_no_secret(folder: &Path, database_url: Option<&str>) {
    let program = binary(folder, database_url).logging("debug");
    let (id, secret) = begin(&program);
    let mut secrets = Secrets(Vec::new());
    for (name, password) in [
        ("password", PASSWORD),
        ("guess", WRONG),
        ("next", NEXT),
        ("set", SET_BY_ADMIN),
        ("weak", WEAK),
    ] {
        secrets.keep(name, password);
    }
    secrets.keep("client secret", secret.as_str());
    let pair = format!("{id}:{secret}");
    secrets.keep(
        "client, basic",
        BASE64_STANDARD.encode(&pair).trim_end_matches('='),
    );
    secrets.keep("client, basic, for URLs", BASE64_URL_SAFE_NO_PAD.encode(&pair));
    secrets.keep("hash of a password", "$argon2");
    let mut service = Service::new(program).unwrap();
    service.start().await.unwrap();
    let anonymous = Caller::anonymous(http_client::new().unwrap(), &service.base_url());
    sign_in_in_every_way(&anonymous, (&id, &secret), &mut secrets).await;
    change_passwords(&anonymous, &mut secrets).await;
    service.stop().unwrap();
    let pem = fs::read_to_string(folder.join("signing-key.pem")).unwrap();
    let lines = pem.lines().filter(|line| !line.starts_with("-----"));
    secrets.keep("signing key", lines.collect::<String>());
    let log = service.log();
    // It was as talkative as it should be, and was there when it happened.
    assert!(
        log.contains("DEBUG") && log.contains("sign-in refused") && log.contains("signed in"),
        "{log}"
    );
    assert!(secrets.0.len() > 20);
    for (name, secret) in &secrets.0 {
        assert!(!log.contains(secret), "the log holds {name}");
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_log_on_sqlite_holds_no_secret() {
    let folder = tempfile::tempdir().unwrap();
    the_log_holds_no_secret(folder.path(), None).await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_log_on_postgres_holds_no_secret() {
    let (folder, cluster) = (
        tempfile::tempdir().unwrap(),
        DurableCluster::start().await.unwrap(),
    );
    the_log_holds_no_secret(folder.path(), Some(&cluster.url())).await;
}

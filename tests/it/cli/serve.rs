//! `spindlebook serve` as a process, and the people who sign in to it.

use super::binary;
use super::shop::{folder, on};
use serde_json::{Value, json};
use spindlebook_tests::http_client;
use spindlebook_tests::process::Service;
use std::fs;
use std::io::Write;
use std::path::Path;
use std::process::{Output, Stdio};

const PASSWORD: &str = "seven brass gears turn";

fn with_password(folder: &Path, arguments: &[&str], password: &str) -> Output {
    let mut command = binary(folder, None).command(arguments);
    let mut child = command
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    writeln!(child.stdin.take().unwrap(), "{password}").unwrap();
    child.wait_with_output().unwrap()
}

fn add_user(folder: &Path, login: &str, role: &str, password: &str) -> Output {
    let arguments = [
        "user",
        "add",
        "Ada Berg",
        "--login",
        login,
        "--role",
        role,
        "--password-stdin",
    ];
    with_password(folder, &arguments, password)
}

/// In a process of its own, for tests that run on a runtime already.
fn run(folder: &Path, arguments: &[&str]) -> String {
    let done = binary(folder, None).run(arguments).unwrap();
    assert!(done.status.success(), "{}", said(&done));
    String::from_utf8(done.stdout).unwrap()
}

fn free_port() -> u16 {
    let listener = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
    listener.local_addr().unwrap().port()
}

fn said(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

async fn sign_in(service: &Service, login: &str, password: &str) -> (u16, Value) {
    let body = json!({"site": "north", "login": login, "password": password});
    let url = format!("{}/v1/session", service.base_url());
    let answer = http_client::new()
        .unwrap()
        .post(url)
        .json(&body)
        .send()
        .await
        .unwrap();
    (answer.status().as_u16(), answer.json().await.unwrap())
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_service_starts_lets_people_in_and_stops_in_good_order() {
    let data = folder();
    let site = [
        "site",
        "add",
        "north",
        "--name",
        "North hall",
        "--zone",
        "Europe/Berlin",
    ];
    assert!(run(data.path(), &site).contains("site north begun in"));
    let added = add_user(data.path(), "ada", "admin", PASSWORD);
    assert!(added.status.success(), "{}", said(&added));
    let mut service = Service::new(binary(data.path(), None)).unwrap();
    service.start().await.unwrap();
    assert!(
        service.log().contains("Spindlebook listens on http://127.0.0.1:"),
        "{}",
        service.log()
    );
    assert_eq!(sign_in(&service, "ada", PASSWORD).await.0, 200);
    assert_eq!(sign_in(&service, "ada", "another password").await.0, 401);

    // A second person, added while it runs.
    assert!(
        add_user(data.path(), "ben", "operator", PASSWORD)
            .status
            .success()
    );
    let mut status = 0;
    for _ in 0..50 {
        status = sign_in(&service, "ben", PASSWORD).await.0;
        if status == 200 {
            break;
        }
        tokio::time::sleep(std::time::Duration::from_millis(100)).await;
    }
    assert_eq!(status, 200);
    assert!(service.stop().unwrap().success());
    assert!(
        service.log().contains("stopped in good order"),
        "{}",
        service.log()
    );
    assert!(!service.log().contains(PASSWORD));
    assert!(run(data.path(), &["verify"]).contains("are sound"));
}

#[test]
fn people_that_cannot_be_added_are_refused_by_name() {
    let data = folder();
    on(data.path(), &["site", "add", "north", "--zone", "Europe/Berlin"]).ok();
    assert!(add_user(data.path(), "ada", "admin", PASSWORD).status.success());
    for (login, role, password, told) in [
        ("ada", "admin", PASSWORD, "login"),
        ("eve", "admin", "short", "fewer than 8 characters"),
        ("eve", "admin", "password", "tried first"),
        ("eve", "integration", PASSWORD, "integration"),
    ] {
        let refused = add_user(data.path(), login, role, password);
        assert_eq!(refused.status.code(), Some(1), "{login} {role} {password}");
        assert!(said(&refused).contains(told), "{}", said(&refused));
    }
}

/// At a site where `ada` is the admin and `ben` an operator.
#[test]
fn people_are_changed_disabled_and_forgotten() {
    let data = folder();
    on(data.path(), &["site", "add", "north", "--zone", "Europe/Berlin"]).ok();
    for (login, role) in [("ada", "admin"), ("ben", "operator")] {
        assert!(add_user(data.path(), login, role, PASSWORD).status.success());
    }
    let change = ["user", "roles", "ben", "--role", "planner", "--role", "inspector"];
    on(data.path(), &change).ok();
    on(data.path(), &["user", "disable", "ben"]).ok();
    let users = on(data.path(), &["user", "list", "--json"]).json();
    let ben = users
        .as_array()
        .unwrap()
        .iter()
        .find(|user| user["login"] == "ben")
        .unwrap()
        .clone();
    assert_eq!(
        (&ben["roles"], &ben["standing"]),
        (&json!(["planner", "inspector"]), &json!("disabled"))
    );
    assert!(
        on(data.path(), &["user", "disable", "ben"])
            .refused(1)
            .contains("disabled")
    );
    on(data.path(), &["user", "enable", "ben"]).ok();
    assert!(
        with_password(
            data.path(),
            &["user", "password", "ben", "--password-stdin"],
            "four other long words"
        )
        .status
        .success()
    );
    on(data.path(), &["user", "forget", "ben"]).refused(2);
    on(data.path(), &["user", "forget", "ben", "--yes"]).ok();
    let text = on(data.path(), &["user", "list"]).ok();
    assert!(text.contains("forgotten") && !text.contains("ben"), "{text}");
    assert!(
        on(data.path(), &["user", "forget", "ada", "--yes"])
            .refused(1)
            .contains("admin")
    );
    assert!(
        on(data.path(), &["user", "disable", "nobody"])
            .refused(1)
            .contains("nobody signs in as `nobody`")
    );
    let client = on(
        data.path(),
        &["client", "add", "Gateway", "--role", "integration", "--json"],
    )
    .json();
    assert_eq!(client["client_secret"].as_str().unwrap().len(), 43);
    let id = client["client_id"].as_str().unwrap();
    on(data.path(), &["client", "disable", id]).ok();
    let clients = on(data.path(), &["client", "list", "--json"]).json();
    assert_eq!(
        clients,
        json!([{ "client_id": id, "name": "Gateway", "roles": ["integration"], "standing": "disabled" }])
    );
    let again = on(data.path(), &["client", "disable", id]).refused(1);
    assert!(again.contains("disabled already"), "{again}");
    let no_client = ben["id"].as_str().unwrap();
    let refused = on(data.path(), &["client", "disable", no_client]).refused(1);
    assert!(refused.contains("spindlebook client list"), "{refused}");
    assert!(on(data.path(), &["verify"]).ok().contains("are sound"));
}

#[test]
fn a_service_that_cannot_serve_says_why_and_what_to_do() {
    let data = folder();
    let mut service = Service::new(binary(data.path(), None)).unwrap();
    let (status, log) = service.start_and_wait_for_its_end().unwrap();
    assert_eq!(status.code(), Some(1));
    assert!(
        log.contains("spindlebook site add CODE") && log.contains("spindlebook user add"),
        "{log}"
    );
    assert!(log.contains("--init-site CODE --zone"), "{log}");
    assert!(!data.path().join("spindlebook.sqlite").exists());

    let taken = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
    let address = taken.local_addr().unwrap().to_string();
    let serve = |more: &[&str]| {
        on(
            data.path(),
            &[
                &["serve", "--init-site", "north", "--zone", "Europe/Berlin"],
                more,
            ]
            .concat(),
        )
    };
    let refused = serve(&["--listen", &address]).refused(1);
    assert!(
        refused.contains("another program listens there") && refused.contains("--listen"),
        "{refused}"
    );
    let refused = serve(&["--tls-cert", "cert.pem"]).refused(2);
    assert!(refused.contains("--tls-cert needs --tls-key"), "{refused}");
    let file = data.path().join("empty.pem").to_str().unwrap().to_owned();
    fs::write(&file, "").unwrap();
    let refused = serve(&["--tls-cert", &file, "--tls-key", &file]).refused(1);
    assert!(refused.contains("there is no certificate in it"), "{refused}");
    assert!(
        !data.path().join("spindlebook.sqlite").exists(),
        "nothing was begun"
    );
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn https_is_spoken_with_the_certificate_that_was_given() {
    let data = folder();
    let made = rcgen::generate_simple_self_signed(vec!["localhost".to_owned()]).unwrap();
    let (cert, key) = (data.path().join("cert.pem"), data.path().join("key.pem"));
    fs::write(&cert, made.cert.pem()).unwrap();
    fs::write(&key, made.signing_key.serialize_pem()).unwrap();
    let port = free_port();
    let listen = format!("127.0.0.1:{port}");
    let metrics_port = free_port();
    let metrics = format!("127.0.0.1:{metrics_port}");
    let arguments = [
        "serve",
        "--init-site",
        "north",
        "--zone",
        "Europe/Berlin",
        "--listen",
        &listen,
        "--tls-cert",
        "cert.pem",
        "--tls-key",
        "key.pem",
        "--metrics-listen",
        &metrics,
    ];
    let mut child = binary(data.path(), None)
        .command(&arguments)
        .stderr(Stdio::null())
        .stdout(Stdio::null())
        .spawn()
        .unwrap();
    let root = reqwest::Certificate::from_pem(made.cert.pem().as_bytes()).unwrap();
    let http = http_client::with(|builder| builder.tls_certs_only([root])).unwrap();
    let mut status = None;
    for _ in 0..200 {
        if let Ok(answer) = http
            .get(format!("https://localhost:{port}/health/live"))
            .send()
            .await
        {
            status = Some(answer.status().as_u16());
            break;
        }
        tokio::time::sleep(std::time::Duration::from_millis(50)).await;
    }
    let plain = http
        .get(format!("http://127.0.0.1:{port}/health/live"))
        .send()
        .await;
    let figures = http
        .get(format!("http://{metrics}/metrics"))
        .send()
        .await
        .unwrap();
    let figures = figures.text().await.unwrap();
    child.kill().unwrap();
    child.wait().unwrap();
    assert_eq!(status, Some(200));
    assert!(
        plain.is_err(),
        "plain HTTP is not answered on the port that speaks HTTPS"
    );
    assert!(figures.contains("# TYPE "), "{figures}");
}

#[test]
fn the_document_of_the_api_is_printed() {
    let document: Value = super::spindlebook(&["openapi"]).json();
    assert_eq!(document["openapi"], "3.1.0");
    assert!(document["paths"]["/v1/hours"]["get"].is_object());
}

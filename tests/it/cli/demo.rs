//! `spindlebook demo`.

use super::binary;
use super::shop::{folder, on};
use serde_json::Value;
use spindlebook_tests::http_client;
use std::io::{BufRead, BufReader};
use std::process::Stdio;

#[test]
fn the_demo_prints_hours_of_an_invented_shop_and_leaves_a_sound_ledger() {
    let data = folder();
    let demo = on(data.path(), &["demo", "--once", "--json"]).json();
    assert_eq!(demo["invented"], true);
    let cells = demo["cells"].as_array().unwrap();
    let codes: Vec<_> = cells.iter().map(|cell| cell["cell"].as_str().unwrap()).collect();
    assert_eq!(codes, ["P1", "P2", "S1"]);
    for cell in cells {
        let figures = &cell["figures"];
        let s = |name: &str| figures[name].as_i64().unwrap();
        assert!(
            s("planned_s") > 8 * 3_600 && s("realised_s") > 8 * 3_600,
            "{cell}"
        );
        assert!(s("staffed_s") > 0 && s("window_s") > s("staffed_s"), "{cell}");
        let spent: i64 = CATEGORIES.iter().map(|category| s(category)).sum();
        assert_eq!(spent, s("window_s"), "{cell}");
    }
    let nights = |cell: &Value| cell["figures"]["in_cycle_unattended_s"].as_i64().unwrap();
    assert!(nights(&cells[0]) > 3_600 && nights(&cells[2]) == 0);
    // The pool cells tell why nothing ran. In which of them a week's nights ran out hangs on the day that it is told.
    let why = |cell: &Value| cell["figures"]["unattended_run_out_s"].as_i64().unwrap();
    assert!(why(&cells[0]) + why(&cells[1]) > 3_600);
    let pallets = demo["pallets"].as_array().unwrap();
    assert_eq!(pallets.len(), 14);
    let held: Vec<_> = pallets
        .iter()
        .filter(|pallet| pallet["state"] == "held")
        .collect();
    let is_told = |pallet: &&&Value| pallet["waits_for"].as_str().unwrap().starts_with("inspection: ");
    assert!(held.iter().any(|pallet| is_told(&pallet)), "{pallets:?}");
    let roles: Vec<_> = demo["sign_ins"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| one["role"].as_str().unwrap())
        .collect();
    assert_eq!(
        roles,
        [
            "admin",
            "planner",
            "front_office",
            "operator",
            "inspector",
            "viewer",
            "integration"
        ]
    );
    assert!(on(data.path(), &["verify"]).ok().contains("are sound"));

    let again = on(data.path(), &["demo", "--once"]).refused(1);
    assert!(again.contains("holds a ledger already"), "{again}");
    assert!(
        again.contains(data.path().to_str().unwrap()) && again.contains("--data DIR"),
        "{again}"
    );
    assert!(again.contains("spindlebook serve --data"), "{again}");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn it_serves_and_lets_in_whoever_it_printed() {
    let data = folder();
    let port = std::net::TcpListener::bind("127.0.0.1:0")
        .unwrap()
        .local_addr()
        .unwrap()
        .port();
    let listen = format!("127.0.0.1:{port}");
    let mut command = binary(data.path(), None).command(&["demo", "--listen", &listen]);
    let mut child = command
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let mut printed = String::new();
    let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
    while !printed.contains("Spindlebook listens on") {
        printed.push_str(&lines.next().unwrap().unwrap());
        printed.push('\n');
    }
    let line = printed
        .lines()
        .find(|line| line.trim_start().starts_with("planner "))
        .unwrap();
    let [_, login, password] = line.split_whitespace().collect::<Vec<_>>().try_into().unwrap();
    let http = http_client::new().unwrap();
    let answer = http
        .post(format!("http://{listen}/v1/session"))
        .json(&serde_json::json!({"login": login, "password": password}))
        .send()
        .await
        .unwrap();
    let status = answer.status().as_u16();
    child.kill().unwrap();
    child.wait().unwrap();
    assert_eq!(status, 200);
}

const CATEGORIES: [&str; 15] = [
    "in_cycle_attended_s",
    "in_cycle_unattended_s",
    "off_s",
    "down_s",
    "not_known_s",
    "stopped_in_run_s",
    "pallet_exchange_s",
    "setup_at_spindle_s",
    "waiting_for_inspection_s",
    "ready_not_started_s",
    "waiting_for_load_s",
    "unattended_run_out_s",
    "no_work_s",
    "idle_attended_s",
    "idle_unattended_s",
];

#[test]
fn its_text_says_that_it_is_invented_and_names_denominators() {
    let data = folder();
    let printed = on(data.path(), &["demo", "--once", "--seed", "7"]).ok();
    for told in [
        "This shop is invented",
        "of staffed",
        "of window: realised ÷ window",
        "not in cycle",
        "The pools now",
        "Sign-ins (shown only now):",
    ] {
        assert!(printed.contains(told), "{told}\n{printed}");
    }
    // The gap in the data, the breakdown and the breaks of three weeks can be looked at.
    let month = [
        "report",
        "hours",
        "--cell",
        "P1",
        "--from",
        "2026-01-01",
        "--to",
        "2199-01-01",
        "--by",
        "month",
        "--json",
    ];
    let report = on(data.path(), &month).json();
    assert!(report["total"]["not_known_s"].as_i64().unwrap() > 3_600);
    let rows = report["rows"].as_array().unwrap();
    assert!(
        rows.iter()
            .any(|row| row["total"]["realised_s"].as_i64().unwrap() > 100 * 3_600)
    );
}

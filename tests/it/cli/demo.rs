//! `spindlebook demo`.

use super::shop::{folder, on};
use serde_json::Value;

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

const CATEGORIES: [&str; 8] = [
    "in_cycle_attended_s",
    "in_cycle_unattended_s",
    "off_s",
    "down_s",
    "not_known_s",
    "stopped_in_run_s",
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

use super::{MachineState, Meaning};
use serde_json::Value;

/// Source: MTConnect Institute, `MTConnectStreams_2.4.xsd`, `ExecutionValueType`; see tests/data/mtconnect/README.md.
fn execution_values() -> Vec<String> {
    let path = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../tests/data/mtconnect/execution_2.4.json"
    );
    let data: Value = serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
    data["ExecutionValueType"]
        .as_object()
        .unwrap()
        .keys()
        .cloned()
        .collect()
}

#[test]
fn every_execution_value_of_the_standard_is_a_state() {
    let values = execution_values();
    assert_eq!(values.len(), 11);
    for value in &values {
        assert_eq!(MachineState::parse(value).unwrap().name(), value);
    }
    let others = MachineState::ALL
        .into_iter()
        .filter(|state| !values.contains(&state.to_string()));
    assert_eq!(others.collect::<Vec<_>>(), [MachineState::Off]);
}

#[test]
fn a_name_that_is_not_exact_is_refused_and_told_what_is_accepted() {
    for name in ["active", "ACTIVE ", "RUNNING", "", "ACTIV"] {
        let refusal = MachineState::parse(name).unwrap_err();
        assert_eq!(refusal.given, name);
        let text = refusal.to_string();
        assert!(
            text.starts_with(&format!("{name:?} is not a machine state")),
            "{text}"
        );
        assert!(
            MachineState::ALL.iter().all(|state| text.contains(state.name())),
            "{text}"
        );
    }
    let endless = MachineState::parse(&"A".repeat(1_000_000)).unwrap_err();
    assert!(endless.to_string().len() < 400);
}

/// The codes are in ledgers: this list may only grow.
#[test]
fn codes_never_change() {
    let expected = [
        (0, "UNAVAILABLE"),
        (1, "READY"),
        (2, "ACTIVE"),
        (3, "INTERRUPTED"),
        (4, "FEED_HOLD"),
        (5, "STOPPED"),
        (6, "OPTIONAL_STOP"),
        (7, "PROGRAM_STOPPED"),
        (8, "PROGRAM_COMPLETED"),
        (9, "WAIT"),
        (10, "PROGRAM_OPTIONAL_STOP"),
        (11, "OFF"),
    ];
    for (code, name) in expected {
        let state = MachineState::parse(name).unwrap();
        assert_eq!(state.code(), code);
        assert_eq!(MachineState::from_code(code), Some(state));
        assert_eq!(serde_json::to_value(state).unwrap(), name);
        assert_eq!(postcard::to_stdvec(&state).unwrap(), [code]);
    }
    assert_eq!(MachineState::ALL.len(), expected.len());
    assert_eq!(MachineState::from_code(12), None);
}

#[test]
fn only_active_is_in_cycle() {
    let meant = |meaning| {
        let states = MachineState::ALL
            .into_iter()
            .filter(move |state| state.meaning() == meaning);
        states.map(MachineState::name).collect::<Vec<_>>()
    };
    assert_eq!(meant(Meaning::InCycle), ["ACTIVE"]);
    assert_eq!(
        meant(Meaning::NothingRuns),
        ["READY", "STOPPED", "PROGRAM_COMPLETED"]
    );
    assert_eq!(meant(Meaning::Off), ["OFF"]);
    assert_eq!(meant(Meaning::NotKnown), ["UNAVAILABLE"]);
    assert_eq!(meant(Meaning::StoppedInRun).len(), 6);
}

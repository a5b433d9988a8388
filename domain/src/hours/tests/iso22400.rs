//! Sources: tests/data/iso22400/README.md, and beside each example in `kpi_examples.json`.

use super::data;
use crate::hours::iso22400::{Elements, capability_index, inventory_turns, oee_index_of};
use proptest::prelude::*;
use serde_json::Value;

fn example(id: &str) -> (Value, Value) {
    let examples: Value = serde_json::from_str(&data("iso22400/kpi_examples.json")).unwrap();
    let example = examples
        .as_array()
        .unwrap()
        .iter()
        .find(|example| example["id"] == id)
        .unwrap()
        .clone();
    (example["inputs"].clone(), example["expected"].clone())
}

fn number(of: &Value, name: &str) -> Option<f64> {
    let number = of[name].as_f64();
    assert!(number.is_some(), "{name} in {of}");
    number
}

fn is(found: Option<f64>, published: f64, digits: i32) {
    let found = found.unwrap();
    let half = 0.5 * 10_f64.powi(-digits) + 1e-9;
    assert!((found - published).abs() <= half, "{found} for {published}");
}

/// Loading time is the planned busy time; pieces and cycle behind the 50 % are from memory: 400 pieces of 0.5 min.
#[test]
fn nakajimas_example() {
    let (inputs, expected) = example("nakajima-1988");
    let minutes = |name| number(&inputs, name).map(|minutes| minutes * 60.0);
    let unit = Elements {
        planned_operation_s: minutes("shift_min"),
        planned_busy_s: minutes("loading_min"),
        production_s: minutes("operating_min"),
        planned_run_per_item_s: Some(30.0),
        produced: Some(400.0),
        good: Some(400.0 * inputs["quality"].as_f64().unwrap()),
        ..Elements::default()
    };
    is(unit.availability(), expected["availability"].as_f64().unwrap(), 2);
    is(unit.effectiveness(), inputs["performance"].as_f64().unwrap(), 6);
    is(unit.oee_index(), expected["oee"].as_f64().unwrap(), 3);
}

#[test]
fn the_example_of_420_minutes() {
    let (inputs, expected) = example("oee-420");
    let number = |name: &str| inputs[name].as_f64().unwrap();
    let unit = Elements {
        planned_busy_s: Some(number("planned_min") * 60.0),
        production_s: Some((number("planned_min") - number("downtime_min")) * 60.0),
        planned_run_per_item_s: Some(60.0 / number("ideal_rate_per_min")),
        produced: Some(number("total")),
        good: Some(number("total") - number("reject")),
        ..Elements::default()
    };
    is(unit.availability(), expected["availability"].as_f64().unwrap(), 4);
    is(unit.effectiveness(), expected["performance"].as_f64().unwrap(), 4);
    is(unit.quality_ratio(), expected["quality"].as_f64().unwrap(), 3);
    // The example multiplies rounded factors, its own test allows 0.001.
    is(unit.oee_index(), expected["oee"].as_f64().unwrap(), 3);
}

#[test]
fn a_cells_index_is_of_sums_and_no_mean_of_indices() {
    let (inputs, expected) = example("oee-rollup");
    let unit = |machine: &Value| Elements {
        planned_busy_s: number(machine, "planned"),
        production_s: number(machine, "run"),
        planned_run_per_item_s: number(machine, "ideal_cycle"),
        produced: number(machine, "total"),
        good: number(machine, "good"),
        ..Elements::default()
    };
    let units: Vec<_> = inputs["machines"].as_array().unwrap().iter().map(unit).collect();
    for (unit, index) in units.iter().zip(expected["oee_each"].as_array().unwrap()) {
        is(unit.oee_index(), index.as_f64().unwrap(), 6);
    }
    is(
        oee_index_of(&units),
        expected["oee_rolled_up"].as_f64().unwrap(),
        6,
    );
    let mean = units.iter().map(|unit| unit.oee_index().unwrap()).sum::<f64>() / 2.0;
    is(Some(mean), expected["naive_mean"].as_f64().unwrap(), 6);
    assert_eq!(oee_index_of(&[units[0], Elements::default()]), None);
    assert_eq!(oee_index_of(&[]), None);
}

/// Our own arithmetic on the formulas of the standard: no published numbers were found.
#[test]
fn the_efficiencies_by_our_own_arithmetic() {
    let (inputs, expected) = example("iso-elements-own");
    let number = |name: &str| number(&inputs, name);
    let unit = Elements {
        planned_operation_s: number("POT"),
        planned_busy_s: number("PBT"),
        production_s: number("APT"),
        setup_s: number("ASUT"),
        delay_s: number("ADET"),
        planned_run_per_item_s: number("PRI"),
        produced: number("PQ"),
        good: number("GQ"),
        scrap: number("SQ"),
        rework: number("RQ"),
        ..Elements::default()
    };
    let found = [
        ("AUPT", unit.processing_s()),
        ("AUBT", unit.busy_s()),
        ("availability", unit.availability()),
        ("allocation_efficiency", unit.allocation_efficiency()),
        ("utilization_efficiency", unit.utilization_efficiency()),
        ("technical_efficiency", unit.technical_efficiency()),
        ("setup_ratio", unit.setup_ratio()),
        ("effectiveness", unit.effectiveness()),
        ("quality_ratio", unit.quality_ratio()),
        ("scrap_ratio", unit.scrap_ratio()),
        ("rework_ratio", unit.rework_ratio()),
        ("oee", unit.oee_index()),
        ("nee", unit.nee_index()),
    ];
    assert_eq!(found.len(), expected.as_object().unwrap().len());
    for (name, found) in found {
        is(found, expected[name].as_f64().unwrap(), 6);
    }
}

/// The formulas alone, with our own numbers.
#[test]
fn the_other_ratios_divide_what_the_standard_says() {
    let unit = Elements {
        production_s: Some(30.0),
        setup_s: Some(5.0),
        delay_s: Some(5.0),
        order_execution_s: Some(80.0),
        personnel_work_s: Some(6.0),
        personnel_attendance_s: Some(8.0),
        corrective_maintenance_s: Some(1.0),
        preventive_maintenance_s: Some(3.0),
        produced: Some(20.0),
        scrap: Some(2.0),
        planned_scrap: Some(4.0),
        produced_first: Some(25.0),
        good_parts: Some(9.0),
        inspected_parts: Some(10.0),
        capacity: Some(50.0),
        ..Elements::default()
    };
    let found = [
        (unit.worker_efficiency(), 0.75),
        (unit.allocation_ratio(), 0.5),
        (unit.throughput_rate(), 0.25),
        (unit.production_process_ratio(), 0.375),
        (unit.actual_to_planned_scrap_ratio(), 0.5),
        (unit.first_pass_yield(), 0.9),
        (unit.fall_off_ratio(), 0.08),
        (unit.corrective_maintenance_ratio(), 0.25),
        (unit.equipment_load_ratio(), 0.4),
        (inventory_turns(12.0, 3.0), 4.0),
        (capability_index(10.6, 10.0, 0.1), 1.0),
    ];
    for (found, expected) in found {
        is(found, expected, 9);
    }
}

#[test]
fn nothing_is_divided_by_nothing() {
    let nothing = Elements {
        planned_busy_s: Some(0.0),
        production_s: Some(0.0),
        produced: Some(0.0),
        good: Some(0.0),
        planned_run_per_item_s: Some(1.0),
        ..Elements::default()
    };
    for unit in [nothing, Elements::default()] {
        assert_eq!(
            (unit.availability(), unit.effectiveness(), unit.quality_ratio()),
            (None, None, None)
        );
        assert_eq!(
            (unit.oee_index(), unit.nee_index(), unit.setup_ratio()),
            (None, None, None)
        );
    }
    assert_eq!(
        (inventory_turns(1.0, 0.0), capability_index(1.0, 0.0, 0.0)),
        (None, None)
    );
}

proptest! {
    #[test]
    fn the_identities_hold(
        busy in 1.0..1e6_f64, production in 1.0..1e6_f64, setup in 0.0..1e5_f64, delay in 0.0..1e5_f64,
        per_item in 0.1..1e3_f64, produced in 1.0..1e4_f64, good_share in 0.0..=1.0_f64,
    ) {
        let unit = Elements {
            planned_busy_s: Some(busy), production_s: Some(production), setup_s: Some(setup), delay_s: Some(delay),
            planned_run_per_item_s: Some(per_item), produced: Some(produced), good: Some(produced * good_share),
            ..Elements::default()
        };
        let close = |one: Option<f64>, other: f64| (one.unwrap() - other).abs() <= 1e-9 * other.abs().max(1.0);
        let product = unit.allocation_efficiency().unwrap() * unit.utilization_efficiency().unwrap();
        prop_assert!(close(unit.availability(), product));
        prop_assert!(close(unit.oee_index(), per_item * produced * good_share / busy));
        prop_assert!(close(oee_index_of(&[unit]), unit.oee_index().unwrap()));
        prop_assert!(unit.oee_index().unwrap() <= unit.nee_index().unwrap() * (1.0 + 1e-12));
        prop_assert!(unit.utilization_efficiency().unwrap() <= 1.0);
    }
}

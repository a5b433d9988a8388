//! Sources of the problems and of their values: tests/data/scheduling/README.md.

mod forms;

use super::*;
use std::fs;

/// The problems of a family.
pub fn family(name: &str) -> Vec<Named> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../tests/data/scheduling");
    let text = fs::read_to_string(format!("{folder}/{name}.json")).unwrap();
    forms_of(name, &text)
}

fn forms_of(name: &str, text: &str) -> Vec<Named> {
    super::forms::read(name, text).unwrap()
}

pub fn problem(file: &str, name: &str) -> Published {
    let found = family(file).into_iter().find(|named| named.name == name);
    found.unwrap().problem
}

pub fn solved(problem: &Published, seed: u64, workers: usize, iterations: u64) -> Solved {
    let settings = Settings {
        seed,
        workers,
        chains: 4,
    };
    solve(
        problem,
        &settings,
        &Allowance::of_iterations(iterations),
        &mut |_| {},
    )
    .unwrap()
}

/// How far above its published value each problem of a file ends; a value below it would be a wrong evaluator.
fn above(file: &str, names: &[&str], iterations: u64) -> Vec<(String, i64)> {
    let problems = family(file).into_iter();
    let chosen = problems.filter(|named| names.is_empty() || names.contains(&named.name.as_str()));
    let measured = chosen.map(|named| {
        let objective = solved(&named.problem, 1, 2, iterations).objective;
        let published = named.published.unwrap();
        assert!(
            objective >= published,
            "{file} {}: {objective} is below {published}",
            named.name
        );
        (named.name, objective - published)
    });
    measured.collect()
}

fn missed(file: &str, names: &[&str], iterations: u64) -> Vec<(String, i64)> {
    let mut above = above(file, names, iterations);
    above.retain(|(_, above)| *above > 0);
    above
}

#[test]
fn weighted_tardiness_of_forty_jobs_reaches_every_published_value() {
    assert_eq!(missed("wt40", &[], WT_ITERATIONS), []);
}

#[test]
fn weighted_tardiness_of_fifty_jobs_reaches_every_published_value() {
    assert_eq!(missed("wt50", &[], WT_ITERATIONS), []);
}

/// Places looked at.
const WT_ITERATIONS: u64 = 10_000;

#[test]
fn small_job_shops_end_at_their_optimum() {
    let names = ["ft06", "la01", "la02", "la03", "la04", "la05", "la06", "la11"];
    assert_eq!(missed("jobshop", &names, 400_000), []);
}

#[test]
fn no_job_shop_is_below_its_optimum_and_all_come_near() {
    for (name, above) in above("jobshop", &[], 12_000) {
        // Makespans are 55 to 1,358: a tenth would be far off even for so short a search.
        assert!(above < 140, "{name} is {above} above");
    }
}

#[test]
fn no_flexible_job_shop_is_below_its_bound_and_mk01_and_mk03_reach_it() {
    assert_eq!(missed("flexible_mk", &["mk01", "mk03"], 200_000), []);
    above("flexible_mk", &[], 12_000);
}

#[test]
fn setups_between_jobs_can_be_done_without_tardiness_where_that_is_known_to_be_possible() {
    assert_eq!(missed("wtsds", &["21", "31"], 100_000), []);
}

#[test]
fn the_number_of_workers_changes_nothing_in_any_kind_of_problem() {
    for (file, name) in [
        ("wt40", "1"),
        ("wtsds", "1"),
        ("jobshop", "la16"),
        ("flexible_mk", "mk02"),
        ("pool40", "pool40"),
    ] {
        let problem = problem(file, name);
        let one = solved(&problem, 7, 1, 80_000);
        assert_eq!(one, solved(&problem, 7, 2, 80_000), "{file} {name}");
        assert_eq!(one, solved(&problem, 7, 4, 80_000), "{file} {name}");
    }
}

//! The tree keeps its shape. What each check means is told, and proven on something wrong, in `tests/src/tidy`.

use spindlebook_domain::calendar::CalendarRefusal;
use spindlebook_domain::event::Event;
use spindlebook_domain::floor::{
    ActRefusal, HoldRefusal, LoadRefusal, MountRefusal, MoveRefusal, OpeningRefusal, QueueRefusal,
    RunRefusal, UnloadRefusal,
};
use spindlebook_domain::local_time::LocalTimeRefusal;
use spindlebook_domain::refusal::Refusal;
use spindlebook_tests::tidy::direction::{self, Row};
use spindlebook_tests::tidy::source::{self, Source};
use spindlebook_tests::tidy::{Complaint, assert_none, layout, links, lists, manifest, reach, size, words};
use std::fs;
use std::os::unix::fs::PermissionsExt;

/// The modules of the service, each with those that it may name. Every row names only rows above it.
const API: &[Row] = &[
    ("clock", &[]),
    ("config", &[]),
    ("request_id", &[]),
    ("book", &["clock"]),
    ("hours", &[]),
    ("planning", &["book"]),
    ("problem", &["book", "request_id"]),
    ("auth", &["book", "problem"]),
    (
        "http",
        &["auth", "book", "hours", "planning", "problem", "request_id"],
    ),
    ("daily", &["book", "hours", "http"]),
    ("app", &["auth", "book", "hours", "http", "planning", "problem"]),
    ("demo", &["book", "clock"]),
    (
        "cli",
        &[
            "app", "auth", "book", "clock", "config", "daily", "demo", "hours", "http", "planning",
        ],
    ),
];

/// The packages of ours that each may depend on.
const PACKAGES: &[Row] = &[
    ("domain", &[]),
    ("migrations", &[]),
    ("api/store", &["domain", "migrations"]),
    ("api", &["domain", "api/store"]),
    ("tests", &["domain", "migrations", "api/store", "api"]),
];

const OUR_NAMES: [(&str, &str); 5] = [
    ("domain", "spindlebook-domain"),
    ("migrations", "spindlebook-migrations"),
    ("api/store", "spindlebook-store"),
    ("api", "spindlebook"),
    ("tests", "spindlebook-tests"),
];

const DOMAIN_DEPENDENCIES: [&str; 8] = [
    "chrono",
    "chrono-tz",
    "rayon",
    "serde",
    "serde_json",
    "sha2",
    "thiserror",
    "uuid",
];

const DOMAIN_BANS: [&str; 6] = [
    "chrono::Utc::now",
    "chrono::Local::now",
    "std::time::SystemTime::now",
    "std::time::Instant::now",
    "uuid::Uuid::new_v4",
    "uuid::Uuid::now_v7",
];

const TOP_LEVEL: &[&str] = &[
    ".ci/",
    ".gitignore",
    ".cargo/",
    "Cargo.lock",
    "Cargo.toml",
    "DEVELOPERS.md",
    "LICENSE",
    "README.md",
    "api/",
    "clippy.toml",
    "deploy/",
    "docs/",
    "domain/",
    "migrations/",
    "openapi/",
    "rust-toolchain.toml",
    "rustfmt.toml",
    "tests/",
];

const FUNCTION_LINES_MAX: i64 = 70;

fn sources() -> Vec<Source> {
    let sources = source::all().unwrap();
    assert!(
        sources.len() > 20,
        "the tree was not found at {}",
        source::root().display()
    );
    sources
}

fn file(path: &str) -> Source {
    Source::new(
        path,
        &fs::read_to_string(source::root().join(path)).unwrap_or_else(|error| panic!("{path}: {error}")),
    )
}

fn each(check: impl Fn(&Source) -> Vec<Complaint>) -> Vec<Complaint> {
    sources().iter().flat_map(check).collect()
}

fn below<'a>(sources: &'a [Source], folder: &str) -> impl Iterator<Item = &'a Source> {
    let folder = format!("{folder}/");
    sources
        .iter()
        .filter(move |source| source.is_rust() && source.path.starts_with(&folder))
}

#[test]
fn files_are_short() {
    assert_none(&each(size::complaints));
}

#[test]
fn functions_are_short_because_clippy_says_so() {
    let clippy = [file("clippy.toml"), file("domain/clippy.toml")];
    assert_none(&manifest::function_length_complaints(
        &file("Cargo.toml"),
        &clippy,
        FUNCTION_LINES_MAX,
    ));
    let manifests: Vec<Source> = PACKAGES
        .iter()
        .map(|(folder, _)| file(&format!("{folder}/Cargo.toml")))
        .collect();
    assert_none(
        &manifests
            .iter()
            .flat_map(manifest::lint_complaints)
            .collect::<Vec<_>>(),
    );
    let own_length = "a longer function needs no exception, but a noun";
    assert_none(&each(|source| {
        direction::forbidden_names(source, &["too_many_lines"], own_length)
    }));
}

#[test]
fn modules_name_each_other_in_one_direction() {
    assert_none(&direction::table_complaints(API));
    assert_none(&direction::complaints(&sources(), "api/src", API));
}

#[test]
fn packages_depend_on_each_other_in_one_direction() {
    assert_none(&direction::table_complaints(PACKAGES));
    for (folder, may_use) in PACKAGES {
        let others = OUR_NAMES
            .iter()
            .filter(|(other, _)| other != folder && !may_use.contains(other));
        let forbidden: Vec<&str> = others.map(|(_, name)| *name).collect();
        let why = "the packages have one direction (table in tests/it/tidy.rs)";
        assert_none(&manifest::forbidden_dependencies(
            &file(&format!("{folder}/Cargo.toml")),
            &forbidden,
            why,
        ));
    }
}

#[test]
fn the_domain_is_pure() {
    assert_none(&manifest::dependency_complaints(
        &file("domain/Cargo.toml"),
        &DOMAIN_DEPENDENCIES,
    ));
    assert_none(&manifest::ban_complaints(
        &file("domain/clippy.toml"),
        &DOMAIN_BANS,
    ));
}

#[test]
fn only_the_store_names_the_database() {
    let databases = ["sea_orm", "sea_orm_migration", "sqlx"];
    let why = "only api/store and migrations speak to the database";
    let sources = sources();
    let elsewhere = below(&sources, "api/src").chain(below(&sources, "domain/src"));
    let complaints = elsewhere.flat_map(|source| direction::forbidden_names(source, &databases, why));
    assert_none(&complaints.collect::<Vec<_>>());
    let packages = ["sea-orm", "sea-orm-migration", "sqlx"];
    assert_none(&manifest::forbidden_dependencies(
        &file("api/Cargo.toml"),
        &packages,
        why,
    ));
}

#[test]
fn every_file_is_compiled() {
    assert_none(&reach::complaints(&sources()));
}

#[test]
fn no_word_is_left_that_should_not_be() {
    assert_none(&each(words::complaints));
}

#[test]
fn every_link_between_documents_leads_somewhere() {
    let root = source::root();
    assert_none(&each(|source| {
        links::complaints(source, |path| root.join(path).exists())
    }));
}

#[test]
fn everything_lies_in_its_place() {
    assert_none(&layout::top_level_complaints(
        &source::top_level().unwrap(),
        TOP_LEVEL,
    ));
    assert_none(&layout::migration_complaints(&sources()));
    let modes = [".ci/run", "tests/run", "tests/soak"].map(|path| {
        (
            path,
            fs::metadata(source::root().join(path)).map_or(0, |file| file.permissions().mode()),
        )
    });
    assert_none(&layout::executable_complaints(&modes));
}

#[test]
fn the_documents_list_what_the_code_knows() {
    let kinds: Vec<&str> = Event::KINDS.iter().map(|(kind, _)| *kind).collect();
    assert_none(&lists::complaints(&file("docs/events.md"), &kinds));
    let refusals = [
        &Refusal::all_codes(),
        CalendarRefusal::CODES,
        LocalTimeRefusal::CODES,
    ]
    .concat();
    assert_none(&lists::complaints(&file("docs/refusals.md"), &refusals));
    let of_floor = [
        ActRefusal::CODES,
        MountRefusal::CODES,
        LoadRefusal::CODES,
        MoveRefusal::CODES,
        QueueRefusal::CODES,
        RunRefusal::CODES,
        UnloadRefusal::CODES,
        HoldRefusal::CODES,
        OpeningRefusal::CODES,
    ];
    assert_none(&lists::complaints(&file("docs/floor.md"), &of_floor.concat()));
}

//! What the packages' manifests promise.

use super::Complaint;
use super::source::Source;
use std::collections::BTreeSet;
use toml::{Table, Value};

/// A package's list of dependencies is the proof of what it can do. Both directions: nothing more and nothing idle.
pub fn dependency_complaints(manifest: &Source, allowed: &[&str]) -> Vec<Complaint> {
    let found = dependencies(&manifest.text);
    let allowed: BTreeSet<String> = allowed.iter().map(|name| (*name).to_owned()).collect();
    let too_many = found
        .difference(&allowed)
        .map(|name| format!("depends on `{name}`, which the allow-list does not hold"));
    let too_few = allowed
        .difference(&found)
        .map(|name| format!("no longer depends on `{name}`: shorten the allow-list"));
    too_many
        .chain(too_few)
        .map(|what| Complaint::new(&manifest.path, 0, what))
        .collect()
}

/// Complains about every dependency on one of these packages.
pub fn forbidden_dependencies(manifest: &Source, forbidden: &[&str], why: &str) -> Vec<Complaint> {
    let found = dependencies(&manifest.text);
    let named = forbidden.iter().filter(|name| found.contains(**name));
    named
        .map(|name| Complaint::new(&manifest.path, 0, format!("depends on `{name}`: {why}")))
        .collect()
}

/// Lints that a package does not take over do not hold for it.
pub fn lint_complaints(manifest: &Source) -> Vec<Complaint> {
    let table = parse(&manifest.text);
    let inherits = table
        .get("lints")
        .and_then(|lints| lints.get("workspace"))
        .and_then(Value::as_bool);
    if inherits == Some(true) {
        return Vec::new();
    }
    vec![Complaint::new(
        &manifest.path,
        0,
        "has no `[lints] workspace = true`",
    )]
}

/// The length of a function is clippy's to measure, so clippy has to be told to.
pub fn function_length_complaints(workspace: &Source, clippy: &[Source], lines_max: i64) -> Vec<Complaint> {
    let table = parse(&workspace.text);
    let lint = table
        .get("workspace")
        .and_then(|workspace| workspace.get("lints"))
        .and_then(|lints| lints.get("clippy"))
        .and_then(|clippy| clippy.get("too_many_lines"))
        .and_then(Value::as_str);
    let mut complaints = Vec::new();
    if lint != Some("deny") {
        complaints.push(Complaint::new(
            &workspace.path,
            0,
            "does not deny clippy's `too_many_lines`",
        ));
    }
    for source in clippy {
        let threshold = parse(&source.text)
            .get("too-many-lines-threshold")
            .and_then(Value::as_integer);
        if threshold != Some(lines_max) {
            let what = format!("`too-many-lines-threshold` is not {lines_max}");
            complaints.push(Complaint::new(&source.path, 0, what));
        }
    }
    complaints
}

/// The domain bans these with reasons: whoever takes one off the list makes it impure.
pub fn ban_complaints(clippy: &Source, banned: &[&str]) -> Vec<Complaint> {
    let table = parse(&clippy.text);
    let rows = table
        .get("disallowed-methods")
        .and_then(Value::as_array)
        .cloned()
        .unwrap_or_default();
    let has_reason = |path: &str| {
        rows.iter().any(|row| {
            let reason = row.get("reason").and_then(Value::as_str).unwrap_or_default();
            row.get("path").and_then(Value::as_str) == Some(path) && !reason.is_empty()
        })
    };
    let missing = banned.iter().filter(|path| !has_reason(path));
    missing
        .map(|path| Complaint::new(&clippy.path, 0, format!("does not ban `{path}` with a reason")))
        .collect()
}

fn dependencies(manifest: &str) -> BTreeSet<String> {
    let table = parse(manifest);
    let of = |section: &str| {
        table
            .get(section)
            .and_then(Value::as_table)
            .cloned()
            .unwrap_or_default()
    };
    of("dependencies")
        .into_iter()
        .chain(of("build-dependencies"))
        .map(|(name, _)| name)
        .collect()
}

fn parse(text: &str) -> Table {
    text.parse().unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_dependency_more_or_less_is_a_complaint() {
        let manifest = Source::new(
            "domain/Cargo.toml",
            "[dependencies]\nserde = \"1\"\nrand = { workspace = true }\n",
        );
        assert_eq!(dependency_complaints(&manifest, &["serde", "rand"]), []);
        assert_eq!(dependency_complaints(&manifest, &["serde"]).len(), 1);
        assert_eq!(
            dependency_complaints(&manifest, &["serde", "rand", "uuid"]).len(),
            1
        );
        let built = Source::new("domain/Cargo.toml", "[build-dependencies]\ncc = \"1\"\n");
        assert_eq!(dependency_complaints(&built, &[]).len(), 1);
        assert_eq!(forbidden_dependencies(&manifest, &["rand"], "no dice").len(), 1);
        assert_eq!(forbidden_dependencies(&manifest, &["sqlx"], "no SQL"), []);
    }

    #[test]
    fn a_package_takes_the_lints_over() {
        assert_eq!(
            lint_complaints(&Source::new("a/Cargo.toml", "[lints]\nworkspace = true\n")),
            []
        );
        assert_eq!(
            lint_complaints(&Source::new("a/Cargo.toml", "[package]\nname = \"a\"\n")).len(),
            1
        );
    }

    #[test]
    fn clippy_is_told_how_long_a_function_may_be() {
        let workspace = Source::new(
            "Cargo.toml",
            "[workspace.lints.clippy]\ntoo_many_lines = \"deny\"\n",
        );
        let right = Source::new("clippy.toml", "too-many-lines-threshold = 70\n");
        let wrong = Source::new("clippy.toml", "too-many-lines-threshold = 700\n");
        assert_eq!(
            function_length_complaints(&workspace, std::slice::from_ref(&right), 70),
            []
        );
        assert_eq!(
            function_length_complaints(&workspace, &[right, wrong.clone()], 70).len(),
            1
        );
        assert_eq!(
            function_length_complaints(&Source::new("Cargo.toml", ""), &[wrong], 70).len(),
            2
        );
    }

    #[test]
    fn a_ban_needs_a_reason() {
        let text =
            "disallowed-methods = [{ path = \"a::now\", reason = \"no clock\" }, { path = \"b::now\" }]";
        let found = ban_complaints(
            &Source::new("domain/clippy.toml", text),
            &["a::now", "b::now", "c::now"],
        );
        assert_eq!(found.len(), 2, "{found:?}");
    }
}

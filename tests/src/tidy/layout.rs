//! Where things lie.

use super::Complaint;
use super::source::Source;
use super::tokens;

/// Whatever is not on the list has no place at the root.
pub fn top_level_complaints(names: &[String], allowed: &[&str]) -> Vec<Complaint> {
    let strangers = names.iter().filter(|name| !allowed.contains(&name.as_str()));
    strangers
        .map(|name| Complaint::new(name, 0, "has no place at the root of the project"))
        .collect()
}

/// A migration that is declared, but not in the migrator's list, never runs.
pub fn migration_complaints(sources: &[Source]) -> Vec<Complaint> {
    let tokens = sources
        .iter()
        .find(|source| source.path == "migrations/src/lib.rs")
        .and_then(|source| tokens::of(&source.text))
        .unwrap_or_default();
    let steps = sources.iter().filter_map(|source| {
        let name = source.path.strip_prefix("migrations/src/")?.strip_suffix(".rs")?;
        let is_step = name.starts_with('m') && name[1..].starts_with(|first: char| first.is_ascii_digit());
        is_step.then_some((source, name))
    });
    let idle = steps.filter(|(_, name)| {
        !tokens
            .windows(3)
            .any(|three| three[0].is_word(name) && three[1].is_sign(':') && three[2].is_sign(':'))
    });
    idle.map(|(source, _)| Complaint::new(&source.path, 0, "is not in the list of migrations/src/lib.rs"))
        .collect()
}

/// A script that cannot be run is no command.
pub fn executable_complaints(modes: &[(&str, u32)]) -> Vec<Complaint> {
    let lame = modes.iter().filter(|(_, mode)| mode & 0o111 != 0o111);
    lame.map(|(path, _)| Complaint::new(path, 0, "is not executable"))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_stranger_at_the_root_is_named() {
        let names = ["api/".to_owned(), "notes.md".to_owned()];
        assert_eq!(
            top_level_complaints(&names, &["api/"]),
            [Complaint::new(
                "notes.md",
                0,
                "has no place at the root of the project"
            )]
        );
    }

    #[test]
    fn a_migration_that_never_runs_is_named() {
        let tree = |list: &str| {
            [
                Source::new("migrations/src/lib.rs", list),
                Source::new("migrations/src/m000010_ledger.rs", ""),
            ]
        };
        let whole = "mod m000010_ledger; fn all() { vec![Box::new(m000010_ledger::Migration)] }";
        assert_eq!(migration_complaints(&tree(whole)), []);
        assert_eq!(migration_complaints(&tree("mod m000010_ledger;")).len(), 1);
    }

    #[test]
    fn a_script_needs_its_run_bits() {
        assert_eq!(executable_complaints(&[("tests/run", 0o100_755)]), []);
        assert_eq!(executable_complaints(&[("tests/run", 0o100_644)]).len(), 1);
    }
}

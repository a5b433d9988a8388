//! Files that no `mod` leads to: the compiler never sees them, so they rot.

use super::Complaint;
use super::source::Source;
use super::tokens::{self, Placed, behind_group, reads};
use std::collections::{BTreeMap, BTreeSet};

/// Where the compiler begins to read.
fn is_root(path: &str) -> bool {
    path.ends_with("src/lib.rs")
        || path.ends_with("src/main.rs")
        || path.contains("/src/bin/")
        || path.contains("/bench/")
        || path == "tests/it/main.rs"
}

pub fn complaints(sources: &[Source]) -> Vec<Complaint> {
    let rust: BTreeMap<&str, &str> = sources
        .iter()
        .filter(|source| source.is_rust())
        .map(|source| (source.path.as_str(), source.text.as_str()))
        .collect();
    let mut reached = BTreeSet::new();
    let mut waiting: Vec<String> = rust
        .keys()
        .filter(|path| is_root(path))
        .map(|path| (*path).to_owned())
        .collect();
    let mut complaints = Vec::new();
    while let Some(path) = waiting.pop() {
        let Some(text) = rust.get(path.as_str()) else {
            continue;
        };
        if !reached.insert(path.clone()) {
            continue;
        }
        let tokens = tokens::of(text).unwrap_or_default();
        waiting.extend(declared(&tokens, &folder_of_children(&path)));
        let redirected = (0..tokens.len()).filter(|at| reads(&tokens, *at, "# [ path"));
        complaints.extend(redirected.map(|at| {
            Complaint::new(
                &path,
                tokens[at].line,
                "a module lies where its name says: no #[path]",
            )
        }));
    }
    let missed = rust.keys().filter(|path| !reached.contains(**path));
    complaints.extend(missed.map(|path| Complaint::new(path, 0, "no `mod` leads to this file")));
    complaints
}

fn folder_of_children(path: &str) -> String {
    let (folder, name) = path.rsplit_once('/').unwrap_or(("", path));
    match name {
        _ if is_root(path) => folder.to_owned(),
        "mod.rs" => folder.to_owned(),
        _ => path.trim_end_matches(".rs").to_owned(),
    }
}

/// The files that `mod name;` may mean, also from within `mod outer { … }`.
fn declared(tokens: &[Placed], folder: &str) -> Vec<String> {
    let mut files = Vec::new();
    let mut at = 0;
    while at < tokens.len() {
        let name = tokens.get(at + 1).and_then(Placed::word);
        if let Some(name) = name.filter(|_| tokens[at].is_word("mod")) {
            if reads(tokens, at + 2, ";") {
                files.push(format!("{folder}/{name}.rs"));
                files.push(format!("{folder}/{name}/mod.rs"));
            } else if reads(tokens, at + 2, "{") {
                let end = behind_group(tokens, at + 2);
                files.extend(declared(&tokens[at + 3..end - 1], &format!("{folder}/{name}")));
                at = end;
                continue;
            }
        }
        at += 1;
    }
    files
}

#[cfg(test)]
mod tests {
    use super::*;

    fn paths(sources: &[(&str, &str)]) -> Vec<String> {
        let sources: Vec<Source> = sources
            .iter()
            .map(|(path, text)| Source::new(path, text))
            .collect();
        complaints(&sources)
            .into_iter()
            .map(|complaint| complaint.path)
            .collect()
    }

    #[test]
    fn every_form_of_module_is_followed() {
        let all = [
            ("api/src/lib.rs", "pub mod a;\n#[cfg(test)]\nmod b { mod c; }"),
            ("api/src/a.rs", "mod d;"),
            ("api/src/a/d.rs", "mod e;"),
            ("api/src/a/d/e/mod.rs", "mod f;"),
            ("api/src/a/d/e/f.rs", ""),
            ("api/src/b/c.rs", ""),
            ("tests/src/bin/x.rs", ""),
        ];
        assert_eq!(paths(&all), Vec::<String>::new());
    }

    #[test]
    fn a_file_that_nothing_leads_to_is_named() {
        let dead = [
            ("api/src/lib.rs", "// mod a;\npub mod b;"),
            ("api/src/a.rs", ""),
            ("api/src/b/mod.rs", ""),
        ];
        assert_eq!(paths(&dead), ["api/src/a.rs"]);
        let in_the_wrong_folder = [
            ("api/src/lib.rs", "mod a;"),
            ("api/src/a.rs", "mod b;"),
            ("api/src/b.rs", ""),
        ];
        assert_eq!(paths(&in_the_wrong_folder), ["api/src/b.rs"]);
        assert_eq!(
            paths(&[("api/src/lib.rs", "#[path = \"x.rs\"]\nmod a;")]),
            ["api/src/lib.rs"]
        );
    }
}

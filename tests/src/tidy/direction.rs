//! Which module may name which. The tables stand in `tests/it/tidy.rs`.

use super::Complaint;
use super::source::Source;
use super::tokens::{self, Placed, Token, behind_group, reads};
use std::collections::BTreeSet;

/// A module and those that it may name.
pub type Row<'a> = (&'a str, &'a [&'a str]);

/// A table in which each module names only earlier ones has no circle.
pub fn table_complaints(table: &[Row]) -> Vec<Complaint> {
    let mut earlier = BTreeSet::new();
    let mut complaints = Vec::new();
    for (module, may_name) in table {
        for named in may_name.iter().filter(|named| !earlier.contains(*named)) {
            let what =
                format!("`{module}` may not name `{named}`, which does not stand above it in the table");
            complaints.push(Complaint::new("tests/it/tidy.rs", 0, what));
        }
        earlier.insert(module);
    }
    complaints
}

/// Holds the files below `folder` (as `api/src`) against the table. Unit tests may name what they like.
pub fn complaints(sources: &[Source], folder: &str, table: &[Row]) -> Vec<Complaint> {
    let mut complaints = Vec::new();
    for source in sources
        .iter()
        .filter(|source| source.is_rust() && !source.is_test())
    {
        let Some(module) = module_of(&source.path, folder) else {
            continue;
        };
        let Some((_, may_name)) = table.iter().find(|(name, _)| *name == module) else {
            let what = format!("the module `{module}` has no row in the table of tests/it/tidy.rs");
            complaints.push(Complaint::new(&source.path, 0, what));
            continue;
        };
        let is_top_file = source.path == format!("{folder}/{module}.rs")
            || source.path == format!("{folder}/{module}/mod.rs");
        for (named, line) in named_modules(&source.text, is_top_file) {
            let is_known = table.iter().any(|(name, _)| *name == named);
            if is_known && named != module && !may_name.contains(&named.as_str()) {
                let what = format!("`{module}` may not name `{named}` (table in tests/it/tidy.rs)");
                complaints.push(Complaint::new(&source.path, line, what));
            }
            if named == "super" {
                let what = "write `use crate::…` instead of climbing two modules up";
                complaints.push(Complaint::new(&source.path, line, what));
            }
        }
    }
    complaints
}

/// Complains about each of these words where it stands as code (as `sqlx`).
pub fn forbidden_names(source: &Source, names: &[&str], why: &str) -> Vec<Complaint> {
    if !source.is_rust() {
        return Vec::new();
    }
    let tokens = tokens::of(&source.text).unwrap_or_default();
    let found = tokens
        .iter()
        .filter(|placed| names.iter().any(|name| placed.is_word(name)));
    found
        .map(|placed| {
            let name = placed.word().unwrap_or_default();
            Complaint::new(
                &source.path,
                placed.line,
                format!("`{name}` has no place here: {why}"),
            )
        })
        .collect()
}

/// `None` for the crate's root and for files outside of the folder.
fn module_of(path: &str, folder: &str) -> Option<String> {
    let below = path.strip_prefix(folder)?.strip_prefix('/')?;
    let first = below.split('/').next()?;
    let module = first.strip_suffix(".rs").unwrap_or(first);
    (!matches!(module, "lib" | "main" | "bin")).then(|| module.to_owned())
}

/// The modules right below the crate's root that a file names, with the lines.
fn named_modules(text: &str, is_top_file: bool) -> Vec<(String, usize)> {
    let tokens = tokens::of(text).unwrap_or_default();
    let mut named = Vec::new();
    for at in 0..tokens.len() {
        // In the file of a top module, `super` is the root of the crate.
        let is_root = tokens[at].is_word("crate") || (is_top_file && tokens[at].is_word("super"));
        if is_root && reads(&tokens, at + 1, ": :") {
            named.extend(first_segments(&tokens, at + 3));
        } else if reads(&tokens, at, "super : : super") {
            named.push(("super".to_owned(), tokens[at].line));
        }
    }
    named
}

/// Behind `crate::` stands either a name or a group of paths.
fn first_segments(tokens: &[Placed], at: usize) -> Vec<(String, usize)> {
    let Some(first) = tokens.get(at) else {
        return Vec::new();
    };
    if let Some(word) = first.word() {
        return vec![(word.to_owned(), first.line)];
    }
    if first.token != Token::Open('{') {
        return Vec::new();
    }
    let mut segments = Vec::new();
    let mut next = at + 1;
    while next < behind_group(tokens, at) - 1 {
        segments.extend(
            tokens[next]
                .word()
                .map(|word| (word.to_owned(), tokens[next].line)),
        );
        // On to behind the next comma of this group.
        while next < tokens.len() && !tokens[next].is_sign(',') && tokens[next].token != Token::Close('}') {
            next = if matches!(tokens[next].token, Token::Open(_)) {
                behind_group(tokens, next)
            } else {
                next + 1
            };
        }
        next += 1;
    }
    segments
}

#[cfg(test)]
mod tests {
    use super::*;

    const TABLE: &[Row] = &[("store", &[]), ("book", &["store"]), ("http", &["book"])];

    fn check(path: &str, text: &str) -> Vec<String> {
        let sources = [Source::new(path, text)];
        complaints(&sources, "api/src", TABLE)
            .iter()
            .map(Complaint::to_string)
            .collect()
    }

    #[test]
    fn naming_a_module_against_the_direction_is_seen_in_every_form() {
        for text in [
            "use crate::http::Route;",
            "use crate::{store::Rows, http};",
            "use crate::{store::{Rows, Row}, http::{self, Route}};",
            "fn f() -> crate::http::Route { todo!() }",
            "fn f() { vec![crate::http::route()]; }",
        ] {
            let found = check("api/src/book/writer.rs", text);
            assert_eq!(
                found,
                ["api/src/book/writer.rs:1: `book` may not name `http` (table in tests/it/tidy.rs)"],
                "{text}"
            );
        }
        assert_eq!(check("api/src/book.rs", "\nuse super::http;").len(), 1);
        assert_eq!(check("api/src/book/mod.rs", "use super::http;").len(), 1);
    }

    #[test]
    fn what_the_table_allows_passes() {
        assert_eq!(
            check(
                "api/src/book/writer.rs",
                "use crate::{store::Rows, book::Batch}; use super::http;"
            )
            .len(),
            0
        );
        assert_eq!(
            check(
                "api/src/book/writer.rs",
                "// use crate::http;\nconst A: &str = \"crate::http\";"
            )
            .len(),
            0
        );
        assert_eq!(check("api/src/book/tests.rs", "use crate::http;").len(), 0);
        assert_eq!(check("api/src/lib.rs", "use crate::http;").len(), 0);
    }

    #[test]
    fn a_module_without_a_row_and_a_climb_are_complaints() {
        assert_eq!(check("api/src/new.rs", "fn f() {}").len(), 1);
        assert_eq!(check("api/src/book/a/b.rs", "use super::super::c;").len(), 1);
    }

    #[test]
    fn a_table_with_a_circle_is_refused() {
        assert_eq!(table_complaints(TABLE), []);
        assert_eq!(
            table_complaints(&[("store", &["book"]), ("book", &["store"])]).len(),
            1
        );
    }

    #[test]
    fn a_forbidden_name_counts_only_as_code() {
        let source = Source::new(
            "api/src/a.rs",
            "// sqlx\nuse sqlx::Row;\nconst A: &str = \"sqlx\";",
        );
        let found = forbidden_names(&source, &["sqlx"], "only the store speaks SQL");
        assert_eq!(
            found,
            [Complaint::new(
                "api/src/a.rs",
                2,
                "`sqlx` has no place here: only the store speaks SQL"
            )]
        );
    }
}

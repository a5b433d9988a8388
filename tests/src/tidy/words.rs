//! Words that must not be left in the tree.

use super::Complaint;
use super::source::Source;
use super::tokens::{self, reads};

/// Put together here, because this file is checked like any other.
const UNFINISHED: [&str; 3] = [concat!("TO", "DO"), concat!("FIX", "ME"), concat!("XX", "X")];

/// Where one machine keeps its files, and where packages come from: neither is any of the project's business.
const ELSEWHERE: [(&str, &str); 8] = [
    (concat!("/ho", "me/"), "a path of one machine"),
    (concat!("/ro", "ot/"), "a path of one machine"),
    (concat!("/wo", "rk/"), "a path of one machine"),
    (concat!("/Us", "ers/"), "a path of one machine"),
    (concat!("crates", ".io"), "a registry's host"),
    (concat!("npmjs", ".org"), "a registry's host"),
    (concat!("pypi", ".org"), "a registry's host"),
    (concat!("proxy.golang", ".org"), "a registry's host"),
];

/// Doc lines that say what the signature says already.
const EMPTY_PHRASES: [&str; 8] = [
    "This function ",
    "This method ",
    "This struct ",
    "This enum ",
    "This module ",
    "Returns an error if ",
    "Creates a new instance",
    "Gets the ",
];

pub fn complaints(source: &Source) -> Vec<Complaint> {
    if !source.is_prose_or_code() {
        return Vec::new();
    }
    let mut complaints = Vec::new();
    for (index, line) in source.text.lines().enumerate() {
        let mut complain = |what: String| complaints.push(Complaint::new(&source.path, index + 1, what));
        for word in UNFINISHED.into_iter().filter(|word| has_word(line, word)) {
            complain(format!("`{word}`: finish it or write an issue"));
        }
        for (text, why) in ELSEWHERE.into_iter().filter(|(text, _)| line.contains(text)) {
            complain(format!("`{text}` is {why}"));
        }
    }
    if source.is_rust() {
        complaints.extend(idle_tests(source));
        complaints.extend(empty_docs(source));
    }
    complaints
}

/// As a word of its own: a template of `mktemp` is none.
fn has_word(line: &str, word: &str) -> bool {
    let is_part = |c: Option<char>| c.is_some_and(|c| c.is_alphanumeric() || c == '_');
    line.match_indices(word).any(|(at, _)| {
        !is_part(line[..at].chars().next_back()) && !is_part(line[at + word.len()..].chars().next())
    })
}

/// A test that does not run, or passes by failing in any way at all.
fn idle_tests(source: &Source) -> Vec<Complaint> {
    let tokens = tokens::of(&source.text).unwrap_or_default();
    let mut complaints = Vec::new();
    for (at, placed) in tokens.iter().enumerate() {
        if reads(&tokens, at, "# [ ignore") {
            complaints.push(Complaint::new(
                &source.path,
                placed.line,
                "a test that does not run is no test",
            ));
        }
        if placed.is_word("should_panic") {
            let what = "say which failure is meant, and assert it";
            complaints.push(Complaint::new(&source.path, placed.line, what));
        }
        if ["dbg", "todo", "unimplemented"]
            .iter()
            .any(|name| placed.is_word(name))
            && reads(&tokens, at + 1, "!")
        {
            let what = format!("`{}!` is left in", placed.word().unwrap_or_default());
            complaints.push(Complaint::new(&source.path, placed.line, what));
        }
    }
    complaints
}

fn empty_docs(source: &Source) -> Vec<Complaint> {
    let docs = source.text.lines().enumerate().filter_map(|(index, line)| {
        let line = line.trim_start();
        let doc = line.strip_prefix("/// ").or_else(|| line.strip_prefix("//! "))?;
        EMPTY_PHRASES
            .into_iter()
            .find(|phrase| doc.starts_with(phrase))
            .map(|phrase| (index + 1, phrase))
    });
    docs.map(|(line, phrase)| {
        let what = format!("`{}…` says what the signature says already", phrase.trim_end());
        Complaint::new(&source.path, line, what)
    })
    .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn found(path: &str, text: &str) -> usize {
        complaints(&Source::new(path, text)).len()
    }

    #[test]
    fn unfinished_work_is_named_as_a_word_only() {
        for word in UNFINISHED {
            assert_eq!(found("docs/a.md", &format!("{word}: later")), 1);
            assert_eq!(found("docs/a.md", &format!("{word}S and {word}{word}")), 0);
            assert_eq!(found("tests/data/a.csv", word), 0);
        }
    }

    #[test]
    fn no_path_of_one_machine_and_no_registry() {
        for (text, _) in ELSEWHERE {
            assert_eq!(found("tests/run", &format!("see {text}x")), 1);
        }
        assert_eq!(
            found("deploy/a.service", "StateDirectory=/var/lib/spindlebook"),
            0
        );
    }

    #[test]
    fn a_test_runs_and_asserts() {
        assert_eq!(found("a.rs", "#[test]\n#[ignore]\nfn a() {}"), 1);
        assert_eq!(found("a.rs", "#[test]\n#[ignore = \"slow\"]\nfn a() {}"), 1);
        assert_eq!(found("a.rs", "#[test]\n#[should_panic]\nfn a() {}"), 1);
        assert_eq!(found("a.rs", "fn a() { dbg!(1); todo!() }"), 2);
        assert_eq!(found("a.rs", "// #[ignore]\nfn ignore(dbg: u8) {}"), 0);
    }

    #[test]
    fn a_doc_line_says_something() {
        assert_eq!(found("a.rs", "/// This function adds.\nfn a() {}"), 1);
        assert_eq!(
            found("a.rs", "    /// Adds, and refuses to overflow.\nfn a() {}"),
            0
        );
    }
}

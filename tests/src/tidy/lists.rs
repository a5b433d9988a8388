//! Lists in the documents that must say exactly what the code says.

use super::Complaint;
use super::source::Source;
use std::collections::BTreeMap;

/// Both directions: what the document leaves out, and what it still lists.
pub fn complaints(document: &Source, in_code: &[&str]) -> Vec<Complaint> {
    let listed = listed(&document.text);
    let missing = in_code.iter().filter(|code| !listed.contains_key(**code));
    let idle = listed
        .iter()
        .filter(|(code, _)| !in_code.contains(&code.as_str()));
    let mut complaints: Vec<Complaint> = missing
        .map(|code| Complaint::new(&document.path, 0, format!("does not list `{code}`")))
        .collect();
    complaints.extend(idle.map(|(code, line)| {
        Complaint::new(
            &document.path,
            *line,
            format!("lists `{code}`, which the code does not know"),
        )
    }));
    complaints
}

/// The first thing of a table's row, of a list's item or of a heading, where it is `a.code` in backticks; with its
/// line. Codes have a dot in them, so that a column of field names is no list of codes.
fn listed(markdown: &str) -> BTreeMap<String, usize> {
    let codes = markdown.lines().enumerate().filter_map(|(index, line)| {
        let line = line.trim_start();
        let begins = line.starts_with("| ") || line.starts_with("- ") || line.starts_with('#');
        let cell = line.trim_start_matches(['|', '-', '#', ' ']);
        let (code, _) = cell.strip_prefix('`').filter(|_| begins)?.split_once('`')?;
        code.contains('.').then(|| (code.to_owned(), index + 1))
    });
    codes.collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const DOCUMENT: &str = "# Events\n\n| kind | what |\n| --- | --- |\n| `cell.added` | see `cell.gone` |\n\
        ### `plan.published`\n- `machine.added`: one\n| `field` | no code |\nText with `other.code`.\n";

    #[test]
    fn a_document_and_the_code_agree_in_both_directions() {
        let document = Source::new("docs/events.md", DOCUMENT);
        assert_eq!(
            complaints(&document, &["cell.added", "machine.added", "plan.published"]),
            []
        );
        let found: Vec<String> = complaints(&document, &["cell.added", "cell.gone", "plan.published"])
            .iter()
            .map(Complaint::to_string)
            .collect();
        assert_eq!(
            found,
            [
                "docs/events.md: does not list `cell.gone`",
                "docs/events.md:7: lists `machine.added`, which the code does not know"
            ]
        );
    }
}

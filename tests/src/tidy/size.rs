//! How long a file may be. (How long a function may be is clippy's to say: see `manifest`.)

use super::Complaint;
use super::source::Source;
use super::tokens::{self, behind_group, reads};

pub const FILE_LINES_MAX: usize = 400;
pub const MAIN_LINES_MAX: usize = 60;
pub const README_LINES_MAX: usize = 80;

/// Tests do not count, whether they stand in a file of their own or at the end of this one.
pub fn complaints(source: &Source) -> Vec<Complaint> {
    let name = source.path.rsplit('/').next().unwrap_or_default();
    let lines_max = match name {
        "README.md" if source.path == name => README_LINES_MAX,
        "main.rs" if !source.is_test() => MAIN_LINES_MAX,
        _ if source.is_rust() && !source.is_test() => FILE_LINES_MAX,
        _ => return Vec::new(),
    };
    let lines = source.text.lines().count() - inline_test_lines(source);
    if lines <= lines_max {
        return Vec::new();
    }
    let what =
        format!("has {lines} lines without tests, more than {lines_max}: split it where a noun appears");
    vec![Complaint::new(&source.path, 0, what)]
}

fn inline_test_lines(source: &Source) -> usize {
    if !source.is_rust() {
        return 0;
    }
    let tokens = tokens::of(&source.text).unwrap_or_default();
    let mut lines = 0;
    for at in 0..tokens.len() {
        // `# [ cfg ( test ) ] mod name {` is nine tokens and the brace.
        let opening = at + 9;
        if reads(&tokens, at, "# [ cfg ( test ) ] mod") && reads(&tokens, opening, "{") {
            let last = behind_group(&tokens, opening) - 1;
            lines += tokens[last].line - tokens[at].line + 1;
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_file_is_named_and_a_long_test_is_not() {
        let code = "fn f() {}\n".repeat(FILE_LINES_MAX);
        let with_tests = format!("{code}#[cfg(test)]\nmod tests {{\n{code}}}\n");
        assert_eq!(complaints(&Source::new("api/src/a.rs", &with_tests)), []);
        let too_long = format!("{with_tests}fn g() {{}}\n");
        assert_eq!(complaints(&Source::new("api/src/a.rs", &too_long)).len(), 1);
        assert_eq!(complaints(&Source::new("domain/src/a/tests.rs", &too_long)), []);
        assert_eq!(complaints(&Source::new("tests/it/a.rs", &too_long)), []);
        assert_eq!(complaints(&Source::new("tests/src/a.rs", &too_long)).len(), 1);
    }

    #[test]
    fn main_and_the_readme_are_short() {
        let main = "fn f() {}\n".repeat(MAIN_LINES_MAX + 1);
        assert_eq!(complaints(&Source::new("api/src/main.rs", &main)).len(), 1);
        let readme = "word\n".repeat(README_LINES_MAX + 1);
        assert_eq!(complaints(&Source::new("README.md", &readme)).len(), 1);
        assert_eq!(complaints(&Source::new("deploy/README.md", &readme)), []);
    }
}

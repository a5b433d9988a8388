//! Links between documents lead somewhere.

use super::Complaint;
use super::source::Source;
use std::path::{Component, Path, PathBuf};

/// `exists` is asked for paths below the project's root.
pub fn complaints(source: &Source, exists: impl Fn(&Path) -> bool) -> Vec<Complaint> {
    if Path::new(&source.path)
        .extension()
        .is_none_or(|extension| extension != "md")
    {
        return Vec::new();
    }
    let folder = Path::new(&source.path).parent().unwrap_or(Path::new(""));
    let mut complaints = Vec::new();
    for (index, line) in source.text.lines().enumerate() {
        for target in line.split("](").skip(1).filter_map(|rest| rest.split(')').next()) {
            let file = target.split('#').next().unwrap_or_default();
            let is_elsewhere = file.is_empty() || file.contains("://");
            if !is_elsewhere && !exists(&normal(&folder.join(file))) {
                let what = format!("the link to `{target}` leads nowhere");
                complaints.push(Complaint::new(&source.path, index + 1, what));
            }
        }
    }
    complaints
}

/// Without `.` and `..`.
fn normal(path: &Path) -> PathBuf {
    path.components()
        .fold(PathBuf::new(), |mut normal, part| match part {
            Component::ParentDir => {
                normal.pop();
                normal
            }
            Component::CurDir => normal,
            part => normal.join(part),
        })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_link_to_nowhere_is_found() {
        let text = "See [a](a.md), [up](../README.md#run), [web](https://example.org/x) and [gone](b.md).";
        let there = [Path::new("docs/a.md"), Path::new("README.md")];
        let complaints = complaints(&Source::new("docs/index.md", text), |path| there.contains(&path));
        let found: Vec<_> = complaints
            .iter()
            .map(|complaint| complaint.what.as_str())
            .collect();
        assert_eq!(found, ["the link to `b.md` leads nowhere"]);
    }
}

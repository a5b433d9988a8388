//! A table of plain text: a name and a unit above each column.

use std::fmt;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Align {
    Left,
    Right,
}

pub struct Table {
    heads: Vec<(String, String, Align)>,
    rows: Vec<Vec<String>>,
    foot: Option<Vec<String>>,
}

impl Table {
    pub fn new<'a>(heads: impl IntoIterator<Item = (&'a str, &'a str, Align)>) -> Self {
        let mut table = Self {
            heads: Vec::new(),
            rows: Vec::new(),
            foot: None,
        };
        for (name, unit, align) in heads {
            table.column(name, unit, align);
        }
        table
    }

    pub fn column(&mut self, name: &str, unit: &str, align: Align) {
        self.heads.push((name.to_owned(), unit.to_owned(), align));
    }

    pub fn row(&mut self, cells: Vec<String>) {
        self.rows.push(cells);
    }

    /// Set off by a line.
    pub fn foot(&mut self, cells: Vec<String>) {
        self.foot = Some(cells);
    }

    fn widths(&self) -> Vec<usize> {
        let body = self.rows.iter().chain(&self.foot);
        let mut widths: Vec<_> = self
            .heads
            .iter()
            .map(|(name, unit, _)| chars(name).max(chars(unit)))
            .collect();
        for row in body {
            for (width, cell) in widths.iter_mut().zip(row) {
                *width = (*width).max(chars(cell));
            }
        }
        widths
    }
}

fn chars(text: &str) -> usize {
    text.chars().count()
}

impl fmt::Display for Table {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let widths = self.widths();
        let mut line = |cells: &mut dyn Iterator<Item = &str>| {
            let mut text = String::new();
            for ((cell, width), (_, _, align)) in cells.zip(&widths).zip(&self.heads) {
                let padded = match align {
                    Align::Left => format!("{cell:<width$}  "),
                    Align::Right => format!("{cell:>width$}  "),
                };
                text.push_str(&padded);
            }
            writeln!(f, "{}", text.trim_end())
        };
        line(&mut self.heads.iter().map(|(name, _, _)| name.as_str()))?;
        if self.heads.iter().any(|(_, unit, _)| !unit.is_empty()) {
            line(&mut self.heads.iter().map(|(_, unit, _)| unit.as_str()))?;
        }
        for row in &self.rows {
            line(&mut row.iter().map(String::as_str))?;
        }
        if let Some(foot) = &self.foot {
            let rules: Vec<_> = widths
                .iter()
                .zip(foot)
                .map(|(width, _)| "─".repeat(*width))
                .collect();
            line(&mut rules.iter().map(String::as_str))?;
            line(&mut foot.iter().map(String::as_str))?;
        }
        Ok(())
    }
}

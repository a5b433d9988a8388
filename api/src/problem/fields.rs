//! What is wrong with one field, and what would be right.

use serde_json::{Value, json};
use serde_path_to_error::{Path, Segment};

/// Where the wrong value stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Place {
    /// A JSON pointer (RFC 6901) into the body.
    Pointer(String),
    /// A parameter of path or query.
    Parameter(String),
    Header(&'static str),
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FieldError {
    place: Place,
    code: &'static str,
    detail: String,
}

impl Place {
    pub fn pointer(pointer: impl Into<String>) -> Self {
        Self::Pointer(pointer.into())
    }

    pub fn parameter(name: impl Into<String>) -> Self {
        Self::Parameter(name.into())
    }

    /// The same place, one name further in.
    fn within(self, name: &str) -> Self {
        match self {
            Self::Pointer(pointer) => Self::Pointer(format!("{pointer}/{}", escape(name))),
            Self::Parameter(_) => Self::Parameter(name.to_owned()),
            Self::Header(header) => Self::Header(header),
        }
    }
}

impl FieldError {
    pub fn at(place: Place, code: &'static str, detail: impl Into<String>) -> Self {
        Self {
            place,
            code,
            detail: detail.into(),
        }
    }

    pub fn detail(&self) -> &str {
        &self.detail
    }

    /// The place in words, for the problem's own sentence.
    pub fn place_name(&self) -> &str {
        match &self.place {
            Place::Pointer(pointer) if pointer.is_empty() => "the body",
            Place::Pointer(name) | Place::Parameter(name) => name,
            Place::Header(name) => name,
        }
    }

    pub(super) fn to_json(&self) -> Value {
        let (key, value) = match &self.place {
            Place::Pointer(pointer) => ("pointer", pointer.as_str()),
            Place::Parameter(name) => ("parameter", name.as_str()),
            Place::Header(name) => ("header", *name),
        };
        json!({ key: value, "code": self.code, "detail": self.detail })
    }
}

/// Of a body that is JSON but not what was asked for.
pub(crate) fn explain_json(error: &serde_path_to_error::Error<serde_json::Error>) -> FieldError {
    let sentence = error.inner().to_string();
    let sentence = sentence
        .rsplit_once(" at line ")
        .map_or(sentence.as_str(), |(before, _)| before);
    explain(Place::Pointer(pointer_to(error.path())), sentence)
}

/// From the sentence of a deserialiser. An unknown name is told with the nearest known one.
pub(crate) fn explain(place: Place, sentence: &str) -> FieldError {
    let named = |prefix: &str| {
        sentence
            .strip_prefix(prefix)
            .and_then(|rest| rest.split_once('`'))
    };
    if let Some((name, rest)) = named("unknown field `") {
        // The path ends at the object or at the name itself, depending on where serde noticed.
        let place = if ends_with(&place, name) {
            place
        } else {
            place.within(name)
        };
        return FieldError::at(place, "unknown", unknown("field", name, rest));
    }
    if let Some((name, rest)) = named("unknown variant `") {
        return FieldError::at(place, "unknown", unknown("value", name, rest));
    }
    if let Some((name, _)) = named("missing field `") {
        return FieldError::at(
            place.within(name),
            "missing",
            format!("`{name}` is missing; it is required"),
        );
    }
    if let Some((name, _)) = named("duplicate field `") {
        return FieldError::at(
            place.within(name),
            "repeated",
            format!("`{name}` stands there twice; send it once"),
        );
    }
    let sentence = in_json_words(sentence);
    let sentence = match sentence.as_str() {
        "invalid digit found in string" | "cannot parse integer from empty string" => {
            "it is not a whole number"
        }
        "number too large to fit in target type" => "the number is too large",
        "number too small to fit in target type" => "the number is too small",
        "provided string was not `true` or `false`" => "it is neither `true` nor `false`",
        // Of a date: nothing else is read by chrono's own words.
        "input is out of range"
        | "input contains invalid characters"
        | "premature end of input"
        | "trailing input" => "it is no date: write year, month and day as in 2026-12-25",
        other => other,
    };
    let code = if sentence.starts_with("invalid type") {
        "wrong-type"
    } else {
        "invalid"
    };
    FieldError::at(place, code, sentence)
}

/// Serde speaks of sequences, maps and structs; who sends JSON knows arrays and objects.
fn in_json_words(sentence: &str) -> String {
    let Some((found, expected)) = sentence.rsplit_once(", expected ") else {
        return sentence.to_owned();
    };
    let found = found
        .replace("type: sequence", "type: array")
        .replace("type: map", "type: object");
    let expected = match expected {
        "a sequence" => "an array",
        "a map" => "an object",
        "string or map" => "a string",
        of_ours if of_ours.starts_with("struct ") => "an object",
        other => other,
    };
    format!("{found}, expected {expected}")
}

fn ends_with(place: &Place, name: &str) -> bool {
    match place {
        Place::Pointer(pointer) => pointer.ends_with(&format!("/{}", escape(name))),
        Place::Parameter(parameter) => parameter == name,
        Place::Header(_) => true,
    }
}

fn unknown(what: &str, name: &str, rest: &str) -> String {
    let known: Vec<&str> = rest.split('`').skip(1).step_by(2).collect();
    let Some(nearest) = known.iter().min_by_key(|known| edits_between(name, known)) else {
        return format!("`{name}` is not known: there is no {what} here");
    };
    let list = known
        .iter()
        .map(|known| format!("`{known}`"))
        .collect::<Vec<_>>()
        .join(", ");
    if edits_between(name, nearest) <= 1 + nearest.chars().count() / 3 {
        format!("`{name}` is no {what} here; did you mean `{nearest}`? Known: {list}")
    } else {
        format!("`{name}` is no {what} here. Known: {list}")
    }
}

/// How many characters must be added, dropped or changed to get from one name to the other (Levenshtein's distance).
fn edits_between(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    // A name that long is no slip of the finger; the bound keeps a hostile one cheap.
    for (i, from) in a.chars().take(64).enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, to) in b.iter().enumerate() {
            let changed = diagonal + usize::from(!from.eq_ignore_ascii_case(to));
            diagonal = row[j + 1];
            row[j + 1] = changed.min(row[j] + 1).min(diagonal + 1);
        }
    }
    row[b.len()]
}

fn pointer_to(path: &Path) -> String {
    path.iter().fold(String::new(), |pointer, segment| match segment {
        Segment::Seq { index } => format!("{pointer}/{index}"),
        Segment::Map { key } => format!("{pointer}/{}", escape(key)),
        // A variant is told by a member's value or name, which has no place of its own.
        Segment::Enum { .. } | Segment::Unknown => pointer,
    })
}

fn escape(name: &str) -> String {
    name.replace('~', "~0").replace('/', "~1")
}

//! What the OpenAPI document promises of every answer that a test gets: its status is documented, and so is its body.

use crate::answer::Answer;
use jsonschema::Validator;
use reqwest::Method;
use serde_json::Value;
use spindlebook::http::openapi::document;
use std::collections::BTreeMap;
use std::sync::{Arc, LazyLock, Mutex, PoisonError};

static DOCUMENT: LazyLock<Value> = LazyLock::new(document);
/// By where the schema stands in the document.
static VALIDATORS: Mutex<BTreeMap<String, Arc<Validator>>> = Mutex::new(BTreeMap::new());

/// Paths that are not described are answered by no operation, and not judged.
pub fn check(method: &Method, path: &str, answer: &Answer) {
    let asked = format!("{method} {path}");
    let path = path.split('?').next().unwrap_or(path);
    let Some((template, operation)) = operation(method, path) else {
        return;
    };
    let status = answer.status.as_str();
    let Some(response) = operation["responses"].get(status) else {
        panic!("{asked}: {status} is not documented: {}", answer.text());
    };
    let response = without_ref(response);
    let kind = answer.header("content-type").unwrap_or_default();
    let kind = kind.split(';').next().unwrap_or_default();
    let Some(content) = response["content"].get(kind).filter(|_| kind.ends_with("json")) else {
        let is_described = answer.body.is_empty() || response["content"].get(kind).is_some();
        assert!(is_described, "{asked}: {status} with `{kind}` is not documented");
        return;
    };
    let place = format!("{method} {template} {status} {kind}");
    let validator = validator(place, &content["schema"]);
    let body = answer.json();
    let errors: Vec<_> = validator
        .iter_errors(&body)
        .map(|error| format!("{} {error}", error.instance_path()))
        .collect();
    assert!(
        errors.is_empty(),
        "{asked}: {status} is not as documented: {errors:?}: {body}"
    );
}

/// Fixed paths come before those with a parameter.
fn operation(method: &Method, path: &str) -> Option<(&'static str, &'static Value)> {
    let method = method.as_str().to_lowercase();
    let paths = DOCUMENT["paths"].as_object()?;
    let fitting = paths.iter().filter(|(template, _)| fits(template, path));
    let (template, item) = fitting.min_by_key(|(template, _)| template.matches('{').count())?;
    Some((template, item.get(&method)?))
}

fn fits(template: &str, path: &str) -> bool {
    let (mut wanted, mut parts) = (template.split('/'), path.split('/'));
    loop {
        match (wanted.next(), parts.next()) {
            (None, None) => return true,
            (Some(wanted), Some(part)) if wanted == part || (wanted.starts_with('{') && !part.is_empty()) => {
            }
            _ => return false,
        }
    }
}

fn without_ref(value: &'static Value) -> &'static Value {
    let reference = value["$ref"].as_str();
    let named = reference.and_then(|reference| DOCUMENT.pointer(reference.trim_start_matches('#')));
    named.unwrap_or(value)
}

fn validator(place: String, schema: &Value) -> Arc<Validator> {
    let mut known = VALIDATORS.lock().unwrap_or_else(PoisonError::into_inner);
    let make = || {
        let mut whole = schema.clone();
        whole["components"] = DOCUMENT["components"].clone();
        let made = jsonschema::options().should_validate_formats(true).build(&whole);
        Arc::new(made.unwrap_or_else(|error| panic!("no schema: {error}")))
    };
    known.entry(place).or_insert_with(make).clone()
}

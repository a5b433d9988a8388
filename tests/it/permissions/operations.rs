//! The operations of the OpenAPI document, each as a request that is right but for who sends it.

use reqwest::Method;
use reqwest::header::{CONTENT_TYPE, IF_MATCH};
use serde_json::Value;
use spindlebook_tests::answer::Answer;
use spindlebook_tests::caller::Caller;
use std::collections::BTreeMap;
use uuid::Uuid;

const METHODS: [&str; 5] = ["get", "put", "post", "patch", "delete"];

pub struct Operation {
    pub id: String,
    pub method: Method,
    /// With `{id}` in it.
    pub path: String,
    /// The parameters of the query that must be there, and those that name a thing.
    query: Vec<String>,
    headers: Vec<String>,
    body: Option<(String, String)>,
}

pub fn all(document: &Value) -> Vec<Operation> {
    let paths = document["paths"].as_object().unwrap();
    let mut operations = Vec::new();
    for (path, item) in paths {
        for method in METHODS {
            if let Some(described) = item.get(method) {
                operations.push(operation(document, path, method, described));
            }
        }
    }
    operations
}

fn operation(document: &Value, path: &str, method: &str, described: &Value) -> Operation {
    let parameters = described["parameters"].as_array().cloned().unwrap_or_default();
    let parameters: Vec<&Value> = parameters.iter().map(|one| resolved(document, one)).collect();
    let name = |parameter: &Value| parameter["name"].as_str().unwrap().to_owned();
    let is_wanted = |parameter: &Value| {
        parameter["required"] == true || matches!(parameter["name"].as_str(), Some("cell" | "machine"))
    };
    let query = parameters
        .iter()
        .filter(|one| one["in"] == "query" && is_wanted(one))
        .map(|one| name(one))
        .collect();
    let headers = parameters
        .iter()
        .filter(|one| one["in"] == "header")
        .map(|one| name(one))
        .collect();
    let content = described["requestBody"]["content"].as_object();
    let body = content
        .and_then(|content| content.iter().next())
        .map(|(media_type, media)| {
            let schema = resolved(document, &media["schema"]);
            let example = media.get("example").or_else(|| schema.get("example"));
            let text = match example {
                Some(example) => example.to_string(),
                None => String::new(),
            };
            (media_type.clone(), text)
        });
    Operation {
        id: described["operationId"].as_str().unwrap().to_owned(),
        method: method.to_uppercase().parse().unwrap(),
        path: path.to_owned(),
        query,
        headers,
        body,
    }
}

fn resolved<'a>(document: &'a Value, value: &'a Value) -> &'a Value {
    match value["$ref"].as_str() {
        Some(reference) => document.pointer(reference.trim_start_matches('#')).unwrap(),
        None => value,
    }
}

impl Operation {
    /// Does it name a thing of a site, in its path or its query?
    pub fn names_a_thing(&self) -> bool {
        self.path.contains("{id}") || self.query.iter().any(|name| name == "cell" || name == "machine")
    }

    /// The same with the parameters that it must have only, so that a list is a list of everything.
    pub fn unfiltered(&self) -> Self {
        let query = self
            .query
            .iter()
            .filter(|name| !matches!(name.as_str(), "cell" | "machine"))
            .cloned()
            .collect();
        Self {
            id: self.id.clone(),
            method: self.method.clone(),
            path: self.path.clone(),
            query,
            headers: self.headers.clone(),
            body: self.body.clone(),
        }
    }

    /// Its example speaks of the things that there are, of now, and of new things by a code of their own.
    pub fn about(self, things: &BTreeMap<&str, String>) -> Self {
        let body = self
            .body
            .map(|(media_type, text)| (media_type, named(&text, &self.id, things)));
        Self { body, ..self }
    }

    /// `things` gives for each first part of a path, as `cells`, the id of one that there is.
    pub async fn sent_by(&self, caller: &Caller, things: &BTreeMap<&str, String>) -> Answer {
        let path = self.filled(things);
        let takes = |header: &str| self.headers.iter().any(|taken| taken == header);
        let (if_match, key, body) = (takes("If-Match"), takes("Idempotency-Key"), self.body.clone());
        caller
            .send(self.method.clone(), &path, move |mut request| {
                if let Some((media_type, text)) = body {
                    request = request.header(CONTENT_TYPE, media_type).body(text);
                }
                if key {
                    request = request.header("Idempotency-Key", Uuid::now_v7().to_string());
                }
                if if_match {
                    request = request.header(IF_MATCH, "*");
                }
                request
            })
            .await
    }

    fn filled(&self, things: &BTreeMap<&str, String>) -> String {
        let resource = self.path.split('/').nth(2).unwrap_or_default();
        let id = things.get(resource).cloned().unwrap_or_default();
        let path = self
            .path
            .replace("{id}", &id)
            .replace("{seq}", "1")
            .replace("{number}", "1")
            .replace("{code}", "machine.already-down");
        let query = self.query.iter().map(|name| match name.as_str() {
            // Either of the two says whose hours are asked for, and not both.
            "cell" if self.query.iter().any(|other| other == "machine") => None,
            "cell" => Some(format!("cell={}", things["cells"])),
            "machine" => Some(format!("machine={}", things["machines"])),
            "from" => Some("from=2026-11-01T00:00:00Z".to_owned()),
            "to" => Some("to=2026-11-02T00:00:00Z".to_owned()),
            "revision" => Some("revision=A".to_owned()),
            other => panic!("{}: give the required parameter `{other}` a value here", self.id),
        });
        let query: Vec<String> = query.flatten().collect();
        if query.is_empty() {
            path
        } else {
            format!("{path}?{}", query.join("&"))
        }
    }
}

/// The example with the things that there are in the place of those that it names.
fn named(example: &str, operation: &str, things: &BTreeMap<&str, String>) -> String {
    let Ok(mut body) = serde_json::from_str::<Value>(example) else {
        return example.to_owned();
    };
    name(&mut body, None, things);
    if let Some(fields) = body.as_object_mut() {
        for told in ["at", "at_local"] {
            fields.remove(told);
        }
        if let Some(code) = fields.get_mut("code") {
            *code = operation.into();
        }
    }
    body.to_string()
}

fn name(value: &mut Value, id: Option<&String>, things: &BTreeMap<&str, String>) {
    match value {
        Value::Object(fields) => {
            for (field, value) in fields {
                let plural = format!("{}s", field.trim_end_matches('s'));
                name(value, things.get(plural.as_str()), things);
            }
        }
        Value::Array(items) => items.iter_mut().for_each(|item| name(item, id, things)),
        Value::String(text) => {
            if let Some(id) = id.filter(|_| Uuid::try_parse(text).is_ok()) {
                text.clone_from(id);
            }
        }
        _ => {}
    }
}

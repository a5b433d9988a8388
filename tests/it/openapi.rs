//! The OpenAPI document is what is checked in, what is mounted and what the role table knows, and its examples hold.

use crate::served::Served;
use reqwest::Method;
use serde_json::{Value, json};
use spindlebook::auth::operations::ALL;
use spindlebook::http::openapi::document;
use spindlebook_tests::engine::Engine;
use spindlebook_tests::tidy::source;
use std::collections::BTreeSet;
use std::fs;

const METHODS: [&str; 5] = ["get", "put", "post", "patch", "delete"];

struct Documented<'a> {
    path: &'a str,
    method: &'a str,
    id: &'a str,
    operation: &'a Value,
}

fn operations(document: &Value) -> Vec<Documented<'_>> {
    let paths = document["paths"].as_object().unwrap();
    let of_path = |(path, item)| {
        METHODS.iter().filter_map(move |method| {
            let item: &Value = item;
            let operation = item.get(method)?;
            let path: &String = path;
            Some(Documented {
                path,
                method,
                id: operation["operationId"].as_str().unwrap_or_default(),
                operation,
            })
        })
    };
    paths.iter().flat_map(of_path).collect()
}

fn without_refs<'a>(document: &'a Value, value: &'a Value) -> &'a Value {
    match value["$ref"].as_str() {
        Some(reference) => document
            .pointer(reference.trim_start_matches('#'))
            .unwrap_or(&Value::Null),
        None => value,
    }
}

#[test]
fn the_document_that_is_checked_in_is_the_one_that_is_served() {
    let path = source::root().join("openapi/openapi.json");
    let made = format!("{}\n", serde_json::to_string_pretty(&document()).unwrap());
    let checked_in = fs::read_to_string(&path).unwrap_or_default();
    let fresh = concat!(env!("CARGO_TARGET_TMPDIR"), "/openapi.json");
    fs::write(fresh, &made).unwrap();
    let remedy = format!("run `spindlebook openapi > openapi/openapi.json`, or copy {fresh}");
    assert!(
        checked_in == made,
        "openapi/openapi.json is out of date: {remedy}"
    );
}

#[test]
fn every_operation_is_in_the_role_table_and_the_reverse() {
    let document = document();
    let documented: Vec<_> = operations(&document)
        .iter()
        .map(|documented| documented.id.to_owned())
        .collect();
    let in_document: BTreeSet<_> = documented.iter().cloned().collect();
    let in_table: BTreeSet<_> = ALL.iter().map(|operation| operation.id.to_owned()).collect();
    assert_eq!(
        in_document.len(),
        documented.len(),
        "an operation id stands twice"
    );
    assert_eq!(in_document, in_table);
}

#[test]
fn every_operation_says_what_a_reader_needs() {
    let document = document();
    let tags: BTreeSet<_> = document["tags"]
        .as_array()
        .unwrap()
        .iter()
        .map(|tag| tag["name"].as_str().unwrap())
        .collect();
    for Documented {
        id,
        operation,
        method,
        ..
    } in operations(&document)
    {
        let summary = operation["summary"].as_str().unwrap_or_default();
        assert!(
            !summary.is_empty() && !summary.ends_with('.'),
            "{id}: {summary:?}"
        );
        assert!(
            !operation["description"].as_str().unwrap_or_default().is_empty(),
            "{id} has no description"
        );
        assert!(operation["security"].is_array(), "{id} says nothing of security");
        let own = operation["tags"].as_array().unwrap();
        assert!(
            own.len() == 1 && tags.contains(own[0].as_str().unwrap()),
            "{id}: {own:?}"
        );
        let responses = operation["responses"].as_object().unwrap();
        assert!(!responses.contains_key("default"), "{id}");
        for status in ["400", "429", "500", "503"] {
            assert!(responses.contains_key(status), "{id} does not tell of {status}");
        }
        for (status, response) in responses {
            let content = &without_refs(&document, response)["content"];
            let is_problem = content.get("application/problem+json").is_some();
            let wants_problem = status.as_str() >= "400" && id != "issueToken";
            assert!(is_problem == wants_problem || id == "issueToken", "{id} {status}");
        }
        let needs_key = operation["parameters"]
            .as_array()
            .into_iter()
            .flatten()
            .any(|parameter| {
                let parameter = without_refs(&document, parameter);
                parameter["name"] == "Idempotency-Key" && parameter["required"] == true
            });
        let is_no_command = [
            "signIn",
            "refreshSession",
            "issueToken",
            "deliverActs",
            "stopComputation",
            "checkRush",
            "askPromise",
        ];
        let has_key = method == "post" && !is_no_command.contains(&id);
        assert_eq!(needs_key, has_key, "{id}");
    }
}

/// Bodies of requests and of successful answers.
fn bodies<'a>(document: &'a Value, operation: &'a Value) -> Vec<(String, &'a Value)> {
    let responses = operation["responses"].as_object().unwrap().iter();
    let successful = responses
        .filter(|(status, _)| status.as_str() < "400")
        .map(|(status, response)| (status.clone(), response));
    let request = operation
        .get("requestBody")
        .map(|body| ("request".to_owned(), body));
    let described = request.into_iter().chain(successful);
    described
        .flat_map(|(which, body)| {
            let content = without_refs(document, body)["content"].as_object();
            let content = content.into_iter().flatten();
            content.map(move |(kind, content)| (format!("{which} {kind}"), content))
        })
        .collect()
}

#[test]
fn every_body_has_an_example_that_holds_against_its_schema() {
    let document = document();
    for Documented { id, operation, .. } in operations(&document) {
        for (which, content) in bodies(&document, operation) {
            // A form is no JSON, and a table is described by its columns.
            if !which.ends_with("json") {
                continue;
            }
            let place = format!("{id} {which}");
            let example = content.get("example");
            let example = example.unwrap_or_else(|| panic!("{place}: no example"));
            assert_holds(&document, &content["schema"], example, &place);
            assert_whole(&document, &content["schema"], example, &place);
        }
    }
    for (name, schema) in document["components"]["schemas"].as_object().unwrap() {
        if let Some(example) = schema.get("example") {
            assert_holds(&document, schema, example, name);
        }
    }
}

/// Answers are not closed against fields to come; an example of one shows none that is not described.
fn assert_whole(document: &Value, schema: &Value, example: &Value, place: &str) {
    let mut known = BTreeSet::new();
    properties(document, schema, &mut known);
    let shown = example.as_object().into_iter().flatten();
    let unknown: Vec<_> = shown
        .map(|(name, _)| name)
        .filter(|name| !known.contains(*name))
        .collect();
    assert!(known.is_empty() || unknown.is_empty(), "{place}: {unknown:?}");
}

fn properties(document: &Value, schema: &Value, known: &mut BTreeSet<String>) {
    let schema = without_refs(document, schema);
    let own = schema["properties"].as_object().into_iter().flatten();
    known.extend(own.map(|(name, _)| name.clone()));
    for several in ["allOf", "oneOf", "anyOf"] {
        for one in schema[several].as_array().into_iter().flatten() {
            properties(document, one, known);
        }
    }
}

fn assert_holds(document: &Value, schema: &Value, example: &Value, id: &str) {
    let mut whole = schema.clone();
    whole["components"] = document["components"].clone();
    let validator = jsonschema::options()
        .should_validate_formats(true)
        .build(&whole)
        .unwrap();
    let errors: Vec<_> = validator
        .iter_errors(example)
        .map(|error| format!("{} {error}", error.instance_path()))
        .collect();
    assert!(errors.is_empty(), "{id}: {errors:?}");
}

#[test]
fn every_request_is_closed_and_every_value_bounded() {
    let document = document();
    for Documented { id, operation, .. } in operations(&document) {
        for (kind, content) in operation["requestBody"]["content"]
            .as_object()
            .into_iter()
            .flatten()
        {
            let schema = without_refs(&document, &content["schema"]);
            // RFC 6749, section 3.2: the token endpoint must ignore parameters that it does not know.
            let is_closed = schema["additionalProperties"] == false || id == "issueToken";
            assert!(is_closed, "{id} {kind}");
        }
        for parameter in operation["parameters"].as_array().into_iter().flatten() {
            let parameter = without_refs(&document, parameter);
            assert!(is_bounded(&document, &parameter["schema"]), "{id}: {parameter}");
        }
    }
    for (name, schema) in document["components"]["schemas"].as_object().unwrap() {
        assert!(is_bounded(&document, schema), "{name}: {schema}");
        for (property, schema) in schema["properties"].as_object().into_iter().flatten() {
            assert!(is_bounded(&document, schema), "{name}.{property}: {schema}");
        }
    }
}

fn is_bounded(document: &Value, schema: &Value) -> bool {
    let schema = without_refs(document, schema);
    let is = |kind: &str| {
        schema["type"] == kind
            || schema["type"]
                .as_array()
                .is_some_and(|kinds| kinds.contains(&json!(kind)))
    };
    let has = |names: &[&str]| names.iter().all(|name| schema.get(name).is_some());
    let is_closed = has(&["enum"]) || has(&["const"]);
    (!is("string") || is_closed || has(&["maxLength"]))
        && (!is("integer") || is_closed || has(&["minimum", "maximum", "format"]))
        && (!is("array") || has(&["maxItems"]) && is_bounded(document, &schema["items"]))
}

/// What is documented answers, and what is not documented does not: no operation is mounted past the document.
#[tokio::test]
async fn every_documented_route_is_mounted() {
    let served = Served::at(Engine::Sqlite, "2026-11-02T06:00:00Z").await;
    let document = document();
    for Documented { path, method, id, .. } in operations(&document) {
        let path = path
            .replace("{id}", "01936b5e-5c00-7000-8000-00000000ffff")
            .replace("{seq}", "1")
            .replace("{code}", "machine.unknown");
        let method: Method = method.to_uppercase().parse().unwrap();
        let answer = served.anonymous().send(method, &path, |request| request).await;
        let code = if answer.status.as_u16() == 404 {
            answer.json()["code"].as_str().map(str::to_owned)
        } else {
            None
        };
        assert_ne!(code.as_deref(), Some("route.unknown"), "{id} is not mounted");
        assert_ne!(answer.status.as_u16(), 405, "{id} is not mounted");
    }
    let trace = served
        .anonymous()
        .send(Method::TRACE, "/v1/cells", |request| request)
        .await;
    trace.expect_problem(405, "method.not-allowed");
    assert_eq!(trace.header("allow"), Some("GET, POST"));
    served
        .anonymous()
        .get("/v1/cell")
        .await
        .expect_problem(404, "route.unknown");
}

#[tokio::test]
async fn the_document_and_its_page_are_served_without_another_host() {
    let served = Served::at(Engine::Sqlite, "2026-11-02T06:00:00Z").await;
    let given = served.anonymous().get("/openapi.json").await.expect_status(200);
    assert_eq!(given.json(), document());
    let redirect = served.anonymous().get("/docs").await.expect_status(308);
    assert_eq!(redirect.header("location"), Some("/docs/"));
    let page = served.anonymous().get("/docs/").await.expect_status(200).text();
    assert!(page.contains("swagger-ui"), "{page}");
    assert!(!page.contains("http://") && !page.contains("https://"), "{page}");
    let script = served
        .anonymous()
        .get("/docs/swagger-initializer.js")
        .await
        .expect_status(200)
        .text();
    assert!(script.contains("/openapi.json"), "{script}");
    served
        .anonymous()
        .get("/docs/../Cargo.toml")
        .await
        .expect_problem(404, "route.unknown");
}

//! What no handler says of itself, because it holds for many: the problems that an operation can answer, its headers,
//! its examples, and bounds of numbers, texts and lists that have none of their own.

use super::shared;
use crate::auth::{Allowed, Operation};
use crate::http::whole::EXACT_MAX;
use serde_json::{Map, Value, json};

/// Changes that need the version that they were made on.
const NEED_IF_MATCH: [&str; 20] = [
    "setCellQueue",
    "changeOrder",
    "changeLine",
    "setSitePeople",
    "setMachineTools",
    "changePallet",
    "changeFixture",
    "changeCustomer",
    "setInspectionRules",
    "changeVendor",
    "changePart",
    "setRouting",
    "changeSite",
    "setSiteCalendar",
    "changeCell",
    "setCellCalendar",
    "clearCellCalendar",
    "changeMachine",
    "changeUser",
    "setUserPassword",
];

/// Things with a version, which is shown as `ETag`.
const VERSIONED: [&str; 26] = [
    "getParkedAct",
    "getCellQueue",
    "getRun",
    "getOrder",
    "getLine",
    "getChangePreview",
    "getJob",
    "getSitePeople",
    "getMachineTools",
    "getPallet",
    "getFixture",
    "getCustomer",
    "getInspectionRules",
    "getVendor",
    "getPart",
    "getRouting",
    "getSite",
    "getSiteCalendar",
    "getCell",
    "getCellCalendar",
    "getMachine",
    "getPlan",
    "getCurrentPlan",
    "getLedgerEntry",
    "getUser",
    "getClient",
];

/// Sent again, they find done what they ask for; of what a tablet delivers each act has its own key.
/// Questions change nothing.
const WITHOUT_KEY: [&str; 6] = [
    "endSession",
    "forgetNote",
    "deliverActs",
    "stopComputation",
    "checkRush",
    "askPromise",
];

pub fn complete(document: &mut Value) {
    let schemas = document["components"]["schemas"].clone();
    if let Some(paths) = document["paths"].as_object_mut() {
        for (path, item) in paths {
            for (method, operation) in item.as_object_mut().into_iter().flatten() {
                if operation.is_object() {
                    complete_operation(path, method, operation, &schemas);
                }
            }
        }
    }
    bound(document);
    let components = &mut document["components"];
    components["schemas"]["Problem"] = shared::problem_schema();
    components["schemas"]["FieldError"] = shared::field_error_schema();
    components["responses"] = Value::Object(shared::problem_responses());
    components["headers"] = shared::headers();
    components["parameters"] = shared::parameters();
    document["tags"] = shared::tags();
}

fn complete_operation(path: &str, method: &str, operation: &mut Value, schemas: &Value) {
    let id = operation["operationId"].as_str().unwrap_or_default().to_owned();
    let allowed = Operation::of(&id).map_or(Allowed::Anyone, |row| row.allowed);
    let has_body = operation.get("requestBody").is_some();
    let parameters = parameters_of(&id, method, allowed, path);
    let mut statuses = vec!["400", "429", "500", "503"];
    if method != "get" {
        statuses.push("507");
    }
    // Whoever asks for a session may be refused it.
    if allowed != Allowed::Anyone || ["signIn", "refreshSession", "issueToken"].contains(&id.as_str()) {
        statuses.push("401");
    }
    let takes_badge = Operation::of(&id).is_none_or(Operation::takes_badge);
    if matches!(allowed, Allowed::Roles(_)) || !takes_badge {
        statuses.push("403");
    }
    if names_something(path, operation) || ["getCurrentPlan", "getMetrics"].contains(&id.as_str()) {
        statuses.push("404");
    }
    if id == "getHours" {
        statuses.push("406");
    }
    if has_body {
        statuses.extend(["413", "415"]);
    }
    if parameters.iter().any(|name| name.ends_with("IdempotencyKey")) {
        statuses.extend(["409", "422"]);
    }
    if parameters.contains(&"IfMatch") {
        statuses.extend(["412", "428"]);
    }
    add_parameters(operation, &parameters);
    complete_successes(&id, &parameters, operation, schemas);
    let responses = &mut operation["responses"];
    for status in statuses {
        if responses.get(status).is_none() {
            responses[status] = shared::problem(status);
        }
    }
    fill_example(&mut operation["requestBody"], schemas);
    if !has_body && let Some(operation) = operation.as_object_mut() {
        operation.remove("requestBody");
    }
}

/// The parameters in headers, by their names among the components.
fn parameters_of(id: &str, method: &str, allowed: Allowed, path: &str) -> Vec<&'static str> {
    let mut names = Vec::new();
    if method == "get" {
        if VERSIONED.contains(&id) {
            names.push("IfNoneMatch");
        }
        if matches!(allowed, Allowed::Roles(_)) && path.starts_with("/v1/") {
            names.push("MinSeq");
        }
        return names;
    }
    if allowed != Allowed::Anyone && !WITHOUT_KEY.contains(&id) {
        names.push(if method == "post" {
            "IdempotencyKey"
        } else {
            "OptionalIdempotencyKey"
        });
    }
    if NEED_IF_MATCH.contains(&id) {
        names.push("IfMatch");
    }
    names
}

/// By path or by a filter: then it may not be there.
fn names_something(path: &str, operation: &Value) -> bool {
    let parameters = operation["parameters"].as_array();
    let is_filter = |parameter: &Value| matches!(parameter["name"].as_str(), Some("cell" | "machine"));
    path.contains('{') || parameters.is_some_and(|parameters| parameters.iter().any(is_filter))
}

fn add_parameters(operation: &mut Value, names: &[&str]) {
    let shared = names.iter().map(|name| shared::reference("parameters", name));
    let mut all = operation["parameters"].as_array().cloned().unwrap_or_default();
    all.extend(shared);
    if !all.is_empty() {
        operation["parameters"] = Value::Array(all);
    }
}

fn complete_successes(id: &str, parameters: &[&str], operation: &mut Value, schemas: &Value) {
    let Some(responses) = operation["responses"].as_object_mut() else {
        return;
    };
    let is_versioned = VERSIONED.contains(&id);
    for (status, response) in responses.iter_mut().filter(|(status, _)| status.as_str() < "400") {
        let mut headers = shared::answer_headers();
        if is_versioned {
            headers.insert("ETag".to_owned(), shared::reference("headers", "ETag"));
        }
        if parameters.iter().any(|name| name.ends_with("IdempotencyKey")) {
            let first_given = shared::reference("headers", "OutcomeFirstGiven");
            headers.insert("Outcome-First-Given".to_owned(), first_given);
            if status != "204" {
                headers.insert("ETag".to_owned(), shared::reference("headers", "ETag"));
            }
        }
        if status == "201" || status == "308" {
            headers.insert("Location".to_owned(), shared::reference("headers", "Location"));
        }
        response["headers"] = Value::Object(headers);
        fill_example(response, schemas);
    }
    if is_versioned {
        let mut headers = shared::answer_headers();
        headers.insert("ETag".to_owned(), shared::reference("headers", "ETag"));
        let known = json!({ "description": "The asker has this version already", "headers": headers });
        responses.insert("304".to_owned(), known);
    }
}

/// The example of a body is that of its schema, if it has none of its own.
fn fill_example(holder: &mut Value, schemas: &Value) {
    let Some(contents) = holder.get_mut("content").and_then(Value::as_object_mut) else {
        return;
    };
    for content in contents.values_mut() {
        let named = content["schema"]["$ref"]
            .as_str()
            .and_then(|reference| reference.rsplit('/').next());
        let example = named.and_then(|name| {
            let schema = &schemas[name];
            schema.get("example").or_else(|| schema["examples"].get(0))
        });
        if let (None, Some(example)) = (content.get("example"), example) {
            content["example"] = example.clone();
        }
    }
}

/// A checker asks for bounds everywhere; where a field says none, these hold.
fn bound(value: &mut Value) {
    match value {
        Value::Array(items) => items.iter_mut().for_each(bound),
        Value::Object(members) => {
            merge_description(members);
            bound_schema(members);
            let nested = members
                .iter_mut()
                .filter(|(name, _)| !matches!(name.as_str(), "example" | "examples"));
            nested.for_each(|(_, value)| bound(value));
        }
        _ => {}
    }
}

/// An inlined schema with a description of its own comes as `allOf` of the two, the second of which claims to be an
/// object.
fn merge_description(schema: &mut Map<String, Value>) {
    let Some([Value::Object(own), Value::Object(described)]) =
        schema.get("allOf").and_then(Value::as_array).map(Vec::as_slice)
    else {
        return;
    };
    let says_more = described
        .keys()
        .any(|key| !matches!(key.as_str(), "description" | "type"));
    if let (Some(description), false) = (
        described.get("description"),
        says_more || own.contains_key("$ref"),
    ) {
        let mut merged = own.clone();
        merged.insert("description".to_owned(), description.clone());
        *schema = merged;
    }
}

fn bound_schema(schema: &mut Map<String, Value>) {
    let is = |kind: &str| match schema.get("type") {
        Some(Value::String(name)) => name == kind,
        Some(Value::Array(names)) => names.iter().any(|name| name == kind),
        _ => false,
    };
    let has = |names: &[&str]| names.iter().any(|name| schema.contains_key(*name));
    let mut missing = Vec::new();
    if is("integer") && !has(&["enum"]) {
        if !has(&["minimum"]) {
            missing.push(("minimum", json!(0)));
        }
        if !has(&["maximum"]) {
            missing.push(("maximum", json!(EXACT_MAX)));
        }
        if !has(&["format"]) {
            missing.push(("format", json!("int64")));
        }
    }
    if is("string") && !has(&["enum", "const", "maxLength"]) {
        let most = match schema.get("format").and_then(Value::as_str) {
            Some("uuid") => 36,
            Some("date") => 10,
            _ => 4_096,
        };
        missing.push(("maxLength", json!(most)));
    }
    if is("array") && !has(&["maxItems"]) {
        missing.push(("maxItems", json!(10_000)));
    }
    schema.extend(missing.into_iter().map(|(name, value)| (name.to_owned(), value)));
}

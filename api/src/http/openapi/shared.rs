//! What operations have in common: the problem, the headers, the answers that are no success.

use crate::problem::MEDIA_TYPE;
use serde_json::{Map, Value, json};

/// The answers that are no success: status, name among the components, when it comes.
const PROBLEMS: [(&str, &str, &str); 14] = [
    (
        "400",
        "Invalid",
        "The request cannot be right at any time; `errors` names the field and what would be right",
    ),
    (
        "401",
        "NotSignedIn",
        "There is no access token, or one that does not hold; where one signs in, what was sent lets nobody in",
    ),
    ("403", "RoleMissing", "None of the caller's roles may do this"),
    ("404", "NotHere", "There is no such thing at this site"),
    (
        "406",
        "NotAcceptable",
        "None of the types in `Accept` can be given",
    ),
    (
        "409",
        "RuleForbids",
        "A rule forbids it as things stand; `code` says which",
    ),
    (
        "412",
        "Stale",
        "It was changed meanwhile; `ETag` has the present version",
    ),
    ("413", "TooLarge", "The body is too large"),
    ("415", "TypeNotTaken", "The body is of a type not taken here"),
    (
        "422",
        "KeyReused",
        "The Idempotency-Key was used for another request",
    ),
    ("428", "VersionMissing", "The header If-Match is missing"),
    (
        "429",
        "TooMany",
        "Too many requests; `Retry-After` says when to go on",
    ),
    (
        "503",
        "NotNow",
        "Busy, or the database is away; `Retry-After` says when to send it again, under the same key",
    ),
    (
        "507",
        "NoSpace",
        "The database's disk is full; nothing was written. Send it again, under the same key, when there is room",
    ),
];

pub fn problem_responses() -> Map<String, Value> {
    let response = |description: &str, with_wait: bool| {
        let mut headers = answer_headers();
        if with_wait {
            headers.insert("Retry-After".to_owned(), reference("headers", "RetryAfter"));
        }
        json!({
            "description": description,
            "headers": headers,
            "content": { MEDIA_TYPE: { "schema": reference("schemas", "Problem") } },
        })
    };
    let known = PROBLEMS.iter().map(|(status, name, description)| {
        (
            (*name).to_owned(),
            response(description, matches!(*status, "429" | "503" | "507")),
        )
    });
    let fault = (
        "Fault".to_owned(),
        response(
            "A fault of the service; its log has it under the request's id",
            false,
        ),
    );
    known.chain([fault]).collect()
}

/// A reference to the answer with this status.
pub fn problem(status: &str) -> Value {
    let known = PROBLEMS.iter().find(|(known, ..)| *known == status);
    reference("responses", known.map_or("Fault", |(_, name, _)| name))
}

pub fn reference(kind: &str, name: &str) -> Value {
    json!({ "$ref": format!("#/components/{kind}/{name}") })
}

/// The headers that every answer has.
pub fn answer_headers() -> Map<String, Value> {
    let names = [("X-Request-Id", "RequestId"), ("X-Site-Seq", "SiteSeq")];
    names
        .map(|(header, name)| (header.to_owned(), reference("headers", name)))
        .into_iter()
        .collect()
}

pub fn headers() -> Value {
    let text = |description: &str, schema: Value| json!({ "description": description, "schema": schema });
    let seq =
        json!({ "type": "integer", "format": "int64", "minimum": 0, "maximum": 9_007_199_254_740_991_i64 });
    json!({
        "RequestId": text("The request's id; problems have it as `instance`",
            json!({ "type": "string", "format": "uuid", "maxLength": 36 })),
        "SiteSeq": text("The entry up to which the answer was computed; absent where nobody is signed in", seq),
        "ETag": text("The version of what is shown: the entry that last changed it",
            json!({ "type": "string", "maxLength": 24, "pattern": "^\"[0-9]+\"$" })),
        "Location": text("Where what was made can be read",
            json!({ "type": "string", "format": "uri-reference", "maxLength": 200 })),
        "OutcomeFirstGiven": text("When this answer was given first; absent the first time",
            json!({ "type": "string", "format": "date-time", "maxLength": 40 })),
        "RetryAfter": text("Seconds to wait",
            json!({ "type": "integer", "format": "int32", "minimum": 1, "maximum": 86_400 })),
    })
}

pub fn parameters() -> Value {
    let header = |name: &str, required: bool, description: &str, schema: Value, example: Value| {
        json!({
            "name": name, "in": "header", "required": required, "description": description,
            "schema": schema, "example": example,
        })
    };
    let key = json!({
        "type": "string", "minLength": 32, "maxLength": 38,
        "pattern": "^\"?[0-9a-fA-F]{8}-?[0-9a-fA-F]{4}-?[0-9a-fA-F]{4}-?[0-9a-fA-F]{4}-?[0-9a-fA-F]{12}\"?$",
    });
    let key_example = json!("\"01936b5e-5c00-7000-8000-00000000c0de\"");
    let tag = json!({ "type": "string", "minLength": 1, "maxLength": 64, "pattern": "^(\\*|\"[^\"]*\")$" });
    let tags = json!({ "type": "string", "minLength": 1, "maxLength": 1_000, "pattern": "^.+$" });
    let seq =
        json!({ "type": "integer", "format": "int64", "minimum": 0, "maximum": 9_007_199_254_740_991_i64 });
    json!({
        "IdempotencyKey": header("Idempotency-Key", true,
            "A new UUID with each command; the same one when it is sent again, within 24 hours (a machine client: within 90 days)", key.clone(), key_example.clone()),
        "OptionalIdempotencyKey": header("Idempotency-Key", false,
            "A UUID. Without it, the same request on the same state counts once", key, key_example),
        "IfMatch": header("If-Match", true,
            "The ETag of the version that was changed, or `*` for whatever is there", tag, json!("\"42\"")),
        "IfNoneMatch": header("If-None-Match", false,
            "The ETag that the asker has already; then the answer is 304", tags, json!("\"41\"")),
        "MinSeq": header("Min-Seq", false,
            "Answer from the site as it is after this entry; waits for it up to two seconds", seq, json!(1)),
    })
}

/// RFC 9457 and what is always there beside it. Facts of the refusal are further members.
pub fn problem_schema() -> Value {
    let text = |most: usize, description: &str| json!({ "type": "string", "maxLength": most, "description": description });
    json!({
        "type": "object",
        "description": "What is wrong, and what would be right (RFC 9457). Facts of a refusal are further members.",
        "required": ["type", "title", "status", "detail", "code", "retryable"],
        "properties": {
            "type": { "type": "string", "format": "uri-reference", "maxLength": 100,
                "description": "/problems/ and the code; a GET there says what it means" },
            "title": text(200, "What is fixed about the code, in words"),
            "status": { "type": "integer", "format": "int32", "minimum": 400, "maximum": 599 },
            "detail": text(4_096, "A sentence with the values"),
            "instance": { "type": "string", "format": "uri", "maxLength": 60, "description": "The request's id" },
            "code": { "type": "string", "maxLength": 80, "pattern": "^[a-z-]+\\.[a-z0-9-]+$",
                "description": "Stable; programs go by it" },
            "retryable": { "type": "boolean",
                "description": "The same request can succeed later without anybody changing it" },
            "errors": { "type": "array", "maxItems": 100, "items": reference("schemas", "FieldError") },
        },
        "examples": [{
            "type": "/problems/body.invalid", "title": "A field of the body is wrong", "status": 400,
            "detail": "/code: `code` is missing; it is required.",
            "instance": "urn:uuid:01936b5e-5c00-7000-8000-0000000000aa",
            "code": "body.invalid", "retryable": false,
            "errors": [{ "pointer": "/code", "code": "missing", "detail": "`code` is missing; it is required" }],
        }],
    })
}

pub fn field_error_schema() -> Value {
    let text = |most: usize, description: &str| json!({ "type": "string", "maxLength": most, "description": description });
    json!({
        "type": "object",
        "description": "One wrong field: exactly one of `pointer`, `parameter` and `header` says where it stands.",
        "required": ["code", "detail"],
        "properties": {
            "pointer": text(400, "A JSON pointer (RFC 6901) into the body"),
            "parameter": text(80, "A parameter of path or query"),
            "header": text(80, "A header"),
            "code": text(80, "What kind of wrong"),
            "detail": text(4_096, "What is wrong, and what would be right"),
        },
    })
}

pub fn tags() -> Value {
    let tag = |name: &str, description: &str| json!({ "name": name, "description": description });
    json!([
        tag("Session", "Signing in, refreshing, signing out"),
        tag("Users", "The people of a site and their roles"),
        tag("Clients", "Machine clients and their tokens"),
        tag(
            "Tablets",
            "Enrolled tablets, who is badged in on them, and what they deliver"
        ),
        tag("Runs", "Passages of a load through a spindle"),
        tag("Holds", "Loads that wait for somebody who decides"),
        tag(
            "Late acts",
            "What was told afterwards and waits to be settled, and what happened against a rule"
        ),
        tag("Site", "The shop itself"),
        tag("Calendars", "Working calendars and staffed time"),
        tag(
            "Cells",
            "Machines fed by one pool of pallets, and standalone machines"
        ),
        tag("Machines", "Each has one spindle"),
        tag("Pallets", "What each may carry, and where it stands"),
        tag("Fixtures", "Workholding in copies, each of which exists once"),
        tag("Parts", "Revisions, and the operations that make one"),
        tag("Customers", "Who orders, and which quantities they take"),
        tag("Vendors", "Who does steps outside, and on which days"),
        tag("Orders", "What customers want, line by line, until it is shipped"),
        tag(
            "Jobs",
            "Released lines: where their pieces are, and steps outside"
        ),
        tag("Signals", "What machines tell of themselves"),
        tag("Plans", "Which spindle is meant to cut when"),
        tag(
            "Hours",
            "Planned and realised spindle hours, and the entries behind them"
        ),
        tag("Ledger", "The append-only ledger of a site"),
        tag("Notes", "Free texts beside the ledger, which can be forgotten"),
        tag("Health", "Whether the service lives and can do its work"),
        tag("Problems", "What problem codes mean"),
        tag("Documents", "This document"),
    ])
}

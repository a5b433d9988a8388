use super::{Code, MEDIA_TYPE, Problem, table};
use crate::http::body::parse;
use crate::http::whole::Whole;
use crate::request_id;
use actix_web::ResponseError;
use actix_web::http::header;
use serde::Deserialize;
use serde_json::Value;
use spindlebook_domain::access::AccessRefusal;
use spindlebook_domain::refusal::Refusal;
use std::collections::BTreeSet;
use uuid::Uuid;

fn json_of(problem: &Problem) -> Value {
    serde_json::from_slice(&problem.body()).unwrap()
}

#[test]
fn every_code_is_listed_once_with_a_status_and_a_title() {
    let rows = table();
    let codes: BTreeSet<_> = rows.iter().map(|row| row.code).collect();
    assert_eq!(codes.len(), rows.len());
    assert!(
        rows.iter()
            .all(|row| (400..600).contains(&row.status) && !row.title.is_empty())
    );
    // Only a reused key is a 422; checkers of the OpenAPI document take it for a bad schema elsewhere.
    let unprocessable: Vec<_> = rows
        .iter()
        .filter(|row| row.status == 422)
        .map(|row| row.code)
        .collect();
    assert_eq!(unprocessable, ["idempotency-key.reused"]);
    assert_eq!(rows.len(), Code::ALL.len() + Refusal::all_codes().len());
}

// The members: RFC 9457, section 3.1.
#[tokio::test]
async fn a_refusal_becomes_a_problem_with_its_facts() {
    let refusal = Refusal::from(AccessRefusal::Stale {
        expected: 4,
        current: 7,
    });
    let id = Uuid::from_u128(5);
    let (body, response) = request_id::under(id, async {
        let problem = Problem::from(&refusal);
        (json_of(&problem), problem.error_response())
    })
    .await;
    assert_eq!(body["type"], "/problems/principal.stale");
    assert_eq!(body["title"], "Principal stale");
    assert_eq!(body["status"], 412);
    assert_eq!(body["detail"], refusal.to_string());
    assert_eq!(body["instance"], format!("urn:uuid:{id}"));
    assert_eq!(
        (&body["expected"], &body["current"]),
        (&Value::from(4), &Value::from(7))
    );
    assert_eq!(response.headers().get(header::ETAG).unwrap(), "\"7\"");
    assert_eq!(response.headers().get(header::CONTENT_TYPE).unwrap(), MEDIA_TYPE);
}

#[test]
fn a_refusal_that_is_about_a_field_points_at_it() {
    let body = json_of(&Problem::from(Refusal::from(AccessRefusal::LoginTaken {})));
    assert_eq!(body["status"], 409);
    assert_eq!(body["errors"][0]["pointer"], "/login");
    assert_eq!(body["errors"][0]["code"], "principal.login-taken");
}

#[test]
fn a_fault_says_nothing_of_its_inside() {
    let problem = Problem::fault(&"password=hunter2 at /var/lib");
    assert_eq!(problem.status().as_u16(), 500);
    assert!(!String::from_utf8(problem.body()).unwrap().contains("hunter2"));
}

#[test]
fn a_member_cannot_displace_a_standard_one() {
    let body = json_of(
        &Problem::new(Code::Busy, "later")
            .with("status", 200)
            .with_retry_after_s(0),
    );
    assert_eq!(body["status"], 503);
    assert_eq!(body["retry_after_s"], 1);
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Shelf {
    #[serde(rename = "code")]
    _code: spindlebook_domain::code::Code,
    #[serde(rename = "boxes", default)]
    _boxes: Vec<Box>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Box {
    #[serde(rename = "pieces")]
    _pieces: Whole<1, 500>,
    #[serde(rename = "a/b", default)]
    _odd: Option<Kind>,
}

#[derive(Debug, Deserialize)]
#[serde(rename_all = "snake_case")]
enum Kind {
    Steel,
    Brass,
}

#[test]
fn a_wrong_field_is_named_with_what_would_be_right() {
    for (json, code, pointer, right) in [
        (
            r#"{"code":"A","boxs":[]}"#,
            "unknown",
            "/boxs",
            "did you mean `boxes`?",
        ),
        (
            r#"{"code":"A","zzz":1}"#,
            "unknown",
            "/zzz",
            "Known: `code`, `boxes`",
        ),
        (
            r#"{"code":"A","boxes":[{"pieces":1},{"piece":1}]}"#,
            "unknown",
            "/boxes/1/piece",
            "did you mean `pieces`?",
        ),
        (r#"{"boxes":[]}"#, "missing", "/code", "it is required"),
        (
            r#"{"code":"A","boxes":[{}]}"#,
            "missing",
            "/boxes/0/pieces",
            "it is required",
        ),
        (r#"{"code":"A","code":"B"}"#, "repeated", "/code", "send it once"),
        (r#"{"code":"two words"}"#, "invalid", "/code", "1 to 32 letters"),
        (r#"{"code":7}"#, "wrong-type", "/code", "expected a string"),
        (
            r#"{"code":"A","boxes":[{"pieces":0}]}"#,
            "invalid",
            "/boxes/0/pieces",
            "a whole number from 1 to 500",
        ),
        (
            r#"{"code":"A","boxes":[{"pieces":1,"a/b":"bras"}]}"#,
            "unknown",
            "/boxes/0/a~1b",
            "did you mean `brass`?",
        ),
        (r#"["A",[]]"#, "wrong-type", "", "expected an object"),
        ("7", "wrong-type", "", "expected an object"),
        (
            r#"{"code":"A","boxes":{}}"#,
            "wrong-type",
            "/boxes",
            "type: object, expected an array",
        ),
    ] {
        let body = json_of(&parse::<Shelf>(json.as_bytes()).unwrap_err());
        assert_eq!(body["code"], "body.invalid", "{json}: {body}");
        let error = &body["errors"][0];
        assert_eq!(
            (error["code"].as_str(), error["pointer"].as_str()),
            (Some(code), Some(pointer)),
            "{json}: {body}"
        );
        assert!(
            error["detail"].as_str().unwrap().contains(right),
            "{json}: {body}"
        );
    }
    assert!(parse::<Shelf>(br#"{"code":"A","boxes":[{"pieces":2.0}]}"#).is_ok());
}

#[test]
fn what_is_not_json_is_malformed() {
    for json in ["", "{", "{\"code\":\"A\"} trailing", "\u{0}", "{'code':1}", "NaN"] {
        let body = json_of(&parse::<Shelf>(json.as_bytes()).unwrap_err());
        assert_eq!(body["code"], "body.malformed", "{json}: {body}");
    }
}

#[test]
fn nesting_without_end_is_refused() {
    let deep = format!(r#"{{"boxes":{}"#, "[".repeat(100_000));
    assert_eq!(
        parse::<Value>(deep.as_bytes()).unwrap_err().code(),
        "body.malformed"
    );
    assert_eq!(
        parse::<Shelf>(deep.as_bytes()).unwrap_err().status().as_u16(),
        400
    );
}

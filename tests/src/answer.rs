//! What a caller got back, and what a test says about it.

use crate::sse;
use actix_web::web::Bytes;
use reqwest::header::{CONTENT_TYPE, HeaderMap};
use reqwest::{Response, StatusCode};
use serde_json::Value;

/// A whole answer.
#[derive(Clone, Debug)]
pub struct Answer {
    pub status: StatusCode,
    pub headers: HeaderMap,
    pub body: Vec<u8>,
    /// Method and path, for the message of a test that fails.
    asked: String,
}

impl Answer {
    pub(crate) async fn of(response: Response, asked: String) -> Self {
        let (status, headers) = (response.status(), response.headers().clone());
        // A live stream has no end to wait for: see `crate::sse`.
        let is_stream = headers
            .get(CONTENT_TYPE)
            .is_some_and(|kind| kind == sse::MEDIA_TYPE);
        let body = if is_stream {
            Bytes::default()
        } else {
            let whole = response.bytes().await;
            whole.unwrap_or_else(|error| panic!("{asked}: half an answer: {error}"))
        };
        Self {
            status,
            headers,
            body: body.to_vec(),
            asked,
        }
    }

    pub fn header(&self, name: &str) -> Option<&str> {
        self.headers.get(name)?.to_str().ok()
    }

    pub fn text(&self) -> String {
        String::from_utf8_lossy(&self.body).into_owned()
    }

    #[track_caller]
    pub fn json(&self) -> Value {
        serde_json::from_slice(&self.body)
            .unwrap_or_else(|error| panic!("{}: no JSON ({error}): {}", self.asked, self.text()))
    }

    /// The string at a JSON pointer, as `/id`.
    #[track_caller]
    pub fn string(&self, pointer: &str) -> String {
        match self.json().pointer(pointer) {
            Some(Value::String(text)) => text.clone(),
            _ => panic!("{}: no string at {pointer}: {}", self.asked, self.text()),
        }
    }

    #[track_caller]
    pub fn etag(&self) -> String {
        match self.header("ETag") {
            Some(tag) => tag.to_owned(),
            None => panic!("{}: no ETag with {}", self.asked, self.status),
        }
    }

    /// The answer itself, so that a test goes on from here.
    #[track_caller]
    #[expect(
        clippy::return_self_not_must_use,
        reason = "for most tests the status is all there is to say"
    )]
    pub fn expect_status(self, status: u16) -> Self {
        assert_eq!(self.status.as_u16(), status, "{}: {}", self.asked, self.text());
        self
    }

    /// A problem with this status and code, shaped as RFC 9457 says (section 3.1: `type`, `title`, `status`, `detail`,
    /// `instance`), and with what the conventions of this service add.
    #[track_caller]
    pub fn expect_problem(&self, status: u16, code: &str) -> Value {
        assert_eq!(self.status.as_u16(), status, "{}: {}", self.asked, self.text());
        assert_eq!(
            self.header("Content-Type"),
            Some("application/problem+json"),
            "{}: {}",
            self.asked,
            self.text()
        );
        let problem = self.json();
        assert_eq!(problem["code"], code, "{}: {problem}", self.asked);
        assert_eq!(problem["status"], status, "{}: {problem}", self.asked);
        assert_eq!(
            problem["type"],
            format!("/problems/{code}"),
            "{}: {problem}",
            self.asked
        );
        for member in ["title", "detail", "instance"] {
            let text = problem[member].as_str().unwrap_or_default();
            assert!(!text.is_empty(), "{}: no `{member}` in {problem}", self.asked);
        }
        problem
    }

    /// A problem about one field: `pointer` names it, or a parameter of path or query, or a header.
    #[track_caller]
    pub fn expect_field_problem(&self, status: u16, code: &str, place: &str) -> Value {
        let problem = self.expect_problem(status, code);
        let errors = problem["errors"].as_array().cloned().unwrap_or_default();
        let names_it = |error: &Value| {
            ["pointer", "parameter", "header"]
                .iter()
                .any(|kind| error[kind] == place)
        };
        let Some(error) = errors.iter().find(|error| names_it(error)) else {
            panic!("{}: no error at `{place}`: {problem}", self.asked);
        };
        assert!(
            error["detail"].as_str().is_some_and(|detail| !detail.is_empty()),
            "{}: {problem}",
            self.asked
        );
        problem
    }
}

//! The answer to a question: JSON with the version that it shows, and 304 where the asker has that one already.

use crate::problem::Problem;
use actix_web::body::BoxBody;
use actix_web::http::{StatusCode, header};
use actix_web::{HttpRequest, HttpResponse, Responder};
use serde::Serialize;
use spindlebook_domain::ids::Seq;

#[derive(Debug)]
pub struct Shown {
    status: StatusCode,
    body: Vec<u8>,
    etag: Option<String>,
    is_personal: bool,
    content_type: &'static str,
}

impl Shown {
    pub fn new(body: &impl Serialize) -> Result<Self, Problem> {
        let body = serde_json::to_vec(body).map_err(|error| Problem::fault(&error))?;
        Ok(Self {
            status: StatusCode::OK,
            body,
            etag: None,
            is_personal: false,
            content_type: "application/json",
        })
    }

    /// What is no JSON.
    pub fn of_type(content_type: &'static str, body: Vec<u8>) -> Self {
        Self {
            status: StatusCode::OK,
            body,
            etag: None,
            is_personal: false,
            content_type,
        }
    }

    /// The entry that last changed what is shown.
    #[must_use]
    pub fn at(self, changed_seq: Seq) -> Self {
        Self {
            etag: Some(format!("\"{changed_seq}\"")),
            ..self
        }
    }

    /// Names or secrets are in it: nothing between here and the reader may keep it.
    #[must_use]
    pub fn personal(self) -> Self {
        Self {
            is_personal: true,
            ..self
        }
    }
}

impl Responder for Shown {
    type Body = BoxBody;

    fn respond_to(self, request: &HttpRequest) -> HttpResponse {
        let known = request
            .headers()
            .get(header::IF_NONE_MATCH)
            .and_then(|value| value.to_str().ok());
        let is_known = self.etag.as_ref().is_some_and(|etag| {
            // RFC 9110, section 13.1.2: compared weakly, any of a list, `*` for all.
            let tags = known
                .unwrap_or_default()
                .split(',')
                .map(|tag| tag.trim().trim_start_matches("W/"));
            tags.into_iter().any(|tag| tag == etag || tag == "*")
        });
        let mut response = HttpResponse::build(if is_known {
            StatusCode::NOT_MODIFIED
        } else {
            self.status
        });
        if let Some(etag) = self.etag {
            response.insert_header((header::ETAG, etag));
        }
        if self.is_personal {
            response.insert_header((header::CACHE_CONTROL, "no-store"));
        }
        if is_known {
            response.finish()
        } else {
            response.content_type(self.content_type).body(self.body)
        }
    }
}

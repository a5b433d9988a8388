//! The answer to a command as it goes out.

use crate::auth::SiteSeq;
use crate::book::Submitted;
use crate::problem::MEDIA_TYPE;
use actix_web::body::BoxBody;
use actix_web::http::{StatusCode, header};
use actix_web::{HttpMessage, HttpRequest, HttpResponse, Responder};
use spindlebook_domain::ids::Seq;

pub const FIRST_GIVEN: &str = "outcome-first-given";

/// The answer as it goes out.
#[derive(Debug)]
pub struct Answered {
    pub(super) submitted: Submitted,
    pub(super) seq: Option<Seq>,
}

impl Answered {
    /// Adds a member that is shown once and kept nowhere. A repeated answer comes without it.
    #[must_use]
    pub fn with_once(self, name: &str, value: &str) -> Self {
        match self.submitted {
            Submitted::First(_) => self.with_fresh(name, value),
            Submitted::Repeat { .. } => self,
        }
    }

    /// Adds a member that is made anew for each answer and kept nowhere.
    #[must_use]
    pub fn with_fresh(mut self, name: &str, value: &str) -> Self {
        let (Submitted::First(answer) | Submitted::Repeat { answer, .. }) = &mut self.submitted;
        if answer.status < 300
            && let Ok(serde_json::Value::Object(mut body)) = serde_json::from_slice(&answer.body)
        {
            body.insert(name.to_owned(), value.into());
            answer.body = serde_json::Value::Object(body).to_string().into_bytes();
        }
        self
    }

    /// A text of the answer's body.
    pub fn member(&self, name: &str) -> Option<String> {
        let (Submitted::First(answer) | Submitted::Repeat { answer, .. }) = &self.submitted;
        let body: serde_json::Value = serde_json::from_slice(&answer.body).ok()?;
        body.get(name)?.as_str().map(str::to_owned)
    }

    /// Whether the command was accepted, now or before.
    pub fn is_accepted(&self) -> bool {
        match &self.submitted {
            Submitted::First(answer) | Submitted::Repeat { answer, .. } => answer.status < 300,
        }
    }
}

impl Responder for Answered {
    type Body = BoxBody;

    fn respond_to(self, request: &HttpRequest) -> HttpResponse {
        let (answer, first_given_at) = match self.submitted {
            Submitted::First(answer) => (answer, None),
            Submitted::Repeat {
                answer,
                first_given_at,
            } => (answer, Some(first_given_at)),
        };
        let status = StatusCode::from_u16(answer.status).unwrap_or(StatusCode::INTERNAL_SERVER_ERROR);
        let mut response = HttpResponse::build(status);
        if let Some(etag) = answer.etag {
            response.insert_header((header::ETAG, etag));
        }
        if let Some(location) = answer.location {
            response.insert_header((header::LOCATION, location));
        }
        if let Some(at) = first_given_at {
            response.insert_header((FIRST_GIVEN, at.to_string()));
        }
        if let Some(seq) = self.seq {
            request.extensions_mut().insert(SiteSeq(seq));
        }
        if status == StatusCode::NO_CONTENT {
            return response.finish();
        }
        let is_problem = status.is_client_error() || status.is_server_error();
        response
            .content_type(if is_problem {
                MEDIA_TYPE
            } else {
                "application/json"
            })
            .body(answer.body)
    }
}

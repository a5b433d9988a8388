//! The one place that knows HTTP errors: RFC 9457 problem details for everything that is not a success.
//!
//! Three kinds with three fates: a refusal (the caller can act on it), a conflict (worth trying again), and a fault
//! (logged once, with nothing of its inside in the answer).

mod codes;
mod fields;
mod routes;
#[cfg(test)]
mod tests;

pub use codes::{Code, CodeRow, table};
pub use fields::{FieldError, Place};
pub(crate) use fields::{explain, explain_json};
pub use routes::{Routes, path_config, unmatched};

use crate::book::{BookError, LedgerError};
use crate::request_id;
use actix_web::http::StatusCode;
use actix_web::http::header::{self, HeaderName, HeaderValue};
use actix_web::{HttpResponse, ResponseError};
use serde_json::{Map, Value, json};
use spindlebook_domain::ids::Seq;
use spindlebook_domain::refusal::{Fact, Refusal, RefusalKind};
use spindlebook_store::StoreError;
use std::borrow::Cow;
use std::fmt;

pub const MEDIA_TYPE: &str = "application/problem+json";

/// Somebody has to do something first.
const HALTED_RETRY_AFTER_S: u64 = 60;

/// One answer that is not a success. Boxed: it travels in every `Result` of the handlers.
#[derive(Debug)]
pub struct Problem(Box<Parts>);

#[derive(Debug)]
struct Parts {
    code: &'static str,
    title: Cow<'static, str>,
    status: StatusCode,
    retryable: bool,
    detail: String,
    errors: Vec<FieldError>,
    members: Map<String, Value>,
    headers: Vec<(HeaderName, HeaderValue)>,
}

impl Problem {
    pub fn new(code: Code, detail: impl Into<String>) -> Self {
        Self(Box::new(Parts {
            code: code.as_str(),
            title: Cow::Borrowed(code.title()),
            status: code.status(),
            retryable: code.is_retryable(),
            detail: detail.into(),
            errors: Vec::new(),
            members: Map::new(),
            headers: Vec::new(),
        }))
    }

    /// Something failed that no caller can put right. The cause is logged here, once, and told to nobody.
    pub fn fault(cause: &dyn fmt::Display) -> Self {
        let request = request_id::current().map(|id| id.to_string()).unwrap_or_default();
        tracing::error!(request_id = %request, "fault while answering request {request}: {cause}");
        Self::new(
            Code::Fault,
            "It is not your doing. Tell whoever keeps this service the request id in `instance`.",
        )
    }

    #[must_use]
    pub fn with_field(mut self, error: FieldError) -> Self {
        self.0.errors.push(error);
        self
    }

    /// A member of the problem beside the standard ones.
    #[must_use]
    pub fn with(mut self, name: &str, value: impl Into<Value>) -> Self {
        self.0.members.insert(name.to_owned(), value.into());
        self
    }

    #[must_use]
    pub fn with_retry_after_s(self, seconds: u64) -> Self {
        let seconds = seconds.max(1);
        self.with("retry_after_s", seconds)
            .with_header(header::RETRY_AFTER, &seconds.to_string())
    }

    #[must_use]
    pub fn with_etag(self, seq: Seq) -> Self {
        self.with_header(header::ETAG, &format!("\"{seq}\""))
    }

    #[must_use]
    pub fn with_header(mut self, name: HeaderName, value: &str) -> Self {
        match HeaderValue::from_str(value) {
            Ok(value) => self.0.headers.push((name, value)),
            Err(error) => tracing::error!("the header {name} cannot hold {value:?}: {error}"),
        }
        self
    }

    pub fn code(&self) -> &'static str {
        self.0.code
    }

    pub fn status(&self) -> StatusCode {
        self.0.status
    }

    /// The value of the ETag header, if the problem has one.
    pub fn etag(&self) -> Option<String> {
        let tag = self.0.headers.iter().find(|(name, _)| *name == header::ETAG);
        tag.and_then(|(_, value)| value.to_str().ok()).map(str::to_owned)
    }

    /// The body as it is sent, under the id of the current request.
    pub fn body(&self) -> Vec<u8> {
        let parts = &*self.0;
        let mut body = json!({
            "type": format!("/problems/{}", parts.code),
            "title": parts.title,
            "status": parts.status.as_u16(),
            "detail": parts.detail,
            "code": parts.code,
            "retryable": parts.retryable,
        });
        if let Value::Object(body) = &mut body {
            if let Some(id) = request_id::current() {
                body.insert("instance".to_owned(), Value::String(format!("urn:uuid:{id}")));
            }
            if !parts.errors.is_empty() {
                body.insert(
                    "errors".to_owned(),
                    parts.errors.iter().map(FieldError::to_json).collect(),
                );
            }
            for (name, value) in &parts.members {
                body.entry(name.as_str()).or_insert_with(|| value.clone());
            }
        }
        body.to_string().into_bytes()
    }
}

/// The status of a rule's "no".
pub const fn status_of(kind: RefusalKind) -> StatusCode {
    match kind {
        RefusalKind::Invalid => StatusCode::BAD_REQUEST,
        RefusalKind::Forbidden => StatusCode::FORBIDDEN,
        RefusalKind::NotFound => StatusCode::NOT_FOUND,
        RefusalKind::Rule => StatusCode::CONFLICT,
        RefusalKind::Stale => StatusCode::PRECONDITION_FAILED,
    }
}

impl From<&Refusal> for Problem {
    /// The facts of the refusal become members; of a stale one also the ETag to try again with.
    fn from(refusal: &Refusal) -> Self {
        let detail = refusal.to_string();
        let mut problem = Self(Box::new(Parts {
            code: refusal.code(),
            title: Cow::Owned(codes::title_of_refusal(refusal.code())),
            status: status_of(refusal.kind()),
            retryable: false,
            detail: detail.clone(),
            errors: Vec::new(),
            members: Map::new(),
            headers: Vec::new(),
        }));
        for (name, fact) in refusal.facts() {
            if let (RefusalKind::Stale, "current", Fact::Integer(seq)) = (refusal.kind(), name, &fact) {
                problem = problem.with_etag(seq.unsigned_abs());
            }
            problem = problem.with(name, json_of(fact));
        }
        let pointer = refusal.pointer();
        if !pointer.is_empty() {
            problem = problem.with_field(FieldError::at(Place::pointer(pointer), refusal.code(), detail));
        }
        problem
    }
}

impl From<BookError> for Problem {
    fn from(error: BookError) -> Self {
        match error {
            BookError::Busy { retry_after_s } => Self::new(
                Code::Busy,
                "Too many commands are waiting; send this one again, under the same key.",
            )
            .with_retry_after_s(retry_after_s.into()),
            BookError::KeyReused { first_given_at, .. } => {
                let detail =
                    "This Idempotency-Key was used for another request; send a new UUID with a new command.";
                let field =
                    FieldError::at(Place::Header("Idempotency-Key"), Code::KeyReused.as_str(), detail);
                Self::new(Code::KeyReused, detail)
                    .with_field(field)
                    .with("first_given_at", first_given_at.to_string())
            }
            BookError::Halted { reason } => {
                Self::new(Code::Halted, format!("The site can only be read: {reason}."))
                    .with_retry_after_s(HALTED_RETRY_AFTER_S)
            }
            BookError::StorageUnavailable { retry_after_s } => {
                let detail = "Whether the command was taken is not known; send it again, under the same key.";
                Self::new(Code::StorageUnavailable, detail).with_retry_after_s(retry_after_s.into())
            }
            BookError::StorageFull => {
                let detail = "Nothing was written. Make room on the database's disk, then send it again.";
                Self::new(Code::StorageFull, detail).with_retry_after_s(HALTED_RETRY_AFTER_S)
            }
            BookError::StorageGone { retry_after_s } => {
                let detail = "The file of the database was deleted or replaced; the service's log names it. Whoever \
                              looks after the service must put it back; then send this again, under the same key.";
                Self::new(Code::StorageGone, detail).with_retry_after_s(retry_after_s.into())
            }
            BookError::UnknownSite(site) => Self::new(Code::NotFound, format!("There is no site {site}.")),
            BookError::Fault(cause) => Self::fault(&cause),
        }
    }
}

/// Of what a reader asked the database for.
impl From<StoreError> for Problem {
    fn from(error: StoreError) -> Self {
        match error {
            StoreError::Unavailable(_) | StoreError::CommitUnknown(_) => {
                tracing::warn!("{error}");
                Self::new(
                    Code::StorageUnavailable,
                    "The database does not answer; ask again.",
                )
                .with_retry_after_s(1)
            }
            StoreError::Full(_) => Self::from(BookError::StorageFull),
            StoreError::Gone(_) => {
                tracing::error!("{error}");
                Self::from(BookError::from(&error))
            }
            StoreError::Constraint(_)
            | StoreError::Unreadable(_)
            | StoreError::Refused(_)
            | StoreError::Failed(_) => Self::fault(&error),
        }
    }
}

impl From<LedgerError> for Problem {
    fn from(error: LedgerError) -> Self {
        match error {
            LedgerError::Store(error) => error.into(),
            LedgerError::Refused(refusal) => refusal.into(),
            LedgerError::Book(error) => error.into(),
            LedgerError::UnknownSite(site) => BookError::UnknownSite(site).into(),
            LedgerError::Fold(_) | LedgerError::CodeTaken(_) => Self::fault(&error),
        }
    }
}

impl From<Refusal> for Problem {
    fn from(refusal: Refusal) -> Self {
        Self::from(&refusal)
    }
}

fn json_of(fact: Fact) -> Value {
    match fact {
        Fact::Text(text) => Value::String(text),
        Fact::Integer(number) => Value::from(number),
        Fact::Instant(at) => Value::String(at.to_string()),
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}: {}", self.0.status.as_u16(), self.0.code, self.0.detail)
    }
}

impl std::error::Error for Problem {}

impl ResponseError for Problem {
    fn status_code(&self) -> StatusCode {
        self.0.status
    }

    fn error_response(&self) -> HttpResponse {
        let mut response = HttpResponse::build(self.0.status);
        for header in &self.0.headers {
            response.append_header(header.clone());
        }
        response.content_type(MEDIA_TYPE).body(self.body())
    }
}

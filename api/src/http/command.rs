//! The road of a command from a request to the book and back: guard, key, body, submission, answer. A handler says
//! only which command the body means and what the answer shows.

mod answered;
pub mod headers;
mod reused;

pub use self::answered::{Answered, FIRST_GIVEN};

use self::headers::{IfMatch, derived_key, fingerprint, has_body, if_match_of, key_of};
use self::reused::key_reused;
use super::body::{Body, parse_canonical, read_bytes, takes_type};
use super::late::dto as late;
use crate::auth::guard::part;
use crate::auth::{Auth, Caller, Permit};
use crate::book::{Answer, Book, Decision, PrivateRows, Recorded, Submission};
use crate::problem::{Code, FieldError, Place, Problem};
use crate::request_id;
use actix_web::dev::Payload;
use actix_web::http::StatusCode;
use actix_web::web::Data;
use actix_web::{FromRequest, HttpRequest};
use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};
use spindlebook_domain::actor::Actor;
use spindlebook_domain::command::Command;
use spindlebook_domain::ids::{CommandId, HoldId, ParkedId, PrincipalId, Seq, SiteId};
use spindlebook_domain::late::ReportAct;
use spindlebook_domain::shop::Shop;
use spindlebook_domain::time::Timestamp;
use std::future::Future;
use std::pin::Pin;
use uuid::Uuid;

pub const SITE_SEQ: &str = "x-site-seq";

/// A request that asks for a change: who asks, what for, and the submission that only lacks its command.
pub struct Act<O, B = NoBody> {
    pub caller: Caller<O>,
    pub body: B,
    pub draft: Draft,
}

/// For operations whose path says everything. Nothing at all is taken for `{}`.
#[derive(Clone, Copy, Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NoBody {}

/// A submission without its command.
pub struct Draft {
    book: Data<Book>,
    site: SiteId,
    actor: Actor,
    device: Option<PrincipalId>,
    key: CommandId,
    fingerprint: [u8; 32],
    if_match: IfMatch,
    received_at: Timestamp,
    happened_at: Option<Timestamp>,
    occurred_at: Option<Timestamp>,
    private: PrivateRows,
    is_reported: bool,
    /// The body, of an act on the floor.
    sent: Option<Vec<u8>>,
}

/// What an accepted command led to, for the handler's answer.
pub struct Accepted<'a> {
    pub entries: &'a [Recorded],
    /// After these entries.
    pub shop: &'a Shop,
}

/// A handler's answer to an accepted command.
#[derive(Debug)]
pub struct Reply {
    status: StatusCode,
    body: Vec<u8>,
    etag: Option<Seq>,
    location: Option<String>,
}

impl Reply {
    pub fn ok(body: &impl Serialize) -> Self {
        Self::with_status(StatusCode::OK, body)
    }

    pub fn created(location: String, body: &impl Serialize) -> Self {
        Self {
            location: Some(location),
            ..Self::with_status(StatusCode::CREATED, body)
        }
    }

    /// It was taken and is kept, and cannot be booked yet.
    pub fn parked(location: String, body: &impl Serialize) -> Self {
        Self {
            location: Some(location),
            ..Self::with_status(StatusCode::ACCEPTED, body)
        }
    }

    pub fn no_content() -> Self {
        Self {
            status: StatusCode::NO_CONTENT,
            body: Vec::new(),
            etag: None,
            location: None,
        }
    }

    /// The version of the thing that the answer shows.
    #[must_use]
    pub fn at(self, changed_seq: Seq) -> Self {
        Self {
            etag: Some(changed_seq),
            ..self
        }
    }

    fn with_status(status: StatusCode, body: &impl Serialize) -> Self {
        match serde_json::to_vec(body) {
            Ok(body) => Self {
                status,
                body,
                etag: None,
                location: None,
            },
            Err(error) => {
                let problem = Problem::fault(&error);
                Self {
                    status: problem.status(),
                    body: problem.body(),
                    etag: None,
                    location: None,
                }
            }
        }
    }
}

pub type Outcome = Result<Answered, Problem>;

impl Draft {
    /// The version that the change was made on, from `If-Match`. `None`: whatever is there (`*`).
    pub fn if_match(&self) -> Result<Option<Seq>, Problem> {
        match self.if_match {
            IfMatch::Version(seq) => Ok(Some(seq)),
            IfMatch::Any => Ok(None),
            IfMatch::Missing => {
                let detail = "Send the header If-Match with the ETag of the version that you changed.";
                let field = FieldError::at(Place::Header("If-Match"), "missing", detail);
                Err(Problem::new(Code::IfMatchMissing, detail).with_field(field))
            }
        }
    }

    pub fn book(&self) -> &Book {
        &self.book
    }

    /// Of the request: the same key with another one is a slip.
    pub const fn fingerprint(&self) -> &[u8; 32] {
        &self.fingerprint
    }

    /// Where the body says no time: by the service's clock, or when it was tapped if a tablet delivers it.
    pub fn now(&self) -> Timestamp {
        self.happened_at.unwrap_or_else(|| self.book.now())
    }

    /// The key under which its answer is kept.
    pub const fn key(&self) -> CommandId {
        self.key
    }

    /// When the head of the request arrived. What its sender's clock read is held against this: a body that takes long
    /// on its way makes no clock wrong.
    pub const fn received_at(&self) -> Timestamp {
        self.received_at
    }

    /// When it happened on the floor, where that is not now.
    #[must_use]
    pub fn occurred_at(self, at: Option<Timestamp>) -> Self {
        Self {
            occurred_at: at,
            ..self
        }
    }

    /// What is stored beside the ledger if the command is accepted.
    #[must_use]
    pub fn with_private(self, private: PrivateRows) -> Self {
        Self { private, ..self }
    }

    /// It has happened already: what cannot be booked as things stand is parked instead of refused.
    #[must_use]
    pub fn reported(self, is_reported: bool) -> Self {
        let is_reported = self.is_reported || is_reported;
        Self { is_reported, ..self }
    }

    /// What this very request was answered before, if it was.
    pub async fn answered_before(&self) -> Result<Option<Answered>, Problem> {
        let before = self
            .book
            .answered(self.site, self.actor, self.key, &self.fingerprint)
            .await?;
        Ok(before.map(|submitted| Answered {
            submitted,
            seq: self.seq(),
        }))
    }

    fn seq(&self) -> Option<Seq> {
        self.book.shop(self.site).map(|shop| shop.seq)
    }

    /// Waits until the command is decided and the outcome is durable. `reply` may run more than once; it gives `None`
    /// only where the shop lacks what the command has just made.
    pub async fn submit(
        self,
        command: impl Into<Command>,
        reply: impl Fn(&Accepted<'_>) -> Option<Reply> + Send + Sync + 'static,
    ) -> Outcome {
        let request = request_id::current();
        let command = command.into();
        let command = if self.is_reported {
            ReportAct::of(command, ParkedId(new_id()), HoldId(new_id()))
        } else {
            command
        };
        let reply = move |accepted: &Accepted<'_>| late::parked(accepted).or_else(|| reply(accepted));
        let answer = move |decision: &Decision<'_>| match request {
            Some(id) => request_id::under_sync(id, || answer_to(decision, &reply)),
            None => answer_to(decision, &reply),
        };
        let submission = Submission {
            actor: self.actor,
            device: self.device.map(|device| device.to_string()),
            key: self.key,
            fingerprint: self.fingerprint,
            occurred_at: self.occurred_at.or(self.happened_at),
            command,
            private: self.private,
            answer: Box::new(answer),
        };
        let submitted = match self.book.submit(self.site, submission).await {
            Ok(submitted) => submitted,
            Err(error) => return Err(key_reused(&self.book, self.site, self.sent.as_deref(), error).await),
        };
        Ok(Answered {
            submitted,
            seq: self.book.shop(self.site).map(|shop| shop.seq),
        })
    }
}

fn answer_to(decision: &Decision<'_>, reply: &impl Fn(&Accepted<'_>) -> Option<Reply>) -> Answer {
    match decision {
        Decision::Accepted { entries, shop, .. } => match reply(&Accepted { entries, shop }) {
            Some(reply) => Answer {
                status: reply.status.as_u16(),
                body: reply.body,
                etag: reply.etag.map(|seq| format!("\"{seq}\"")),
                location: reply.location,
            },
            None => of_problem(&Problem::fault(&"the shop lacks what a command has just made")),
        },
        Decision::Refused { refusal, .. } => of_problem(&Problem::from(*refusal)),
    }
}

fn of_problem(problem: &Problem) -> Answer {
    Answer {
        status: problem.status().as_u16(),
        body: problem.body(),
        etag: problem.etag(),
        location: None,
    }
}

impl<O: Permit, B: DeserializeOwned + 'static> FromRequest for Act<O, B> {
    type Error = Problem;
    type Future = Pin<Box<dyn Future<Output = Result<Self, Problem>>>>;

    fn from_request(request: &HttpRequest, payload: &mut Payload) -> Self::Future {
        let request = request.clone();
        let payload = payload.take();
        Box::pin(async move { read_act(&request, payload).await })
    }
}

/// The guard comes first: nobody learns from an error what only others may know.
async fn read_act<O: Permit, B: DeserializeOwned>(
    request: &HttpRequest,
    payload: Payload,
) -> Result<Act<O, B>, Problem> {
    let caller = Caller::<O>::of(request)?;
    let book = part::<Book>(request)?.clone();
    let received_at = book.now();
    let key = key_of(request)?;
    let if_match = if_match_of(request)?;
    if has_body(request) {
        takes_type(request, "application/json")?;
    }
    let bytes = read_bytes(request, payload, O::OPERATION.body_bytes_max).await?;
    let Body { value, canonical } = parse_canonical(if bytes.is_empty() {
        b"{}".as_slice()
    } else {
        &bytes
    })?;
    let fingerprint = fingerprint(
        &part::<Auth>(request)?.fingerprints,
        request.method(),
        request.path(),
        &canonical,
    );
    let draft = Draft {
        site: caller.site,
        actor: caller.actor(),
        device: caller
            .device
            .or_else(|| caller.is_device().then_some(caller.principal)),
        key: key.unwrap_or_else(|| derived_key(&fingerprint, if_match, caller.shop.seq)),
        book,
        fingerprint,
        if_match,
        received_at,
        happened_at: caller.happened_at,
        occurred_at: None,
        private: PrivateRows::default(),
        // What a tablet kept has happened.
        is_reported: caller.happened_at.is_some(),
        sent: O::OPERATION.is_act.then_some(canonical),
    };
    Ok(Act {
        caller,
        body: value,
        draft,
    })
}

/// The ids of new things.
pub fn new_id() -> Uuid {
    Uuid::now_v7()
}

#[cfg(test)]
mod tests;

//! What surrounds every request: its id, the limit of how many, and the headers that browsers go by.

use crate::auth::{SiteSeq, address_of};
use crate::http::command::SITE_SEQ;
use crate::problem::{Code, Problem};
use crate::request_id;
use actix_web::body::MessageBody;
use actix_web::dev::{ServiceRequest, ServiceResponse};
use actix_web::http::header::{self, HeaderMap, HeaderName, HeaderValue};
use actix_web::middleware::Next;
use actix_web::web::Data;
use actix_web::{Error, HttpMessage, HttpRequest, ResponseError};
use governor::clock::{Clock, DefaultClock};
use governor::{DefaultKeyedRateLimiter, Quota, RateLimiter};
use sha2::{Digest, Sha256};
use std::num::NonZeroU32;
use std::sync::atomic::{AtomicU32, Ordering};
use uuid::Uuid;

/// After so many requests whoever has been quiet is forgotten.
const TIDY_EVERY: u32 = 100_000;

const REQUEST_ID: HeaderName = HeaderName::from_static("x-request-id");

/// Requests a second that one token (or, without a token, one address) may make.
#[derive(Clone, Copy, Debug)]
pub struct LimitSettings {
    /// 0: no limit.
    pub per_second: u32,
    pub burst: u32,
}

impl Default for LimitSettings {
    /// Stops what runs wild and nothing else: a hall of tablets makes a few requests a second.
    fn default() -> Self {
        Self {
            per_second: 500,
            burst: 2_000,
        }
    }
}

#[derive(Debug)]
pub struct Limits {
    requests: Option<DefaultKeyedRateLimiter<[u8; 32]>>,
    seen: AtomicU32,
}

impl Limits {
    pub fn new(settings: LimitSettings) -> Self {
        let requests = NonZeroU32::new(settings.per_second).map(|per_second| {
            let burst = NonZeroU32::new(settings.burst).unwrap_or(per_second);
            RateLimiter::keyed(Quota::per_second(per_second).allow_burst(burst))
        });
        Self {
            requests,
            seen: AtomicU32::new(0),
        }
    }

    fn check(&self, request: &HttpRequest) -> Result<(), Problem> {
        let Some(requests) = &self.requests else {
            return Ok(());
        };
        if self.seen.fetch_add(1, Ordering::Relaxed) % TIDY_EVERY == TIDY_EVERY - 1 {
            requests.retain_recent();
        }
        requests.check_key(&whose(request)).map_err(|refused| {
            let wait = refused.wait_time_from(DefaultClock::default().now());
            let detail = "You send more requests than are taken; wait, then go on more slowly.";
            Problem::new(Code::TooManyRequests, detail).with_retry_after_s(wait.as_secs() + 1)
        })
    }
}

fn whose(request: &HttpRequest) -> [u8; 32] {
    match request.headers().get(header::AUTHORIZATION) {
        Some(authorization) => Sha256::digest(authorization.as_bytes()).into(),
        None => Sha256::digest(address_of(request).to_string()).into(),
    }
}

/// For `App::wrap(middleware::from_fn(around))`, as the outermost one.
pub async fn around(
    limits: Data<Limits>,
    request: ServiceRequest,
    next: Next<impl MessageBody + 'static>,
) -> Result<ServiceResponse<impl MessageBody>, Error> {
    let id = Uuid::now_v7();
    request_id::under(id, async move {
        let mut response = match limits.check(request.request()) {
            Ok(()) => next.call(request).await?.map_into_left_body(),
            Err(problem) => request
                .into_response(problem.error_response())
                .map_into_right_body(),
        };
        let seq = response.request().extensions().get::<SiteSeq>().copied();
        let is_docs = response.request().path().starts_with("/docs");
        let is_tls = response.request().app_config().secure();
        write_headers(response.headers_mut(), id, seq, is_docs, is_tls);
        Ok(response)
    })
    .await
}

/// The page at `/docs` runs its own scripts and styles; nothing else that is served here runs anything.
const NOTHING_RUNS: &str = "default-src 'none'; frame-ancestors 'none'";
const OWN_SCRIPTS_RUN: &str = "default-src 'self'; style-src 'self' 'unsafe-inline'; img-src 'self' data:; \
                               frame-ancestors 'none'";

fn write_headers(headers: &mut HeaderMap, id: Uuid, seq: Option<SiteSeq>, is_docs: bool, is_tls: bool) {
    let mut default = |name: HeaderName, value: &'static str| {
        if !headers.contains_key(&name) {
            headers.insert(name, HeaderValue::from_static(value));
        }
    };
    default(header::X_CONTENT_TYPE_OPTIONS, "nosniff");
    default(header::REFERRER_POLICY, "no-referrer");
    default(header::X_FRAME_OPTIONS, "DENY");
    default(
        header::CONTENT_SECURITY_POLICY,
        if is_docs { OWN_SCRIPTS_RUN } else { NOTHING_RUNS },
    );
    // May be kept, must be asked for again each time.
    default(header::CACHE_CONTROL, "private, no-cache");
    if is_tls {
        default(header::STRICT_TRANSPORT_SECURITY, "max-age=31536000");
    }
    let mut computed = |name: HeaderName, value: &str| {
        if let Ok(value) = HeaderValue::from_str(value) {
            headers.insert(name, value);
        }
    };
    computed(REQUEST_ID, &id.to_string());
    if let Some(SiteSeq(seq)) = seq {
        computed(HeaderName::from_static(SITE_SEQ), &seq.to_string());
    }
}

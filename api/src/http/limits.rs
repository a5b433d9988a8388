//! What surrounds every request: its id, the limit of how many, and the headers that browsers go by.

use crate::auth::guard::bearer;
use crate::auth::{Auth, SiteSeq, address_of};
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
use spindlebook_domain::ids::PrincipalId;
use std::net::IpAddr;
use std::num::NonZeroU32;
use std::sync::atomic::{AtomicU32, Ordering};
use uuid::Uuid;

/// After so many requests whoever has been quiet is forgotten.
const TIDY_EVERY: u32 = 100_000;

const REQUEST_ID: HeaderName = HeaderName::from_static("x-request-id");

/// Requests a second that one user or client may make, and one address as long as nobody there has signed in.
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

impl LimitSettings {
    /// With as much room for a burst as by default.
    pub const fn of_per_second(per_second: u32) -> Self {
        Self {
            per_second,
            burst: per_second.saturating_mul(4),
        }
    }
}

pub struct Limits {
    requests: Option<DefaultKeyedRateLimiter<Whose>>,
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

#[derive(Clone, Copy, PartialEq, Eq, Hash)]
enum Whose {
    Principal(PrincipalId),
    Address(IpAddr),
}

/// Only a token that holds counts for itself: else whoever makes up a new one each time would never be stopped.
fn whose(request: &HttpRequest) -> Whose {
    let auth = request.app_data::<Data<Auth>>();
    let identity = auth.and_then(|auth| auth.tokens.verify(bearer(request).ok()?, auth.now()).ok());
    identity.map_or_else(
        || Whose::Address(address_of(request)),
        |known| Whose::Principal(known.principal),
    )
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

#[cfg(test)]
mod tests {
    use super::*;
    use actix_web::test::TestRequest;

    fn taken(limits: &Limits, requests: impl Iterator<Item = HttpRequest>) -> usize {
        requests.filter(|request| limits.check(request).is_ok()).count()
    }

    #[test]
    fn an_address_is_not_freed_by_tokens_it_makes_up() {
        let limits = Limits::new(LimitSettings {
            per_second: 1,
            burst: 5,
        });
        let from = |last: u8, token: u32| {
            let address = std::net::SocketAddr::from(([192, 0, 2, last], 4_000));
            let bearer = format!("Bearer made.up.{token}");
            TestRequest::default()
                .peer_addr(address)
                .insert_header((header::AUTHORIZATION, bearer))
                .to_http_request()
        };
        assert_eq!(taken(&limits, (0..20).map(|token| from(1, token))), 5);
        assert_eq!(
            taken(&limits, (0..3).map(|token| from(2, token))),
            3,
            "another address is not slowed"
        );
        let refused = limits.check(&from(1, 99)).unwrap_err();
        assert_eq!(
            (refused.status().as_u16(), refused.code()),
            (429, "requests.too-many")
        );
    }

    #[test]
    fn no_limit_is_no_limit() {
        let limits = Limits::new(LimitSettings {
            per_second: 0,
            burst: 0,
        });
        assert_eq!(
            taken(
                &limits,
                (0..5_000).map(|_| TestRequest::default().to_http_request())
            ),
            5_000
        );
    }
}

use super::follower::{Follower, KEPT_ENTRIES};
use super::list::After;
use super::streams::Streams;
use crate::auth::guard::bearer;
use crate::auth::{Auth, op};
use crate::http::ask::Ask;
use crate::http::parameters::Parameters;
use crate::http::whole::Whole;
use crate::problem::{Code, FieldError, Place, Problem};
use actix_web::http::header::{self, HeaderName};
use actix_web::web::Data;
use actix_web::{HttpRequest, HttpResponse, get};
use serde::Deserialize;
use spindlebook_domain::ids::Seq;
use std::time::Duration;
use utoipa::IntoParams;

/// What a reader that was cut off had read last; browsers send it by themselves.
const LAST_EVENT_ID: &str = "last-event-id";
/// Another process may have given the reader entries that have not arrived here yet.
const AHEAD_WITHIN: Duration = Duration::from_secs(2);
/// Else a proxy would collect what is said now and pass it on later.
const UNBUFFERED: HeaderName = HeaderName::from_static("x-accel-buffering");

#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct StreamQuery {
    /// Only entries with a higher number; without it, and without `Last-Event-ID`, those that come from now on. The
    /// header goes before it.
    pub after: Option<After>,
}

/// Follow the ledger live
///
/// Server-sent events: `entry` with an item of the ledger as `data` and its number as `id`, in the ledger's order,
/// without a gap. A comment comes every five seconds. `reset` says that the reader is too far behind (or ahead of what
/// there is): it reads the state once, and goes on from `seq`. `closed` says why the stream ends. docs/http-api.md tells
/// how to read it.
#[utoipa::path(
    operation_id = "getLedgerStream",
    tag = "Ledger",
    params(StreamQuery, ("Last-Event-ID" = Option<u64>, Header, maximum = 9_007_199_254_740_991_i64,
        description = "The number of the last entry that was read")),
    responses((status = 200, description = "Events until the caller may read no more", body = String,
        content_type = "text/event-stream", example = json!("id: 13\nevent: entry\ndata: {\"seq\": 13}\n\n")))
)]
#[get("/v1/ledger/stream")]
pub async fn get_ledger_stream(
    ask: Ask<op::GetLedgerStream>,
    query: Parameters<StreamQuery>,
    request: HttpRequest,
    auth: Data<Auth>,
    streams: Data<Streams>,
) -> Result<HttpResponse, Problem> {
    let asked = match last_event_id(&request)? {
        Some(seq) => Some(seq),
        None => query.0.after.map(Whole::to),
    };
    let site = ask.caller.site;
    let place = Streams::take(&streams, ask.caller.principal)?;
    let closing = streams.closing();
    if let Some(asked) = asked.filter(|asked| *asked > ask.shop.seq) {
        // Where it does not come, the follower says so.
        let _ = ask.book.current_at(site, asked, AHEAD_WITHIN).await;
    }
    let token = bearer(&request)?.to_owned();
    let follower = Follower::new(ask.book, auth, site, token, asked, (place, closing))?;
    Ok(HttpResponse::Ok()
        .content_type("text/event-stream")
        .insert_header((header::CACHE_CONTROL, "no-store"))
        // Packed, an event would wait for those after it.
        .insert_header((header::CONTENT_ENCODING, "identity"))
        .insert_header((UNBUFFERED, "no"))
        .streaming(follower.into_stream()))
}

fn last_event_id(request: &HttpRequest) -> Result<Option<Seq>, Problem> {
    let Some(value) = request.headers().get(LAST_EVENT_ID) else {
        return Ok(None);
    };
    let seq = value.to_str().ok().and_then(|text| text.trim().parse().ok());
    seq.map(Some).ok_or_else(|| {
        let detail = format!(
            "Last-Event-ID takes the number of the entry that was read last; the newest {KEPT_ENTRIES} are kept at hand"
        );
        let field = FieldError::at(Place::Header("Last-Event-ID"), "invalid", detail.clone());
        Problem::new(Code::HeaderInvalid, detail + ".").with_field(field)
    })
}

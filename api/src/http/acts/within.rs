//! Asking this same service from within: what a tablet delivers is read, judged and answered by the very handlers that
//! answer it when it is tapped live.

use crate::auth::Delivered;
use crate::http::body::invalid;
use crate::problem::{FieldError, Place, Problem};
use actix_http::{Payload, Request};
use actix_web::HttpMessage;
use actix_web::http::header::{self, HeaderMap, HeaderName, HeaderValue};
use actix_web::http::{Method, StatusCode, Uri};
use actix_web::web::Bytes;
use futures_util::future::LocalBoxFuture;
use spindlebook_domain::ids::CommandId;
use std::rc::Rc;
use tokio::sync::OnceCell;

/// What the service answered.
pub struct Answer {
    pub status: StatusCode,
    pub headers: HeaderMap,
    pub body: Bytes,
}

pub type Ask = Rc<dyn Fn(Request) -> LocalBoxFuture<'static, Result<Answer, Problem>>>;

/// One in each worker, made when it is first needed.
pub struct Within {
    make: Box<dyn Fn() -> LocalBoxFuture<'static, Result<Ask, Problem>>>,
    made: OnceCell<Ask>,
}

impl Within {
    pub fn new(make: impl Fn() -> LocalBoxFuture<'static, Result<Ask, Problem>> + 'static) -> Self {
        Self {
            make: Box::new(make),
            made: OnceCell::new(),
        }
    }

    pub async fn ask(&self, request: Request) -> Result<Answer, Problem> {
        let ask = self.made.get_or_try_init(|| (self.make)()).await?;
        ask(request).await
    }
}

/// An act as the request that it would have been live.
pub fn request_of(path: &str, body: &str, key: CommandId, delivered: Delivered) -> Result<Request, Problem> {
    let body = Bytes::from(body.to_owned());
    let length = body.len();
    let (_, mut payload) = actix_http::h1::Payload::create(true);
    payload.unread_data(body);
    let mut request = Request::with_payload(Payload::H1 { payload });
    let uri = path.parse::<Uri>().map_err(|_| {
        let field = FieldError::at(
            Place::pointer("/path"),
            "invalid",
            "it is no path of an operation",
        );
        invalid(field)
    })?;
    let head = request.head_mut();
    (head.method, head.uri) = (Method::POST, uri);
    let mut set = |name, value: String| {
        if let Ok(value) = HeaderValue::from_str(&value) {
            head.headers.insert(name, value);
        }
    };
    set(header::CONTENT_TYPE, "application/json".to_owned());
    set(header::CONTENT_LENGTH, length.to_string());
    set(HeaderName::from_static("idempotency-key"), key.to_string());
    request.extensions_mut().insert(delivered);
    Ok(request)
}

//! Asking this same service from within: what a tablet delivers is read, judged and answered by the very handlers that
//! answer it when it is tapped live.

use crate::problem::Problem;
use actix_http::{Payload, Request};
use actix_web::http::StatusCode;
use actix_web::http::header::HeaderMap;
use actix_web::web::Bytes;
use futures_util::future::LocalBoxFuture;
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

/// A body that is there already.
pub fn payload(body: Bytes) -> Payload {
    let (_, mut payload) = actix_http::h1::Payload::create(true);
    payload.unread_data(body);
    Payload::H1 { payload }
}

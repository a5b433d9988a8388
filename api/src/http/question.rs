//! A question that needs a body: it is asked by POST, changes nothing and needs no key.

use super::ask::{Ask, read_ask};
use super::body::{parse, read_bytes, takes_type};
use crate::auth::Permit;
use crate::problem::Problem;
use actix_web::dev::Payload;
use actix_web::{FromRequest, HttpRequest};
use serde::de::DeserializeOwned;
use std::future::Future;
use std::pin::Pin;

pub struct Question<O, B> {
    pub ask: Ask<O>,
    pub body: B,
}

impl<O: Permit, B: DeserializeOwned + 'static> FromRequest for Question<O, B> {
    type Error = Problem;
    type Future = Pin<Box<dyn Future<Output = Result<Self, Problem>>>>;

    /// The guard comes first: nobody learns from an error what only others may know.
    fn from_request(request: &HttpRequest, payload: &mut Payload) -> Self::Future {
        let request = request.clone();
        let payload = payload.take();
        Box::pin(async move {
            let ask = read_ask(&request).await?;
            takes_type(&request, "application/json")?;
            let bytes = read_bytes(&request, payload, O::OPERATION.body_bytes_max).await?;
            let body = parse(&bytes)?;
            Ok(Self { ask, body })
        })
    }
}

//! Who asks. The missing permission reads off a test: `app.operator().post(…)`.

use crate::answer::Answer;
use crate::contract;
use crate::sse::Reader;
use reqwest::header::{AUTHORIZATION, CONTENT_TYPE, IF_MATCH};
use reqwest::{Method, RequestBuilder};
use serde_json::Value;
use uuid::Uuid;

/// One caller with its access token, or none. Every POST carries an Idempotency-Key of its own.
#[derive(Clone, Debug)]
pub struct Caller {
    http: reqwest::Client,
    base_url: String,
    token: Option<String>,
}

impl Caller {
    pub fn anonymous(http: reqwest::Client, base_url: &str) -> Self {
        Self {
            http,
            base_url: base_url.to_owned(),
            token: None,
        }
    }

    #[must_use]
    pub fn with_token(&self, token: impl Into<String>) -> Self {
        Self {
            token: Some(token.into()),
            ..self.clone()
        }
    }

    pub async fn get(&self, path: &str) -> Answer {
        self.send(Method::GET, path, |request| request).await
    }

    pub async fn post(&self, path: &str, body: &Value) -> Answer {
        self.post_with_key(path, Uuid::now_v7(), body).await
    }

    pub async fn post_with_key(&self, path: &str, key: Uuid, body: &Value) -> Answer {
        self.post_text(path, Some(key), &body.to_string()).await
    }

    /// For bodies that are no JSON, and for requests without a key.
    pub async fn post_text(&self, path: &str, key: Option<Uuid>, body: &str) -> Answer {
        self.send(Method::POST, path, |request| {
            let request = request
                .header(CONTENT_TYPE, "application/json")
                .body(body.to_owned());
            match key {
                Some(key) => request.header("Idempotency-Key", format!("\"{key}\"")),
                None => request,
            }
        })
        .await
    }

    /// As OAuth 2.0 wants its token requests.
    pub async fn post_form(&self, path: &str, fields: &[(&str, &str)]) -> Answer {
        self.send(Method::POST, path, |request| request.form(fields))
            .await
    }

    /// The version that the change was made on, as the ETag said it.
    pub async fn put(&self, path: &str, etag: &str, body: &Value) -> Answer {
        self.change(Method::PUT, path, etag, body).await
    }

    pub async fn patch(&self, path: &str, etag: &str, body: &Value) -> Answer {
        self.change(Method::PATCH, path, etag, body).await
    }

    pub async fn delete(&self, path: &str) -> Answer {
        self.send(Method::DELETE, path, |request| request).await
    }

    /// Follows the ledger live; `query` as `?after=7`, or nothing.
    pub async fn follow(&self, query: &str, last_event_id: Option<u64>) -> Reader {
        let path = format!("/v1/ledger/stream{query}");
        let mut request = self.http.get(format!("{}{path}", self.base_url));
        if let Some(token) = &self.token {
            request = request.header(AUTHORIZATION, format!("Bearer {token}"));
        }
        if let Some(seq) = last_event_id {
            request = request.header("Last-Event-ID", seq);
        }
        let response = request.send().await;
        Reader::of(response.unwrap_or_else(|error| panic!("GET {path}: no answer: {error}")))
    }

    /// Whatever else a test wants to send.
    pub async fn send(
        &self,
        method: Method,
        path: &str,
        with: impl FnOnce(RequestBuilder) -> RequestBuilder,
    ) -> Answer {
        let asked = format!("{method} {path}");
        let mut request = self
            .http
            .request(method.clone(), format!("{}{path}", self.base_url));
        if let Some(token) = &self.token {
            request = request.header(AUTHORIZATION, format!("Bearer {token}"));
        }
        let sent = with(request).send().await;
        let answer = Answer::of(
            sent.unwrap_or_else(|error| panic!("{asked}: no answer: {error}")),
            asked,
        )
        .await;
        contract::check(&method, path, &answer);
        answer
    }

    async fn change(&self, method: Method, path: &str, etag: &str, body: &Value) -> Answer {
        self.send(method, path, |request| {
            request
                .header(IF_MATCH, etag)
                .header("Idempotency-Key", format!("\"{}\"", Uuid::now_v7()))
                .header(CONTENT_TYPE, "application/json")
                .body(body.to_string())
        })
        .await
    }
}

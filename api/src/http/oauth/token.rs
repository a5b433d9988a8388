use super::credentials::{TokenError, read};
use crate::auth::{Auth, Secret, address_of};
use crate::http::body::{read_bytes, takes_type};
use crate::problem::Problem;
use actix_web::http::{StatusCode, header};
use actix_web::web::{Data, Payload};
use actix_web::{HttpRequest, HttpResponse, post};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// Id, secret and grant are some hundred bytes.
const FORM_BYTES_MAX: usize = 8 << 10;

/// What a machine client sends, form-encoded; id and secret may be in the header instead (HTTP Basic).
#[derive(Debug, Deserialize, ToSchema)]
#[expect(
    dead_code,
    reason = "the form is read by hand: RFC 6749 has rules of its own for what is wrong with it"
)]
pub struct TokenForm {
    /// `client_credentials`
    #[schema(max_length = 32, pattern = "^client_credentials$")]
    grant_type: String,
    #[schema(max_length = 64, nullable = false)]
    client_id: Option<String>,
    #[schema(inline, nullable = false)]
    client_secret: Option<Secret>,
}

#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"access_token": "eyJ0.eyJz.c2ln", "token_type": "Bearer", "expires_in": 900}))]
pub struct TokenDto {
    #[schema(inline)]
    access_token: Secret,
    token_type: &'static str,
    /// Seconds.
    expires_in: i64,
}

/// RFC 6749, section 5.2.
#[derive(Debug, Serialize, ToSchema)]
pub struct TokenErrorDto {
    error: &'static str,
    error_description: String,
}

/// Get an access token for a machine client
///
/// OAuth 2.0 client credentials. Errors are those of RFC 6749, section 5.2.
#[utoipa::path(
    operation_id = "issueToken", tag = "Session",
    request_body(content = TokenForm, content_type = "application/x-www-form-urlencoded"),
    responses(
        (status = 200, description = "A token; there is no refresh token", body = TokenDto),
        (status = 400, description = "The request is wrong", body = TokenErrorDto),
        (status = 401, description = "Id and secret do not match", body = TokenErrorDto),
    )
)]
#[post("/oauth/token")]
pub async fn issue_token(
    request: HttpRequest,
    payload: Payload,
    auth: Data<Auth>,
) -> Result<HttpResponse, Problem> {
    takes_type(&request, "application/x-www-form-urlencoded")?;
    let form = read_bytes(&request, payload.into_inner(), FORM_BYTES_MAX).await?;
    let authorization = request
        .headers()
        .get(header::AUTHORIZATION)
        .and_then(|value| value.to_str().ok());
    let asked = match read(authorization, &form) {
        Ok(asked) => asked,
        Err(error) => return Ok(refuse(&error)),
    };
    match auth
        .client_session(&asked.client_id, &asked.client_secret, address_of(&request))
        .await?
    {
        Some(session) => Ok(unkept(StatusCode::OK).json(TokenDto {
            access_token: session.access_token,
            token_type: "Bearer",
            expires_in: session.expires_in_s,
        })),
        None => Ok(refuse(&TokenError::InvalidClient)),
    }
}

fn refuse(error: &TokenError) -> HttpResponse {
    let body = TokenErrorDto {
        error: error.code(),
        error_description: error.description(),
    };
    if *error == TokenError::InvalidClient {
        let challenge = (header::WWW_AUTHENTICATE, "Basic realm=\"spindlebook\"");
        return unkept(StatusCode::UNAUTHORIZED)
            .insert_header(challenge)
            .json(body);
    }
    unkept(StatusCode::BAD_REQUEST).json(body)
}

/// Section 5.1 asks for both headers.
fn unkept(status: StatusCode) -> actix_web::HttpResponseBuilder {
    let mut response = HttpResponse::build(status);
    response
        .insert_header((header::CACHE_CONTROL, "no-store"))
        .insert_header((header::PRAGMA, "no-cache"));
    response
}

//! Client id and secret out of a request: in the header or in the form, never in both.

use crate::auth::Secret;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use std::collections::HashMap;

#[derive(Debug, PartialEq, Eq)]
pub struct TokenRequest {
    pub client_id: String,
    pub client_secret: Secret,
}

/// The error codes of RFC 6749, section 5.2, with a sentence each.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum TokenError {
    InvalidRequest(String),
    InvalidClient,
    UnsupportedGrantType(String),
    InvalidScope,
}

impl TokenError {
    pub const fn code(&self) -> &'static str {
        match self {
            Self::InvalidRequest(_) => "invalid_request",
            Self::InvalidClient => "invalid_client",
            Self::UnsupportedGrantType(_) => "unsupported_grant_type",
            Self::InvalidScope => "invalid_scope",
        }
    }

    /// Only characters that section 5.2 allows.
    pub fn description(&self) -> String {
        let text = match self {
            Self::InvalidRequest(what) => what.clone(),
            Self::InvalidClient => "client id and secret do not match, or the client is disabled".to_owned(),
            Self::UnsupportedGrantType(given) => {
                format!("grant_type is {given}; only client_credentials is served here")
            }
            Self::InvalidScope => "there are no scopes here: leave scope out".to_owned(),
        };
        text.chars()
            .map(|c| {
                if matches!(c, ' '..='~') && c != '"' && c != '\\' {
                    c
                } else {
                    '?'
                }
            })
            .collect()
    }
}

pub fn read(authorization: Option<&str>, form: &[u8]) -> Result<TokenRequest, TokenError> {
    let mut fields = HashMap::new();
    for (name, value) in form_urlencoded::parse(form) {
        if fields.insert(name.to_string(), value.to_string()).is_some() {
            return Err(TokenError::InvalidRequest(format!("{name} stands there twice")));
        }
    }
    // Section 3.2: parameters without a value count as left out.
    fields.retain(|_, value| !value.is_empty());
    match fields.get("grant_type").map(String::as_str) {
        Some("client_credentials") => {}
        Some(other) => return Err(TokenError::UnsupportedGrantType(other.to_owned())),
        None => {
            return Err(TokenError::InvalidRequest(
                "grant_type is missing: send client_credentials".to_owned(),
            ));
        }
    }
    if fields.contains_key("scope") {
        return Err(TokenError::InvalidScope);
    }
    let posted = (fields.remove("client_id"), fields.remove("client_secret"));
    match (basic(authorization)?, posted) {
        (Some(_), (_, Some(_))) => Err(TokenError::InvalidRequest(
            "send the secret in the header or in the form, not in both".to_owned(),
        )),
        (Some(basic), (Some(id), None)) if id != basic.client_id => Err(TokenError::InvalidRequest(
            "client_id in header and form differ".to_owned(),
        )),
        (Some(basic), _) => Ok(basic),
        (None, (Some(client_id), Some(secret))) => Ok(TokenRequest {
            client_id,
            client_secret: Secret::new(secret),
        }),
        (None, _) => Err(TokenError::InvalidClient),
    }
}

/// Section 2.3.1: id and secret are form-encoded before they are joined.
fn basic(authorization: Option<&str>) -> Result<Option<TokenRequest>, TokenError> {
    let Some(header) = authorization else {
        return Ok(None);
    };
    let given = header
        .split_once(' ')
        .filter(|(scheme, _)| scheme.eq_ignore_ascii_case("basic"));
    let decoded = given.and_then(|(_, encoded)| STANDARD.decode(encoded.trim()).ok());
    let text = decoded.and_then(|bytes| String::from_utf8(bytes).ok());
    let (id, secret) = text
        .as_deref()
        .and_then(|text| text.split_once(':'))
        .ok_or(TokenError::InvalidClient)?;
    Ok(Some(TokenRequest {
        client_id: form_decoded(id),
        client_secret: Secret::new(form_decoded(secret)),
    }))
}

fn form_decoded(text: &str) -> String {
    // Without `=` the whole text is one name.
    let pair = form_urlencoded::parse(text.as_bytes()).next();
    pair.filter(|(_, value)| value.is_empty())
        .map_or_else(|| text.to_owned(), |(name, _)| name.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    const FORM: &[u8] = b"grant_type=client_credentials";

    // The header and the form of RFC 6749, sections 2.3.1 and 4.4.2: client `s6BhdRkqt3`, secret `7Fjfp0ZBr1KtDRbnfVdmIw`.
    const RFC_BASIC: &str = "Basic czZCaGRSa3F0Mzo3RmpmcDBaQnIxS3REUmJuZlZkbUl3";

    fn rfc_client() -> TokenRequest {
        TokenRequest {
            client_id: "s6BhdRkqt3".to_owned(),
            client_secret: Secret::new("7Fjfp0ZBr1KtDRbnfVdmIw"),
        }
    }

    #[test]
    fn the_requests_of_the_rfc_read() {
        assert_eq!(read(Some(RFC_BASIC), FORM), Ok(rfc_client()));
        let form = b"grant_type=client_credentials&client_id=s6BhdRkqt3&client_secret=7Fjfp0ZBr1KtDRbnfVdmIw";
        assert_eq!(read(None, form), Ok(rfc_client()));
    }

    #[test]
    fn id_and_secret_in_the_header_are_form_encoded() {
        let header = format!("basic {}", STANDARD.encode("a%3Ab+c:p%25%3D"));
        let request = read(Some(&header), FORM).unwrap();
        assert_eq!(
            (request.client_id.as_str(), request.client_secret.reveal()),
            ("a:b c", "p%=")
        );
    }

    #[test]
    fn everything_else_is_an_error_of_the_rfc() {
        for (authorization, form, code) in [
            (Some(RFC_BASIC), "", "invalid_request"),
            (Some(RFC_BASIC), "grant_type=", "invalid_request"),
            (Some(RFC_BASIC), "grant_type=password", "unsupported_grant_type"),
            (
                Some(RFC_BASIC),
                "grant_type=client_credentials&grant_type=client_credentials",
                "invalid_request",
            ),
            (
                Some(RFC_BASIC),
                "grant_type=client_credentials&client_secret=x",
                "invalid_request",
            ),
            (
                Some(RFC_BASIC),
                "grant_type=client_credentials&client_id=other",
                "invalid_request",
            ),
            (
                Some(RFC_BASIC),
                "grant_type=client_credentials&scope=all",
                "invalid_scope",
            ),
            (None, "grant_type=client_credentials", "invalid_client"),
            (
                None,
                "grant_type=client_credentials&client_id=x",
                "invalid_client",
            ),
            (
                Some("Bearer abc"),
                "grant_type=client_credentials",
                "invalid_client",
            ),
            (
                Some("Basic ???"),
                "grant_type=client_credentials",
                "invalid_client",
            ),
        ] {
            let error = read(authorization, form.as_bytes()).unwrap_err();
            assert_eq!(error.code(), code, "{form}");
        }
        let odd = TokenError::UnsupportedGrantType("\"ä\n\\".to_owned()).description();
        assert!(odd.contains("????"), "{odd}");
    }
}

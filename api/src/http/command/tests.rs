use super::headers::*;
use crate::auth::Fingerprints;
use actix_web::http::{Method, header};
use actix_web::test::TestRequest;
use spindlebook_domain::ids::CommandId;
use uuid::Uuid;

fn key(method: Method, values: &[&str]) -> Result<Option<CommandId>, &'static str> {
    let mut request = TestRequest::default().method(method);
    for value in values {
        request = request.append_header((KEY_HEADER, *value));
    }
    key_of(&request.to_http_request()).map_err(|problem| problem.code())
}

fn if_match(value: &str) -> Result<IfMatch, &'static str> {
    let request = TestRequest::default()
        .insert_header((header::IF_MATCH, value))
        .to_http_request();
    if_match_of(&request).map_err(|problem| problem.code())
}

// The draft of the Idempotency-Key header has a quoted string; unquoted is what many clients send.
#[test]
fn a_key_is_a_uuid_quoted_or_not_and_a_post_must_have_one() {
    let id = Uuid::from_u128(77);
    for text in [
        id.to_string(),
        format!("\"{id}\""),
        format!(" {id} "),
        id.simple().to_string(),
    ] {
        assert_eq!(key(Method::POST, &[&text]), Ok(Some(CommandId(id))), "{text}");
    }
    assert_eq!(key(Method::POST, &[]), Err("idempotency-key.missing"));
    assert_eq!(key(Method::PUT, &[]), Ok(None));
    for bad in ["", "abc", "\"", "00000000-0000-0000-0000-000000000000", "\"abc\""] {
        assert_eq!(key(Method::POST, &[bad]), Err("header.invalid"), "{bad}");
    }
    let twice = [id.to_string(), id.to_string()];
    assert_eq!(key(Method::POST, &[&twice[0], &twice[1]]), Err("header.invalid"));
}

// RFC 9110, section 13.1.1.
#[test]
fn if_match_is_one_strong_tag_of_ours_or_a_star() {
    assert_eq!(if_match("\"42\""), Ok(IfMatch::Version(42)));
    assert_eq!(if_match("*"), Ok(IfMatch::Any));
    assert_eq!(
        if_match("\"not ours\""),
        Ok(IfMatch::Version(0)),
        "it is of no version that there is"
    );
    for bad in ["42", "W/\"42\"", "\"1\", \"2\"", "\"", ""] {
        assert_eq!(if_match(bad), Err("header.invalid"), "{bad}");
    }
    assert_eq!(
        if_match_of(&TestRequest::default().to_http_request()).unwrap(),
        IfMatch::Missing
    );
}

#[test]
fn a_fingerprint_tells_method_path_and_body_apart() {
    let made = Fingerprints::new(&[3; 32]);
    let of = |method: Method, path: &str, body: &[u8]| fingerprint(&made, &method, path, body);
    let one = of(Method::POST, "/v1/cells", b"{}");
    assert_eq!(one, of(Method::POST, "/v1/cells", b"{}"));
    for other in [
        of(Method::PUT, "/v1/cells", b"{}"),
        of(Method::POST, "/v1/machines", b"{}"),
        of(Method::POST, "/v1/cells", b"{\"a\":1}"),
        of(Method::POST, "/v1/cell", b"s{}"),
    ] {
        assert_ne!(one, other);
    }
}

// Whoever reads the ledger knows everything but the secret, and tries a name.
#[test]
fn a_derived_key_cannot_be_made_from_a_guessed_body() {
    let body = br#"{"display_name":"Anna Berg"}"#;
    let key = |secret: u8| {
        let made = Fingerprints::new(&[secret; 32]);
        let fingerprint = fingerprint(&made, &Method::PATCH, "/v1/users/1", body);
        derived_key(&fingerprint, IfMatch::Version(5), 9)
    };
    assert_eq!(key(1), key(1));
    assert_ne!(key(1), key(2));
}

#[test]
fn a_key_is_derived_anew_when_the_site_has_moved_on_or_the_version_is_another() {
    let fingerprint = [1; 32];
    let key = derived_key(&fingerprint, IfMatch::Version(5), 9);
    assert_eq!(key, derived_key(&fingerprint, IfMatch::Version(5), 9));
    assert_ne!(key, derived_key(&fingerprint, IfMatch::Version(5), 10));
    assert_ne!(key, derived_key(&fingerprint, IfMatch::Version(6), 9));
    assert_ne!(key, derived_key(&[2; 32], IfMatch::Version(5), 9));
}

//! What the headers of a command say: its key, and the version that it was made on.

use crate::auth::Fingerprints;
use crate::problem::{Code, FieldError, Place, Problem};
use actix_web::HttpRequest;
use actix_web::http::{Method, header};
use sha2::{Digest, Sha256};
use spindlebook_domain::ids::{CommandId, Seq};
use uuid::Uuid;

pub(super) const KEY_HEADER: &str = "idempotency-key";

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum IfMatch {
    Missing,
    Any,
    Version(Seq),
}

/// RFC 9112, section 6: one of these headers says that a body follows.
pub(super) fn has_body(request: &HttpRequest) -> bool {
    let length = request.headers().get(header::CONTENT_LENGTH);
    request.headers().contains_key(header::TRANSFER_ENCODING) || length.is_some_and(|length| length != "0")
}

/// Of a request: the same one tapped live and delivered later has the same.
pub fn fingerprint(made: &Fingerprints, method: &Method, path: &str, canonical: &[u8]) -> [u8; 32] {
    made.of(&[method.as_str().as_bytes(), path.as_bytes(), canonical])
}

/// Of a PUT, PATCH or DELETE without a key. Sent twice before anything at the site has changed it counts once, as a
/// double click should; later it is decided anew, and `If-Match` tells whether it is stale. It stands in the ledger for
/// everybody to read, and says nothing: the fingerprint is made with a secret and never shown.
pub(super) fn derived_key(fingerprint: &[u8; 32], if_match: IfMatch, seq: Seq) -> CommandId {
    let version = match if_match {
        IfMatch::Missing => 0,
        IfMatch::Any => 1,
        IfMatch::Version(seq) => seq.saturating_add(2),
    };
    let digest = Sha256::new()
        .chain_update(fingerprint)
        .chain_update(version.to_be_bytes())
        .chain_update(seq.to_be_bytes())
        .finalize();
    let mut bytes = [0; 16];
    bytes.copy_from_slice(&digest[..16]);
    CommandId(uuid::Builder::from_custom_bytes(bytes).into_uuid())
}

/// A UUID, as the draft of the header has it: quoted; unquoted is taken too. A POST must have one.
pub(super) fn key_of(request: &HttpRequest) -> Result<Option<CommandId>, Problem> {
    let wrong = |code, what: &str| {
        let detail =
            format!("{what}; send a new UUID with each command, and the same one when you send it again.");
        let field = FieldError::at(
            Place::Header("Idempotency-Key"),
            if code == Code::KeyMissing {
                "missing"
            } else {
                "invalid"
            },
            detail.clone(),
        );
        Problem::new(code, detail).with_field(field)
    };
    let mut given = request.headers().get_all(KEY_HEADER);
    match (given.next(), given.next()) {
        (None, _) if request.method() == Method::POST => {
            Err(wrong(Code::KeyMissing, "The header Idempotency-Key is missing"))
        }
        (None, _) => Ok(None),
        (Some(value), None) => {
            let text = value.to_str().unwrap_or_default().trim();
            let bare = text
                .strip_prefix('"')
                .and_then(|rest| rest.strip_suffix('"'))
                .unwrap_or(text);
            let key = Uuid::try_parse(bare).ok().filter(|key| !key.is_nil());
            let wrong = || wrong(Code::HeaderInvalid, "The header Idempotency-Key is no UUID");
            key.map(|key| Some(CommandId(key))).ok_or_else(wrong)
        }
        (Some(_), Some(_)) => Err(wrong(
            Code::HeaderInvalid,
            "The header Idempotency-Key stands there twice",
        )),
    }
}

/// One strong ETag of ours, or `*`.
pub(super) fn if_match_of(request: &HttpRequest) -> Result<IfMatch, Problem> {
    let mut given = request.headers().get_all(header::IF_MATCH);
    let text = match (given.next(), given.next()) {
        (None, _) => return Ok(IfMatch::Missing),
        (Some(value), None) => value.to_str().unwrap_or_default().trim(),
        (Some(_), Some(_)) => "",
    };
    if text == "*" {
        return Ok(IfMatch::Any);
    }
    let tag = text.strip_prefix('"').and_then(|rest| rest.strip_suffix('"'));
    let Some(tag) = tag.filter(|tag| !tag.contains('"')) else {
        let detail = "If-Match takes one ETag in quotes, as GET gave it.";
        let field = FieldError::at(Place::Header("If-Match"), "invalid", detail);
        return Err(Problem::new(Code::HeaderInvalid, detail).with_field(field));
    };
    // A tag that is none of ours belongs to no version: no entry has the number 0.
    Ok(IfMatch::Version(tag.parse().unwrap_or(0)))
}

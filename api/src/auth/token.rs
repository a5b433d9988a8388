//! Access tokens: JWT in the profile of RFC 9068, signed with `EdDSA` and nothing else.

use super::key::{KeyError, SigningKey};
use jsonwebtoken::{Algorithm, DecodingKey, EncodingKey, Header, Validation};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use spindlebook_domain::ids::{PrincipalId, SiteId};
use spindlebook_domain::time::{Timestamp, US_PER_SECOND};
use std::collections::HashMap;
use std::fmt;
use std::path::PathBuf;
use std::sync::{PoisonError, RwLock};
use uuid::Uuid;

/// RFC 9068, section 2.1: so that no other kind of JWT is taken for an access token.
const TYPE: &str = "at+jwt";
/// Clocks of two servers differ; more than this is a fault to be mended.
const LEEWAY_S: i64 = 60;
/// Our own tokens are some 500 bytes long.
const TOKEN_BYTES_MAX: usize = 2_048;
/// Some megabytes; a site has far fewer sessions.
const KNOWN_MAX: usize = 20_000;

#[derive(Clone, Debug)]
pub struct TokenSettings {
    pub issuer: String,
    pub audience: String,
    /// At most 15 minutes.
    pub lifetime_s: i64,
}

impl Default for TokenSettings {
    fn default() -> Self {
        Self {
            issuer: "spindlebook".to_owned(),
            audience: "spindlebook-api".to_owned(),
            lifetime_s: 900,
        }
    }
}

/// Who a token says its bearer is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Identity {
    pub principal: PrincipalId,
    pub site: SiteId,
    /// The session of a person; machine clients have none. On a tablet it is the badge.
    pub session: Option<Uuid>,
    /// The tablet that the person is badged in on.
    pub device: Option<PrincipalId>,
}

#[derive(Serialize, Deserialize)]
struct Claims {
    iss: String,
    aud: String,
    sub: PrincipalId,
    client_id: String,
    iat: i64,
    exp: i64,
    jti: Uuid,
    site: SiteId,
    #[serde(skip_serializing_if = "Option::is_none")]
    sid: Option<Uuid>,
    #[serde(skip_serializing_if = "Option::is_none", default)]
    device: Option<PrincipalId>,
}

/// Why a token was not taken. Told to the bearer in general terms only.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum TokenRefused {
    #[error("the access token has expired; refresh it or sign in again")]
    Expired,
    #[error("the session of this access token has ended; sign in again")]
    SessionEnded,
    #[error("the access token was not issued here")]
    NotOurs,
}

pub struct Tokens {
    settings: TokenSettings,
    key_id: String,
    signing: EncodingKey,
    verifying: DecodingKey,
    validation: Validation,
    known: RwLock<Known>,
}

/// Verifying a signature costs some 60 us: too much for every one of ten thousand commands a second.
#[derive(Default)]
struct Known {
    /// By the token's hash: who it is, and its last second.
    tokens: HashMap<[u8; 32], (Identity, i64)>,
    /// Sessions that ended before their tokens did, with the second from which none of these is valid any more.
    ended: HashMap<Uuid, i64>,
}

impl Tokens {
    pub fn new(key: &SigningKey, settings: TokenSettings) -> Result<Self, KeyError> {
        let der = key.pkcs8_der().map_err(|cause| KeyError::NotAKey {
            path: PathBuf::new(),
            cause,
        })?;
        let mut validation = Validation::new(Algorithm::EdDSA);
        validation.set_issuer(&[&settings.issuer]);
        validation.set_audience(&[&settings.audience]);
        validation.set_required_spec_claims(&["iss", "aud", "sub", "exp"]);
        // Expiry is checked here against the service's own clock.
        validation.validate_exp = false;
        validation.validate_nbf = false;
        Ok(Self {
            key_id: key.id(),
            signing: EncodingKey::from_ed_der(&der),
            verifying: DecodingKey::from_ed_der(&key.public_bytes()),
            settings,
            validation,
            known: RwLock::default(),
        })
    }

    pub fn lifetime_s(&self) -> i64 {
        self.settings.lifetime_s
    }

    pub fn issue(&self, identity: &Identity, client_id: &str, now: Timestamp) -> Result<String, String> {
        let now_s = now.us().div_euclid(US_PER_SECOND);
        let mut header = Header::new(Algorithm::EdDSA);
        header.typ = Some(TYPE.to_owned());
        header.kid = Some(self.key_id.clone());
        let claims = Claims {
            iss: self.settings.issuer.clone(),
            aud: self.settings.audience.clone(),
            sub: identity.principal,
            client_id: client_id.to_owned(),
            iat: now_s,
            exp: now_s + self.settings.lifetime_s,
            jti: Uuid::new_v4(),
            site: identity.site,
            sid: identity.session,
            device: identity.device,
        };
        jsonwebtoken::encode(&header, &claims, &self.signing).map_err(|error| error.to_string())
    }

    pub fn verify(&self, token: &str, now: Timestamp) -> Result<Identity, TokenRefused> {
        let now_s = now.us().div_euclid(US_PER_SECOND);
        let hash: [u8; 32] = Sha256::digest(token.as_bytes()).into();
        let (found, ended) = {
            let known = self.known.read().unwrap_or_else(PoisonError::into_inner);
            let found = known.tokens.get(&hash).copied();
            let session = found.and_then(|(identity, _)| identity.session);
            (
                found,
                session.is_some_and(|session| known.ended.contains_key(&session)),
            )
        };
        let (identity, last_s) = match found {
            Some(known) => known,
            None => self.check(token, now_s)?,
        };
        if now_s >= last_s + LEEWAY_S {
            return Err(TokenRefused::Expired);
        }
        if found.is_none() {
            return self.remember(hash, identity, last_s, now_s);
        }
        if ended {
            Err(TokenRefused::SessionEnded)
        } else {
            Ok(identity)
        }
    }

    /// From now on no token of this session is taken by this process; other processes take it until it expires.
    pub fn end_session(&self, session: Uuid, now: Timestamp) {
        let now_s = now.us().div_euclid(US_PER_SECOND);
        let gone_s = now_s + self.settings.lifetime_s + LEEWAY_S;
        let mut known = self.known.write().unwrap_or_else(PoisonError::into_inner);
        known.ended.retain(|_, gone_s| *gone_s > now_s);
        known.ended.insert(session, gone_s);
    }

    fn check(&self, token: &str, now_s: i64) -> Result<(Identity, i64), TokenRefused> {
        if token.len() > TOKEN_BYTES_MAX {
            return Err(TokenRefused::NotOurs);
        }
        // The algorithm is fixed by the validation; keys that a header names or carries are never looked at.
        let data = jsonwebtoken::decode::<Claims>(token, &self.verifying, &self.validation)
            .map_err(|_| TokenRefused::NotOurs)?;
        let is_ours = data
            .header
            .typ
            .as_deref()
            .is_some_and(|typ| typ.eq_ignore_ascii_case(TYPE))
            && data.header.kid.as_deref() == Some(&self.key_id)
            && data.header.crit.is_none();
        let claims = data.claims;
        // A token that lives longer than any of ours, or comes from the future, was not made here.
        let lives_s = claims.exp.saturating_sub(claims.iat);
        if !is_ours || lives_s > self.settings.lifetime_s || claims.iat > now_s + LEEWAY_S {
            return Err(TokenRefused::NotOurs);
        }
        let identity = Identity {
            principal: claims.sub,
            site: claims.site,
            session: claims.sid,
            device: claims.device,
        };
        Ok((identity, claims.exp))
    }

    fn remember(
        &self,
        hash: [u8; 32],
        identity: Identity,
        last_s: i64,
        now_s: i64,
    ) -> Result<Identity, TokenRefused> {
        let mut known = self.known.write().unwrap_or_else(PoisonError::into_inner);
        if identity
            .session
            .is_some_and(|session| known.ended.contains_key(&session))
        {
            return Err(TokenRefused::SessionEnded);
        }
        if known.tokens.len() >= KNOWN_MAX {
            known.tokens.retain(|_, (_, last_s)| *last_s + LEEWAY_S > now_s);
        }
        if known.tokens.len() >= KNOWN_MAX {
            known.tokens.clear();
        }
        known.tokens.insert(hash, (identity, last_s));
        Ok(identity)
    }
}

impl fmt::Debug for Tokens {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Tokens")
            .field("key_id", &self.key_id)
            .finish_non_exhaustive()
    }
}

#[cfg(test)]
mod tests;

//! Signing in, refreshing, signing out.

use super::fingerprint::Fingerprints;
use super::key::{KeyError, SigningKey};
use super::password::{PasswordCost, Passwords};
use super::pin::Pins;
use super::secret::Secret;
use super::throttle::{Throttle, ThrottleSettings};
use super::token::{Identity, TokenSettings, Tokens};
use crate::book::Book;
use crate::problem::{Code, FieldError, Place, Problem};
use spindlebook_domain::access::{Principal, PrincipalKind};
use spindlebook_domain::device::Badge;
use spindlebook_domain::ids::{PrincipalId, SiteId};
use spindlebook_domain::time::{Timestamp, US_PER_SECOND};
use spindlebook_store::account::{self, AccountRow};
use spindlebook_store::session::{self, RefreshToken, Used};
use spindlebook_store::{StoreError, Transaction};
use std::fmt;
use std::net::IpAddr;
use uuid::{NoContext, Uuid};

/// The `client_id` (RFC 9068) of whoever signs in with login and password.
const OWN_CLIENT: &str = "spindlebook";

#[derive(Clone, Debug)]
pub struct AuthSettings {
    pub tokens: TokenSettings,
    pub password_cost: PasswordCost,
    pub throttle: ThrottleSettings,
    /// A session that is not refreshed for so long has ended.
    pub idle_max_s: i64,
    /// So long after signing in one signs in again, whatever was refreshed.
    pub session_max_s: i64,
}

impl Default for AuthSettings {
    /// A weekend and a works holiday pass without signing in again; a quarter of a year does not.
    fn default() -> Self {
        Self {
            tokens: TokenSettings::default(),
            password_cost: PasswordCost::default(),
            throttle: ThrottleSettings::default(),
            idle_max_s: 21 * 86_400,
            session_max_s: 90 * 86_400,
        }
    }
}

#[derive(Debug, thiserror::Error)]
pub enum AuthError {
    #[error(transparent)]
    Key(#[from] KeyError),
    #[error("the cost of hashing passwords is not possible: {0}")]
    Cost(String),
}

pub struct Auth {
    pub tokens: Tokens,
    pub passwords: Passwords,
    pub fingerprints: Fingerprints,
    pub pins: Pins,
    throttle: Throttle,
    settings: AuthSettings,
    book: Book,
}

/// What somebody who has signed in or refreshed gets.
#[derive(Debug)]
pub struct Session {
    pub access_token: Secret,
    pub expires_in_s: i64,
    pub refresh_token: Secret,
    pub refresh_expires_in_s: i64,
    pub principal: PrincipalId,
    pub site: SiteId,
    pub id: Uuid,
}

/// What a machine client gets.
#[derive(Debug)]
pub struct ClientSession {
    pub access_token: Secret,
    pub expires_in_s: i64,
    pub client: Principal,
}

impl Auth {
    pub fn new(book: Book, key: &SigningKey, settings: AuthSettings) -> Result<Self, AuthError> {
        let passwords = Passwords::new(settings.password_cost).map_err(AuthError::Cost)?;
        Ok(Self {
            tokens: Tokens::new(key, settings.tokens.clone())?,
            pins: Pins::new(key.pin_pepper(), passwords.clone()),
            passwords,
            fingerprints: key.fingerprints(),
            throttle: Throttle::new(&settings.throttle),
            settings,
            book,
        })
    }

    pub fn now(&self) -> Timestamp {
        self.book.now()
    }

    /// Unknown site, unknown login, wrong password and disabled user: one text, and one length of time.
    pub async fn sign_in(
        &self,
        site_code: Option<&str>,
        login: &str,
        password: Secret,
        address: IpAddr,
    ) -> Result<Session, Problem> {
        self.throttle.attempt_from(address)?;
        let site = self.site_of(site_code)?;
        let login = login.to_ascii_lowercase();
        self.throttle.attempt_at(site, &login)?;
        let account = self.account_by_login(site, &login).await?;
        let hash = account.as_ref().and_then(|account| account.secret_hash.clone());
        let is_right = self
            .passwords
            .verify(password, hash.clone())
            .await
            .map_err(|error| Problem::fault(&error))?;
        let known = account.as_ref().map(|account| account.id);
        let enabled = known.filter(|_| is_right).and_then(|id| self.enabled(site, id));
        let Some(principal) = enabled else {
            tracing::warn!(target: "audit", %site, principal = ?known, %address, "sign-in refused");
            return Err(refused());
        };
        let now = self.now();
        let family = family_begun(now);
        let mut transaction = self.book.store().begin().await?;
        // Checking a password takes its time; it may have been changed meanwhile, and the sessions of the old one ended.
        let current = account::lock(&mut transaction, principal.id).await?;
        if current.and_then(|account| account.secret_hash) != hash {
            tracing::warn!(target: "audit", %site, principal = %principal.id, %address, "sign-in refused: the password has just been changed");
            return Err(refused());
        }
        let session = self
            .begin(&mut transaction, site, principal.id, family, now)
            .await?;
        transaction.commit().await?;
        tracing::info!(target: "audit", %site, principal = %principal.id, %address, "signed in");
        Ok(session)
    }

    /// A refresh token is good once. One that comes a second time was copied: nobody can tell who is the thief, so
    /// the whole session ends.
    pub async fn refresh(&self, token: &Secret, address: IpAddr) -> Result<Session, Problem> {
        self.throttle.attempt_from(address)?;
        let now = self.now();
        let mut transaction = self.book.store().begin().await?;
        match session::use_once(&mut transaction, &token.sha256(), now).await? {
            Used::Once(used) => {
                let principal = self.enabled(used.site, used.account).ok_or_else(ended)?;
                let next = self
                    .begin(&mut transaction, used.site, principal.id, used.family, now)
                    .await?;
                transaction.commit().await?;
                Ok(next)
            }
            Used::Again { family, account } => {
                transaction.commit().await?;
                self.tokens.end_session(family, now);
                tracing::warn!(target: "audit", principal = %account, %address, "refresh token used again: session ended");
                Err(ended())
            }
            Used::NotValid => Err(ended()),
        }
    }

    pub async fn sign_out(&self, id: Uuid) -> Result<(), Problem> {
        let now = self.now();
        let mut transaction = self.book.store().begin().await?;
        session::revoke_family(&mut transaction, id, now).await?;
        transaction.commit().await?;
        self.tokens.end_session(id, now);
        Ok(())
    }

    /// Ends what still runs of somebody's sessions in this process; their refresh tokens were revoked with the command
    /// that is the reason.
    pub async fn end_sessions_of(&self, principal: PrincipalId) -> Result<(), Problem> {
        let now = self.now();
        let since = now.plus_s(-self.tokens.lifetime_s());
        let mut session = self.book.store().session().await?;
        for family in session::families_since(&mut session, principal, since).await? {
            self.tokens.end_session(family, now);
        }
        Ok(())
    }

    /// Whether it is this person's password. Counted like an attempt to sign in.
    pub async fn is_password_of(
        &self,
        site: SiteId,
        principal: PrincipalId,
        password: Secret,
    ) -> Result<bool, Problem> {
        self.throttle.attempt_at(site, &principal.to_string())?;
        let account = account::by_id(&mut self.book.store().session().await?, principal).await?;
        let hash = account.and_then(|account| account.secret_hash);
        self.passwords
            .verify(password, hash)
            .await
            .map_err(|error| Problem::fault(&error))
    }

    /// `Ok(None)`: id and secret do not match, or the client is disabled.
    pub async fn client_session(
        &self,
        client_id: &str,
        secret: &Secret,
        address: IpAddr,
    ) -> Result<Option<ClientSession>, Problem> {
        self.throttle.attempt_from(address)?;
        let account = match client_id.parse::<PrincipalId>() {
            Ok(id) => account::by_id(&mut self.book.store().session().await?, id).await?,
            Err(_) => None,
        };
        let matching = account.filter(|account| {
            account.kind == PrincipalKind::Client && account.secret_hash == Some(client_secret_hash(secret))
        });
        let enabled =
            matching.and_then(|account| Some((account.site, self.enabled(account.site, account.id)?)));
        let Some((site, client)) = enabled else {
            tracing::warn!(target: "audit", %address, "client refused");
            return Ok(None);
        };
        let identity = Identity {
            principal: client.id,
            site,
            session: None,
            device: None,
        };
        let token = self
            .tokens
            .issue(&identity, client_id, self.now())
            .map_err(|error| Problem::fault(&error))?;
        Ok(Some(ClientSession {
            access_token: Secret::new(token),
            expires_in_s: self.tokens.lifetime_s(),
            client,
        }))
    }

    /// A token for whoever is badged in on a tablet: it is good as long as the badge.
    pub fn badge_token(&self, site: SiteId, badge: &Badge) -> Result<Secret, Problem> {
        let identity = Identity {
            principal: badge.person,
            site,
            session: Some(badge.id.0),
            device: Some(badge.device),
        };
        let token = self
            .tokens
            .issue(&identity, &badge.device.to_string(), self.now());
        token.map(Secret::new).map_err(|error| Problem::fault(&error))
    }

    /// To be called now and then: forgets what counts no more.
    pub async fn tidy(&self) -> Result<(), StoreError> {
        self.throttle.tidy();
        let mut transaction = self.book.store().begin().await?;
        session::drop_expired(&mut transaction, self.now().plus_s(-self.settings.idle_max_s)).await?;
        transaction.commit().await
    }

    async fn begin(
        &self,
        transaction: &mut Transaction,
        site: SiteId,
        principal: PrincipalId,
        family: Uuid,
        now: Timestamp,
    ) -> Result<Session, Problem> {
        let ends_at = begun_at(family).plus_s(self.settings.session_max_s);
        let expires_at = now.plus_s(self.settings.idle_max_s).min(ends_at);
        if expires_at <= now {
            return Err(ended());
        }
        let refresh_token = Secret::random();
        let row = RefreshToken {
            hash: refresh_token.sha256(),
            family,
            account: principal,
            site,
            issued_at: now,
            expires_at,
        };
        session::insert(transaction, &row).await?;
        let identity = Identity {
            principal,
            site,
            session: Some(family),
            device: None,
        };
        let token = self
            .tokens
            .issue(&identity, OWN_CLIENT, now)
            .map_err(|error| Problem::fault(&error))?;
        Ok(Session {
            access_token: Secret::new(token),
            expires_in_s: self.tokens.lifetime_s(),
            refresh_token,
            refresh_expires_in_s: expires_at.since_us(now) / US_PER_SECOND,
            principal,
            site,
            id: family,
        })
    }

    fn enabled(&self, site: SiteId, id: PrincipalId) -> Option<Principal> {
        let shop = self.book.shop(site)?;
        shop.principals
            .get(&id)
            .filter(|principal| principal.is_enabled())
            .cloned()
    }

    async fn account_by_login(&self, site: SiteId, login: &str) -> Result<Option<AccountRow>, Problem> {
        let account = account::by_login(&mut self.book.store().session().await?, site, login).await?;
        Ok(account.filter(|account| account.kind == PrincipalKind::Person))
    }

    /// A code that no site has is answered like a login that nobody has.
    fn site_of(&self, code: Option<&str>) -> Result<SiteId, Problem> {
        match (code, self.book.sites().as_slice()) {
            (Some(code), _) => Ok(self.book.site_by_code(code).unwrap_or(SiteId(Uuid::nil()))),
            (None, [(only, _)]) => Ok(*only),
            (None, []) => Ok(SiteId(Uuid::nil())),
            (None, _) => {
                let detail = "there are several sites here; say which one you sign in to, by its code";
                let field = FieldError::at(Place::pointer("/site"), "missing", detail);
                Err(Problem::new(Code::BodyInvalid, format!("/site: {detail}.")).with_field(field))
            }
        }
    }
}

impl fmt::Debug for Auth {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Auth")
            .field("tokens", &self.tokens)
            .finish_non_exhaustive()
    }
}

/// What is stored of a client's secret.
pub fn client_secret_hash(secret: &Secret) -> String {
    format!("sha256:{}", hex::encode(secret.sha256()))
}

/// A family carries the time at which it began in its id.
fn family_begun(at: Timestamp) -> Uuid {
    let seconds = u64::try_from(at.us() / US_PER_SECOND).unwrap_or_default();
    Uuid::new_v7(uuid::Timestamp::from_unix(NoContext, seconds, 0))
}

fn begun_at(family: Uuid) -> Timestamp {
    let seconds = family.get_timestamp().map_or(0, |at| at.to_unix().0);
    Timestamp(0).plus_s(i64::try_from(seconds).unwrap_or(i64::MAX))
}

fn refused() -> Problem {
    let detail = "Nobody is let in with this login and password. Check both, or ask an admin.";
    Problem::new(Code::SignInRefused, detail).with_header(
        actix_web::http::header::WWW_AUTHENTICATE,
        "Bearer realm=\"spindlebook\"",
    )
}

fn ended() -> Problem {
    let detail = "This session cannot be refreshed any more; sign in again.";
    Problem::new(Code::SessionEnded, detail).with_header(
        actix_web::http::header::WWW_AUTHENTICATE,
        "Bearer realm=\"spindlebook\"",
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_family_knows_when_it_began() {
        let at = Timestamp(1_793_599_200_000_000);
        assert_eq!(begun_at(family_begun(at)), at);
        assert_ne!(family_begun(at), family_begun(at));
    }
}

//! The one way to ask who is calling: a parameter of the handler that names the operation.

use super::operations::{Operation, Permit};
use super::service::Auth;
use crate::book::{Book, BookError};
use crate::problem::{Code, Problem};
use actix_web::dev::Payload;
use actix_web::http::header;
use actix_web::web::Data;
use actix_web::{FromRequest, HttpMessage, HttpRequest};
use spindlebook_domain::access::{Principal, PrincipalKind};
use spindlebook_domain::actor::Actor;
use spindlebook_domain::ids::{BadgeId, PrincipalId, Seq, SiteId};
use spindlebook_domain::role::Role;
use spindlebook_domain::shop::Shop;
use spindlebook_domain::time::Timestamp;
use std::collections::BTreeSet;
use std::future::{Ready, ready};
use std::marker::PhantomData;
use std::net::{IpAddr, Ipv4Addr};
use std::sync::Arc;
use uuid::Uuid;

const REALM: &str = "Bearer realm=\"spindlebook\"";

/// Somebody who is signed in, enabled, and may do the operation `O`.
#[derive(Debug)]
pub struct Caller<O> {
    pub principal: PrincipalId,
    pub kind: PrincipalKind,
    pub roles: BTreeSet<Role>,
    pub site: SiteId,
    /// The session of a person; machine clients have none. On a tablet it is the badge.
    pub session: Option<Uuid>,
    /// The tablet that it was tapped on.
    pub device: Option<PrincipalId>,
    /// When it was, of an act that a tablet delivers; else now.
    pub happened_at: Option<Timestamp>,
    /// The site as it was when the request came in.
    pub shop: Arc<Shop>,
    operation: PhantomData<O>,
}

/// What a tablet delivers was done before, by somebody who was badged in on it then. It stands among the extensions of a
/// request that the service makes itself; nothing that comes from outside gets there.
#[derive(Clone, Copy, Debug)]
pub struct Delivered {
    pub site: SiteId,
    pub device: PrincipalId,
    pub person: PrincipalId,
    pub happened_at: Timestamp,
}

/// The entry that an answer has seen, for the header `X-Site-Seq`.
#[derive(Clone, Copy, Debug)]
pub struct SiteSeq(pub Seq);

impl<O> Caller<O> {
    pub fn actor(&self) -> Actor {
        match self.kind {
            PrincipalKind::Person => Actor::Person(self.principal),
            PrincipalKind::Client => Actor::Client(self.principal),
        }
    }

    /// A tablet, in its own name.
    pub fn is_device(&self) -> bool {
        self.kind == PrincipalKind::Client && self.roles.contains(&Role::Device)
    }
}

impl<O: Permit> Caller<O> {
    pub fn of(request: &HttpRequest) -> Result<Self, Problem> {
        let (auth, book) = (part::<Auth>(request)?, part::<Book>(request)?);
        let delivered = request.extensions().get::<Delivered>().copied();
        if let Some(delivered) = delivered {
            return Self::of_delivered(book, &delivered);
        }
        let caller = Self::by_token(auth, book, bearer(request)?)?;
        request.extensions_mut().insert(SiteSeq(caller.shop.seq));
        Ok(caller)
    }

    /// Without waiting for anything: the token is known by its hash, the roles are in the current state.
    pub fn by_token(auth: &Auth, book: &Book, token: &str) -> Result<Self, Problem> {
        let verified = auth.tokens.verify(token, auth.now());
        let identity = verified.map_err(|why| not_signed_in(Code::TokenInvalid, &why.to_string()))?;
        let gone = || {
            not_signed_in(
                Code::SessionEnded,
                "This user or client may not sign in any more.",
            )
        };
        let shop = book.shop(identity.site).ok_or_else(gone)?;
        let principal = shop
            .principals
            .get(&identity.principal)
            .filter(|it| it.is_enabled())
            .ok_or_else(gone)?;
        if let Some(device) = identity.device {
            let badge = identity.session.and_then(|id| shop.badges.get(&BadgeId(id)));
            let on_it = badge.filter(|badge| badge.device == device && badge.is_live(book.now()));
            on_it.ok_or_else(badge_ended)?;
            if !O::OPERATION.takes_badge() {
                return Err(badge_not_enough(&O::OPERATION));
            }
        }
        if !O::OPERATION.permits(&principal.roles) {
            return Err(not_permitted(&O::OPERATION, principal));
        }
        Ok(Self {
            principal: principal.id,
            kind: principal.kind,
            roles: principal.roles.clone(),
            site: identity.site,
            session: identity.session,
            device: identity.device,
            happened_at: None,
            shop: shop.clone(),
            operation: PhantomData,
        })
    }

    /// Judged as of the act: who was disabled since then did it all the same. Roles count as they are now.
    fn of_delivered(book: &Book, delivered: &Delivered) -> Result<Self, Problem> {
        let operation = &O::OPERATION;
        if !operation.is_act {
            let detail = format!("{} is no act that a tablet delivers.", operation.id);
            return Err(Problem::new(Code::OperationNotDelivered, detail));
        }
        let gone = || Problem::from(BookError::UnknownSite(delivered.site));
        let shop = book.shop(delivered.site).ok_or_else(gone)?;
        let person = shop.principals.get(&delivered.person).ok_or_else(gone)?;
        if !operation.permits(&person.roles) {
            return Err(not_permitted(operation, person));
        }
        Ok(Self {
            principal: person.id,
            kind: person.kind,
            roles: person.roles.clone(),
            site: delivered.site,
            session: None,
            device: Some(delivered.device),
            happened_at: Some(delivered.happened_at),
            shop: shop.clone(),
            operation: PhantomData,
        })
    }
}

impl<O: Permit> FromRequest for Caller<O> {
    type Error = Problem;
    type Future = Ready<Result<Self, Problem>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        ready(Self::of(request))
    }
}

/// A part of the service that every application is built with.
pub(crate) fn part<T: 'static>(request: &HttpRequest) -> Result<&Data<T>, Problem> {
    let missing = || {
        Problem::fault(&format!(
            "the application was built without {}",
            std::any::type_name::<T>()
        ))
    };
    request.app_data::<Data<T>>().ok_or_else(missing)
}

/// Where the request comes from, as the connection tells; headers of proxies are not believed.
pub fn address_of(request: &HttpRequest) -> IpAddr {
    request
        .peer_addr()
        .map_or(IpAddr::V4(Ipv4Addr::UNSPECIFIED), |address| address.ip())
}

pub(crate) fn bearer(request: &HttpRequest) -> Result<&str, Problem> {
    let header = request
        .headers()
        .get(header::AUTHORIZATION)
        .and_then(|value| value.to_str().ok());
    let token = header
        .and_then(|value| value.split_once(' '))
        .filter(|(scheme, _)| scheme.eq_ignore_ascii_case("bearer"));
    token.map(|(_, token)| token.trim()).ok_or_else(|| {
        let detail = "Send the header `Authorization: Bearer …` with an access token from POST /v1/session or \
                      POST /oauth/token.";
        // RFC 6750, section 3.1: no error code where no token was sent.
        Problem::new(Code::SignInRequired, detail).with_header(header::WWW_AUTHENTICATE, REALM)
    })
}

fn not_signed_in(code: Code, detail: &str) -> Problem {
    let challenge = format!("{REALM}, error=\"invalid_token\"");
    Problem::new(code, detail).with_header(header::WWW_AUTHENTICATE, &challenge)
}

fn badge_ended() -> Problem {
    not_signed_in(
        Code::SessionEnded,
        "This badge has ended, or another one took over the tablet. Badge in again.",
    )
}

fn badge_not_enough(operation: &Operation) -> Problem {
    let detail = format!(
        "{} is not done with a badge. Sign in with login and password.",
        operation.id
    );
    let challenge = format!("{REALM}, error=\"insufficient_scope\"");
    Problem::new(Code::BadgeNotEnough, detail)
        .with("operation", operation.id)
        .with_header(header::WWW_AUTHENTICATE, &challenge)
}

fn not_permitted(operation: &Operation, principal: &Principal) -> Problem {
    let own: Vec<_> = principal.roles.iter().map(|role| role.as_str()).collect();
    let detail = format!(
        "{} asks for one of these. {} You have: {}.",
        operation.id,
        operation.rule(),
        own.join(", ")
    );
    let challenge = format!("{REALM}, error=\"insufficient_scope\"");
    Problem::new(Code::RoleMissing, detail)
        .with("operation", operation.id)
        .with("roles", own)
        .with_header(header::WWW_AUTHENTICATE, &challenge)
}

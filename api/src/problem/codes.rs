//! Every code that a problem can have. `docs/http-api.md` lists them; a test holds the two together.

use super::status_of;
use actix_web::http::StatusCode;
use spindlebook_domain::refusal::Refusal;

macro_rules! codes {
    ($($(#[$doc:meta])* $name:ident = $code:literal, $status:ident, $title:literal, $retryable:literal;)+) => {
        /// The codes of HTTP itself; those of the rules come from the domain.
        #[derive(Clone, Copy, Debug, PartialEq, Eq)]
        pub enum Code {
            $($(#[$doc])* $name,)+
        }

        impl Code {
            pub const ALL: &'static [Self] = &[$(Self::$name),+];

            pub const fn as_str(self) -> &'static str {
                match self { $(Self::$name => $code,)+ }
            }

            pub const fn status(self) -> StatusCode {
                match self { $(Self::$name => StatusCode::$status,)+ }
            }

            pub const fn title(self) -> &'static str {
                match self { $(Self::$name => $title,)+ }
            }

            /// Whether the same request can succeed later without anybody changing it.
            pub const fn is_retryable(self) -> bool {
                match self { $(Self::$name => $retryable,)+ }
            }
        }
    };
}

codes! {
    BodyMalformed = "body.malformed", BAD_REQUEST, "The body is not well-formed", false;
    BodyInvalid = "body.invalid", BAD_REQUEST, "A field of the body is wrong", false;
    PathInvalid = "path.invalid", BAD_REQUEST, "A part of the path is wrong", false;
    QueryInvalid = "query.invalid", BAD_REQUEST, "A query parameter is wrong", false;
    HeaderInvalid = "header.invalid", BAD_REQUEST, "A header is wrong", false;
    /// The problem says which two instants are its neighbours.
    LocalTimeDoesNotExist = "local-time.does-not-exist", BAD_REQUEST, "The clocks go forward over this local time", false;
    /// The problem says which two instants it can mean.
    LocalTimeExistsTwice = "local-time.exists-twice", BAD_REQUEST, "This local time comes twice", false;
    KeyMissing = "idempotency-key.missing", BAD_REQUEST, "The header Idempotency-Key is missing", false;
    PasswordWeak = "password.weak", BAD_REQUEST, "The password is too easily guessed", false;
    PasswordWrong = "password.wrong", CONFLICT, "This is not the current password", false;
    PinWeak = "pin.weak", BAD_REQUEST, "The PIN is too easily guessed", false;
    PinWrong = "pin.wrong", CONFLICT, "Name and PIN do not match", false;
    PinLocked = "pin.locked", CONFLICT, "The PIN is locked", false;
    PinTooMany = "pin.too-many", TOO_MANY_REQUESTS, "Too many wrong PINs", true;
    /// It is for people who signed in with their password.
    BadgeNotEnough = "badge.not-enough", FORBIDDEN, "A badge does not do for this", false;
    OperationNotDelivered = "delivery.operation-not-taken", BAD_REQUEST, "This is no act that a tablet delivers", false;
    /// Another time, another person, or a badge that nobody has confirmed.
    NotBadgedIn = "delivery.not-badged-in", CONFLICT, "The person was not badged in then", false;
    /// Its own answer is a member of the problem.
    ActRefused = "delivery.act-refused", CONFLICT, "The act was refused", false;
    SignInRequired = "sign-in.required", UNAUTHORIZED, "Sign in first", false;
    TokenInvalid = "sign-in.token-invalid", UNAUTHORIZED, "The access token is not valid", false;
    /// One text for an unknown login, a wrong password and a disabled user: nobody learns which logins exist.
    SignInRefused = "sign-in.refused", UNAUTHORIZED, "Login and password do not match", false;
    SessionEnded = "sign-in.session-ended", UNAUTHORIZED, "The session has ended", false;
    RoleMissing = "role.missing", FORBIDDEN, "None of your roles may do this", false;
    RouteUnknown = "route.unknown", NOT_FOUND, "There is nothing at this path", false;
    NotFound = "resource.unknown", NOT_FOUND, "There is no such thing at this site", false;
    MethodNotAllowed = "method.not-allowed", METHOD_NOT_ALLOWED, "This path does not take this method", false;
    NotAcceptable = "accept.unknown", NOT_ACCEPTABLE, "None of these types can be given", false;
    RequestTooSlow = "request.too-slow", REQUEST_TIMEOUT, "The request took too long to arrive", true;
    BodyTooLarge = "body.too-large", PAYLOAD_TOO_LARGE, "The body is too large", false;
    MediaTypeUnsupported = "body.media-type-unsupported", UNSUPPORTED_MEDIA_TYPE, "The body is of a type not taken here", false;
    KeyReused = "idempotency-key.reused", UNPROCESSABLE_ENTITY, "This Idempotency-Key was used for another request", false;
    IfMatchMissing = "if-match.missing", PRECONDITION_REQUIRED, "The header If-Match is missing", false;
    TooManyRequests = "requests.too-many", TOO_MANY_REQUESTS, "Too many requests", true;
    TooManyStreams = "streams.too-many", TOO_MANY_REQUESTS, "Too many live streams are open", true;
    TooManySignIns = "sign-in.too-many", TOO_MANY_REQUESTS, "Too many attempts to sign in", true;
    Fault = "service.fault", INTERNAL_SERVER_ERROR, "The service failed", false;
    Busy = "service.busy", SERVICE_UNAVAILABLE, "Too much is waiting to be written", true;
    Halted = "service.halted", SERVICE_UNAVAILABLE, "The site takes no commands", true;
    SeqNotReached = "min-seq.not-reached", SERVICE_UNAVAILABLE, "This entry has not arrived here yet", true;
    StorageUnavailable = "storage.unavailable", SERVICE_UNAVAILABLE, "The database is not available", true;
    StorageGone = "storage.gone", SERVICE_UNAVAILABLE, "The database's file is gone", true;
    StorageFull = "storage.full", INSUFFICIENT_STORAGE, "The database has no space left", true;
}

/// What is fixed about a code.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CodeRow {
    pub code: &'static str,
    pub status: u16,
    pub title: String,
    pub retryable: bool,
}

/// Every code, by status and code.
pub fn table() -> Vec<CodeRow> {
    let of_http = Code::ALL.iter().map(|code| CodeRow {
        code: code.as_str(),
        status: code.status().as_u16(),
        title: code.title().to_owned(),
        retryable: code.is_retryable(),
    });
    let of_rules = Refusal::all_kinds().into_iter().map(|(code, kind)| CodeRow {
        code,
        status: status_of(kind).as_u16(),
        title: title_of_refusal(code),
        retryable: false,
    });
    let mut rows: Vec<_> = of_http.chain(of_rules).collect();
    rows.sort_by_key(|row| (row.status, row.code));
    rows
}

/// A rule's code is a statement already: `machine.already-down` reads "Machine already down".
pub(super) fn title_of_refusal(code: &str) -> String {
    let words = code.replace(['.', '-', '_'], " ");
    let mut chars = words.chars();
    chars
        .next()
        .map(|first| first.to_ascii_uppercase())
        .into_iter()
        .chain(chars)
        .collect()
}

//! Who is calling, and what they may do.
//!
//! A token says who somebody is and nothing about roles: those are read from the site's current state at every
//! request, so that disabling a user or taking a role away holds at once.

pub mod document;
pub mod operations;

mod fingerprint;
pub(crate) mod guard;
mod key;
mod login;
mod password;
mod pin;
mod secret;
mod service;
mod throttle;
mod token;

pub use fingerprint::Fingerprints;
pub use guard::{Caller, Delivered, SiteSeq, address_of};
pub use key::{KeyError, PublicKey, SigningKey};
pub use login::{LOGIN_CHARS_MAX, Login, NotALogin};
pub use operations::{Allowed, Operation, Permit, op};
pub use password::{PasswordCost, Passwords, WeakPassword, check_new};
pub use pin::{NotAPin, PIN_DIGITS, PIN_WRONG_MAX, Pin, Pins, refused as pin_refused};
pub use secret::Secret;
pub use service::{Auth, AuthError, AuthSettings, ClientSession, Session, client_secret_hash};
pub use throttle::ThrottleSettings;
pub use token::{Identity, TokenRefused, TokenSettings, Tokens};

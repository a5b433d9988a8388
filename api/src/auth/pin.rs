//! PINs for tablets: six digits, good only on an enrolled tablet, slowed down by the person and never by the tablet.

use super::fingerprint::Fingerprints;
use super::password::Passwords;
use super::secret::Secret;
use crate::book::Book;
use crate::problem::{Code, FieldError, Place, Problem};
use serde::Deserialize;
use spindlebook_domain::ids::{PrincipalId, SiteId};
use spindlebook_domain::time::{Timestamp, US_PER_SECOND};
use spindlebook_store::pin;
use std::collections::BTreeSet;

pub const PIN_DIGITS: usize = 6;
/// After so many wrong ones an admin has to unlock it.
pub const PIN_WRONG_MAX: u32 = 10;
/// So many are answered at once: a glove slips.
const WRONG_AT_ONCE: u32 = 2;

/// Six digits. It does not show itself in a log.
#[derive(Clone, Debug, Deserialize)]
#[serde(try_from = "String")]
pub struct Pin(Secret);

#[derive(Debug, thiserror::Error)]
#[error("a PIN has {PIN_DIGITS} digits and nothing else")]
pub struct NotAPin;

impl TryFrom<String> for Pin {
    type Error = NotAPin;
    fn try_from(text: String) -> Result<Self, NotAPin> {
        if text.len() == PIN_DIGITS && text.bytes().all(|digit| digit.is_ascii_digit()) {
            Ok(Self(Secret::new(text)))
        } else {
            Err(NotAPin)
        }
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("it is one of those that are tried first; take six digits without a pattern")]
pub struct WeakPin;

impl Pin {
    /// Refuses runs, pairs or triples that repeat, and what is made of two digits.
    pub fn check_new(&self) -> Result<(), WeakPin> {
        let digits: Vec<i32> = self
            .0
            .reveal()
            .bytes()
            .map(|digit| i32::from(digit - b'0'))
            .collect();
        let repeats = |length: usize| digits.iter().zip(&digits[length..]).all(|(a, b)| a == b);
        let runs = |every: usize, step: i32| {
            let chosen: Vec<_> = digits.iter().step_by(every).collect();
            chosen
                .windows(2)
                .all(|two| (two[1] - two[0]).rem_euclid(10) == step)
        };
        // 112233, 998877: a run in pairs.
        let is_doubled = digits.chunks(2).all(|pair| pair[0] == pair[1]);
        let is_run = runs(1, 1) || runs(1, 9) || (is_doubled && (runs(2, 1) || runs(2, 9)));
        // 123321: the second half is the first one backwards.
        let is_mirrored_run = (0..3).all(|at| digits[at] == digits[5 - at])
            && digits[..3].windows(2).all(|two| (two[1] - two[0]).abs() == 1);
        let distinct: BTreeSet<_> = digits.iter().collect();
        if distinct.len() < 3 || (1..=3).any(repeats) || is_run || is_mirrored_run {
            return Err(WeakPin);
        }
        Ok(())
    }
}

/// How PINs are hashed.
pub struct Pins {
    pepper: Fingerprints,
    passwords: Passwords,
}

impl Pins {
    pub fn new(pepper: Fingerprints, passwords: Passwords) -> Self {
        Self { pepper, passwords }
    }

    /// Checks a new one and hashes it.
    pub async fn hash_new(&self, person: PrincipalId, pin: &Pin) -> Result<String, Problem> {
        pin.check_new().map_err(|weak| {
            let field = FieldError::at(Place::pointer("/pin"), Code::PinWeak.as_str(), weak.to_string());
            Problem::new(Code::PinWeak, format!("/pin: {weak}.")).with_field(field)
        })?;
        let hash = self.passwords.hash(self.peppered(person, pin)).await;
        hash.map_err(|error| Problem::fault(&error))
    }

    /// Counted as wrong before it is looked at, so that many at once gain nothing.
    pub async fn check(
        &self,
        book: &Book,
        site: SiteId,
        person: PrincipalId,
        pin: &Pin,
    ) -> Result<(), Problem> {
        let now = book.now();
        let mut transaction = book.store().begin().await?;
        let row = pin::lock(&mut transaction, site, person).await?;
        let mut wrong = 0;
        if let Some(row) = &row {
            may_try(row, now)?;
            wrong = row.wrong + 1;
            pin::count_wrong(&mut transaction, person, wrong, wait_until(wrong, now)).await?;
        }
        transaction.commit().await?;
        let is_right = self
            .passwords
            .verify(self.peppered(person, pin), row.map(|row| row.hash))
            .await
            .map_err(|error| Problem::fault(&error))?;
        if !is_right {
            tracing::warn!(target: "audit", %site, %person, wrong, "a PIN was wrong");
            return Err(refused());
        }
        let mut transaction = book.store().begin().await?;
        pin::forget_wrong(&mut transaction, person).await?;
        Ok(transaction.commit().await?)
    }

    fn peppered(&self, person: PrincipalId, pin: &Pin) -> Secret {
        let parts = [person.0.as_bytes().as_slice(), pin.0.reveal().as_bytes()];
        Secret::new(hex::encode(self.pepper.of(&parts)))
    }
}

/// Nothing, then 2 s, and twice as long each time.
fn wait_until(wrong: u32, now: Timestamp) -> Option<Timestamp> {
    let beyond = wrong.checked_sub(WRONG_AT_ONCE).filter(|beyond| *beyond > 0)?;
    Some(now.plus_s(1 << beyond.min(20)))
}

fn may_try(row: &pin::PinRow, now: Timestamp) -> Result<(), Problem> {
    if row.wrong >= PIN_WRONG_MAX {
        let detail = format!("{PIN_WRONG_MAX} wrong PINs one after the other: an admin has to unlock it.");
        return Err(Problem::new(Code::PinLocked, detail));
    }
    match row.wait_until {
        Some(until) if until > now => {
            let wait_s = u64::try_from(until.since_us(now) / US_PER_SECOND).unwrap_or(1) + 1;
            let detail = format!("Too many wrong PINs: try again in {wait_s} s.");
            Err(Problem::new(Code::PinTooMany, detail).with_retry_after_s(wait_s))
        }
        _ => Ok(()),
    }
}

/// One text for a wrong PIN, somebody unknown or disabled, and a person without a PIN.
pub fn refused() -> Problem {
    let detail = "Nobody is badged in with this name and PIN.";
    Problem::new(Code::PinWrong, detail)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pin(digits: &str) -> Pin {
        Pin::try_from(digits.to_owned()).unwrap()
    }

    // Common practice, no source: what people take first is one digit, a run, or a pattern that repeats.
    #[test]
    fn patterns_are_refused_and_digits_without_one_are_not() {
        for weak in [
            "000000", "111111", "123456", "654321", "012345", "890123", "321098", "121212", "123123",
            "778877", "112233", "998877", "123321",
        ] {
            assert_eq!(pin(weak).check_new(), Err(WeakPin), "{weak}");
        }
        for fine in ["730518", "402917", "118264", "905533", "135791"] {
            assert_eq!(pin(fine).check_new(), Ok(()), "{fine}");
        }
    }

    #[test]
    fn a_pin_is_six_digits_and_does_not_show_itself() {
        for none in ["", "12345", "1234567", "12345a", "١٢٣٤٥٦"] {
            assert!(Pin::try_from(none.to_owned()).is_err(), "{none}");
        }
        assert!(!format!("{:?}", pin("730518")).contains("730518"));
    }

    #[test]
    fn waiting_doubles_until_an_admin_is_needed() {
        let now = Timestamp(0);
        let waits: Vec<_> = (1..=9)
            .map(|wrong| wait_until(wrong, now).map_or(0, |until| until.us() / 1_000_000))
            .collect();
        assert_eq!(waits, [0, 0, 2, 4, 8, 16, 32, 64, 128]);
    }
}

//! When an act was, and whether whoever is said to have done it was badged in then.

use crate::problem::{Code, Problem};
use spindlebook_domain::device::{Badge, BadgeRefusal, Contact};
use spindlebook_domain::ids::{BadgeId, PrincipalId};
use spindlebook_domain::refusal::Refusal;
use spindlebook_domain::shop::Shop;
use spindlebook_domain::time::Timestamp;

/// The way of a message through a hall takes its time, and a badge is begun by the service's clock.
const SLACK_S: i64 = 60;
/// Older than any badge that is kept: the tablet's clock had not been set.
const AGE_MAX_S: i64 = spindlebook_domain::device::BADGE_KEPT_S;

/// An act that can be taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Judged {
    pub person: PrincipalId,
    pub happened_at: Timestamp,
}

/// `Err`: the badge is none of this tablet.
pub fn badge_of(shop: &Shop, device: PrincipalId, badge: BadgeId) -> Result<&Badge, Problem> {
    let known = shop.badges.get(&badge).filter(|known| known.device == device);
    known.ok_or_else(|| Problem::from(Refusal::from(BadgeRefusal::Unknown { badge })))
}

/// Why an act cannot be taken as it came.
#[derive(Debug)]
pub enum Unjudged {
    /// By the tablet's clocks it was then, which cannot be.
    TimeUnusable,
    NotBadgedIn(Problem),
}

/// `device_time`: what the tablet's clock read when it was tapped.
pub fn judge(contact: &Contact, badge: &Badge, device_time: Timestamp) -> Result<Judged, Unjudged> {
    let happened_at = contact.corrected(device_time);
    let received_at = contact.received_at;
    let is_usable =
        happened_at <= received_at.plus_s(SLACK_S) && happened_at >= received_at.plus_s(-AGE_MAX_S);
    if !is_usable {
        return Err(Unjudged::TimeUnusable);
    }
    let happened_at = happened_at.min(received_at);
    if !badge.covers(happened_at)
        && !badge.covers(happened_at.plus_s(SLACK_S))
        && !badge.covers(happened_at.plus_s(-SLACK_S))
    {
        return Err(Unjudged::NotBadgedIn(not_badged_in(badge, happened_at)));
    }
    Ok(Judged {
        person: badge.person,
        happened_at,
    })
}

fn not_badged_in(badge: &Badge, happened_at: Timestamp) -> Problem {
    let detail = format!(
        "It was at {happened_at}; badge {} was good from {} to {}. Whoever did it confirms by PIN: badge in with \
         `claimed`, and deliver it with that badge.",
        badge.id,
        badge.since,
        badge.ends_at()
    );
    Problem::new(Code::NotBadgedIn, detail)
        .with("happened_at", happened_at.to_string())
        .with("since", badge.since.to_string())
        .with("until", badge.ends_at().to_string())
}

#[cfg(test)]
mod tests {
    use super::*;
    use uuid::Uuid;

    /// 2026-11-02T06:00:00Z
    const NOW: Timestamp = Timestamp(1_793_599_200_000_000);

    fn badge() -> Badge {
        Badge {
            id: BadgeId(Uuid::from_u128(1)),
            device: PrincipalId(Uuid::from_u128(2)),
            person: PrincipalId(Uuid::from_u128(3)),
            since: NOW.plus_s(-3_600),
            until: NOW.plus_s(-2_700),
            ended_at: None,
            claimed: false,
            changed_seq: 7,
        }
    }

    fn judged(ahead_s: i64, device_time: Timestamp) -> Result<Timestamp, &'static str> {
        let contact = Contact {
            clock: NOW.plus_s(ahead_s),
            received_at: NOW,
        };
        let judged = judge(&contact, &badge(), device_time);
        judged.map(|judged| judged.happened_at).map_err(|why| match why {
            Unjudged::TimeUnusable => "unusable",
            Unjudged::NotBadgedIn(problem) => problem.code(),
        })
    }

    #[test]
    fn an_act_is_taken_under_the_badge_that_was_good_then() {
        let at = NOW.plus_s(-3_000);
        assert_eq!(judged(0, at), Ok(at));
        assert_eq!(judged(420, at.plus_s(420)), Ok(at), "seven minutes fast");
        assert_eq!(
            judged(1, at.plus_s(1)),
            Ok(at.plus_s(1)),
            "that may be the message's way"
        );
        assert_eq!(
            judged(0, NOW.plus_s(-3_650)),
            Ok(NOW.plus_s(-3_650)),
            "within the slack"
        );
        assert_eq!(judged(0, NOW.plus_s(-3_700)), Err("delivery.not-badged-in"));
        assert_eq!(judged(0, NOW.plus_s(-2_600)), Err("delivery.not-badged-in"));
    }

    #[test]
    fn a_time_that_cannot_be_is_not_used() {
        assert_eq!(judged(0, Timestamp(0)), Err("unusable"), "1970");
        assert_eq!(judged(0, NOW.plus_s(120)), Err("unusable"), "not yet");
        assert_eq!(
            judged(-1_793_599_200, Timestamp(0)),
            Err("delivery.not-badged-in"),
            "in 1970 at sending too: now"
        );
    }
}

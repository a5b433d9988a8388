use crate::ids::{BadgeId, CommandId, PrincipalId};
use crate::refusal::refusals;
use crate::time::Timestamp;

refusals! {
    pub enum DeviceRefusal {
        Unknown { device: PrincipalId } =>
            (NotFound, "device.unknown", "", "there is no tablet {device} at this site, or it was disabled"),
        TooMany { acts: usize, max: usize } =>
            (Invalid, "device.too-many-acts", "/acts", "{acts} acts are more than {max}; deliver them in several requests"),
        TooManySetAside { max: usize } =>
            (Rule, "device.too-many-set-aside", "", "{max} acts wait for somebody to say when they were, which is the most that are kept; say it of some first"),
        ActUnknown { key: CommandId } =>
            (NotFound, "device.act-unknown", "", "no act {key} waits for its time"),
        PlacedLate { at: Timestamp, received_at: Timestamp } =>
            (Invalid, "device.act-placed-late", "/at", "{at} is after the act arrived, at {received_at}"),
    }
}

refusals! {
    pub enum BadgeRefusal {
        Unknown { badge: BadgeId } =>
            (NotFound, "badge.unknown", "", "there is no badge {badge} at this site; badges are kept for 14 days"),
        /// Disabled ones too.
        PersonUnknown { person: PrincipalId } =>
            (Rule, "badge.person-unknown", "/person", "{person} is nobody who can badge in here"),
        ClaimedAhead { since: Timestamp, now: Timestamp } =>
            (Invalid, "badge.claimed-ahead", "/claimed/since", "{since} is later than now ({now})"),
        ClaimedTooLong { since: Timestamp, days_max: i64 } =>
            (Rule, "badge.claimed-too-long-ago", "/claimed/since", "{since} is more than {days_max} days ago; a person tells of what was done then"),
        Ended { badge: BadgeId, ended_at: Timestamp } =>
            (Rule, "badge.already-ended", "", "badge {badge} ended at {ended_at} already"),
    }
}

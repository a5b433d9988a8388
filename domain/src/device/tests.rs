use super::{
    ACTS_MAX, ActSetAside, BADGE_KEPT_S, BADGE_LIFETIME_S, BadgeBegun, BadgeEnded, BeginBadge, Contact,
    DeliveredAct, EndBadge, PlaceAct, ReportContact, SetActAside, SetPin, UnlockPin,
};
use crate::access::{AddPrincipal, DisablePrincipal, ForgetPrincipal, PrincipalKind};
use crate::event::Event;
use crate::ids::{BadgeId, CommandId, TextId};
use crate::note::NoteRef;
use crate::role::Role;
use crate::shop::given::{Given, an_open_site, at_s, principal, refused};
use crate::time::Timestamp;
use std::collections::BTreeSet;
use uuid::Uuid;

const TABLET: u8 = 3;
const OTHER_TABLET: u8 = 4;

fn badge(number: u8) -> BadgeId {
    BadgeId(Uuid::from_u128(0xbad6_0000 + u128::from(number)))
}

fn add(number: u8, kind: PrincipalKind, role: Role) -> AddPrincipal {
    AddPrincipal {
        principal: principal(number),
        kind,
        roles: BTreeSet::from([role]),
    }
}

/// An admin (1), an operator (2), two tablets (3, 4) and a client that is none (5).
fn a_site_with_tablets() -> Given {
    let mut given = an_open_site();
    given
        .does(add(1, PrincipalKind::Person, Role::Admin))
        .does(add(2, PrincipalKind::Person, Role::Operator))
        .does(add(TABLET, PrincipalKind::Client, Role::Device))
        .does(add(OTHER_TABLET, PrincipalKind::Client, Role::Device))
        .does(add(5, PrincipalKind::Client, Role::Integration));
    given
}

fn begin(number: u8, device: u8, person: u8) -> BeginBadge {
    BeginBadge {
        badge: badge(number),
        device: principal(device),
        person: principal(person),
        claimed_since: None,
    }
}

fn claim(number: u8, since: Timestamp) -> BeginBadge {
    BeginBadge {
        claimed_since: Some(since),
        ..begin(number, TABLET, 2)
    }
}

#[test]
fn every_refusal_of_badging_in_its_order() {
    let mut given = a_site_with_tablets();
    for (command, code) in [
        (begin(1, 77, 99), "device.unknown"),
        (begin(1, 5, 2), "device.unknown"),
        (begin(1, TABLET, 99), "badge.person-unknown"),
        (begin(1, TABLET, 5), "badge.person-unknown"),
        (claim(1, given.now.plus_s(1)), "badge.claimed-ahead"),
        (
            claim(1, given.now.plus_s(-BADGE_KEPT_S - 1)),
            "badge.claimed-too-long-ago",
        ),
    ] {
        assert_eq!(refused(given.when(command)), code);
    }
    given.does(DisablePrincipal {
        principal: principal(2),
        expected: None,
    });
    assert_eq!(refused(given.when(begin(1, TABLET, 2))), "badge.person-unknown");
}

#[test]
fn whoever_badges_in_takes_the_tablet_over_and_no_other() {
    let mut given = a_site_with_tablets();
    given.does(begin(1, TABLET, 2)).does(begin(2, OTHER_TABLET, 2));
    let events = given.when(begin(3, TABLET, 1)).unwrap();
    let now = given.now;
    assert_eq!(
        events,
        [
            Event::from(BadgeEnded {
                badge: badge(1),
                at: now
            }),
            BadgeBegun {
                badge: badge(3),
                device: principal(TABLET),
                person: principal(1),
                since: now,
                until: now.plus_s(BADGE_LIFETIME_S),
                claimed: false,
            }
            .into()
        ]
    );
}

#[test]
fn a_badge_ends_once_and_by_itself() {
    let mut given = a_site_with_tablets();
    given.does(begin(1, TABLET, 2));
    let end = EndBadge { badge: badge(1) };
    assert_eq!(refused(given.when(EndBadge { badge: badge(9) })), "badge.unknown");
    given.does(end.clone());
    assert_eq!(refused(given.when(end)), "badge.already-ended");
    given.does(begin(2, TABLET, 2));
    let until = given.shop.badges.get(&badge(2)).unwrap().until;
    assert!(!given.shop.badges.get(&badge(2)).unwrap().is_live(until));
    assert!(given.shop.badges.get(&badge(2)).unwrap().covers(until));
}

#[test]
fn a_claimed_badge_covers_what_was_tapped_before_it() {
    let mut given = a_site_with_tablets();
    let since = given.now.plus_s(-3_600);
    given.does(claim(1, since));
    let badge = given.shop.badges.get(&badge(1)).unwrap();
    assert!(badge.claimed && badge.covers(since) && badge.covers(given.now));
    assert!(!badge.covers(since.plus_us(-1)));
}

#[test]
fn disabling_forgetting_and_a_new_pin_end_badges_and_leave_what_was_done() {
    let disable = |number| DisablePrincipal {
        principal: principal(number),
        expected: None,
    };
    let forget = ForgetPrincipal {
        principal: principal(2),
    };
    let pin = SetPin { person: principal(2) };
    let mut cases = [0; 4].map(|_| a_site_with_tablets());
    for given in &mut cases {
        given.does(begin(1, TABLET, 2));
    }
    cases[0].does(disable(2));
    cases[1].does(disable(TABLET));
    cases[2].does(forget);
    cases[3].does(pin);
    for given in cases {
        let badge = given.shop.badges.get(&badge(1)).unwrap();
        assert!(badge.ended_at.is_some() && badge.covers(badge.since));
    }
}

#[test]
fn a_pin_is_a_persons() {
    let mut given = a_site_with_tablets();
    let set = |number| SetPin {
        person: principal(number),
    };
    let unlock = |number| UnlockPin {
        person: principal(number),
    };
    assert_eq!(refused(given.when(set(TABLET))), "principal.unknown");
    assert_eq!(refused(given.when(unlock(77))), "principal.unknown");
    given.does(set(2)).does(unlock(2));
    given.does(ForgetPrincipal {
        principal: principal(2),
    });
    assert_eq!(refused(given.when(set(2))), "principal.forgotten");
}

/// E15: a tablet that is seven minutes fast. Both ends move alike, so 45 minutes stay 45.
#[test]
fn a_fast_clock_is_put_right_and_lengths_stay() {
    let received_at = at_s(0);
    let contact = Contact {
        clock: received_at.plus_s(7 * 60),
        received_at,
    };
    assert_eq!(contact.offset_us(), 7 * 60 * 1_000_000);
    // 09:22 and 10:07 on the tablet, as minutes of the day.
    let (start, end) = (at_s(-(60 * 60)), at_s(-(15 * 60)));
    assert_eq!(contact.corrected(start), start.plus_s(-7 * 60));
    assert_eq!(
        contact.corrected(end).since_us(contact.corrected(start)),
        45 * 60 * 1_000_000
    );
}

#[test]
fn every_delivery_is_a_contact_of_its_own() {
    let mut given = a_site_with_tablets();
    let report = |device: u8, acts: usize, clock_s: i64| ReportContact {
        device: principal(device),
        contact: Contact {
            clock: at_s(clock_s),
            received_at: at_s(0),
        },
        acts: (0..acts)
            .map(|number| DeliveredAct {
                key: CommandId(Uuid::from_u128(number as u128 + 1)),
                at: at_s(-60),
            })
            .collect(),
    };
    assert_eq!(refused(given.when(report(5, 0, 0))), "device.unknown");
    assert_eq!(
        refused(given.when(report(TABLET, ACTS_MAX + 1, 0))),
        "device.too-many-acts"
    );
    given
        .does(report(TABLET, ACTS_MAX, 60))
        .does(report(TABLET, 0, 90));
    let device = given.shop.devices.get(&principal(TABLET)).unwrap();
    assert_eq!((device.deliveries, device.last.offset_us()), (2, 90_000_000));
}

#[test]
fn an_act_without_a_time_waits_until_somebody_says_it() {
    let mut given = a_site_with_tablets();
    let key = CommandId(Uuid::from_u128(5));
    let received_at = given.now;
    let act = ActSetAside {
        key,
        device: principal(TABLET),
        person: principal(2),
        device_time: Timestamp(600_000_000),
        received_at,
        request: NoteRef::new(TextId(Uuid::from_u128(6)), &[1; 16], "{}"),
    };
    let place = |key, at| PlaceAct { key, at };
    assert_eq!(refused(given.when(place(key, received_at))), "device.act-unknown");
    given.does(SetActAside { act });
    let late = place(key, received_at.plus_us(1));
    assert_eq!(refused(given.when(late)), "device.act-placed-late");
    given.does(place(key, received_at.plus_s(-300)));
    assert_eq!(
        refused(given.when(place(key, received_at))),
        "device.act-unknown",
        "once"
    );
}

#[test]
fn badges_are_kept_for_a_fortnight() {
    let mut given = a_site_with_tablets();
    given.does(begin(1, TABLET, 2));
    given.now = given.now.plus_s(BADGE_KEPT_S);
    given.does(begin(2, TABLET, 2));
    assert!(
        given.shop.badges.get(&badge(1)).is_some(),
        "it lasted for a while"
    );
    given.now = given.now.plus_s(BADGE_LIFETIME_S + 1);
    given.does(begin(3, TABLET, 2));
    assert!(given.shop.badges.get(&badge(1)).is_none());
}

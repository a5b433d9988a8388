use super::aside;
use super::{
    ACTS_MAX, BADGE_KEPT_S, BADGE_LIFETIME_S, Badge, BadgeBegun, BadgeEnded, BadgeRefusal, BeginBadge,
    DeviceContacted, DeviceRefusal, EndBadge, PinSet, PinUnlocked, ReportContact,
};
use crate::access::{AccessRefusal, Principal, PrincipalKind, Standing};
use crate::command::Command;
use crate::event::Event;
use crate::ids::PrincipalId;
use crate::refusal::Refusal;
use crate::role::Role;
use crate::shop::Shop;
use crate::time::Timestamp;

const SECONDS_PER_DAY: i64 = 86_400;

/// Commands of other topics give nothing.
pub fn decide(shop: &Shop, command: &Command, now: Timestamp) -> Result<Vec<Event>, Refusal> {
    match command {
        Command::BeginBadge(command) => begin(shop, command, now),
        Command::EndBadge(command) => Ok(vec![end(shop, command, now)?.into()]),
        Command::ReportContact(command) => Ok(vec![contact(shop, command)?.into()]),
        Command::SetPin(command) => {
            let person = not_forgotten(shop, command.person)?;
            Ok(vec![PinSet { person }.into()])
        }
        Command::UnlockPin(command) => {
            let person = not_forgotten(shop, command.person)?;
            Ok(vec![PinUnlocked { person }.into()])
        }
        Command::SetActAside(command) => Ok(vec![aside::set_aside(shop, command)?.into()]),
        Command::PlaceAct(command) => Ok(vec![aside::place(shop, command)?.into()]),
        _ => Ok(Vec::new()),
    }
}

/// One person at a time holds a tablet: whoever badges in takes it over.
fn begin(shop: &Shop, command: &BeginBadge, now: Timestamp) -> Result<Vec<Event>, Refusal> {
    known_device(shop, command.device)?;
    let person = shop.principals.get(&command.person);
    let is_there = |person: &&Principal| person.kind == PrincipalKind::Person && person.is_enabled();
    let unknown = BadgeRefusal::PersonUnknown {
        person: command.person,
    };
    person.filter(is_there).ok_or(unknown)?;
    if let Some(since) = command.claimed_since {
        if since > now {
            return Err(BadgeRefusal::ClaimedAhead { since, now }.into());
        }
        if since < now.plus_s(-BADGE_KEPT_S) {
            let days_max = BADGE_KEPT_S / SECONDS_PER_DAY;
            return Err(BadgeRefusal::ClaimedTooLong { since, days_max }.into());
        }
    }
    let is_taken_over = |badge: &&Badge| badge.device == command.device && badge.is_live(now);
    let taken_over = shop.badges.values().filter(is_taken_over);
    let mut events: Vec<Event> = taken_over
        .map(|badge| {
            BadgeEnded {
                badge: badge.id,
                at: now,
            }
            .into()
        })
        .collect();
    let begun = BadgeBegun {
        badge: command.badge,
        device: command.device,
        person: command.person,
        since: command.claimed_since.unwrap_or(now),
        until: now.plus_s(BADGE_LIFETIME_S),
        claimed: command.claimed_since.is_some(),
    };
    events.push(begun.into());
    Ok(events)
}

fn end(shop: &Shop, command: &EndBadge, now: Timestamp) -> Result<BadgeEnded, BadgeRefusal> {
    let unknown = BadgeRefusal::Unknown { badge: command.badge };
    let badge = shop.badges.get(&command.badge).ok_or(unknown)?;
    if !badge.is_live(now) {
        return Err(BadgeRefusal::Ended {
            badge: badge.id,
            ended_at: badge.ends_at(),
        });
    }
    Ok(BadgeEnded {
        badge: badge.id,
        at: now,
    })
}

fn contact(shop: &Shop, command: &ReportContact) -> Result<DeviceContacted, DeviceRefusal> {
    known_device(shop, command.device)?;
    let acts = command.acts.len();
    if acts > ACTS_MAX {
        return Err(DeviceRefusal::TooMany { acts, max: ACTS_MAX });
    }
    Ok(DeviceContacted {
        device: command.device,
        contact: command.contact,
        acts: command.acts.clone(),
    })
}

fn known_device(shop: &Shop, device: PrincipalId) -> Result<(), DeviceRefusal> {
    let principal = shop.principals.get(&device);
    let is_device = |principal: &Principal| principal.is_enabled() && principal.roles.contains(&Role::Device);
    if principal.is_some_and(is_device) {
        Ok(())
    } else {
        Err(DeviceRefusal::Unknown { device })
    }
}

fn not_forgotten(shop: &Shop, person: PrincipalId) -> Result<PrincipalId, AccessRefusal> {
    let known = shop.principals.get(&person);
    let known = known.filter(|known| known.kind == PrincipalKind::Person);
    let known = known.ok_or(AccessRefusal::Unknown { principal: person })?;
    match known.standing {
        Standing::Forgotten => Err(AccessRefusal::Forgotten { principal: person }),
        Standing::Enabled | Standing::Disabled => Ok(person),
    }
}

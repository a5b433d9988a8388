use super::aside::apply_set_aside;
use super::{BADGE_KEPT_S, Badge, BadgeBegun, Device, DeviceContacted};
use crate::entry::EntryMeta;
use crate::event::Event;
use crate::ids::{BadgeId, PrincipalId};
use crate::shop::Shop;
use crate::time::Timestamp;

pub fn apply(shop: &mut Shop, event: &Event, meta: &EntryMeta) {
    match event {
        Event::BadgeBegun(begun) => begin(shop, begun, meta),
        Event::BadgeEnded(ended) => shop.badges.update(&ended.badge, |badge| {
            badge.ended_at = Some(ended.at);
            badge.changed_seq = meta.seq;
        }),
        Event::DeviceContacted(contacted) => contact(shop, contacted),
        Event::ActSetAside(set) => apply_set_aside(shop, set, meta),
        Event::ActPlaced(placed) => shop.set_aside.remove(&placed.key),
        // Whoever knew the old one is out.
        Event::PinSet(set) => end_badges_of(shop, set.person, meta),
        _ => {}
    }
}

/// Of a person or of a tablet, who may go on no more. What they did until then stays theirs.
pub fn end_badges_of(shop: &mut Shop, principal: PrincipalId, meta: &EntryMeta) {
    let is_theirs = |badge: &&Badge| badge.person == principal || badge.device == principal;
    let live = shop
        .badges
        .values()
        .filter(is_theirs)
        .filter(|badge| badge.is_live(meta.recorded_at));
    for id in live.map(|badge| badge.id).collect::<Vec<_>>() {
        shop.badges.update(&id, |badge| {
            badge.ended_at = Some(meta.recorded_at);
            badge.changed_seq = meta.seq;
        });
    }
}

fn begin(shop: &mut Shop, begun: &BadgeBegun, meta: &EntryMeta) {
    forget_before(shop, meta.recorded_at.plus_s(-BADGE_KEPT_S));
    let badge = Badge {
        id: begun.badge,
        device: begun.device,
        person: begun.person,
        since: begun.since,
        until: begun.until,
        ended_at: None,
        claimed: begun.claimed,
        changed_seq: meta.seq,
    };
    shop.badges.insert(begun.badge, badge);
}

fn forget_before(shop: &mut Shop, limit: Timestamp) {
    let old: Vec<BadgeId> = shop
        .badges
        .values()
        .filter(|badge| badge.ends_at() < limit)
        .map(|badge| badge.id)
        .collect();
    for id in old {
        shop.badges.remove(&id);
    }
}

fn contact(shop: &mut Shop, contacted: &DeviceContacted) {
    let before = shop
        .devices
        .get(&contacted.device)
        .map_or(0, |device| device.deliveries);
    let device = Device {
        id: contacted.device,
        deliveries: before + 1,
        last: contacted.contact,
    };
    shop.devices.insert(contacted.device, device);
}

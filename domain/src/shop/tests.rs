mod whole;

use super::Shop;
use crate::code::Code;
use crate::event::Event;
use crate::ids::{MachineId, SiteId};
use crate::machine::{AddMachine, Placement};
use crate::shared_map::SharedMap;
use crate::shop::given::{an_open_site, cell, code, machine, name, refused};
use crate::site::{ChangeSite, OpenSite};
use proptest::prelude::*;
use std::collections::BTreeMap;
use uuid::Uuid;

#[test]
fn nothing_is_decided_before_the_site_is_open_and_it_opens_once() {
    let mut given = an_open_site();
    let open = OpenSite {
        site: SiteId(Uuid::from_u128(2)),
        code: code("two"),
        name: name("Two"),
        zone: chrono_tz::UTC,
    };
    assert_eq!(refused(given.when(open)), "site.already-opened");
    given.shop = Shop::default();
    let change = ChangeSite {
        name: name("Three"),
        zone: chrono_tz::UTC,
        expected: None,
    };
    assert_eq!(refused(given.when(change)), "site.not-opened");
}

#[test]
fn a_snapshot_reads_back_as_the_same_shop() {
    let mut given = an_open_site();
    given.does(AddMachine {
        machine: machine(1),
        placement: Placement::Standalone(cell(1)),
        code: code("M1"),
        name: name("Mill"),
        silent_after_s: Some(900),
    });
    let bytes = serde_json::to_vec(&given.shop).unwrap();
    let read: Shop = serde_json::from_slice(&bytes).unwrap();
    assert_eq!(read, given.shop);
    assert_eq!(serde_json::to_vec(&read).unwrap(), bytes);
}

#[test]
fn a_copy_does_not_see_later_changes() {
    let mut given = an_open_site();
    let before = given.shop.clone();
    given.does(ChangeSite {
        name: name("Renamed"),
        zone: chrono_tz::UTC,
        expected: None,
    });
    assert_eq!(before.site.unwrap().name.as_str(), "Invented shop");
}

#[test]
fn every_kind_is_listed_once_and_has_a_version() {
    let kinds: BTreeMap<_, _> = Event::KINDS.iter().copied().collect();
    assert_eq!(kinds.len(), Event::KINDS.len());
    assert!(kinds.values().all(|schema| *schema >= 1));
}

#[test]
fn codes_keep_their_leading_zeros_and_refuse_what_cannot_be_painted() {
    assert_eq!("00417".parse::<Code>().unwrap().as_str(), "00417");
    for bad in ["", "two words", "ä", &"x".repeat(33)] {
        assert!(bad.parse::<Code>().is_err(), "{bad:?}");
    }
}

proptest! {
    /// The plain map of the standard library is the judge.
    #[test]
    fn a_shared_map_is_a_map(steps in prop::collection::vec((0u8..4, 0u128..200, any::<u32>()), 1..200)) {
        let mut map = SharedMap::<MachineId, u32>::default();
        let mut model = BTreeMap::new();
        let mut copies = Vec::new();
        for (act, key, value) in steps {
            // The last byte chooses the shard: keys of one shard and of many.
            let key = MachineId(Uuid::from_u128(key * 37));
            match act {
                0 | 1 => { map.insert(key, value); model.insert(key, value); }
                2 => { map.remove(&key); model.remove(&key); }
                _ => {
                    map.update(&key, |old| *old ^= value);
                    model.entry(key).and_modify(|old| *old ^= value);
                }
            }
            prop_assert_eq!(map.len(), model.len());
            prop_assert_eq!(map.get(&key), model.get(&key));
            copies.push((map.clone(), model.clone()));
        }
        for (map, model) in copies {
            let read: BTreeMap<_, _> = map.sorted().into_iter().map(|(key, value)| (*key, *value)).collect();
            prop_assert_eq!(read, model);
        }
    }
}

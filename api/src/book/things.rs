//! The rows of what the shop works with and on: one table for all kinds, a line here for each.

use super::touched::json;
use serde::Serialize;
use spindlebook_domain::event::Event;
use spindlebook_domain::ids::{CustomerId, FixtureId, PalletId, PartId, Seq, VendorId};
use spindlebook_domain::shop::Shop;
use spindlebook_store::read::ThingRow;
use std::fmt::Display;
use uuid::Uuid;

/// What has a row in the table `thing`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Thing {
    Pallet(PalletId),
    Fixture(FixtureId),
    Customer(CustomerId),
    Vendor(VendorId),
    Part(PartId),
}

impl Thing {
    /// The thing that an event changes.
    pub const fn changed_by(event: &Event) -> Option<Self> {
        Some(match event {
            Event::PalletAdded(event) => Self::Pallet(event.pallet),
            Event::PalletChanged(event) => Self::Pallet(event.pallet),
            Event::FixtureAdded(event) => Self::Fixture(event.fixture),
            Event::FixtureChanged(event) => Self::Fixture(event.fixture),
            Event::FixtureCopyAdded(event) => Self::Fixture(event.fixture),
            Event::CustomerAdded(event) => Self::Customer(event.customer),
            Event::CustomerChanged(event) => Self::Customer(event.customer),
            Event::VendorAdded(event) => Self::Vendor(event.vendor),
            Event::VendorChanged(event) => Self::Vendor(event.vendor),
            Event::PartAdded(event) => Self::Part(event.part),
            Event::PartChanged(event) => Self::Part(event.part),
            Event::RevisionAdded(event) => Self::Part(event.part),
            Event::RoutingSet(event) => Self::Part(event.part),
            _ => return None,
        })
    }

    /// As `shop` has it now.
    pub fn row(self, shop: &Shop) -> Option<ThingRow> {
        match self {
            Self::Pallet(id) => shop.pallets.get(&id).map(|pallet| {
                let facts = &pallet.facts;
                row(
                    "pallet",
                    id.0,
                    &facts.code,
                    &facts.name,
                    pallet,
                    pallet.changed_seq,
                )
            }),
            Self::Fixture(id) => shop.fixtures.get(&id).map(|fixture| {
                let facts = &fixture.facts;
                row(
                    "fixture",
                    id.0,
                    &facts.code,
                    &facts.name,
                    fixture,
                    fixture.changed_seq,
                )
            }),
            Self::Customer(id) => shop.customers.get(&id).map(|customer| {
                let facts = &customer.facts;
                row(
                    "customer",
                    id.0,
                    &facts.code,
                    &facts.name,
                    customer,
                    customer.changed_seq,
                )
            }),
            Self::Vendor(id) => shop.vendors.get(&id).map(|vendor| {
                let facts = &vendor.facts;
                row(
                    "vendor",
                    id.0,
                    &facts.code,
                    &facts.name,
                    vendor,
                    vendor.changed_seq,
                )
            }),
            Self::Part(id) => shop
                .parts
                .get(&id)
                .map(|part| row("part", id.0, &part.code, &part.name, part, part.changed_seq)),
        }
    }
}

/// All of them.
pub fn things(shop: &Shop) -> Vec<ThingRow> {
    let pallets = shop.pallets.iter().map(|(id, _)| Thing::Pallet(*id));
    let fixtures = shop.fixtures.iter().map(|(id, _)| Thing::Fixture(*id));
    let customers = shop.customers.iter().map(|(id, _)| Thing::Customer(*id));
    let vendors = shop.vendors.iter().map(|(id, _)| Thing::Vendor(*id));
    let parts = shop.parts.iter().map(|(id, _)| Thing::Part(*id));
    let all = pallets
        .chain(fixtures)
        .chain(customers)
        .chain(vendors)
        .chain(parts);
    all.filter_map(|thing| thing.row(shop)).collect()
}

fn row(
    kind: &str,
    id: Uuid,
    code: &impl Display,
    name: &impl Display,
    body: &impl Serialize,
    changed_seq: Seq,
) -> ThingRow {
    ThingRow {
        id,
        kind: kind.to_owned(),
        code: code.to_string(),
        name: name.to_string(),
        body: json(body),
        changed_seq,
    }
}

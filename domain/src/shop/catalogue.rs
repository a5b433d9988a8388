//! What the shop has to work with: pallets, fixtures, parts and their routings, customers, vendors.

use super::Shop;
use crate::command::Command;
use crate::customer::{self, Customer};
use crate::entry::EntryMeta;
use crate::event::Event;
use crate::fixture::{self, Fixture};
use crate::pallet::{self, Pallet};
use crate::part::{self, Known, Part, Revision};
use crate::refusal::Refusal;
use crate::vendor::{self, Vendor};

impl Shop {
    /// Commands of other topics give nothing.
    pub(super) fn decide_catalogue(&self, command: &Command) -> Result<Vec<Event>, Refusal> {
        let one: Event = match command {
            Command::AddPallet(command) => {
                pallet::add(&self.pallets, &self.cells, &self.machines, command)?.into()
            }
            Command::ChangePallet(command) => pallet::change(&self.pallets, command)?.into(),
            Command::AddFixture(command) => fixture::add(&self.fixtures, command)?.into(),
            Command::ChangeFixture(command) => {
                fixture::change(&self.fixtures, &self.pallets, &self.parts, command)?.into()
            }
            Command::AddFixtureCopy(command) => fixture::add_copy(&self.fixtures, command)?.into(),
            Command::AddCustomer(command) => customer::add(&self.customers, command)?.into(),
            Command::ChangeCustomer(command) => customer::change(&self.customers, command)?.into(),
            Command::AddVendor(command) => vendor::add(&self.vendors, command)?.into(),
            Command::ChangeVendor(command) => vendor::change(&self.vendors, command)?.into(),
            Command::AddPart(command) => {
                let (part, revision) = part::add(&self.parts, command)?;
                return Ok(vec![part.into(), revision.into()]);
            }
            Command::ChangePart(command) => part::change(&self.parts, command)?.into(),
            Command::AddRevision(command) => part::add_revision(&self.parts, command)?.into(),
            Command::SetRouting(command) => {
                let known = Known {
                    cells: &self.cells,
                    machines: &self.machines,
                    fixtures: &self.fixtures,
                    vendors: &self.vendors,
                };
                part::set_routing(&self.parts, known, command)?.into()
            }
            _ => return Ok(Vec::new()),
        };
        Ok(vec![one])
    }

    pub(super) fn apply_to_catalogue(&mut self, event: &Event, meta: &EntryMeta) {
        match event {
            Event::PalletAdded(_) | Event::PalletChanged(_) => self.apply_to_pallets(event, meta),
            Event::FixtureAdded(_) | Event::FixtureChanged(_) | Event::FixtureCopyAdded(_) => {
                self.apply_to_fixtures(event, meta);
            }
            Event::CustomerAdded(added) => self.customers.insert(
                added.customer,
                Customer {
                    id: added.customer,
                    facts: added.facts.clone(),
                    inspection: Vec::new(),
                    inspection_changed_seq: meta.seq,
                    changed_seq: meta.seq,
                },
            ),
            Event::CustomerChanged(changed) => self.customers.update(&changed.customer, |customer| {
                customer.facts.clone_from(&changed.facts);
                customer.changed_seq = meta.seq;
            }),
            Event::VendorAdded(added) => self.vendors.insert(
                added.vendor,
                Vendor {
                    id: added.vendor,
                    facts: added.facts.clone(),
                    changed_seq: meta.seq,
                },
            ),
            Event::VendorChanged(changed) => self.vendors.update(&changed.vendor, |vendor| {
                vendor.facts.clone_from(&changed.facts);
                vendor.changed_seq = meta.seq;
            }),
            _ => self.apply_to_parts(event, meta),
        }
    }

    fn apply_to_pallets(&mut self, event: &Event, meta: &EntryMeta) {
        match event {
            Event::PalletAdded(added) => self.pallets.insert(
                added.pallet,
                Pallet {
                    id: added.pallet,
                    cell: added.cell,
                    facts: added.facts.clone(),
                    position: added.position,
                    setup: None,
                    load: None,
                    acted_at: None,
                    emptied: None,
                    changed_seq: meta.seq,
                },
            ),
            Event::PalletChanged(changed) => self.pallets.update(&changed.pallet, |pallet| {
                pallet.facts.clone_from(&changed.facts);
                pallet.changed_seq = meta.seq;
            }),
            _ => {}
        }
    }

    fn apply_to_fixtures(&mut self, event: &Event, meta: &EntryMeta) {
        match event {
            Event::FixtureAdded(added) => self.fixtures.insert(
                added.fixture,
                Fixture {
                    id: added.fixture,
                    facts: added.facts.clone(),
                    copies: added.copies.clone(),
                    changed_seq: meta.seq,
                },
            ),
            Event::FixtureChanged(changed) => self.fixtures.update(&changed.fixture, |fixture| {
                fixture.facts.clone_from(&changed.facts);
                fixture.changed_seq = meta.seq;
            }),
            Event::FixtureCopyAdded(added) => self.fixtures.update(&added.fixture, |fixture| {
                fixture.copies.push(added.copy.clone());
                fixture.changed_seq = meta.seq;
            }),
            _ => {}
        }
    }

    fn apply_to_parts(&mut self, event: &Event, meta: &EntryMeta) {
        match event {
            Event::PartAdded(added) => self.parts.insert(
                added.part,
                Part {
                    id: added.part,
                    code: added.code.clone(),
                    name: added.name.clone(),
                    revisions: Vec::new(),
                    changed_seq: meta.seq,
                },
            ),
            Event::PartChanged(changed) => self.parts.update(&changed.part, |part| {
                part.code = changed.code.clone();
                part.name = changed.name.clone();
                part.changed_seq = meta.seq;
            }),
            Event::RevisionAdded(added) => self.parts.update(&added.part, |part| {
                part.revisions.push(Revision {
                    facts: added.facts.clone(),
                    routing: None,
                    routing_seq: 0,
                });
                part.changed_seq = meta.seq;
            }),
            Event::RoutingSet(set) => self.parts.update(&set.part, |part| {
                let mut revisions = part.revisions.iter_mut();
                let revision = revisions.find(|known| known.facts.revision == set.revision);
                if let Some(revision) = revision {
                    revision.routing = Some(set.routing.clone().into());
                    revision.routing_seq = meta.seq;
                }
                part.changed_seq = meta.seq;
            }),
            _ => {}
        }
    }
}

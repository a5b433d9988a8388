use crate::cell::{Cell, CellKind};
use crate::floor::pieces;
use crate::ids::{FixtureCopyId, JobId};
use crate::local_time::local_instant;
use crate::machine::Machine;
use crate::pallet::{Pallet, Position};
use crate::shop::Shop;
use crate::time::Timestamp;
use std::collections::BTreeMap;

/// What is looked at again and again while a pool is told.
pub(super) struct Picture<'a> {
    pub shop: &'a Shop,
    pub cell: &'a Cell,
    pub now: Timestamp,
    /// Of the cell, by their codes.
    pub pallets: Vec<&'a Pallet>,
    pub machines: Vec<&'a Machine>,
    /// On which pallet each copy of a fixture is, all cells.
    pub copies: BTreeMap<FixtureCopyId, &'a Pallet>,
}

impl<'a> Picture<'a> {
    pub fn of(shop: &'a Shop, cell: &'a Cell, now: Timestamp) -> Self {
        let of_cell = shop.pallets.values().filter(|pallet| pallet.cell == cell.id);
        let mut pallets: Vec<_> = of_cell.collect();
        pallets.sort_by(|a, b| (&a.facts.code, a.id).cmp(&(&b.facts.code, b.id)));
        let on = |pallet: &'a Pallet| Some((pallet.setup.as_ref()?.copy, pallet));
        Self {
            shop,
            cell,
            now,
            pallets,
            machines: shop.machines_of(cell.id),
            copies: shop.pallets.values().filter_map(on).collect(),
        }
    }

    pub fn at(&self, position: Position) -> Option<&'a Pallet> {
        let mut pallets = self.pallets.iter().copied();
        pallets.find(|pallet| pallet.position == position)
    }

    pub fn load_stations(&self) -> impl Iterator<Item = Position> + use<> {
        let count = match self.cell.kind {
            CellKind::Pool { load_stations, .. } => load_stations,
            CellKind::Standalone => 0,
        };
        (1..=count).map(|number| Position::LoadStation { number })
    }

    pub fn stands(&self) -> impl Iterator<Item = Position> + use<> {
        let count = match self.cell.kind {
            CellKind::Pool { stands, .. } => stands,
            CellKind::Standalone => 0,
        };
        (1..=count).map(|number| Position::Stand { number })
    }

    /// Where hands reach a pallet.
    pub fn is_at_hand(&self, pallet: &Pallet) -> bool {
        matches!(pallet.position, Position::LoadStation { .. }) || self.cell.kind == CellKind::Standalone
    }

    /// As the clock in the shop shows it, with the date where it is another day.
    pub fn wall_clock(&self, at: Timestamp) -> String {
        let Some(site) = &self.shop.site else {
            return at.to_string();
        };
        let (then, now) = (
            local_instant(site.zone, at).local,
            local_instant(site.zone, self.now).local,
        );
        let form = if then.date() == now.date() {
            "%H:%M"
        } else {
            "%Y-%m-%d %H:%M"
        };
        then.format(form).to_string()
    }

    /// What people call a job.
    pub fn job(&self, job: JobId) -> String {
        pieces::job_name(self.shop, job)
    }

    /// `None`: one is free. Else who stands at each.
    pub fn taken(&self, places: impl Iterator<Item = Position>) -> Option<Vec<&'a Pallet>> {
        places.map(|place| self.at(place)).collect()
    }
}

//! Why a load is not next: of all that stands in its way, the one thing that has to go first, in a few true words.

mod left_out;
#[cfg(test)]
mod tests;
mod waits;

use super::model::LoadKey;
use super::schedule::{Schedule, ScheduledLoad};
use crate::run::named_values;
use crate::shop::Shop;
use crate::site::Site;
use crate::time::Timestamp;
use std::collections::BTreeMap;

named_values! {
    pub enum ReasonCode {
        Held = "held",
        FirstArticle = "first_article",
        FirstPiece = "first_piece",
        Material = "material",
        /// Pieces of the operation before.
        Pieces = "pieces",
        Fixture = "fixture",
        Pallet = "pallet",
        Machine = "machine",
        Tool = "tool",
        /// Not cleared to run with nobody there.
        NotProven = "not_proven",
        /// Somebody to clamp it.
        People = "people",
        /// Another load is before it.
        Turn = "turn",
        TooFar = "too_far",
    }
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reason {
    pub code: ReasonCode,
    pub text: String,
}

impl Reason {
    pub(crate) fn new(code: ReasonCode, text: impl Into<String>) -> Self {
        Self {
            code,
            text: text.into(),
        }
    }
}

/// What every reason is judged from.
struct Asked<'a> {
    shop: &'a Shop,
    site: &'a Site,
    schedule: &'a Schedule,
    /// As things stand then.
    at: Timestamp,
}

/// One reason for every load that is not next on its machine and not in a spindle, as things stand at `at`, and for every
/// load that is left out.
pub fn reasons(shop: &Shop, site: &Site, schedule: &Schedule, at: Timestamp) -> BTreeMap<LoadKey, Reason> {
    let asked = Asked {
        shop,
        site,
        schedule,
        at,
    };
    let mut reasons = BTreeMap::new();
    let mut before: BTreeMap<crate::ids::MachineId, &ScheduledLoad> = BTreeMap::new();
    for load in &schedule.loads {
        let (Some(machine), Some(run)) = (load.machine, load.run) else {
            continue;
        };
        let ahead = before.insert(machine, load);
        let is_cut_by_then = run.from <= at && asked.is_in_spindle(load);
        let is_next = ahead.is_none_or(|ahead| asked.is_in_spindle(ahead));
        if !is_cut_by_then && (!is_next || asked.is_held_back(load)) {
            reasons.insert(load.key, asked.reason(load, ahead));
        }
    }
    for left_out in &schedule.left_out {
        reasons.insert(left_out.key, asked.why_left_out(left_out));
    }
    reasons
}

impl Asked<'_> {
    fn is_in_spindle(&self, load: &ScheduledLoad) -> bool {
        load.run.is_some_and(|run| run.from < self.schedule.from)
            || matches!(load.key, LoadKey::Standing(id) if self.runs(id))
    }

    fn runs(&self, id: crate::ids::LoadId) -> bool {
        let loads = self
            .shop
            .pallets
            .values()
            .filter_map(|pallet| pallet.load.as_ref());
        let mut same = loads.filter(|load| load.id == id);
        same.any(|load| matches!(load.stage, crate::load::Stage::InRun { .. }))
    }

    /// By the wall clock of the shop, with the date if it is another day.
    fn clock(&self, at: Timestamp) -> String {
        let local = crate::local_time::local_instant(self.site.zone, at).local;
        let today = crate::local_time::local_date(self.site.zone, self.at);
        if local.date() == today {
            local.format("%H:%M").to_string()
        } else {
            local.format("%Y-%m-%d %H:%M").to_string()
        }
    }

    fn job(&self, job: crate::ids::JobId) -> String {
        crate::floor::job_name(self.shop, job)
    }

    fn machine(&self, machine: crate::ids::MachineId) -> String {
        let known = self.shop.machines.get(&machine);
        known.map_or_else(|| machine.to_string(), |machine| machine.code.to_string())
    }

    fn pallet(&self, pallet: crate::ids::PalletId) -> String {
        let known = self.shop.pallets.get(&pallet);
        known.map_or_else(|| pallet.to_string(), |pallet| pallet.facts.code.to_string())
    }
}

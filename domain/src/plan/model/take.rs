//! Takes the model from the shop: places first, then jobs with their steps, then what stands on pallets, then the loads
//! that are still to be formed.

use super::clock::{Clock, Days, Stretches};
use super::tools::Magazine;
use super::{Judged, LastPlan, LoadKey, LoadToPlan, Model, PlanOptions, REACH_S};
use crate::calendar::CalendarVersions;
use crate::code::Code;
use crate::ids::{CellId, FixtureCopyId, FixtureId, JobId, LoadId, MachineId, OrderId, PalletId, SetupId};
use crate::shop::Shop;
use crate::site::Site;
use crate::time::Timestamp;
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// The model while it is being made, with the way from ids to places in it.
pub(super) struct Taking<'a> {
    pub shop: &'a Shop,
    pub site: &'a Site,
    pub options: &'a PlanOptions,
    pub now: Timestamp,
    pub model: Model,
    pub cell_of: BTreeMap<CellId, usize>,
    pub machine_of: BTreeMap<MachineId, usize>,
    pub fixture_of: BTreeMap<FixtureId, usize>,
    pub copy_of: BTreeMap<FixtureCopyId, usize>,
    pub pallet_of: BTreeMap<PalletId, usize>,
    pub pallet_with_setup: BTreeMap<SetupId, usize>,
    pub line_of: BTreeMap<(OrderId, u32), usize>,
    pub step_of: BTreeMap<(JobId, u16), usize>,
    pub magazines: Vec<Magazine>,
    /// Of each need, the tool: for what is told of it.
    pub tool_names: Vec<Code>,
    pub judged: Vec<Judged>,
}

/// A model with what is told of it but never looked at while a schedule is built.
#[derive(Clone, Debug)]
pub struct Taken {
    pub model: Model,
    pub tool_names: Vec<Code>,
    pub judged: Vec<Judged>,
}

pub fn model(shop: &Shop, site: &Site, options: &PlanOptions, now: Timestamp) -> Taken {
    let mut taking = Taking::new(shop, site, options, now);
    taking.take_places();
    taking.take_inspector();
    taking.take_jobs();
    taking.take_standing();
    taking.take_loads_to_form();
    taking.take_reservations();
    taking.take_limits();
    Taken {
        model: taking.model,
        tool_names: taking.tool_names,
        judged: taking.judged,
    }
}

impl<'a> Taking<'a> {
    fn new(shop: &'a Shop, site: &'a Site, options: &'a PlanOptions, now: Timestamp) -> Self {
        let model = Model {
            clock: Clock::from(now),
            horizon_s: options.horizon_s.clamp(0, REACH_S),
            aim: options.aim,
            move_between_cells_s: options.move_between_cells_s,
            inspection_s: options.inspection_s,
            cells: Vec::new(),
            crews: Vec::new(),
            machines: Vec::new(),
            pallets: Vec::new(),
            fixtures: Vec::new(),
            copies: Vec::new(),
            inspector: Stretches::default(),
            inspector_busy: Vec::new(),
            lines: Vec::new(),
            jobs: Vec::new(),
            steps: Vec::new(),
            leads: Vec::new(),
            loads: Vec::new(),
            fixed: 0,
            ways: Vec::new(),
            needs: Vec::new(),
            tool_life: Vec::new(),
            twins: Vec::new(),
        };
        Self {
            shop,
            site,
            options,
            now,
            model,
            cell_of: BTreeMap::new(),
            machine_of: BTreeMap::new(),
            fixture_of: BTreeMap::new(),
            copy_of: BTreeMap::new(),
            pallet_of: BTreeMap::new(),
            pallet_with_setup: BTreeMap::new(),
            line_of: BTreeMap::new(),
            step_of: BTreeMap::new(),
            magazines: Vec::new(),
            tool_names: Vec::new(),
            judged: Vec::new(),
        }
    }

    /// The inspector's own week, else the site's; and the order in which what is held now is judged: the oldest first.
    fn take_inspector(&mut self) {
        let own = self.site.people.inspectors.as_ref().map(|calendar| {
            let mut versions = CalendarVersions::default();
            versions.set(NaiveDate::MIN, calendar.clone());
            versions
        });
        let days = Days {
            clock: self.model.clock,
            zone: self.site.zone,
            versions: own.as_ref().unwrap_or(&self.site.calendar),
            reach_s: REACH_S,
        };
        self.model.inspector = days.staffed(|_| true);
        let mut holds: Vec<_> = self.shop.holds.values().collect();
        holds.sort_by_key(|hold| (hold.since, hold.id));
        for hold in holds {
            let (from, to) = self.inspect_next();
            self.judged.push(Judged {
                hold: hold.id,
                load: hold.load,
                from,
                to,
            });
        }
    }

    /// The inspector's next free time, one after the other.
    pub(super) fn inspect_next(&mut self) -> (i64, i64) {
        let after = self.model.inspector_busy.last().map_or(0, |(_, to)| *to);
        let from = self.model.inspector.fit(after, self.model.inspection_s);
        let from = from.unwrap_or(super::NEVER);
        let slot = (from, from.saturating_add(self.model.inspection_s));
        if from < super::NEVER {
            self.model.inspector_busy.push(slot);
        }
        slot
    }

    /// When the load that stands on a pallet has been judged; `None`: nothing holds it.
    pub(super) fn judged_at(&self, load: LoadId) -> Option<i64> {
        let of_load = self.judged.iter().filter(|one| one.load == load);
        of_load.map(|one| one.to).max()
    }

    pub(super) fn last_of(&self, key: LoadKey) -> Option<LastPlan> {
        self.options.last.get(&key).copied()
    }

    /// A fixture that was built for something is kept on its pallet, if anything needs it.
    fn take_reservations(&mut self) {
        let fits = |fixture: usize, load: &LoadToPlan, ways: &[super::Way]| {
            let of_load = &ways[load.first_way..load.first_way + load.ways];
            load.phase == super::Phase::ToLoad && of_load.iter().any(|way| way.fixture == fixture)
        };
        let Model {
            pallets,
            copies,
            loads,
            ways,
            ..
        } = &mut self.model;
        for pallet in pallets.iter_mut().filter(|pallet| pallet.is_reserved) {
            let fixture = pallet.copy.map(|copy| copies[copy].fixture);
            pallet.is_reserved =
                fixture.is_some_and(|fixture| loads.iter().any(|load| fits(fixture, load, ways)));
        }
    }

    /// How much a step can get, so that a schedule needs no memory of its own.
    fn take_limits(&mut self) {
        let mut arrivals: Vec<usize> = self.model.steps.iter().map(|step| step.arrivals.len()).collect();
        let mut loads = vec![0; self.model.steps.len()];
        for load in &self.model.loads {
            for (step, _) in &load.pieces {
                loads[*step] += 1;
                let mut next = *step + 1;
                while let super::StepKind::Manual(_) = self.model.steps[next].kind {
                    next += 1;
                }
                arrivals[next] += 1;
            }
        }
        for (index, step) in self.model.steps.iter_mut().enumerate() {
            step.arrivals_max = arrivals[index];
            step.approvals_max = step.approved.len() + loads[index];
        }
    }
}

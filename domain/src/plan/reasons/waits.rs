//! Why a load that is in the schedule does not go next.

use super::left_out::is_standalone;
use super::{Asked, Reason, ReasonCode};
use crate::calendar::staffed;
use crate::floor::first_piece::Passage;
use crate::floor::{first_piece, pieces, work};
use crate::ids::{LoadId, SetupId};
use crate::load::{Load, Stage};
use crate::plan::model::LoadKey;
use crate::plan::schedule::ScheduledLoad;
use crate::time::{Timestamp, Window};
use uuid::Uuid;

impl Asked<'_> {
    /// In the order in which things have to go out of the way.
    pub(super) fn reason(&self, load: &ScheduledLoad, ahead: Option<&ScheduledLoad>) -> Reason {
        self.held(load)
            .or_else(|| self.first_piece_open(load))
            .or_else(|| self.first_piece_planned(load))
            .or_else(|| self.material(load))
            .or_else(|| self.pieces(load))
            .or_else(|| self.fixture(load))
            .or_else(|| self.not_proven(load))
            .or_else(|| self.free_pallet(load))
            .or_else(|| self.people(load))
            .unwrap_or_else(|| self.turn(load, ahead))
    }

    /// It is first on its machine, and still something holds it back.
    pub(super) fn is_held_back(&self, load: &ScheduledLoad) -> bool {
        self.held(load).is_some() || self.first_piece_open(load).is_some() || self.not_proven(load).is_some()
    }

    fn standing(&self, key: LoadKey) -> Option<&Load> {
        let LoadKey::Standing(id) = key else { return None };
        let mut loads = self
            .shop
            .pallets
            .values()
            .filter_map(|pallet| pallet.load.as_ref());
        loads.find(|load| load.id == id)
    }

    fn held(&self, load: &ScheduledLoad) -> Option<Reason> {
        let hold = self.standing(load.key)?.hold?;
        let hold = self.shop.holds.get(&hold)?;
        let text = format!("held since {} ({})", self.clock(hold.since), named(hold.kind));
        Some(Reason::new(ReasonCode::Held, text))
    }

    /// Being cut, or with the inspector.
    fn first_piece_open(&self, load: &ScheduledLoad) -> Option<Reason> {
        let not_clamped = Load {
            id: LoadId(Uuid::nil()),
            clamped: load.clamped.clone(),
            loaded_at: self.at,
            stage: Stage::Ready,
            hold: None,
            decided: Vec::new(),
            lifted: None,
            hands: Vec::new(),
        };
        let setup = self.standing(load.key).and_then(|_| {
            let pallet = self.shop.pallets.get(&load.pallet)?;
            Some(pallet.setup.as_ref()?.id)
        });
        let one = self.standing(load.key).unwrap_or(&not_clamped);
        let setup = setup.unwrap_or(SetupId(Uuid::nil()));
        let passage = Passage {
            setup,
            machine: load.machine?,
            at: load.run.map_or(self.at, |run| run.from),
        };
        let open = first_piece::open_for(self.shop, one, passage)?;
        let text = format!(
            "{} of {}/{} since {}, on pallet {}",
            named(open.kind),
            self.job(open.job),
            open.operation,
            self.clock(open.since),
            open.pallet
        );
        Some(Reason::new(code_of(open.kind), text))
    }

    /// Another load of the same operation is to be cut and looked at before.
    fn first_piece_planned(&self, load: &ScheduledLoad) -> Option<Reason> {
        let run = load.run?;
        let first = self.schedule.loads.iter().find(|other| {
            let is_before = other
                .inspection
                .is_some_and(|inspection| inspection.to <= run.from);
            let is_open = other.inspection.is_some_and(|inspection| inspection.to > self.at);
            let same = other.clamped.iter().any(|one| {
                load.clamped
                    .iter()
                    .any(|own| (own.job, own.operation) == (one.job, one.operation))
            });
            let stops_all =
                other.held_as == Some(crate::load::HoldKind::FirstArticle) || load.held_as.is_some();
            other.key != load.key && same && is_before && is_open && stops_all
        })?;
        let (kind, inspection, one) = (first.held_as?, first.inspection?, load.clamped.first()?);
        let text = format!(
            "{} of {}/{}, planned to be judged by {}",
            named(kind),
            self.job(one.job),
            one.operation,
            self.clock(inspection.to)
        );
        Some(Reason::new(code_of(kind), text))
    }

    fn material(&self, load: &ScheduledLoad) -> Option<Reason> {
        if self.standing(load.key).is_some() {
            return None;
        }
        let one = load.clamped.first()?;
        let expected = pieces::material_missing(self.shop, self.shop.jobs.get(&one.job)?, one.operation)?;
        Some(Reason::new(
            ReasonCode::Material,
            format!("its material ({expected})"),
        ))
    }

    /// Those that wait now are fewer than what is clamped up to this load.
    fn pieces(&self, load: &ScheduledLoad) -> Option<Reason> {
        let LoadKey::ToForm {
            job: id,
            operation,
            rework: false,
            ..
        } = load.key
        else {
            return None;
        };
        let job = self.shop.jobs.get(&id)?;
        let taken: u32 = self
            .schedule
            .loads
            .iter()
            .filter(|other| other.load.is_some() && other.load <= load.load)
            .filter(|other| !matches!(other.key, LoadKey::ToForm { rework: true, .. }))
            .flat_map(|other| &other.clamped)
            .filter(|one| (one.job, one.operation) == (id, operation))
            .map(|one| one.pieces)
            .sum();
        if taken <= pieces::waiting(job, operation, false) {
            return None;
        }
        let before = job
            .operations
            .iter()
            .map(|at| at.number)
            .take_while(|number| *number < operation);
        let text = match before.last() {
            Some(before) => format!("pieces of {}/{before}", self.job(id)),
            None => format!("blanks of {}", self.job(id)),
        };
        Some(Reason::new(ReasonCode::Pieces, text))
    }

    /// Each copy of its fixture is with a load before it.
    fn fixture(&self, load: &ScheduledLoad) -> Option<Reason> {
        if self.standing(load.key).is_some() {
            return None;
        }
        let from = taken_from(load)?;
        let fixture = self.shop.fixtures.get(&load.fixture?)?;
        let with = |copy: crate::ids::FixtureCopyId| {
            self.schedule
                .loads
                .iter()
                .filter(|other| other.key != load.key && other.copy == Some(copy))
                .find(|other| {
                    let is_before = taken_from(other).is_none_or(|other| other < from);
                    is_before && other.unload.is_some_and(|unload| unload.to > self.at)
                })
        };
        let mut users = Vec::new();
        for copy in &fixture.copies {
            users.push(with(copy.id)?);
        }
        let first = users
            .into_iter()
            .min_by_key(|other| other.unload.map(|unload| unload.to))?;
        let text = format!(
            "fixture {}, on pallet {}",
            fixture.facts.code,
            self.pallet(first.pallet)
        );
        Some(Reason::new(ReasonCode::Fixture, text))
    }

    /// Nobody is there, and it may not run alone; or not until its end.
    fn not_proven(&self, load: &ScheduledLoad) -> Option<Reason> {
        let (machine, run) = (load.machine?, load.run?);
        work::not_cleared(self.shop, &load.clamped, load.cell, machine)?;
        let now = Window::new(self.at, self.at.plus_us(run.us()));
        if self.is_attended(load.cell, now) || run.from <= self.at {
            return None;
        }
        let text = format!(
            "not proven on machine {}: nobody is there until its end",
            self.machine(machine)
        );
        Some(Reason::new(ReasonCode::NotProven, text))
    }

    fn is_attended(&self, cell: crate::ids::CellId, window: Window) -> bool {
        let Some(calendar) = self
            .shop
            .calendar_of(cell)
            .filter(|calendar| !calendar.is_empty())
        else {
            return true;
        };
        let attended = crate::calendar::attended(calendar, self.site.zone, window);
        attended.iter().any(|attended| attended.encloses(window))
    }

    /// Every pallet that could take it holds a load.
    fn free_pallet(&self, load: &ScheduledLoad) -> Option<Reason> {
        if self.standing(load.key).is_some() {
            return None;
        }
        let from = taken_from(load)?;
        let on_pallet = self
            .schedule
            .loads
            .iter()
            .filter(|other| other.pallet == load.pallet);
        let before = on_pallet
            .filter(|other| taken_from(other).is_none_or(|other| other < from))
            .filter_map(|other| other.unload)
            .filter(|unload| unload.to > self.at)
            .max()?;
        let what = if is_standalone(self.shop, load.cell) {
            "the machine's table"
        } else {
            "pallet"
        };
        let text = format!(
            "{what} {}, taken until {}",
            self.pallet(load.pallet),
            self.clock(before.to)
        );
        Some(Reason::new(ReasonCode::Pallet, text))
    }

    fn people(&self, load: &ScheduledLoad) -> Option<Reason> {
        let from = taken_from(load)?;
        let calendar = self
            .shop
            .calendar_of(load.cell)
            .filter(|calendar| !calendar.is_empty())?;
        let now = Window::new(self.at, self.at.plus_us(1));
        if !staffed(calendar, self.site.zone, now).is_empty() {
            return None;
        }
        let text = format!("somebody to clamp it, at {}", self.clock(from));
        Some(Reason::new(ReasonCode::People, text))
    }

    fn turn(&self, load: &ScheduledLoad, ahead: Option<&ScheduledLoad>) -> Reason {
        let machine = load
            .machine
            .map(|machine| self.machine(machine))
            .unwrap_or_default();
        let text = match ahead {
            Some(ahead) => format!(
                "its turn on machine {machine}: pallet {} with {} is before it",
                self.pallet(ahead.pallet),
                ahead
                    .clamped
                    .first()
                    .map_or_else(String::new, |one| self.job(one.job))
            ),
            None => format!("its turn on machine {machine}"),
        };
        Reason::new(ReasonCode::Turn, text)
    }
}

/// When its pallet is taken for it; `None`: it is clamped already.
fn taken_from(load: &ScheduledLoad) -> Option<Timestamp> {
    load.mount.or(load.load).map(|window| window.from)
}

fn code_of(kind: crate::load::HoldKind) -> ReasonCode {
    match kind {
        crate::load::HoldKind::FirstArticle => ReasonCode::FirstArticle,
        crate::load::HoldKind::FirstPiece => ReasonCode::FirstPiece,
        crate::load::HoldKind::InProcess | crate::load::HoldKind::Suspect => ReasonCode::Held,
    }
}

fn named(kind: crate::load::HoldKind) -> &'static str {
    match kind {
        crate::load::HoldKind::FirstArticle => "first article",
        crate::load::HoldKind::FirstPiece => "first piece",
        crate::load::HoldKind::InProcess => "in process",
        crate::load::HoldKind::Suspect => "suspect",
    }
}

//! Why a load is not in the schedule at all.

use super::{Asked, Reason, ReasonCode};
use crate::cell::CellKind;
use crate::floor::{can_carry, pieces, work};
use crate::machine::Condition;
use crate::plan::schedule::{LoadLeftOut, WhyLeftOut};

impl Asked<'_> {
    pub(super) fn why_left_out(&self, load: &LoadLeftOut) -> Reason {
        match &load.why {
            WhyLeftOut::Tool {
                tool,
                machine,
                short_s,
            } => {
                let text = format!(
                    "tool {tool} on machine {} short by {}",
                    self.machine(*machine),
                    length(*short_s)
                );
                Reason::new(ReasonCode::Tool, text)
            }
            WhyLeftOut::TooLongToAttend { machine } => {
                let text = format!(
                    "not proven on machine {}, and it runs longer than anybody is there",
                    self.machine(*machine)
                );
                Reason::new(ReasonCode::NotProven, text)
            }
            WhyLeftOut::TooFar => Reason::new(ReasonCode::TooFar, "no time within a year"),
            WhyLeftOut::Pieces => self.no_pieces(load),
            WhyLeftOut::NoWay => self.no_way(load),
        }
    }

    fn no_pieces(&self, load: &LoadLeftOut) -> Reason {
        let material = load.clamped.first().and_then(|one| {
            let job = self.shop.jobs.get(&one.job)?;
            pieces::material_missing(self.shop, job, one.operation)
        });
        match material {
            Some(expected) => Reason::new(ReasonCode::Material, format!("its material ({expected})")),
            None => Reason::new(
                ReasonCode::Pieces,
                "pieces of the operation before, which do not come",
            ),
        }
    }

    /// No machine, no fixture, or no pallet: the first of these that is true.
    fn no_way(&self, load: &LoadLeftOut) -> Reason {
        let Some(one) = load.clamped.first() else {
            return Reason::new(ReasonCode::Machine, "a machine that takes it");
        };
        let Some(machining) = work::machining(self.shop, one.job, one.operation) else {
            return Reason::new(ReasonCode::Machine, "a machine that takes it");
        };
        let machines = self.shop.machines.values().filter(|machine| {
            let of_cell = machining.places.iter().find(|place| place.cell == machine.cell);
            of_cell.is_some_and(|place| place.takes(machine.id))
        });
        let mut machines: Vec<_> = machines.collect();
        machines.sort_by(|a, b| a.code.cmp(&b.code));
        let down = |machine: &&crate::machine::Machine| matches!(machine.condition, Condition::Down { .. });
        if machines.iter().all(down) {
            let text = machines.first().map_or_else(
                || "a machine that takes it: there is none".to_owned(),
                |machine| match machine.condition {
                    Condition::Down { since, reason } => {
                        format!(
                            "machine {}, set down since {} ({reason})",
                            machine.code,
                            self.clock(since)
                        )
                    }
                    _ => format!("machine {}", machine.code),
                },
            );
            return Reason::new(ReasonCode::Machine, text);
        }
        let fixtures: Vec<_> = machining
            .fixtures
            .iter()
            .filter_map(|fixture| self.shop.fixtures.get(fixture))
            .collect();
        let Some(fixture) = fixtures.iter().find(|fixture| !fixture.copies.is_empty()) else {
            let code = fixtures
                .first()
                .map_or_else(String::new, |fixture| format!(" {}", fixture.facts.code));
            return Reason::new(
                ReasonCode::Fixture,
                format!("fixture{code}: there is no copy of it"),
            );
        };
        let takes = |pallet: &crate::pallet::Pallet| {
            let in_cell = machines.iter().any(|machine| machine.cell == pallet.cell);
            in_cell && can_carry(pallet, fixture)
        };
        let is_taken = self.shop.pallets.values().any(takes);
        let text = if is_taken {
            format!(
                "a pallet for fixture {}: each holds something that does not come off",
                fixture.facts.code
            )
        } else {
            format!(
                "a pallet that takes fixture {}: there is none",
                fixture.facts.code
            )
        };
        Reason::new(ReasonCode::Pallet, text)
    }
}

pub(super) fn length(seconds: i64) -> String {
    match seconds {
        ..120 => format!("{seconds} s"),
        _ => format!("{} min", seconds / 60 + i64::from(seconds % 60 > 0)),
    }
}

/// A standalone machine's table is its only pallet.
pub(super) fn is_standalone(shop: &crate::shop::Shop, cell: crate::ids::CellId) -> bool {
    shop.cells.get(&cell).map(|cell| cell.kind) == Some(CellKind::Standalone)
}

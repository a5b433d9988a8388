//! Orders to begin the search with, as dispatch rules give them.

use super::Builder;
use crate::plan::model::LoadToPlan;
use crate::plan::search::Sequence;

impl Builder<'_> {
    /// Earliest due date, weight over length, and least slack; ways in turn so that machines share the work.
    pub(super) fn dispatch_rules(&self) -> Vec<Sequence> {
        let loads = self.model.movable();
        let length_s = |load: &LoadToPlan| {
            let cycles = self.model.ways_of(load).iter().map(|way| way.cycle_s);
            cycles.min().unwrap_or(0) + load.load_s + load.unload_s
        };
        let due = |load: &LoadToPlan| (load.due, -load.weight);
        let by_weight = |load: &LoadToPlan| (length_s(load) / load.weight.max(1), load.due);
        let slack = |load: &LoadToPlan| (load.due.saturating_sub(length_s(load)), load.due);
        let orders = [sorted(loads, due), sorted(loads, by_weight), sorted(loads, slack)];
        let spread = |order: &Vec<u32>| Sequence {
            order: order.clone(),
            choice: self.spread(order),
        };
        let same = orders.iter().cloned().map(Sequence::of_order);
        orders.iter().map(spread).chain(same).collect()
    }

    /// Each load to the machine that has the least to do so far.
    fn spread(&self, order: &[u32]) -> Vec<u16> {
        let mut busy_s: Vec<i64> = self
            .model
            .machines
            .iter()
            .map(|machine| machine.free_from)
            .collect();
        let mut choice = vec![0; order.len()];
        for &task in order {
            let ways = self.model.ways_of(&self.model.movable()[task as usize]);
            let least = ways
                .iter()
                .enumerate()
                .min_by_key(|(_, way)| busy_s[way.machine].saturating_add(way.cycle_s));
            if let Some((index, way)) = least {
                busy_s[way.machine] = busy_s[way.machine].saturating_add(way.cycle_s);
                choice[task as usize] = u16::try_from(index).unwrap_or(0);
            }
        }
        choice
    }
}

fn sorted<K: Ord>(loads: &[LoadToPlan], key: impl Fn(&LoadToPlan) -> K) -> Vec<u32> {
    let mut order: Vec<u32> = (0..).take(loads.len()).collect();
    order.sort_by_key(|task| key(&loads[*task as usize]));
    order
}

//! Pieces at each step: when they come, and how many of them have been promised to loads.

use crate::plan::model::{Arrival, Model};

#[derive(Clone, Debug, Default)]
pub struct Piles {
    /// All steps one after the other, each with room for all that can ever come; in the order of time.
    arrivals: Vec<Arrival>,
    first: Vec<usize>,
    state: Vec<Pile>,
}

#[derive(Clone, Copy, Debug, Default)]
struct Pile {
    len: usize,
    taken: u32,
    /// So many first arrivals are taken wholly, with all these pieces.
    skip: usize,
    skipped: u32,
}

const NOTHING: Arrival = Arrival {
    at: 0,
    pieces: 0,
    cell: None,
};

impl Piles {
    pub fn new(model: &Model) -> Self {
        let mut piles = Self::default();
        for step in &model.steps {
            piles.first.push(piles.arrivals.len());
            piles.arrivals.extend_from_slice(&step.arrivals);
            let room = piles.first[piles.first.len() - 1] + step.arrivals_max;
            piles.arrivals.resize(room, NOTHING);
            piles.state.push(Pile {
                len: step.arrivals.len(),
                ..Pile::default()
            });
        }
        piles
    }

    pub fn reset(&mut self, empty: &Self) {
        self.arrivals.copy_from_slice(&empty.arrivals);
        self.state.copy_from_slice(&empty.state);
    }

    /// When the next pieces have come to a cell; `None` if fewer are known to come.
    pub fn ready_at(&self, step: usize, pieces: u32, cell: Option<usize>, move_s: i64) -> Option<i64> {
        let pile = &self.state[step];
        let first = self.first[step];
        let mut missing = (pile.taken - pile.skipped) + pieces;
        let mut ready = 0;
        for arrival in &self.arrivals[first + pile.skip..first + pile.len] {
            let is_elsewhere = move_s > 0 && arrival.cell.is_some() && arrival.cell != cell;
            ready = ready.max(arrival.at + if is_elsewhere { move_s } else { 0 });
            if arrival.pieces >= missing {
                return Some(ready);
            }
            missing -= arrival.pieces;
        }
        (missing == 0).then_some(ready)
    }

    pub fn take(&mut self, step: usize, pieces: u32) {
        let first = self.first[step];
        let pile = &mut self.state[step];
        pile.taken += pieces;
        while pile.skip < pile.len {
            let next = self.arrivals[first + pile.skip].pieces;
            if pile.skipped + next > pile.taken {
                break;
            }
            pile.skipped += next;
            pile.skip += 1;
        }
    }

    pub fn arrive(&mut self, step: usize, arrival: Arrival) {
        let first = self.first[step];
        let pile = &mut self.state[step];
        let mut place = pile.len;
        while place > 0 && self.arrivals[first + place - 1].at > arrival.at {
            self.arrivals[first + place] = self.arrivals[first + place - 1];
            place -= 1;
        }
        self.arrivals[first + place] = arrival;
        pile.len += 1;
        // What was promised from later pieces is now promised from these.
        if place < pile.skip {
            pile.skip += 1;
            pile.skipped += arrival.pieces;
            while pile.skipped > pile.taken {
                pile.skip -= 1;
                pile.skipped -= self.arrivals[first + pile.skip].pieces;
            }
        }
    }
}

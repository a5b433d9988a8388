//! What a machine did, as its control would tell it.

use spindlebook_domain::machine_state::MachineState;
use spindlebook_domain::time::{Timestamp, US_PER_SECOND};

#[derive(Clone, Debug, Default)]
pub struct Log {
    /// In the order of time, no two at one instant.
    pub rows: Vec<(Timestamp, MachineState)>,
}

impl Log {
    /// A state that stands already, or that would come before what was told, is not told.
    pub fn says(&mut self, at: Timestamp, state: MachineState) {
        let is_news = self
            .rows
            .last()
            .is_none_or(|(before, said)| *before < at && *said != state);
        if is_news {
            self.rows.push((at, state));
        }
    }

    pub fn state_at(&self, at: Timestamp) -> Option<MachineState> {
        let after = self.rows.partition_point(|(row, _)| *row <= at);
        self.rows[..after].last().map(|(_, state)| *state)
    }

    /// From `from` until `to` the log says only `rows`; afterwards it goes on as it was.
    pub fn replace(&mut self, from: Timestamp, to: Timestamp, rows: &[(Timestamp, MachineState)]) {
        let after = self.state_at(to);
        let kept = std::mem::take(&mut self.rows);
        let (before, rest): (Vec<_>, Vec<_>) = kept.into_iter().partition(|(at, _)| *at < from);
        self.rows = before;
        let back = after.map(|state| (to, state));
        let rest = rest.into_iter().filter(|(at, _)| *at > to);
        for (at, state) in rows.iter().copied().chain(back).chain(rest) {
            self.says(at, state);
        }
    }

    /// How long a state that `counts` has lasted until `at`, in whole seconds.
    pub fn seconds_until(&self, at: Timestamp, counts: impl Fn(MachineState) -> bool) -> i64 {
        let ends = self.rows.iter().skip(1).map(|row| row.0).chain([at]);
        let lasted = self
            .rows
            .iter()
            .zip(ends)
            .filter(|((from, state), _)| *from < at && counts(*state));
        lasted
            .map(|((from, _), to)| to.min(at).since_us(*from))
            .sum::<i64>()
            / US_PER_SECOND
    }
}

//! What of a batch of states is new, before it becomes an entry.

use super::StateMark;
use crate::machine_state::MachineState;
use crate::time::Timestamp;

/// `accepted + repeated + superseded` is the number of rows in the batch; the other two say something about some of them.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct BatchCounts {
    pub accepted: usize,
    /// The same state already stands at the same instant.
    pub repeated: usize,
    /// A later row of the batch has the same instant, so this one lasted for no time at all.
    pub superseded: usize,
    /// Earlier than the row before it in the batch, or than the newest one known.
    pub out_of_order: usize,
    /// Accepted, although the state is the one before it: a sign of life, which ends a silence.
    pub unchanged: usize,
}

#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct NormalisedBatch {
    /// New rows only, sorted, one per instant.
    pub rows: Vec<(Timestamp, MachineState)>,
    pub counts: BatchCounts,
}

/// `known`: the machine's signals of the days that the batch touches; `newest`: until when it has been heard at all.
pub fn normalise(
    known: &[StateMark],
    newest: Option<Timestamp>,
    batch: &[(Timestamp, MachineState)],
) -> NormalisedBatch {
    let newest = newest.max(known.last().map(|mark| mark.at));
    let is_late =
        |at: Timestamp, before: Option<Timestamp>| newest.max(before).is_some_and(|latest| at < latest);
    let befores = std::iter::once(None).chain(batch.iter().map(|row| Some(row.0)));
    let mut counts = BatchCounts {
        out_of_order: batch
            .iter()
            .zip(befores)
            .filter(|(row, before)| is_late(row.0, *before))
            .count(),
        ..BatchCounts::default()
    };
    let mut sorted = batch.to_vec();
    sorted.sort_by_key(|row| row.0);
    let mut rows: Vec<(Timestamp, MachineState)> = Vec::with_capacity(sorted.len());
    let mut next_known = 0;
    for (position, &(at, state)) in sorted.iter().enumerate() {
        if sorted.get(position + 1).is_some_and(|next| next.0 == at) {
            counts.superseded += 1;
            continue;
        }
        next_known += known[next_known..].partition_point(|mark| mark.at < at);
        let before = standing(rows.last().copied(), known[..next_known].last());
        next_known += known[next_known..].partition_point(|mark| mark.at <= at);
        let here = known[..next_known].last().filter(|mark| mark.at == at);
        if here.is_some_and(|mark| mark.state == state) {
            counts.repeated += 1;
            continue;
        }
        counts.unchanged += usize::from(before == Some(state));
        rows.push((at, state));
    }
    counts.accepted = rows.len();
    NormalisedBatch { rows, counts }
}

/// The later of the two; a new row wins against a known one of the same instant.
fn standing(new: Option<(Timestamp, MachineState)>, known: Option<&StateMark>) -> Option<MachineState> {
    match (new, known) {
        (Some((at, state)), Some(mark)) => Some(if at >= mark.at { state } else { mark.state }),
        (Some((_, state)), None) => Some(state),
        (None, known) => known.map(|mark| mark.state),
    }
}

//! What the pool of a machine's cell says at each instant: why nothing runs.

use super::tracks::Changes;
use crate::pool::PalletState;
use crate::stretches::{MachineMarks, PalletMark};
use crate::time::Timestamp;

/// How many pallets are in which condition, as far as it matters to one spindle.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct PoolState {
    /// Something was said of the pool or of its work.
    pub is_known: bool,
    /// At this spindle.
    pub in_setup_here: u32,
    /// At this spindle or at none.
    pub ready: u32,
    pub ready_attended_only: u32,
    pub held: u32,
    pub work_open: Option<bool>,
}

impl Changes<PoolState> {
    /// Empty where nothing is known of a pool.
    pub fn of_pool(marks: &MachineMarks, as_of: Timestamp) -> Self {
        let mut said: Vec<_> = marks
            .work
            .iter()
            .map(|mark| (mark.at, Said::Work(mark.open)))
            .collect();
        for (position, pallet) in marks.pallets.iter().enumerate() {
            said.extend(
                pallet
                    .marks
                    .iter()
                    .map(|mark| (mark.at, Said::Pallet(position, *mark))),
            );
        }
        said.retain(|(at, _)| *at <= as_of);
        // Stable: of one track's marks at one instant the last one stands.
        said.sort_by_key(|(at, _)| *at);
        let mut standing: Vec<Option<PalletMark>> = vec![None; marks.pallets.len()];
        let mut state = PoolState::default();
        let mut changes: Vec<(i64, PoolState)> = Vec::with_capacity(said.len());
        for (at, said) in said {
            match said {
                Said::Work(open) => {
                    state.is_known = true;
                    state.work_open = Some(open);
                }
                Said::Pallet(position, mark) => {
                    let before = standing[position].replace(mark);
                    if let Some(before) = before.filter(|mark| is_in_cell(marks, mark)) {
                        count(&mut state, marks, &before, -1);
                    }
                    if is_in_cell(marks, &mark) {
                        state.is_known = true;
                        count(&mut state, marks, &mark, 1);
                    }
                }
            }
            match changes.last_mut() {
                Some(last) if last.0 == at.us() => last.1 = state,
                Some(last) if last.1 == state => {}
                _ => changes.push((at.us(), state)),
            }
        }
        Self::new(changes)
    }
}

enum Said {
    Work(bool),
    Pallet(usize, PalletMark),
}

pub(super) fn is_in_cell(marks: &MachineMarks, mark: &PalletMark) -> bool {
    marks.place.is_some_and(|(_, cell)| cell == mark.cell)
}

/// A pallet at another machine's spindle waits for nothing that this one could give.
pub(super) fn is_at_another(marks: &MachineMarks, mark: &PalletMark) -> bool {
    mark.at_machine
        .is_some_and(|at| marks.place.is_some_and(|(machine, _)| machine != at))
}

fn count(state: &mut PoolState, marks: &MachineMarks, mark: &PalletMark, by: i32) {
    if is_at_another(marks, mark) {
        return;
    }
    let counted = match mark.state {
        PalletState::InSetup if mark.at_machine.is_some() => &mut state.in_setup_here,
        PalletState::Ready => &mut state.ready,
        PalletState::ReadyAttendedOnly => &mut state.ready_attended_only,
        PalletState::Held => &mut state.held,
        PalletState::InSetup
        | PalletState::Empty
        | PalletState::InRun
        | PalletState::Cut
        | PalletState::Aborted => {
            return;
        }
    };
    *counted = counted.saturating_add_signed(by);
}

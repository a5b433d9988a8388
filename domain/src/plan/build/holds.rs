//! First pieces and first articles: which load the inspector looks at after its run, and what waits for that.

use super::state::Approved;
use super::{Builder, Scratch, Span};
use crate::load::HoldKind;

/// What a step asks of a load before and after its run.
#[derive(Clone, Copy, Debug)]
pub(super) struct Wanted {
    pub kind: Option<HoldKind>,
    /// Its run does not start before.
    pub from: i64,
}

impl Builder<'_> {
    pub(super) fn wanted(
        &self,
        scratch: &Scratch,
        step: usize,
        pallet: usize,
        setup: u32,
        machine: usize,
    ) -> Wanted {
        let (now, state) = (&self.model.steps[step], &scratch.steps[step]);
        if state.wants_article {
            return Wanted {
                kind: Some(HoldKind::FirstArticle),
                from: state.first_piece_open_until,
            };
        }
        let from = state.article_open_until;
        if !now.wants_first_piece {
            return Wanted { kind: None, from };
        }
        let known = &scratch.approved[state.first_approval..state.first_approval + state.approvals];
        let same = |one: &&Approved| (one.pallet, one.setup, one.machine) == (pallet, setup, machine);
        match known.iter().find(same) {
            Some(approved) => Wanted {
                kind: None,
                from: from.max(approved.from),
            },
            None => Wanted {
                kind: Some(HoldKind::FirstPiece),
                from: from.max(state.first_piece_open_until),
            },
        }
    }

    /// The strictest that the load's steps ask for, and the latest.
    pub(super) fn wanted_of_load(
        &self,
        scratch: &Scratch,
        index: usize,
        pallet: usize,
        machine: usize,
    ) -> Wanted {
        let setup = scratch.pallets[pallet].setup;
        let mut all = Wanted { kind: None, from: 0 };
        for (step, _) in &self.model.loads[index].pieces {
            let one = self.wanted(scratch, *step, pallet, setup, machine);
            all.kind = all.kind.max(one.kind);
            all.from = all.from.max(one.from);
        }
        all
    }

    /// The inspector looks at the load as soon as there is time after its run; accepting it opens the rest.
    pub(super) fn inspect(
        &self,
        scratch: &mut Scratch,
        index: usize,
        kind: HoldKind,
        cut_at: i64,
    ) -> Option<Span> {
        let length_s = self.model.inspection_s;
        let gap = scratch
            .inspector
            .fit(0, &self.model.inspector, cut_at, length_s)?;
        scratch.inspector.take(gap, &self.model.inspector, length_s);
        let span = Span {
            from: gap.from,
            to: gap.from + length_s,
        };
        let placed = scratch.placed[index];
        let Some(machine) = placed.way.map(|way| self.model.ways[way].machine) else {
            return Some(span);
        };
        let setup = scratch.pallets[placed.pallet].setup;
        for (step, _) in &self.model.loads[index].pieces {
            let wanted = self.wanted(scratch, *step, placed.pallet, setup, machine).kind;
            let state = &mut scratch.steps[*step];
            if wanted == Some(HoldKind::FirstArticle) && kind == HoldKind::FirstArticle {
                state.wants_article = false;
                state.article_open_until = span.to;
            } else if wanted.is_some() {
                state.first_piece_open_until = span.to;
            }
            if wanted.is_some() {
                scratch.approved[state.first_approval + state.approvals] = Approved {
                    pallet: placed.pallet,
                    setup,
                    machine,
                    from: span.to,
                };
                state.approvals += 1;
            }
        }
        Some(span)
    }
}

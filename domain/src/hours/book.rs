//! What people recorded of a machine's runs: when each was in cycle, as far as evidence goes.

use super::tracks::Changes;
use crate::ids::{PalletId, RunId};
use crate::pool::PalletState;
use crate::run::Purpose;
use crate::stretches::{MachineMarks, PalletMark, RunAct, RunMark};
use crate::time::{Timestamp, US_PER_SECOND, Window};
use std::collections::BTreeMap;
use std::ops::Range;

/// What people say of the run at an instant.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) enum TellsOfRun {
    #[default]
    Nothing,
    InCycle,
    Paused,
    /// A run has begun, its planned time is over, and nobody has told its end.
    NotProven,
}

/// What people's book says at an instant.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Told {
    pub run: TellsOfRun,
    /// Position in [`Book::runs`] of the run that `run` is said of.
    pub lead: u32,
    /// Position in [`Book::pieces`] of its piece.
    pub piece: u32,
    /// How many runs are in cycle; two on one spindle are an overlap.
    pub in_cycle: u32,
    pub exchange: bool,
    /// Runs of this machine have been recorded.
    pub runs_begun: bool,
    /// Runs of this machine or pallets of its cell have been recorded.
    pub book_begun: bool,
    /// Position in [`Book::sets`].
    pub set: u32,
}

#[derive(Debug)]
pub(super) struct Run {
    pub id: RunId,
    pub purpose: Option<Purpose>,
    pub start: Timestamp,
    /// Where nobody has told it and nothing proves it, there is none.
    pub end: Option<Timestamp>,
    /// The position of the mark that told the end.
    pub told_end: Option<usize>,
    /// The positions of its pieces.
    pub pieces: Range<usize>,
    /// The positions of its marks, in the order of time.
    pub marks: Vec<usize>,
    pallet: Option<PalletId>,
    pub cycle_us: i64,
    exchange_us: i64,
    start_source: u32,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Piece {
    InCycle,
    /// The position of the mark that paused it.
    Paused(usize),
    NotProven,
    /// Before the run.
    Exchange,
}

#[derive(Debug, Default)]
pub(super) struct Book {
    /// In the order of their starts.
    pub runs: Vec<Run>,
    /// What lies where, with the position of its run.
    pub pieces: Vec<(Window, Piece, usize)>,
    /// The pieces that lie over each other between two changes.
    pub sets: Vec<Vec<usize>>,
}

impl Book {
    /// As it reads at `as_of`: what happened later is not in it.
    pub fn of(marks: &MachineMarks, as_of: Timestamp) -> Self {
        let mut book = Self {
            runs: runs_of(&marks.runs, as_of),
            ..Self::default()
        };
        for position in 0..book.runs.len() {
            let told = book.runs[position].told_end.map(|mark| marks.runs[mark].at);
            book.runs[position].end = told.or_else(|| book.proven_end(position, marks, as_of));
            let first = book.pieces.len();
            lay_out(
                &book.runs[position],
                position,
                &marks.runs,
                as_of,
                &mut book.pieces,
            );
            book.runs[position].pieces = first..book.pieces.len();
        }
        book.lay_exchanges(as_of);
        book
    }

    /// The first run since when one goes on of which nothing tells the end.
    pub fn open_from(&self) -> Option<Timestamp> {
        self.runs
            .iter()
            .filter(|run| run.end.is_none())
            .map(|run| run.start)
            .min()
    }

    /// By the next run's start, or by the pallet having left the spindle: whichever came first after the last thing
    /// that was said of this run.
    fn proven_end(&self, position: usize, marks: &MachineMarks, as_of: Timestamp) -> Option<Timestamp> {
        let run = &self.runs[position];
        let last = &marks.runs[*run.marks.last()?];
        let later = |other: &&Run| (other.start, other.start_source) > (last.at, last.source);
        let next = self.runs[position + 1..]
            .iter()
            .find(later)
            .map(|other| other.start);
        let machine = marks.place.map(|(machine, _)| machine);
        let leaves = |mark: &&PalletMark| {
            mark.at > last.at
                && (mark.at_machine != machine
                    || !matches!(mark.state, PalletState::InRun | PalletState::Held))
        };
        let pallet = run.pallet.map_or(&[][..], |pallet| marks.marks_of_pallet(pallet));
        // Of several marks at one instant the last one stands.
        let nexts = pallet.iter().skip(1).map(Some).chain([None]);
        let standing = pallet
            .iter()
            .zip(nexts)
            .filter(|(mark, next)| next.is_none_or(|next| next.at != mark.at));
        let left = standing.map(|(mark, _)| mark).find(leaves).map(|mark| mark.at);
        next.into_iter().chain(left).min().filter(|at| *at <= as_of)
    }

    /// The last of the time between two runs on different pallets, as long as the cell takes for it.
    fn lay_exchanges(&mut self, as_of: Timestamp) {
        let mut free_from: Option<Timestamp> = None;
        for position in 0..self.runs.len() {
            let run = &self.runs[position];
            let before = position
                .checked_sub(1)
                .and_then(|before| self.runs[before].pallet);
            if let (Some(free_from), Some(before), Some(pallet)) = (free_from, before, run.pallet)
                && before != pallet
            {
                let window = Window::new(free_from.max(run.start.plus_us(-run.exchange_us)), run.start);
                if !window.is_empty() {
                    self.pieces.push((window, Piece::Exchange, position));
                }
            }
            free_from = free_from.max(Some(run.end.unwrap_or(as_of)));
        }
    }

    /// What the book says from instant to instant.
    pub fn changes(&mut self, marks: &MachineMarks, as_of: Timestamp) -> Changes<Told> {
        let runs_from = marks.runs.first().map(|mark| mark.at).filter(|at| *at <= as_of);
        let pallets = marks.pallets.iter().flat_map(|pallet| &pallet.marks);
        let in_cell = pallets.filter(|mark| super::pool::is_in_cell(marks, mark));
        let pallets_from = in_cell.map(|mark| mark.at).min().filter(|at| *at <= as_of);
        let Some(book_from) = runs_from.into_iter().chain(pallets_from).min() else {
            return Changes::default();
        };
        let mut edges: Vec<_> = self
            .pieces
            .iter()
            .flat_map(|(at, _, _)| [at.from, at.to])
            .collect();
        edges.extend([Some(book_from), runs_from].into_iter().flatten());
        edges.sort_unstable();
        edges.dedup();
        let mut by_start: Vec<_> = (0..self.pieces.len()).collect();
        by_start.sort_by_key(|piece| self.pieces[*piece].0.from);
        let mut starting = by_start.into_iter().peekable();
        let mut open: Vec<usize> = Vec::new();
        let mut changes = Vec::with_capacity(edges.len());
        for at in edges {
            open.retain(|piece| self.pieces[*piece].0.to > at);
            while let Some(piece) = starting.next_if(|piece| self.pieces[*piece].0.from <= at) {
                open.push(piece);
            }
            let told = Told {
                runs_begun: runs_from.is_some_and(|from| from <= at),
                book_begun: book_from <= at,
                set: u32::try_from(self.sets.len()).unwrap_or(u32::MAX),
                ..self.told(&open)
            };
            self.sets.push(open.clone());
            changes.push((at.us(), told));
        }
        Changes::new(changes)
    }

    /// Of runs that lie over each other, the one that began last speaks.
    fn told(&self, open: &[usize]) -> Told {
        let mut told = Told::default();
        for &position in open {
            let (_, piece, run) = self.pieces[position];
            let rank = |tells| match tells {
                TellsOfRun::InCycle => 3,
                TellsOfRun::Paused => 2,
                TellsOfRun::NotProven => 1,
                TellsOfRun::Nothing => 0,
            };
            let tells = match piece {
                Piece::InCycle => TellsOfRun::InCycle,
                Piece::Paused(_) => TellsOfRun::Paused,
                Piece::NotProven => TellsOfRun::NotProven,
                Piece::Exchange => {
                    told.exchange = true;
                    continue;
                }
            };
            told.in_cycle += u32::from(tells == TellsOfRun::InCycle);
            let lead = u32::try_from(run).unwrap_or(u32::MAX);
            if (rank(tells), lead) >= (rank(told.run), told.lead) {
                told.run = tells;
                told.lead = lead;
                told.piece = u32::try_from(position).unwrap_or(u32::MAX);
            }
        }
        told
    }

    pub fn purpose(&self, told: Told) -> Option<Purpose> {
        if told.run == TellsOfRun::Nothing {
            return None;
        }
        self.runs.get(usize::try_from(told.lead).ok()?)?.purpose
    }

    /// The positions of the marks that say what is between two changes.
    pub fn behind(&self, told: Told, marks: &[RunMark]) -> Vec<usize> {
        let set = usize::try_from(told.set).ok().and_then(|set| self.sets.get(set));
        let mut behind = Vec::new();
        for &piece in set.into_iter().flatten() {
            let (window, piece, position) = &self.pieces[piece];
            let run = &self.runs[*position];
            let is_start = |mark: &&usize| matches!(marks[**mark].act, RunAct::Started { .. });
            behind.extend(run.marks.iter().filter(is_start));
            if *piece == Piece::Exchange {
                let before = position.checked_sub(1).map(|before| &self.runs[before]);
                behind.extend(before.and_then(|run| run.told_end));
                continue;
            }
            let bounds = |mark: &&usize| [window.from, window.to].contains(&marks[**mark].at);
            behind.extend(run.marks.iter().filter(bounds));
            behind.extend(run.told_end);
        }
        behind
    }

    /// How long a run was in cycle before an instant.
    pub fn in_cycle_before_us(&self, run: &Run, at: Timestamp) -> i64 {
        let pieces = self.pieces[run.pieces.clone()].iter();
        let in_cycle = pieces.filter(|(_, piece, _)| *piece == Piece::InCycle);
        in_cycle
            .map(|(window, _, _)| Window::new(window.from, window.to.min(at)).us())
            .sum()
    }

    /// Why a person paused the run.
    pub fn reason<'a>(&self, told: Told, marks: &'a [RunMark]) -> Option<&'a str> {
        let (_, piece, _) = self.pieces.get(usize::try_from(told.piece).ok()?)?;
        match (told.run, piece) {
            (TellsOfRun::Paused, Piece::Paused(mark)) => match &marks[*mark].act {
                RunAct::Paused { reason } => Some(reason),
                _ => None,
            },
            _ => None,
        }
    }
}

/// The runs of which something was said by `as_of`. Where a start or an end was told more than once, the entry that
/// came last stands.
fn runs_of(marks: &[RunMark], as_of: Timestamp) -> Vec<Run> {
    let mut by_run = BTreeMap::<RunId, Vec<usize>>::new();
    let told = marks.iter().enumerate().take_while(|(_, mark)| mark.at <= as_of);
    for (position, mark) in told.filter(|(_, mark)| mark.act != RunAct::Withdrawn) {
        by_run.entry(mark.run).or_default().push(position);
    }
    let newest = |positions: &[usize], is: fn(&RunAct) -> bool| {
        let those = positions.iter().copied().filter(|mark| is(&marks[*mark].act));
        those.max_by_key(|mark| (marks[*mark].source, *mark))
    };
    let mut runs: Vec<_> = by_run
        .into_iter()
        .filter_map(|(run, positions)| {
            let start = newest(&positions, |act| matches!(act, RunAct::Started { .. }));
            // Of a run that began too long ago only the later acts are known.
            let first = &marks[start.or_else(|| positions.first().copied())?];
            let told_end = newest(&positions, |act| matches!(act, RunAct::Ended { .. }));
            let (pallet, purpose, cycle_s, exchange_s) = match first.act {
                RunAct::Started {
                    pallet,
                    purpose,
                    cycle_s,
                    exchange_s,
                } => (Some(pallet), Some(purpose), cycle_s, exchange_s),
                _ => (None, None, 0, 0),
            };
            Some(Run {
                id: run,
                purpose,
                start: first.at,
                end: None,
                told_end,
                pieces: 0..0,
                marks: positions,
                pallet,
                cycle_us: i64::from(cycle_s) * US_PER_SECOND,
                exchange_us: i64::from(exchange_s) * US_PER_SECOND,
                start_source: first.source,
            })
        })
        .collect();
    runs.sort_by_key(|run| (run.start, run.start_source));
    runs
}

/// Cuts a run into pieces. Without an end it is in cycle until its planned time is over, its pauses taken out.
fn lay_out(
    run: &Run,
    position: usize,
    marks: &[RunMark],
    as_of: Timestamp,
    pieces: &mut Vec<(Window, Piece, usize)>,
) {
    let close = run.end.unwrap_or(as_of).max(run.start);
    let mut lay = |from: Timestamp, to: Timestamp, piece| {
        if from < to {
            pieces.push((Window::new(from, to), piece, position));
        }
    };
    let (mut from, mut left_us, mut paused) = (run.start, run.cycle_us, None);
    for &mark in &run.marks {
        let said = &marks[mark];
        if said.at < run.start || said.at >= close {
            continue;
        }
        match (&said.act, paused) {
            (RunAct::Paused { .. }, None) => {
                lay(from, said.at, Piece::InCycle);
                left_us -= said.at.since_us(from);
                (from, paused) = (said.at, Some(mark));
            }
            (RunAct::Paused { .. } | RunAct::Resumed, Some(pause)) => {
                lay(from, said.at, Piece::Paused(pause));
                from = said.at;
                paused = matches!(said.act, RunAct::Paused { .. }).then_some(mark);
            }
            _ => {}
        }
    }
    if let Some(pause) = paused {
        lay(from, close, Piece::Paused(pause));
    } else if run.told_end.is_some() {
        lay(from, close, Piece::InCycle);
    } else {
        let spent_at = from.plus_us(left_us.max(0)).min(close);
        lay(from, spent_at, Piece::InCycle);
        lay(spent_at, close, Piece::NotProven);
    }
}

//! Jobs: their operations as steps, and the pieces that are there or come without a load.

use super::lead::{end_of_day, end_of_its_day, lead};
use super::take::Taking;
use super::{Arrival, JobNow, LineNow, NEVER, Step, StepKind};
use crate::floor::pieces::open_jobs;
use crate::inspection::rule_of;
use crate::job::{AtOperation, Job, StepOut};
use crate::load::HoldKind;
use crate::order::{Line, line_of};
use crate::part::{Machining, Work};
use chrono::NaiveDate;

impl Taking<'_> {
    /// In the order of their lines' due dates, so that the same shop gives the same model.
    pub(super) fn take_jobs(&mut self) {
        let shop = self.shop;
        let mut jobs: Vec<_> = open_jobs(shop).collect();
        jobs.sort_by_key(|job| {
            let due = line_of(shop, job).map_or(NaiveDate::MAX, |line| line.due);
            (due, job.released_seq, job.id)
        });
        for job in jobs {
            self.take_job(job);
        }
    }

    fn take_job(&mut self, job: &Job) {
        let line = line_of(self.shop, job);
        let line_index = line.map(|line| self.line_index(job, line));
        let index = self.model.jobs.len();
        let material = line.map_or(0, |line| self.material_from(line));
        let first = self.model.steps.len();
        for (operation, at) in job.routing.operations.iter().zip(&job.operations) {
            self.step_of
                .insert((job.id, operation.number), self.model.steps.len());
            let step = match &operation.work {
                Work::Machining(machining) => self.machined(job, index, operation.number, machining),
                Work::Manual(manual) => {
                    let lead = lead(self.shop, self.site, self.model.clock, *manual);
                    self.model.leads.push(lead);
                    step_of(
                        index,
                        operation.number,
                        StepKind::Manual(self.model.leads.len() - 1),
                    )
                }
            };
            self.model.steps.push(step);
            debug_assert_eq!(at.number, operation.number);
        }
        let done = self.model.steps.len();
        self.model.steps.push(step_of(index, 0, StepKind::Done));
        self.model.jobs.push(JobNow {
            id: job.id,
            line: line_index,
            wanted: job.still_to_make(),
            in_hand: job.in_hand(),
            done,
        });
        for (offset, at) in job.operations.iter().enumerate() {
            let from = if offset == 0 { material } else { 0 };
            self.take_pieces(job, first + offset, at, from);
        }
        for step in &mut self.model.steps[first..=done] {
            step.arrivals.sort_by_key(|arrival| arrival.at);
        }
    }

    fn line_index(&mut self, job: &Job, line: &Line) -> usize {
        let key = (job.order, line.number);
        if let Some(&index) = self.line_of.get(&key) {
            return index;
        }
        let clock = self.model.clock;
        let promised = self.options.promised.get(&key).map(|at| clock.not_after(*at));
        let index = self.model.lines.len();
        self.model.lines.push(LineNow {
            order: job.order,
            line: line.number,
            due: Some(promised.unwrap_or_else(|| end_of_day(self.site, clock, line.due))),
            weight: super::options::weight_of(line.priority),
        });
        self.line_of.insert(key, index);
        index
    }

    /// Material that is expected on a day can be clamped on the next; what is overdue may come today.
    fn material_from(&self, line: &Line) -> i64 {
        if !line.waits_for_material() {
            return 0;
        }
        let clock = self.model.clock;
        let earliest = end_of_its_day(self.site, clock, clock.start);
        match line.material.expected {
            Some(expected) => end_of_day(self.site, clock, expected).max(earliest),
            None => NEVER,
        }
    }

    fn machined(&self, job: &Job, index: usize, operation: u16, machining: &Machining) -> Step {
        let approvals = self.shop.approvals.get(&job.id);
        let of_operation = |approval: &&crate::load::Approved| approval.operation == operation;
        let approvals: Vec<_> = approvals.into_iter().flatten().filter(of_operation).collect();
        let has_article = approvals.iter().any(|approval| approval.first_article);
        let mut step = step_of(index, operation, StepKind::Machined);
        let is_due = machining.first_article || job.first_article_due.is_some();
        step.wants_article = is_due && !has_article;
        step.wants_first_piece = rule_of(self.shop, job.id, operation).wants_first_piece(machining);
        for approval in approvals {
            let pallet = self.pallet_with_setup.get(&approval.setup).copied();
            let machine = self.machine_of.get(&approval.machine).copied();
            step.approved
                .extend(pallet.zip(machine).map(|(pallet, machine)| (pallet, machine, 0)));
        }
        self.take_open_first_pieces(job, &mut step);
        step
    }

    /// First pieces that wait for the inspector now. Accepting one opens the rest.
    fn take_open_first_pieces(&self, job: &Job, step: &mut Step) {
        for judged in &self.judged {
            let Some(hold) = self.shop.holds.get(&judged.hold) else {
                continue;
            };
            let concerns = |one: &crate::load::Clamped| one.job == job.id && one.operation == step.operation;
            if !hold.kind.opens_the_rest() || !hold.clamped.iter().any(concerns) {
                continue;
            }
            if hold.kind == HoldKind::FirstArticle && step.wants_article {
                step.wants_article = false;
                step.article_open_until = step.article_open_until.max(judged.to);
            } else if step.wants_first_piece {
                step.first_piece_open_until = step.first_piece_open_until.max(judged.to);
            }
            let pallet = self.pallet_with_setup.get(&hold.setup).copied();
            let machine = hold
                .machine
                .and_then(|machine| self.machine_of.get(&machine).copied());
            let approved = pallet.zip(machine);
            step.approved
                .extend(approved.map(|(pallet, machine)| (pallet, machine, judged.to)));
        }
    }

    /// Pieces that wait here, are at the inspector or handed over.
    fn take_pieces(&mut self, job: &Job, step: usize, at: &AtOperation, from: i64) {
        self.arrive(step, from, at.waiting(), None);
        if at.inspection > 0 {
            let until = match self.judged_off_pallet(job, at.number) {
                Some(until) => until,
                None => self.inspect_next().1,
            };
            self.arrive(step + 1, until, at.inspection, None);
        }
        for out in at.outside.iter().filter(|out| out.still_out() > 0) {
            let back = self.back_at(step, out);
            self.arrive(step + 1, back, out.still_out(), None);
        }
    }

    fn judged_off_pallet(&self, job: &Job, operation: u16) -> Option<i64> {
        let concerns = |hold: &crate::load::Hold| {
            let same = |one: &crate::load::Clamped| one.job == job.id && one.operation == operation;
            hold.clamped.iter().any(same)
        };
        let judged = self.judged.iter().find(|judged| {
            let hold = self.shop.holds.get(&judged.hold);
            let stands = hold.and_then(|hold| self.shop.pallets.get(&hold.pallet)?.load.as_ref());
            hold.is_some_and(concerns) && stands.is_none_or(|load| load.id != judged.load)
        });
        judged.map(|judged| judged.to)
    }

    /// Back by the end of its day; what is overdue may come today.
    fn back_at(&self, step: usize, out: &StepOut) -> i64 {
        let clock = self.model.clock;
        let today = end_of_its_day(self.site, clock, clock.start);
        match (out.due, self.model.steps[step].kind) {
            (Some(due), _) => end_of_day(self.site, clock, due).max(today),
            (None, StepKind::Manual(lead)) => self.model.leads[lead].back_at(0),
            (None, _) => NEVER,
        }
    }

    /// Pieces at a step; manual steps hand them on to the next machined one.
    pub(super) fn arrive(&mut self, step: usize, at: i64, pieces: u32, cell: Option<usize>) {
        if pieces == 0 {
            return;
        }
        let (mut step, mut at) = (step, at);
        while let StepKind::Manual(lead) = self.model.steps[step].kind {
            at = if at < NEVER {
                self.model.leads[lead].back_at(at)
            } else {
                NEVER
            };
            step += 1;
        }
        self.model.steps[step].arrivals.push(Arrival { at, pieces, cell });
    }
}

fn step_of(job: usize, operation: u16, kind: StepKind) -> Step {
    Step {
        job,
        operation,
        kind,
        arrivals: Vec::new(),
        arrivals_max: 0,
        wants_article: false,
        wants_first_piece: false,
        article_open_until: 0,
        first_piece_open_until: 0,
        approved: Vec::new(),
        approvals_max: 0,
    }
}

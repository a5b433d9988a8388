//! What happens to pieces away from the machines: deburring, washing, the anodiser, and shipping.

use super::Story;
use super::agenda::Due;
use crate::demo::frame::ZONE;
use crate::demo::shop::NotAShop;
use spindlebook_domain::ids::{JobId, OrderId};
use spindlebook_domain::job::{AtOperation, Back, Job, ReportStepBack, ReportStepOut};
use spindlebook_domain::local_time::local_date;
use spindlebook_domain::order::{CompleteLine, LineState, Order, Ship, line_of, may_ship};
use spindlebook_domain::part::{Lead, Manual, Work};
use spindlebook_domain::time::Timestamp;

/// The van goes to the vendor for no fewer pieces, unless there are no more to come.
const VAN_PIECES_MIN: u32 = 12;

impl Story<'_> {
    pub fn hands_out_and_ships(&mut self, at: Timestamp) -> Result<(), NotAShop> {
        self.hands_out(at)?;
        self.ships(at)
    }

    fn hands_out(&mut self, at: Timestamp) -> Result<(), NotAShop> {
        let jobs = self.open_jobs();
        let waiting: Vec<_> = jobs.flat_map(|job| self.waits_by_hand(job)).collect();
        for (job, operation, pieces, manual) in waiting {
            let step = self.told.shop.jobs.get(&job).map_or(0, |job| job.steps().count());
            let step = u32::try_from(step).unwrap_or_default() + 1;
            let (from_rework, due) = (false, None);
            let command = ReportStepOut {
                job,
                operation,
                pieces,
                from_rework,
                at,
                due,
            };
            self.acts(at, self.lead(), command)?;
            let back_at = self.back_at(at, manual);
            // A vendor's van brings a part of them first.
            let first = if manual.vendor.is_some() && self.dice.percent(30) {
                pieces / 2
            } else {
                0
            };
            if first > 0 {
                self.agenda.at(back_at, Due::Back(job, step, first));
                self.agenda.at(
                    self.pools.works_from(back_at.plus_s(86_400)),
                    Due::Back(job, step, pieces - first),
                );
            } else {
                self.agenda.at(back_at, Due::Back(job, step, pieces));
            }
        }
        Ok(())
    }

    fn waits_by_hand<'b>(&'b self, job: &'b Job) -> impl Iterator<Item = (JobId, u16, u32, Manual)> + 'b {
        let has_material = line_of(&self.told.shop, job).is_some_and(|line| !line.waits_for_material());
        let steps = (0..).zip(&job.routing.operations);
        steps.filter_map(move |(index, operation): (usize, _)| {
            let Work::Manual(manual) = &operation.work else {
                return None;
            };
            let waiting = job.at(operation.number)?.waiting();
            let to_come: u32 = job.operations[..index].iter().map(AtOperation::in_hand).sum();
            let is_worth_a_way = manual.vendor.is_none() || waiting >= VAN_PIECES_MIN || to_come == 0;
            let may_go = waiting > 0 && is_worth_a_way && (index > 0 || has_material);
            may_go.then_some((job.id, operation.number, waiting, *manual))
        })
    }

    /// Vendors keep their word, but not always.
    fn back_at(&mut self, at: Timestamp, manual: Manual) -> Timestamp {
        let back_at = match manual.lead {
            Lead::StaffedTime { lead_s } => at.plus_s(i64::from(lead_s) * self.dice.between(70, 130) / 100),
            Lead::WorkingDays { lead_days } => {
                let late = if self.dice.percent(25) {
                    self.dice.between(1, 2)
                } else {
                    0
                };
                // Five working days are a week.
                let days = (i64::from(lead_days) + late) * 7 / 5 + 1;
                at.plus_s(days * 86_400 + self.dice.minutes(-120, 30))
            }
        };
        self.pools.works_from(back_at).plus_s(90)
    }

    pub fn comes_back(&mut self, at: Timestamp, job: JobId, step: u32, pieces: u32) -> Result<(), NotAShop> {
        let is_outside = self.told.shop.jobs.get(&job).is_some_and(|job| {
            job.steps()
                .any(|(_, known)| known.step == step && known.vendor.is_some())
        });
        let mut back = Back {
            good: pieces,
            ..Back::default()
        };
        if is_outside && pieces > 4 && self.dice.percent(30) {
            back.good -= 1;
            if self.dice.percent(70) {
                back.damaged = 1;
            } else {
                back.missing = 1;
            }
        }
        let command = ReportStepBack { job, step, back, at };
        self.acts(at, self.operator(), command)
    }

    /// What is whole is sent; of the rest a part now and then, when it is due soon.
    fn ships(&mut self, at: Timestamp) -> Result<(), NotAShop> {
        let today = local_date(ZONE, at);
        let orders: Vec<_> = self.told.shop.orders.sorted().into_values().cloned().collect();
        for order in orders {
            for line in &order.lines {
                let LineState::Released { jobs } = &line.state else {
                    continue;
                };
                let Some(job) = jobs.first().and_then(|job| self.told.shop.jobs.get(job)) else {
                    continue;
                };
                let most = *may_ship(&self.told.shop, &order, line.quantity).end();
                let packed = job.made().saturating_sub(line.shipped_of(job.id));
                let pieces = packed.min(most.saturating_sub(line.shipped()));
                let is_whole = line.shipped() + pieces >= line.quantity;
                let days = (line.due - today).num_days();
                let sends = pieces > 0 && (is_whole || (pieces >= line.quantity / 3 && days <= 4));
                if sends {
                    let (order, line, job) = (order.id, line.number, None);
                    let command = Ship {
                        order,
                        line,
                        job,
                        pieces,
                        at,
                    };
                    self.acts(at, self.office(), command)?;
                }
                self.closes(at, &order, line.number)?;
            }
        }
        Ok(())
    }

    /// What has been sent as far as the customer takes it, and of which nothing is under way, is complete.
    fn closes(&mut self, at: Timestamp, order: &Order, number: u32) -> Result<(), NotAShop> {
        let is_open = |order: &Order| order.line(number).is_some_and(|line| !line.is_closed());
        if !self.told.shop.orders.get(&order.id).is_some_and(is_open) {
            return Ok(());
        }
        let id: OrderId = order.id;
        let command = CompleteLine {
            order: id,
            line: number,
        };
        if self.told.takes(at, self.office(), &[command.clone().into()]) {
            self.acts(at, self.office(), command)?;
        }
        Ok(())
    }
}

//! The checker: whether a schedule keeps the rules of the shop. It is written from the rules and the shop's book alone and
//! shares nothing with the builder, so that a fault in one does not hide in the other. No schedule leaves without it.

mod case;
mod hands;
mod holds;
mod lines;
mod machines;
mod pallets;
mod pieces;
#[cfg(test)]
mod tests;
mod tools;

use self::case::Case;
use super::model::PlanOptions;
use super::schedule::Schedule;
use crate::shop::Shop;
use crate::site::Site;
use crate::time::Timestamp;

/// A rule that a schedule breaks, and where.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    pub rule: &'static str,
    pub text: String,
}

impl std::fmt::Display for Fault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}: {}", self.rule, self.text)
    }
}

/// All faults; none if the schedule may be shown.
pub fn check(
    shop: &Shop,
    site: &Site,
    options: &PlanOptions,
    now: Timestamp,
    schedule: &Schedule,
) -> Vec<Fault> {
    let mut case = Case::new(shop, site, options, now, schedule);
    machines::check(&mut case);
    pallets::check(&mut case);
    hands::check(&mut case);
    holds::check(&mut case);
    tools::check(&mut case);
    pieces::check(&mut case);
    lines::check(&mut case);
    case.faults
}

//! A row's figures: of one machine, or summed over several. Seconds are summed, never ratios.

use super::category::{ByCategory, Category};
use super::counters::CounterSeconds;
use super::earned::Earned;
use super::sweep::{ByPurpose, ByReason};
use crate::time::Timestamp;

/// A ratio with its denominator, which is printed beside it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Share {
    pub part_s: i64,
    pub of_s: i64,
    /// What the denominator is, in words.
    pub of: &'static str,
}

impl Share {
    /// `None` when there is nothing to divide by.
    fn new(part_s: i64, of_s: i64, of: &'static str) -> Option<Self> {
        (of_s > 0).then_some(Self { part_s, of_s, of })
    }

    #[expect(
        clippy::cast_precision_loss,
        reason = "exact below 285 million years of seconds"
    )]
    pub fn percent(self) -> f64 {
        self.part_s as f64 * 100.0 / self.of_s as f64
    }

    /// What to say when the machine did more than the denominator holds. It is told, and never clipped.
    pub fn note(self) -> Option<&'static str> {
        (self.part_s > self.of_s).then_some(match self.of {
            STAFFED => {
                "more than 100 %: the spindle was in cycle in breaks or unattended too, which are not staffed"
            }
            REALISED => "more than 100 %: the pieces took less time than was planned for them",
            _ => "more than 100 %: the two do not stem from the same measurement",
        })
    }
}

const WINDOW: &str = "window";
const STAFFED: &str = "staffed";
const POWERED_ON: &str = "powered on, by the counter";
const PLANNED: &str = "planned";
const REALISED: &str = "realised";

#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Figures {
    pub window_s: i64,
    /// Shifts without their breaks.
    pub staffed_s: i64,
    /// Somebody is there, breaks included.
    pub attended_s: i64,
    /// Add up to `window_s`.
    pub seconds: ByCategory,
    /// Add up to what is in cycle.
    pub by_purpose_s: ByPurpose,
    /// Of what was stopped in a run, that for which a person gave a reason.
    pub stopped_s: ByReason,
    /// Add up to what was down.
    pub down_s: ByReason,
    /// Of the staffed time, that for which people had set the machine down for planned maintenance.
    pub planned_down_s: i64,
    pub planned_s: Option<i64>,
    /// How much of the window a plan was in force for.
    pub planned_over_s: i64,
    pub counters: Option<CounterSeconds>,
    pub earned: Option<Earned>,
    pub in_cycle_by_people_s: i64,
    pub cycle_overlap_s: i64,
    pub run_overlap_s: i64,
    pub people_and_machine_disagree_s: i64,
    /// For how much of the window anything was recorded of the cell's pool.
    pub pool_known_s: i64,
    pub in_cycle_against_down_s: i64,
    /// Will still change: the row is in progress, or the end of a run or a down time has not been told yet.
    pub provisional: bool,
    /// Of that, the second kind.
    pub still_open: bool,
    /// When an entry last touched the row after it had settled.
    pub restated_at: Option<Timestamp>,
}

impl Figures {
    /// Realised spindle hours: the spindle was in cycle.
    pub fn realised_s(&self) -> i64 {
        self.seconds.in_cycle()
    }

    /// Nothing ran, for whatever reason.
    pub fn idle_s(&self) -> i64 {
        Category::ALL[Category::PalletExchange as usize..]
            .iter()
            .map(|category| self.seconds[*category])
            .sum()
    }

    /// Of what was stopped in a run, that for which nobody gave a reason.
    pub fn stopped_without_reason_s(&self) -> i64 {
        self.seconds[Category::StoppedInRun] - self.stopped_s.values().sum::<i64>()
    }

    /// Earned hours of those that passed in cycle.
    pub fn earned_of_realised(&self) -> Option<Share> {
        Share::new(self.earned?.earned_s, self.realised_s(), REALISED)
    }

    pub fn share_of_window(&self) -> Option<Share> {
        Share::new(self.realised_s(), self.window_s, WINDOW)
    }

    /// May be more than 100 %: a spindle cuts on in breaks and after the last person has gone home.
    pub fn share_of_staffed(&self) -> Option<Share> {
        Share::new(self.realised_s(), self.staffed_s, STAFFED)
    }

    /// Only where a plan was in force for the whole of it: else the two sides do not belong together.
    pub fn share_of_planned(&self) -> Option<Share> {
        let planned_s = self.planned_s.filter(|_| self.planned_over_s == self.window_s)?;
        Share::new(self.realised_s(), planned_s, PLANNED)
    }

    /// In cut ÷ powered on, both from the control's counters.
    pub fn utilisation(&self) -> Option<Share> {
        let counters = self.counters?;
        Share::new(counters.in_cut_s, counters.powered_on_s, POWERED_ON)
    }

    pub fn add(&mut self, other: &Self) {
        self.window_s += other.window_s;
        self.staffed_s += other.staffed_s;
        self.attended_s += other.attended_s;
        self.seconds.add(&other.seconds);
        if let Some(planned_s) = other.planned_s {
            *self.planned_s.get_or_insert(0) += planned_s;
        }
        self.planned_over_s += other.planned_over_s;
        if let Some(counters) = &other.counters {
            self.counters
                .get_or_insert_with(CounterSeconds::default)
                .add(counters);
        }
        self.by_purpose_s.add(&other.by_purpose_s);
        add_reasons(&mut self.stopped_s, &other.stopped_s);
        add_reasons(&mut self.down_s, &other.down_s);
        self.planned_down_s += other.planned_down_s;
        if let Some(earned) = &other.earned {
            self.earned.get_or_insert_with(Earned::default).add(earned);
        }
        self.in_cycle_by_people_s += other.in_cycle_by_people_s;
        self.cycle_overlap_s += other.cycle_overlap_s;
        self.run_overlap_s += other.run_overlap_s;
        self.people_and_machine_disagree_s += other.people_and_machine_disagree_s;
        self.pool_known_s += other.pool_known_s;
        self.in_cycle_against_down_s += other.in_cycle_against_down_s;
        self.provisional |= other.provisional;
        self.still_open |= other.still_open;
        self.restated_at = self.restated_at.max(other.restated_at);
    }
}

fn add_reasons(mine: &mut ByReason, theirs: &ByReason) {
    for (reason, seconds) in theirs {
        if let Some(sum) = mine.get_mut(reason) {
            *sum += seconds;
        } else {
            mine.insert(reason.clone(), *seconds);
        }
    }
}

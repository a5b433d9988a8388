//! A row's figures as the elements and indicators of ISO 22400-2. What the row's data cannot carry is `None`.

use super::category::Category;
use super::figures::Figures;
use super::iso22400::Elements;
use crate::machine::DownReason;
use crate::run::Purpose;

/// An indicator with its two sides. `value` is part ÷ of, or a product of such ratios.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Kpi {
    pub name: &'static str,
    pub formula: &'static str,
    pub value: f64,
    pub of: f64,
    /// What the denominator is, in words.
    pub of_name: &'static str,
}

const PBT: &str = "planned busy time (PBT): staffed less planned downtime, in seconds";
const AUBT: &str = "actual unit busy time (AUBT): production, setup and delay, in seconds";
const APT: &str = "actual production time (APT): in cycle without prove-out, in seconds";
const AUPT: &str = "actual unit processing time (AUPT): production and setup, in seconds";
const APT_AND_ADET: &str = "actual production and delay time (APT + ADET), in seconds";
const PQ: &str = "produced quantity (PQ), in pieces";

impl Figures {
    /// POT is the staffed time. ASUT is setup at the spindle and prove-out, known only where the pool is for the whole
    /// row. ADET is stops within runs and unplanned down time. PRI · PQ is the planned cycle time of the pieces that
    /// came off. Planned maintenance is preventive (PMT), a breakdown corrective (CMT).
    pub fn elements(&self) -> Elements {
        let is_heard = self.seconds[Category::NotKnown] < self.window_s;
        let heard = |seconds: i64| is_heard.then(|| exact(seconds));
        let is_pool_known = self.window_s > 0 && self.pool_known_s == self.window_s;
        let prove_out_s = self.by_purpose_s.of(Purpose::ProveOut);
        let down_for = |reason: DownReason| self.down_s.get(reason.as_str()).copied().unwrap_or(0);
        let planned_down_s = down_for(DownReason::PlannedMaintenance);
        let counted = self.earned.filter(|earned| earned.produced > 0);
        let pieces = |of: fn(&super::Earned) -> i64| counted.as_ref().map(|earned| exact(of(earned)));
        Elements {
            planned_operation_s: Some(exact(self.staffed_s)),
            planned_busy_s: Some(exact(self.staffed_s - self.planned_down_s)),
            production_s: heard(self.realised_s() - prove_out_s),
            setup_s: is_pool_known.then(|| exact(self.seconds[Category::SetupAtSpindle] + prove_out_s)),
            delay_s: heard(
                self.seconds[Category::StoppedInRun] + self.seconds[Category::Down] - planned_down_s,
            ),
            corrective_maintenance_s: Some(exact(down_for(DownReason::Breakdown))),
            preventive_maintenance_s: Some(exact(planned_down_s)),
            planned_run_per_item_s: counted.map(|earned| exact(earned.produced_s) / exact(earned.produced)),
            produced: pieces(|earned| earned.produced),
            good: pieces(|earned| earned.good),
            scrap: pieces(|earned| earned.scrap),
            ..Elements::default()
        }
    }

    /// Those that the row's data carry.
    pub fn kpis(&self) -> Vec<Kpi> {
        let e = self.elements();
        let (pbt, apt, pq) = (e.planned_busy_s, e.production_s, e.produced);
        let apt_and_adet = apt.zip(e.delay_s).map(|(apt, adet)| apt + adet);
        let all = [
            ("availability", "APT ÷ PBT", e.availability(), pbt, PBT),
            (
                "allocation_efficiency",
                "AUBT ÷ PBT",
                e.allocation_efficiency(),
                pbt,
                PBT,
            ),
            (
                "utilization_efficiency",
                "APT ÷ AUBT",
                e.utilization_efficiency(),
                e.busy_s(),
                AUBT,
            ),
            ("effectiveness", "PRI · PQ ÷ APT", e.effectiveness(), apt, APT),
            ("quality_ratio", "GQ ÷ PQ", e.quality_ratio(), pq, PQ),
            ("scrap_ratio", "SQ ÷ PQ", e.scrap_ratio(), pq, PQ),
            (
                "setup_ratio",
                "ASUT ÷ AUPT",
                e.setup_ratio(),
                e.processing_s(),
                AUPT,
            ),
            (
                "technical_efficiency",
                "APT ÷ (APT + ADET)",
                e.technical_efficiency(),
                apt_and_adet,
                APT_AND_ADET,
            ),
            (
                "oee_index",
                "APT ÷ PBT · PRI · PQ ÷ APT · GQ ÷ PQ",
                e.oee_index(),
                pbt,
                PBT,
            ),
            (
                "nee_index",
                "AUPT ÷ PBT · PRI · PQ ÷ APT · GQ ÷ PQ",
                e.nee_index(),
                pbt,
                PBT,
            ),
        ];
        let carried = all.into_iter().filter_map(|(name, formula, value, of, of_name)| {
            let (value, of) = value.zip(of)?;
            Some(Kpi {
                name,
                formula,
                value,
                of,
                of_name,
            })
        });
        carried.collect()
    }
}

#[expect(
    clippy::cast_precision_loss,
    reason = "exact below 285 million years of seconds"
)]
const fn exact(seconds: i64) -> f64 {
    seconds as f64
}

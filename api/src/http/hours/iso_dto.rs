use serde::Serialize;
use spindlebook_domain::hours::{Figures, Kpi};
use utoipa::ToSchema;

/// Elements and indicators of ISO 22400-2, as far as the data of the row carry them; null is not known.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Iso22400)]
pub struct IsoDto {
    /// POT: the staffed time.
    pub planned_operation_s: Option<f64>,
    /// PBT: POT less planned maintenance in it.
    pub planned_busy_s: Option<f64>,
    /// APT: in cycle without prove-out.
    pub production_s: Option<f64>,
    /// ASUT: setup at the spindle, and prove-out; null unless the pool was recorded for the whole of it.
    pub setup_s: Option<f64>,
    /// ADET: stopped within runs, and down but for planned maintenance.
    pub delay_s: Option<f64>,
    /// AUPT: APT and ASUT.
    pub processing_s: Option<f64>,
    /// AUBT: AUPT and ADET.
    pub busy_s: Option<f64>,
    /// CMT: down for a breakdown.
    pub corrective_maintenance_s: Option<f64>,
    /// PMT: down for planned maintenance.
    pub preventive_maintenance_s: Option<f64>,
    /// PRI: planned cycle time of what came off, for each piece.
    pub planned_run_per_item_s: Option<f64>,
    /// PQ, in pieces; null where none have been counted, and so are the next two.
    pub produced: Option<f64>,
    /// GQ
    pub good: Option<f64>,
    /// SQ
    pub scrap: Option<f64>,
    /// Only those that can be computed.
    #[schema(max_items = 40)]
    pub indicators: Vec<KpiDto>,
}

/// An indicator with its denominator.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Iso22400Indicator)]
pub struct KpiDto {
    #[schema(max_length = 40)]
    pub name: &'static str,
    #[schema(max_length = 80)]
    pub formula: &'static str,
    /// To four decimals; 1 is 100 %. More than 1 is possible and never clipped.
    pub value: f64,
    pub of: f64,
    /// What the denominator is, and in what.
    #[schema(max_length = 120)]
    pub of_name: &'static str,
}

impl From<&Figures> for IsoDto {
    fn from(figures: &Figures) -> Self {
        let elements = figures.elements();
        Self {
            planned_operation_s: elements.planned_operation_s,
            planned_busy_s: elements.planned_busy_s,
            production_s: elements.production_s,
            setup_s: elements.setup_s,
            delay_s: elements.delay_s,
            processing_s: elements.processing_s(),
            busy_s: elements.busy_s(),
            corrective_maintenance_s: elements.corrective_maintenance_s,
            preventive_maintenance_s: elements.preventive_maintenance_s,
            planned_run_per_item_s: elements.planned_run_per_item_s.map(to_four_decimals),
            produced: elements.produced,
            good: elements.good,
            scrap: elements.scrap,
            indicators: figures.kpis().iter().map(KpiDto::from).collect(),
        }
    }
}

impl From<&Kpi> for KpiDto {
    fn from(kpi: &Kpi) -> Self {
        Self {
            name: kpi.name,
            formula: kpi.formula,
            value: to_four_decimals(kpi.value),
            of: kpi.of,
            of_name: kpi.of_name,
        }
    }
}

fn to_four_decimals(value: f64) -> f64 {
    (value * 10_000.0).round() / 10_000.0
}

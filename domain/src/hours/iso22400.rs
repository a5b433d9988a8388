//! Key performance indicators of ISO 22400-2, by the standard's own names and abbreviations.
//!
//! A machine alone cannot give all elements: planned times come from the calendar, order times from orders. What is
//! not known is `None`, and so is every indicator that needs it, or that would divide by nothing.

/// The elements. Times in seconds; quantities in pieces.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Elements {
    /// POT, planned operation time: the work unit can be used.
    pub planned_operation_s: Option<f64>,
    /// PBT, planned busy time: planned operation time less planned downtime.
    pub planned_busy_s: Option<f64>,
    /// APT, actual production time: value is added.
    pub production_s: Option<f64>,
    /// ASUT, actual unit setup time.
    pub setup_s: Option<f64>,
    /// ADET, actual unit delay time: malfunctions and minor stops while an order is worked on.
    pub delay_s: Option<f64>,
    /// AOET, actual order execution time.
    pub order_execution_s: Option<f64>,
    /// APWT and APAT, actual personnel work and attendance time.
    pub personnel_work_s: Option<f64>,
    pub personnel_attendance_s: Option<f64>,
    /// CMT and PMT, corrective and preventive maintenance time.
    pub corrective_maintenance_s: Option<f64>,
    pub preventive_maintenance_s: Option<f64>,
    /// PRI, planned run time per item.
    pub planned_run_per_item_s: Option<f64>,
    /// PQ, GQ, SQ, RQ, PSQ: produced, good, scrap, rework and planned scrap quantity.
    pub produced: Option<f64>,
    pub good: Option<f64>,
    pub scrap: Option<f64>,
    pub rework: Option<f64>,
    pub planned_scrap: Option<f64>,
    /// PQ of the first production order sequence.
    pub produced_first: Option<f64>,
    /// GP and IP, good and inspected parts.
    pub good_parts: Option<f64>,
    pub inspected_parts: Option<f64>,
    /// EPC, equipment production capacity.
    pub capacity: Option<f64>,
}

impl Elements {
    /// AUPT = APT + ASUT
    pub fn processing_s(&self) -> Option<f64> {
        sum(self.production_s, self.setup_s)
    }

    /// AUBT = AUPT + ADET
    pub fn busy_s(&self) -> Option<f64> {
        sum(self.processing_s(), self.delay_s)
    }

    /// APWT ÷ APAT
    pub fn worker_efficiency(&self) -> Option<f64> {
        ratio(self.personnel_work_s, self.personnel_attendance_s)
    }

    /// AUBT ÷ AOET
    pub fn allocation_ratio(&self) -> Option<f64> {
        ratio(self.busy_s(), self.order_execution_s)
    }

    /// PQ ÷ AOET, in pieces per second
    pub fn throughput_rate(&self) -> Option<f64> {
        ratio(self.produced, self.order_execution_s)
    }

    /// AUBT ÷ PBT
    pub fn allocation_efficiency(&self) -> Option<f64> {
        ratio(self.busy_s(), self.planned_busy_s)
    }

    /// APT ÷ AUBT
    pub fn utilization_efficiency(&self) -> Option<f64> {
        ratio(self.production_s, self.busy_s())
    }

    /// APT ÷ PBT
    pub fn availability(&self) -> Option<f64> {
        ratio(self.production_s, self.planned_busy_s)
    }

    /// PRI · PQ ÷ APT
    pub fn effectiveness(&self) -> Option<f64> {
        ratio(
            product(self.planned_run_per_item_s, self.produced),
            self.production_s,
        )
    }

    /// GQ ÷ PQ
    pub fn quality_ratio(&self) -> Option<f64> {
        ratio(self.good, self.produced)
    }

    /// Availability · effectiveness · quality ratio
    pub fn oee_index(&self) -> Option<f64> {
        product(
            product(self.availability(), self.effectiveness()),
            self.quality_ratio(),
        )
    }

    /// AUPT ÷ PBT · effectiveness · quality ratio
    pub fn nee_index(&self) -> Option<f64> {
        let processing = ratio(self.processing_s(), self.planned_busy_s);
        product(product(processing, self.effectiveness()), self.quality_ratio())
    }

    /// ASUT ÷ AUPT
    pub fn setup_ratio(&self) -> Option<f64> {
        ratio(self.setup_s, self.processing_s())
    }

    /// APT ÷ (APT + ADET)
    pub fn technical_efficiency(&self) -> Option<f64> {
        ratio(self.production_s, sum(self.production_s, self.delay_s))
    }

    /// APT ÷ AOET
    pub fn production_process_ratio(&self) -> Option<f64> {
        ratio(self.production_s, self.order_execution_s)
    }

    /// SQ ÷ PQ
    pub fn scrap_ratio(&self) -> Option<f64> {
        ratio(self.scrap, self.produced)
    }

    /// RQ ÷ PQ
    pub fn rework_ratio(&self) -> Option<f64> {
        ratio(self.rework, self.produced)
    }

    /// SQ ÷ PSQ
    pub fn actual_to_planned_scrap_ratio(&self) -> Option<f64> {
        ratio(self.scrap, self.planned_scrap)
    }

    /// GP ÷ IP
    pub fn first_pass_yield(&self) -> Option<f64> {
        ratio(self.good_parts, self.inspected_parts)
    }

    /// SQ ÷ PQ of the first production order sequence
    pub fn fall_off_ratio(&self) -> Option<f64> {
        ratio(self.scrap, self.produced_first)
    }

    /// CMT ÷ (CMT + PMT)
    pub fn corrective_maintenance_ratio(&self) -> Option<f64> {
        let all = sum(self.corrective_maintenance_s, self.preventive_maintenance_s);
        ratio(self.corrective_maintenance_s, all)
    }

    /// PQ ÷ EPC
    pub fn equipment_load_ratio(&self) -> Option<f64> {
        ratio(self.produced, self.capacity)
    }
}

/// The OEE index of several work units: Σ PRI · GQ ÷ Σ PBT. A mean of their indices would weigh an hour of a small
/// machine more than an hour of a large one.
pub fn oee_index_of(units: &[Elements]) -> Option<f64> {
    let fully_productive_s = units
        .iter()
        .map(|unit| product(unit.planned_run_per_item_s, unit.good))
        .sum();
    ratio(
        fully_productive_s,
        units.iter().map(|unit| unit.planned_busy_s).sum(),
    )
}

/// Throughput ÷ average inventory
pub fn inventory_turns(throughput: f64, average_inventory: f64) -> Option<f64> {
    ratio(Some(throughput), Some(average_inventory))
}

/// (USL − LSL) ÷ 6σ: Cm with the deviation of one sample, Cp with the one estimated for the process.
pub fn capability_index(upper_limit: f64, lower_limit: f64, deviation: f64) -> Option<f64> {
    ratio(Some(upper_limit - lower_limit), Some(6.0 * deviation))
}

fn sum(one: Option<f64>, other: Option<f64>) -> Option<f64> {
    Some(one? + other?)
}

fn product(one: Option<f64>, other: Option<f64>) -> Option<f64> {
    Some(one? * other?)
}

fn ratio(part: Option<f64>, of: Option<f64>) -> Option<f64> {
    let (part, of) = (part?, of?);
    (of > 0.0).then_some(part / of)
}

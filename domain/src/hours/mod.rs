//! Spindle hours: every second of a row has exactly one category, and every figure opens to its entries.

mod book;
mod category;
mod counters;
mod earned;
mod explain;
mod figures;
pub mod iso22400;
mod kpi;
mod of_job;
mod planned;
mod pool;
mod report;
pub mod rows;
mod seconds;
mod sweep;
#[cfg(test)]
mod tests;
mod touched;
mod tracks;

pub use category::{ByCategory, Category};
pub use counters::{CounterSeconds, counters};
pub use earned::Earned;
pub use explain::{Stretch, explain};
pub use figures::{Figures, Share};
pub use kpi::Kpi;
pub use of_job::{OperationTime, RunTime, machines_of, of_job, run_times};
pub use planned::{Plans, PublishedPlan, planned_us};
pub use report::{CellInput, HoursReport, MachineInput, MachineRow, ReportRow, report};
pub use seconds::rounded_s;
pub use sweep::{ByPurpose, ByReason, RowSeconds, sweep};
pub use touched::{SETTLING_S, TouchedBy};

use super::figures_dto::FiguresDto;
use super::iso_dto::IsoDto;
use crate::http::instant::Instant;
use crate::http::text;
use chrono::NaiveDate;
use chrono_tz::Tz;
use serde::{Deserialize, Serialize};
use spindlebook_domain::cell::Cell;
use spindlebook_domain::code::{Code, Name};
use spindlebook_domain::hours::rows::{By, DayRule, Row, RowKind};
use spindlebook_domain::hours::{Figures, HoursReport, MachineRow, ReportRow, TouchedBy};
use spindlebook_domain::ids::{CellId, MachineId, Seq};
use spindlebook_domain::local_time::local_instant;
use spindlebook_domain::shop::Shop;
use spindlebook_domain::time::{Timestamp, Window};
use utoipa::ToSchema;

/// The hours of one cell, row by row, each with its machines and their sum.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = HoursReport, example = json!({"cell": {"id": "01936b5e-5c00-7000-8000-0000000000c1", "code": "POOL-A",
    "name": "Pallet pool A"}, "zone": "Europe/Berlin", "by": "day", "day_rule": "calendar",
    "from": "2026-11-01T23:00:00Z", "to": "2026-11-02T23:00:00Z", "as_of": "2026-11-03T06:00:00Z",
    "seq": 4211, "rows": [], "machine_totals": [], "total": {"window_s": 86400, "staffed_s": 27000,
    "attended_s": 28800, "realised_s": 25200, "in_cycle_attended_s": 18000,
    "in_cycle_unattended_s": 7200, "off_s": 28800, "down_s": 0, "not_known_s": 0,
    "stopped_in_run_s": 1800, "pallet_exchange_s": 600, "setup_at_spindle_s": 1200,
    "waiting_for_inspection_s": 3000, "ready_not_started_s": 1200, "waiting_for_load_s": 3000,
    "unattended_run_out_s": 21600, "no_work_s": 0, "idle_attended_s": 0, "idle_unattended_s": 0,
    "production_s": 20700, "prove_out_s": 3600, "rework_s": 0, "first_piece_s": 900,
    "no_run_recorded_s": 0, "in_cycle_by_people_s": 7200,
    "stopped_reasons": [{"reason": "alarm", "length_s": 1500}], "stopped_without_reason_s": 300,
    "down_reasons": [], "planned_down_s": 0, "earned_s": 18900, "produced_s": 19800,
    "produced": 22, "good": 21, "scrap": 1, "uncounted_runs": 0,
    "planned_s": null, "planned_over_s": 0, "powered_on_s": 57600, "in_cut_s": 20160,
    "counters_over_s": 86400, "counters_shared_s": 0, "cycle_overlap_s": 0, "run_overlap_s": 0,
    "in_cycle_against_down_s": 0, "people_and_machine_disagree_s": 0, "pool_known_s": 86400, "realised_of_window": {"percent": 29.17, "part_s": 25200,
    "of_s": 86400, "of": "window", "note": null}, "realised_of_staffed": {"percent": 93.33,
    "part_s": 25200, "of_s": 27000, "of": "staffed", "note": null}, "realised_of_planned": null,
    "earned_of_realised": {"percent": 75.0, "part_s": 18900, "of_s": 25200, "of": "realised", "note": null},
    "utilisation": {"percent": 35.0, "part_s": 20160, "of_s": 57600,
    "of": "powered on, by the counter", "note": null}, "provisional": false, "still_open": false,
    "restated_at": null}, "iso_22400": {"planned_operation_s": 27000.0, "planned_busy_s": 27000.0,
    "production_s": 21600.0, "setup_s": 4800.0, "delay_s": 1800.0, "processing_s": 26400.0,
    "busy_s": 28200.0, "corrective_maintenance_s": 0.0, "preventive_maintenance_s": 0.0,
    "planned_run_per_item_s": 900.0, "produced": 22.0, "good": 21.0, "scrap": 1.0,
    "indicators": [{"name": "availability", "formula": "APT ÷ PBT", "value": 0.8, "of": 27000.0,
    "of_name": "planned busy time (PBT): staffed less planned downtime, in seconds"}]}}))]
pub struct HoursDto {
    pub cell: CellNameDto,
    #[schema(value_type = text::Zone)]
    pub zone: Tz,
    pub by: ByName,
    /// What a day is, for rows by day, week or month.
    pub day_rule: DayRuleName,
    #[schema(value_type = text::Instant)]
    pub from: Instant,
    #[schema(value_type = text::Instant)]
    pub to: Instant,
    /// What lies after it is left out.
    #[schema(value_type = text::Instant)]
    pub as_of: Instant,
    /// The entry up to which the ledger was read.
    #[schema(value_type = text::Seq)]
    pub seq: Seq,
    #[schema(max_items = 10_000)]
    pub rows: Vec<RowDto>,
    #[schema(max_items = 1_000)]
    pub machine_totals: Vec<MachineTotalDto>,
    /// Sums over the machines: of two machines, an hour of the clock is two hours.
    pub total: FiguresDto,
    /// The same by the names of ISO 22400-2.
    pub iso_22400: IsoDto,
}

#[derive(Debug, Serialize, ToSchema)]
#[schema(as = CellName)]
pub struct CellNameDto {
    #[schema(value_type = uuid::Uuid)]
    pub id: CellId,
    #[schema(value_type = text::Code)]
    pub code: Code,
    #[schema(value_type = text::Name)]
    pub name: Name,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
#[schema(as = By)]
pub enum ByName {
    /// Staffed shifts and the gaps between them.
    Shift,
    Day,
    /// ISO weeks.
    Week,
    Month,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
#[schema(as = DayRule)]
pub enum DayRuleName {
    /// From midnight to midnight: a night shift is cut in two.
    Calendar,
    /// From the first shift of a date to the first of the next: a night shift stays whole.
    ShiftDate,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
#[schema(as = RowKind)]
pub enum RowKindName {
    Shift,
    /// Between two shifts.
    Gap,
    Day,
    Week,
    Month,
}

#[derive(Debug, Serialize, ToSchema)]
#[schema(as = HoursRow)]
pub struct RowDto {
    pub kind: RowKindName,
    /// The shift's name, or `gap`, `2026-10-24`, `2026-W43`, `2026-10`.
    #[schema(max_length = 80)]
    pub name: String,
    /// The shift date, or the first day; of a gap, the day on which it begins.
    pub date: NaiveDate,
    #[schema(value_type = text::Instant)]
    pub from: Instant,
    #[schema(value_type = text::Instant)]
    pub to: Instant,
    /// On the wall clock at the site, with its offset.
    #[schema(max_length = 40)]
    pub from_local: String,
    #[schema(max_length = 40)]
    pub to_local: String,
    /// The window or the present instant takes in only a part of the shift, gap, day, week or month.
    pub clipped: bool,
    /// Cut off at the present instant.
    pub in_progress: bool,
    #[schema(max_items = 1_000)]
    pub machines: Vec<MachineRowDto>,
    /// Sum over the machines.
    pub total: FiguresDto,
    pub iso_22400: IsoDto,
}

#[derive(Debug, Serialize, ToSchema)]
#[schema(as = MachineHours)]
pub struct MachineRowDto {
    #[schema(value_type = uuid::Uuid)]
    pub machine: MachineId,
    #[schema(value_type = text::Code)]
    pub code: Code,
    pub figures: FiguresDto,
    /// The entries that the row rests on; null where nothing has been said.
    pub entries: Option<EntriesDto>,
    /// Opens the figures: stretch by stretch, each with its entries.
    #[schema(max_length = 200)]
    pub entries_href: String,
}

#[derive(Debug, Serialize, ToSchema)]
#[schema(as = MachineTotal)]
pub struct MachineTotalDto {
    #[schema(value_type = uuid::Uuid)]
    pub machine: MachineId,
    #[schema(value_type = text::Code)]
    pub code: Code,
    pub figures: FiguresDto,
    pub iso_22400: IsoDto,
}

#[derive(Debug, Serialize, ToSchema)]
#[schema(as = RowEntries)]
pub struct EntriesDto {
    pub count: u32,
    #[schema(value_type = text::Seq)]
    pub first_seq: Seq,
    #[schema(value_type = text::Seq)]
    pub last_seq: Seq,
    #[schema(value_type = text::Instant)]
    pub last_recorded_at: Instant,
}

impl HoursDto {
    pub fn new(
        shop: &Shop,
        cell: &Cell,
        zone: Tz,
        (by, rule): (By, DayRule),
        window: Window,
        as_of: Timestamp,
        report: &HoursReport,
    ) -> Self {
        let total = |(machine, figures): &(MachineId, Figures)| MachineTotalDto {
            machine: *machine,
            code: code_of(shop, cell, *machine),
            figures: figures.into(),
            iso_22400: figures.into(),
        };
        Self {
            cell: cell.into(),
            zone,
            by: by.into(),
            day_rule: rule.into(),
            from: window.from.into(),
            to: window.to.into(),
            as_of: as_of.into(),
            seq: shop.seq,
            rows: report
                .rows
                .iter()
                .map(|row| RowDto::new(shop, cell, zone, row))
                .collect(),
            machine_totals: report.machine_totals.iter().map(total).collect(),
            total: (&report.total).into(),
            iso_22400: (&report.total).into(),
        }
    }
}

impl RowDto {
    pub fn new(shop: &Shop, cell: &Cell, zone: Tz, report: &ReportRow) -> Self {
        let row = &report.row;
        let machines = report.machines.iter();
        Self {
            kind: row.kind.into(),
            name: row.name.clone(),
            date: row.date,
            from: row.window.from.into(),
            to: row.window.to.into(),
            from_local: local_instant(zone, row.window.from).to_string(),
            to_local: local_instant(zone, row.window.to).to_string(),
            clipped: row.is_clipped(),
            in_progress: row.in_progress,
            machines: machines
                .map(|machine| MachineRowDto::new(shop, cell, row, machine))
                .collect(),
            total: (&report.cell).into(),
            iso_22400: (&report.cell).into(),
        }
    }
}

impl MachineRowDto {
    fn new(shop: &Shop, cell: &Cell, row: &Row, of: &MachineRow) -> Self {
        Self {
            machine: of.machine,
            code: code_of(shop, cell, of.machine),
            figures: (&of.figures).into(),
            entries: of.touched.as_ref().map(EntriesDto::from),
            entries_href: entries_href(of.machine, row.window),
        }
    }
}

pub fn entries_href(machine: MachineId, Window { from, to }: Window) -> String {
    format!("/v1/hours/entries?machine={machine}&from={from}&to={to}")
}

/// Machines are never taken away, so the code of the cell is no more than a way out.
pub fn code_of(shop: &Shop, cell: &Cell, machine: MachineId) -> Code {
    let machine = shop.machines.get(&machine);
    machine.map_or_else(|| cell.code.clone(), |machine| machine.code.clone())
}

impl From<&Cell> for CellNameDto {
    fn from(cell: &Cell) -> Self {
        Self {
            id: cell.id,
            code: cell.code.clone(),
            name: cell.name.clone(),
        }
    }
}

impl From<&TouchedBy> for EntriesDto {
    fn from(touched: &TouchedBy) -> Self {
        Self {
            count: touched.entries,
            first_seq: touched.first_seq,
            last_seq: touched.last_seq,
            last_recorded_at: touched.last_recorded_at.into(),
        }
    }
}

macro_rules! names {
    ($name:ident <=> $domain:ident: $($variant:ident),+) => {
        impl From<$name> for $domain {
            fn from(name: $name) -> Self {
                match name { $($name::$variant => Self::$variant,)+ }
            }
        }

        impl From<$domain> for $name {
            fn from(value: $domain) -> Self {
                match value { $($domain::$variant => Self::$variant,)+ }
            }
        }
    };
}
names!(ByName <=> By: Shift, Day, Week, Month);
names!(DayRuleName <=> DayRule: Calendar, ShiftDate);
names!(RowKindName <=> RowKind: Shift, Gap, Day, Week, Month);

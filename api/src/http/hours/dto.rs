use crate::http::instant::Instant;
use crate::http::text;
use chrono::NaiveDate;
use chrono_tz::Tz;
use serde::{Deserialize, Serialize};
use spindlebook_domain::cell::Cell;
use spindlebook_domain::code::{Code, Name};
use spindlebook_domain::hours::rows::{By, DayRule, Row, RowKind};
use spindlebook_domain::hours::{Category, Figures, HoursReport, MachineRow, ReportRow, Share, TouchedBy};
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
    "stopped_in_run_s": 1800, "idle_attended_s": 9000, "idle_unattended_s": 21600,
    "planned_s": null, "planned_over_s": 0, "powered_on_s": 57600, "in_cut_s": 20160,
    "counters_over_s": 86400, "counters_shared_s": 0, "cycle_overlap_s": 0,
    "in_cycle_against_down_s": 0, "realised_of_window": {"percent": 29.17, "part_s": 25200,
    "of_s": 86400, "of": "window", "note": null}, "realised_of_staffed": {"percent": 93.33,
    "part_s": 25200, "of_s": 27000, "of": "staffed", "note": null}, "realised_of_planned": null,
    "utilisation": {"percent": 35.0, "part_s": 20160, "of_s": 57600,
    "of": "powered on, by the counter", "note": null}, "provisional": false, "still_open": false,
    "restated_at": null}}))]
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

/// Each second of the window has exactly one category: the eight from `in_cycle_attended_s` to `idle_unattended_s` add
/// up to `window_s`.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = HoursFigures)]
pub struct FiguresDto {
    pub window_s: i64,
    /// Shifts without their breaks.
    pub staffed_s: i64,
    /// Shifts with their breaks.
    pub attended_s: i64,
    /// The spindle was in cycle: the sum of the next two.
    pub realised_s: i64,
    pub in_cycle_attended_s: i64,
    pub in_cycle_unattended_s: i64,
    pub off_s: i64,
    pub down_s: i64,
    pub not_known_s: i64,
    pub stopped_in_run_s: i64,
    pub idle_attended_s: i64,
    pub idle_unattended_s: i64,
    /// By the plans in force when the shifts and gaps began; null without a plan.
    pub planned_s: Option<i64>,
    /// How much of the window had a plan in force.
    pub planned_over_s: i64,
    /// By the control's counters; null where no two readings reach into the window.
    pub powered_on_s: Option<i64>,
    pub in_cut_s: Option<i64>,
    /// How much of the window lies between readings.
    pub counters_over_s: Option<i64>,
    /// Of that, what was shared out by time, because a reading lies outside of the window.
    pub counters_shared_s: Option<i64>,
    /// Two of the device's cycles lay over each other. It is counted once.
    pub cycle_overlap_s: i64,
    /// In cycle by the machine while a person had set it down.
    pub in_cycle_against_down_s: i64,
    pub realised_of_window: Option<ShareDto>,
    pub realised_of_staffed: Option<ShareDto>,
    /// Only where a plan was in force for the whole window.
    pub realised_of_planned: Option<ShareDto>,
    /// In cut by powered on, both from the control's counters.
    pub utilisation: Option<ShareDto>,
    /// Will still change: in progress, or the end of a run or a down time has not been told yet.
    pub provisional: bool,
    /// Of that, the second kind.
    pub still_open: bool,
    /// When an entry last changed it after it had settled.
    #[schema(value_type = Option<text::Instant>)]
    pub restated_at: Option<Instant>,
}

/// A ratio with what it is of.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Share)]
pub struct ShareDto {
    /// To two decimals; more than 100 is possible and never clipped.
    pub percent: f64,
    pub part_s: i64,
    pub of_s: i64,
    /// What the denominator is.
    #[schema(max_length = 80)]
    pub of: &'static str,
    /// Why it is more than 100 %.
    #[schema(max_length = 200)]
    pub note: Option<&'static str>,
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
        };
        Self {
            cell: CellNameDto {
                id: cell.id,
                code: cell.code.clone(),
                name: cell.name.clone(),
            },
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
        }
    }
}

impl RowDto {
    fn new(shop: &Shop, cell: &Cell, zone: Tz, report: &ReportRow) -> Self {
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

impl From<&Figures> for FiguresDto {
    fn from(figures: &Figures) -> Self {
        let seconds = |category| figures.seconds[category];
        let counters = figures.counters.as_ref();
        Self {
            window_s: figures.window_s,
            staffed_s: figures.staffed_s,
            attended_s: figures.attended_s,
            realised_s: figures.realised_s(),
            in_cycle_attended_s: seconds(Category::InCycleAttended),
            in_cycle_unattended_s: seconds(Category::InCycleUnattended),
            off_s: seconds(Category::Off),
            down_s: seconds(Category::Down),
            not_known_s: seconds(Category::NotKnown),
            stopped_in_run_s: seconds(Category::StoppedInRun),
            idle_attended_s: seconds(Category::IdleAttended),
            idle_unattended_s: seconds(Category::IdleUnattended),
            planned_s: figures.planned_s,
            planned_over_s: figures.planned_over_s,
            powered_on_s: counters.map(|counters| counters.powered_on_s),
            in_cut_s: counters.map(|counters| counters.in_cut_s),
            counters_over_s: counters.map(|counters| counters.covered_s),
            counters_shared_s: counters.map(|counters| counters.shared_s),
            cycle_overlap_s: figures.cycle_overlap_s,
            in_cycle_against_down_s: figures.in_cycle_against_down_s,
            realised_of_window: figures.share_of_window().map(ShareDto::from),
            realised_of_staffed: figures.share_of_staffed().map(ShareDto::from),
            realised_of_planned: figures.share_of_planned().map(ShareDto::from),
            utilisation: figures.utilisation().map(ShareDto::from),
            provisional: figures.provisional,
            still_open: figures.still_open,
            restated_at: figures.restated_at.map(Instant),
        }
    }
}

impl From<Share> for ShareDto {
    fn from(share: Share) -> Self {
        Self {
            percent: (share.percent() * 100.0).round() / 100.0,
            part_s: share.part_s,
            of_s: share.of_s,
            of: share.of,
            note: share.note(),
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

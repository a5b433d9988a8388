use crate::http::instant::Instant;
use crate::http::text;
use serde::Serialize;
use spindlebook_domain::hours::{ByReason, Category, Figures, Share};
use spindlebook_domain::run::Purpose;
use utoipa::ToSchema;

/// Each second of the window has exactly one category: the fifteen from `in_cycle_attended_s` to `idle_unattended_s`
/// add up to `window_s`.
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
    /// Before a run on another pallet than the last one, as long as the cell takes to change them.
    pub pallet_exchange_s: i64,
    /// Nothing ran: the pallet at the spindle was being set up.
    pub setup_at_spindle_s: i64,
    /// Nothing ran: no pallet was ready, and at least one was held.
    pub waiting_for_inspection_s: i64,
    /// Nothing ran, though a pallet was ready; unattended, one that may run unattended.
    pub ready_not_started_s: i64,
    /// Nothing ran: somebody was there, there was work, and nothing was loaded.
    pub waiting_for_load_s: i64,
    /// Nothing ran: nobody was there, and no pallet was left that may run unattended.
    pub unattended_run_out_s: i64,
    /// Nothing ran: somebody was there, and there was no released work.
    pub no_work_s: i64,
    /// Nothing ran, and nothing was recorded that says why.
    pub idle_attended_s: i64,
    pub idle_unattended_s: i64,
    /// In cycle by what the run was for; with the next four it adds up to `realised_s`.
    pub production_s: i64,
    pub prove_out_s: i64,
    pub rework_s: i64,
    pub first_piece_s: i64,
    /// In cycle, and nobody recorded a run.
    pub no_run_recorded_s: i64,
    /// In cycle by what people recorded, where the machine said nothing.
    pub in_cycle_by_people_s: i64,
    /// Of `stopped_in_run_s`, by the reason that a person gave.
    #[schema(max_items = 100)]
    pub stopped_reasons: Vec<ReasonDto>,
    /// Of `stopped_in_run_s`, what nobody gave a reason for.
    pub stopped_without_reason_s: i64,
    /// Add up to `down_s`.
    #[schema(max_items = 100)]
    pub down_reasons: Vec<ReasonDto>,
    /// Of the staffed time, that for which the machine was set down for planned maintenance.
    pub planned_down_s: i64,
    /// By the plans in force when the shifts and gaps began; null without a plan.
    pub planned_s: Option<i64>,
    /// How much of the window had a plan in force.
    pub planned_over_s: i64,
    /// Planned cycle time of the good pieces, shared out as the runs' time in cycle is; null where no run reaches into
    /// the window, and provisional while there are `uncounted_runs`.
    pub earned_s: Option<i64>,
    /// Planned cycle time of all pieces that came off.
    pub produced_s: Option<i64>,
    /// Pieces of the runs that ended in the window.
    pub produced: Option<i64>,
    pub good: Option<i64>,
    pub scrap: Option<i64>,
    /// Runs whose pieces have not been counted yet, once for each row that they reach into.
    pub uncounted_runs: Option<i64>,
    /// By the control's counters; null where no two readings reach into the window.
    pub powered_on_s: Option<i64>,
    pub in_cut_s: Option<i64>,
    /// How much of the window lies between readings.
    pub counters_over_s: Option<i64>,
    /// Of that, what was shared out by time, because a reading lies outside of the window.
    pub counters_shared_s: Option<i64>,
    /// Two of the device's cycles lay over each other. It is counted once.
    pub cycle_overlap_s: i64,
    /// Two recorded runs were in cycle at once. It is counted once.
    pub run_overlap_s: i64,
    /// In cycle by the machine while a person had set it down.
    pub in_cycle_against_down_s: i64,
    /// People had a run in cycle while the machine said that nothing ran, or the reverse.
    pub people_and_machine_disagree_s: i64,
    /// For how much of the window anything was recorded of the cell's pallets or work.
    pub pool_known_s: i64,
    pub realised_of_window: Option<ShareDto>,
    pub realised_of_staffed: Option<ShareDto>,
    /// Only where a plan was in force for the whole window.
    pub realised_of_planned: Option<ShareDto>,
    pub earned_of_realised: Option<ShareDto>,
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

#[derive(Debug, Serialize, ToSchema)]
#[schema(as = HoursReason)]
pub struct ReasonDto {
    #[schema(max_length = 80)]
    pub reason: String,
    pub length_s: i64,
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

impl From<&Figures> for FiguresDto {
    fn from(figures: &Figures) -> Self {
        let seconds = |category| figures.seconds[category];
        let purpose = |purpose| figures.by_purpose_s.of(purpose);
        let (counters, earned) = (figures.counters.as_ref(), figures.earned.as_ref());
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
            pallet_exchange_s: seconds(Category::PalletExchange),
            setup_at_spindle_s: seconds(Category::SetupAtSpindle),
            waiting_for_inspection_s: seconds(Category::WaitingForInspection),
            ready_not_started_s: seconds(Category::ReadyNotStarted),
            waiting_for_load_s: seconds(Category::WaitingForLoad),
            unattended_run_out_s: seconds(Category::UnattendedRunOut),
            no_work_s: seconds(Category::NoWork),
            idle_attended_s: seconds(Category::IdleAttended),
            idle_unattended_s: seconds(Category::IdleUnattended),
            production_s: purpose(Purpose::Production),
            prove_out_s: purpose(Purpose::ProveOut),
            rework_s: purpose(Purpose::Rework),
            first_piece_s: purpose(Purpose::FirstPiece),
            no_run_recorded_s: figures.by_purpose_s.no_run(),
            in_cycle_by_people_s: figures.in_cycle_by_people_s,
            stopped_reasons: reasons(&figures.stopped_s),
            stopped_without_reason_s: figures.stopped_without_reason_s(),
            down_reasons: reasons(&figures.down_s),
            planned_down_s: figures.planned_down_s,
            planned_s: figures.planned_s,
            planned_over_s: figures.planned_over_s,
            earned_s: earned.map(|earned| earned.earned_s),
            produced_s: earned.map(|earned| earned.produced_s),
            produced: earned.map(|earned| earned.produced),
            good: earned.map(|earned| earned.good),
            scrap: earned.map(|earned| earned.scrap),
            uncounted_runs: earned.map(|earned| earned.uncounted_runs),
            powered_on_s: counters.map(|counters| counters.powered_on_s),
            in_cut_s: counters.map(|counters| counters.in_cut_s),
            counters_over_s: counters.map(|counters| counters.covered_s),
            counters_shared_s: counters.map(|counters| counters.shared_s),
            cycle_overlap_s: figures.cycle_overlap_s,
            run_overlap_s: figures.run_overlap_s,
            in_cycle_against_down_s: figures.in_cycle_against_down_s,
            people_and_machine_disagree_s: figures.people_and_machine_disagree_s,
            pool_known_s: figures.pool_known_s,
            realised_of_window: figures.share_of_window().map(ShareDto::from),
            realised_of_staffed: figures.share_of_staffed().map(ShareDto::from),
            realised_of_planned: figures.share_of_planned().map(ShareDto::from),
            earned_of_realised: figures.earned_of_realised().map(ShareDto::from),
            utilisation: figures.utilisation().map(ShareDto::from),
            provisional: figures.provisional,
            still_open: figures.still_open,
            restated_at: figures.restated_at.map(Instant),
        }
    }
}

fn reasons(by_reason: &ByReason) -> Vec<ReasonDto> {
    let dto = |(reason, seconds): (&String, &i64)| ReasonDto {
        reason: reason.clone(),
        length_s: *seconds,
    };
    by_reason.iter().map(dto).collect()
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

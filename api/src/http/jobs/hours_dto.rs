use super::dto::QuotedTimesDto;
use crate::hours::HoursSource;
use crate::http::hours::stretch_dto::EntryLinkDto;
use crate::http::instant::Instant;
use crate::http::text;
use serde::Serialize;
use spindlebook_domain::code::Name;
use spindlebook_domain::hours::{OperationTime, rounded_s};
use spindlebook_domain::ids::{JobId, Seq};
use spindlebook_domain::job::{AtOperation, Job};
use spindlebook_domain::order::{Order, Quoted, job_name};
use spindlebook_domain::part::Machining;
use spindlebook_domain::run::Purpose;
use spindlebook_domain::shop::Shop;
use std::collections::BTreeMap;
use utoipa::ToSchema;

/// Quoted, planned and realised times of a job, in seconds.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = JobHours, example = json!({"job": "01936b5e-5c00-7000-8000-000000000801", "name": "SO-1041/1",
    "as_of": "2026-11-03T06:00:00Z", "seq": 4211, "operations": [{"number": 10, "name": "Mill four sides",
    "quoted": {"setup_s": 3600, "run_s": 12000}, "planned": {"setup_s": 1800, "run_s": 14400},
    "realised": {"setup_s": 2100, "prove_out_s": 1500, "run_s": 8880, "rework_s": 0, "stopped_s": 240,
    "by_people_s": 0, "planned_for_runs_s": 8640},
    "counts": {"setups": 1, "runs": 4, "mixed_runs": 0, "open_runs": 0, "good": 17, "scrapped": 1, "rework": 0,
    "inspection": 0},
    "provisional": false, "entries": [{"seq": 4102, "href": "/v1/ledger/4102"}]}]}))]
pub struct JobHoursDto {
    #[schema(value_type = uuid::Uuid)]
    pub job: JobId,
    #[schema(max_length = 60)]
    pub name: String,
    #[schema(value_type = text::Instant)]
    pub as_of: Instant,
    /// The entry up to which the ledger was read.
    #[schema(value_type = text::Seq)]
    pub seq: Seq,
    /// The machined ones.
    #[schema(max_items = 50)]
    pub operations: Vec<OperationHoursDto>,
}

#[derive(Debug, Serialize, ToSchema)]
#[schema(as = OperationHours)]
pub struct OperationHoursDto {
    pub number: u32,
    #[schema(value_type = text::Name)]
    pub name: Name,
    /// For the whole line of the order, whatever lots it was split into. Null: nothing was quoted.
    pub quoted: Option<QuotedTimesDto>,
    pub planned: PlannedTimesDto,
    pub realised: RealisedTimesDto,
    pub counts: JobCountsDto,
    /// A run goes on whose end nobody has told.
    pub provisional: bool,
    /// The entries that say which setups and runs these were.
    #[schema(max_items = 20_000)]
    pub entries: Vec<EntryLinkDto>,
}

/// By the frozen routing.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = PlannedTimes)]
pub struct PlannedTimesDto {
    /// Mounting the first fixture that the routing names once. Null: that fixture is not known.
    pub setup_s: Option<u32>,
    /// Time in cycle of all loads for the wanted quantity, at the place that the routing names first.
    pub run_s: u64,
}

/// All but `setup_s` and `stopped_s` is time in cycle.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = RealisedTimes)]
#[expect(clippy::struct_field_names, reason = "units stand in names")]
pub struct RealisedTimesDto {
    /// From the beginning of a setup until it was ended, of setups whose first load held pieces of this operation.
    pub setup_s: i64,
    pub prove_out_s: i64,
    /// Production and first pieces.
    pub run_s: i64,
    pub rework_s: i64,
    /// Within all of these runs.
    pub stopped_s: i64,
    /// Of the time in cycle, what only people say.
    pub by_people_s: i64,
    /// What these runs, prove-outs apart, should have taken by the routing.
    pub planned_for_runs_s: i64,
}

#[derive(Debug, Serialize, ToSchema)]
#[schema(as = JobCounts)]
pub struct JobCountsDto {
    pub setups: u32,
    pub runs: u32,
    /// In which other operations were cut, too.
    pub mixed_runs: u32,
    /// Whose end nobody has told.
    pub open_runs: u32,
    pub good: u32,
    pub scrapped: u32,
    pub rework: u32,
    pub inspection: u32,
}

impl JobHoursDto {
    pub fn of(
        source: &HoursSource,
        job: &Job,
        order: Option<&Order>,
        done: &BTreeMap<u16, OperationTime>,
    ) -> Self {
        let line = order.and_then(|order| order.line(job.line));
        let quoted = line.map_or(&[][..], |line| &line.quoted);
        let operations = job.operations.iter().filter_map(|at| {
            let machining = job.machining(at.number)?;
            let done = done.get(&at.number).cloned().unwrap_or_default();
            OperationHoursDto::of(&source.shop, job, (at, machining), quoted, &done)
        });
        Self {
            job: job.id,
            name: order.map_or_else(|| job.id.to_string(), |order| job_name(order, job)),
            as_of: source.as_of.into(),
            seq: source.shop.seq,
            operations: operations.collect(),
        }
    }
}

impl OperationHoursDto {
    fn of(
        shop: &Shop,
        job: &Job,
        (at, machining): (&AtOperation, &Machining),
        quoted: &[Quoted],
        done: &OperationTime,
    ) -> Option<Self> {
        let quoted = quoted.iter().find(|quoted| quoted.operation == at.number);
        let fixture = machining
            .fixtures
            .first()
            .and_then(|first| shop.fixtures.get(first));
        Some(Self {
            number: u32::from(at.number),
            name: job.operation(at.number)?.name.clone(),
            quoted: quoted.map(|quoted| QuotedTimesDto {
                setup_s: quoted.setup_s,
                run_s: quoted.run_s,
            }),
            planned: PlannedTimesDto {
                setup_s: fixture.map(|fixture| fixture.facts.mount_s),
                run_s: job.planned_run_s(at.number)?,
            },
            realised: done.into(),
            counts: JobCountsDto {
                setups: done.setups,
                runs: done.runs,
                mixed_runs: done.mixed_runs,
                open_runs: done.open_runs,
                good: at.good,
                scrapped: at.scrapped,
                rework: at.rework,
                inspection: at.inspection,
            },
            provisional: done.open_runs > 0,
            entries: done.seqs.iter().map(|seq| EntryLinkDto::of(*seq)).collect(),
        })
    }
}

impl From<&OperationTime> for RealisedTimesDto {
    fn from(done: &OperationTime) -> Self {
        let of = |purpose: Purpose| done.in_cycle_us[purpose as usize];
        Self {
            setup_s: rounded_s(done.setup_us),
            prove_out_s: rounded_s(of(Purpose::ProveOut)),
            run_s: rounded_s(of(Purpose::Production) + of(Purpose::FirstPiece)),
            rework_s: rounded_s(of(Purpose::Rework)),
            stopped_s: rounded_s(done.stopped_us),
            by_people_s: rounded_s(done.by_people_us),
            planned_for_runs_s: done.planned_s,
        }
    }
}

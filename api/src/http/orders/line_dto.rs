use super::lapse_dto::LapseDto;
use crate::http::instant::Instant;
use crate::http::text;
use crate::http::whole::Whole;
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};
use spindlebook_domain::code::{Code, Name};
use spindlebook_domain::ids::{JobId, PartId, Seq};
use spindlebook_domain::job::Job;
use spindlebook_domain::order::{Line, LineState, Material, Priority, Progress, Quoted, Shipment};
use std::ops::RangeInclusive;
use utoipa::ToSchema;

/// Pieces of one lot.
pub type Pieces = Whole<1, 1_000_000>;
pub type LineNumber = Whole<1, 99_999>;
pub type OperationNumber = Whole<1, 9_999>;
/// Seconds of a whole quotation, at most a year.
pub type QuotedS = Whole<0, 31_536_000>;

/// A line of an order with how far it is.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Line, example = json!({"number": 1, "part": "01936b5e-5c00-7000-8000-000000000501", "revision": "A",
    "quantity": 24, "due": "2026-11-20", "priority": "normal", "material": {"expected": null,
    "arrived": {"at": "2026-11-02T06:00:00Z", "certificate": "Heat 4482"}}, "waits_for_material": false,
    "quoted": [{"operation": 10, "setup_s": 3600, "run_s": 11520}], "state": "in_progress",
    "jobs": ["01936b5e-5c00-7000-8000-000000000801"], "made": 12, "shipped": 10, "still_to_make": 12, "surplus": 0,
    "material_shortfall": 0, "may_ship_least": 24, "may_ship_most": 24, "shipments": [{"at": "2026-11-10T14:00:00Z",
    "pieces": 10, "job": "01936b5e-5c00-7000-8000-000000000801"}], "first_article_due": null, "version": 61}))]
pub struct LineDto {
    pub number: u32,
    #[schema(value_type = uuid::Uuid)]
    pub part: PartId,
    #[schema(value_type = text::Code)]
    pub revision: Code,
    /// Pieces ordered.
    pub quantity: u32,
    pub due: NaiveDate,
    pub priority: PriorityName,
    pub material: MaterialDto,
    /// Nobody has said that it is here: nothing of the line is offered for loading.
    pub waits_for_material: bool,
    #[schema(max_items = 50)]
    pub quoted: Vec<QuotedDto>,
    pub state: LineStateName,
    /// The lots; the first is the line as it was released.
    #[schema(value_type = Vec<uuid::Uuid>, max_items = 51)]
    pub jobs: Vec<JobId>,
    /// Finished good pieces.
    pub made: u32,
    pub shipped: u32,
    /// Good pieces that are still wanted; never less than none.
    pub still_to_make: u32,
    /// Finished pieces that may not be shipped on this line, for a person to decide before packing.
    pub surplus: u32,
    /// Blanks that are lacking even if all that is in work comes good.
    pub material_shortfall: u32,
    /// From so many shipped pieces on the line may be called complete.
    pub may_ship_least: u32,
    /// So many may be shipped in all.
    pub may_ship_most: u32,
    #[schema(max_items = 500)]
    pub shipments: Vec<ShipmentDto>,
    /// The formal inspection is wanted again; null where not.
    pub first_article_due: Option<LapseDto>,
    /// What a change of the line is made on (`If-Match`): the entry that last changed it or moved its pieces.
    #[schema(value_type = text::Seq)]
    pub version: Seq,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
#[schema(as = LineState)]
pub enum LineStateName {
    /// Not released: it has no job.
    Entered,
    /// Its routing is frozen; nothing was cut.
    Released,
    InProgress,
    Complete,
    Cancelled,
}

/// How urgent it is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
#[schema(as = Priority)]
pub enum PriorityName {
    Rush,
    #[default]
    Normal,
    /// For when there is nothing else to cut.
    Fill,
}

#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Material)]
pub struct MaterialDto {
    /// Null: nobody knows when.
    pub expected: Option<NaiveDate>,
    /// Null: not here.
    pub arrived: Option<ArrivedDto>,
}

#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Arrived)]
pub struct ArrivedDto {
    #[schema(value_type = text::Instant)]
    pub at: Instant,
    /// Heat or certificate.
    #[schema(value_type = Option<text::Name>)]
    pub certificate: Option<Name>,
}

/// What was quoted: setting up once, running all pieces of the line.
#[derive(Clone, Copy, Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = Quoted)]
pub struct QuotedDto {
    pub operation: OperationNumber,
    pub setup_s: QuotedS,
    pub run_s: QuotedS,
}

#[derive(Debug, Serialize, ToSchema)]
#[schema(as = Shipment)]
pub struct ShipmentDto {
    #[schema(value_type = text::Instant)]
    pub at: Instant,
    pub pieces: u32,
    /// The lot that they are from, and with it the certificate.
    #[schema(value_type = uuid::Uuid)]
    pub job: JobId,
}

impl LineDto {
    /// `jobs`: all jobs of the order, others are left out.
    pub fn of(line: &Line, jobs: &[&Job], may_ship: &RangeInclusive<u32>) -> Self {
        let is_lot = |job: &&Job| line.jobs().contains(&job.id);
        let lots: Vec<&Job> = jobs.iter().copied().filter(is_lot).collect();
        let progress = Progress::of(line, &lots, may_ship);
        let versions = lots.iter().map(|job| job.changed_seq);
        Self {
            number: line.number,
            part: line.part,
            revision: line.revision.clone(),
            quantity: line.quantity,
            due: line.due,
            priority: line.priority.into(),
            material: MaterialDto::from(&line.material),
            waits_for_material: line.waits_for_material(),
            quoted: line.quoted.iter().map(QuotedDto::from).collect(),
            state: LineStateName::of(line, progress.is_started),
            jobs: line.jobs().to_vec(),
            made: progress.made,
            shipped: progress.shipped,
            still_to_make: progress.still_to_make,
            surplus: progress.surplus,
            material_shortfall: progress.material_shortfall,
            may_ship_least: progress.may_ship_least,
            may_ship_most: progress.may_ship_most,
            shipments: line.shipments.iter().map(ShipmentDto::from).collect(),
            first_article_due: None,
            version: versions.fold(line.changed_seq, Seq::max),
        }
    }
}

impl LineStateName {
    pub const fn of(line: &Line, is_started: bool) -> Self {
        match line.state {
            LineState::Entered => Self::Entered,
            LineState::Released { .. } if is_started => Self::InProgress,
            LineState::Released { .. } => Self::Released,
            LineState::Complete { .. } => Self::Complete,
            LineState::Cancelled { .. } => Self::Cancelled,
        }
    }
}

impl From<Priority> for PriorityName {
    fn from(priority: Priority) -> Self {
        match priority {
            Priority::Rush => Self::Rush,
            Priority::Normal => Self::Normal,
            Priority::Fill => Self::Fill,
        }
    }
}

impl From<PriorityName> for Priority {
    fn from(name: PriorityName) -> Self {
        match name {
            PriorityName::Rush => Self::Rush,
            PriorityName::Normal => Self::Normal,
            PriorityName::Fill => Self::Fill,
        }
    }
}

impl From<&Material> for MaterialDto {
    fn from(material: &Material) -> Self {
        let arrived = material.arrived.as_ref().map(|arrived| ArrivedDto {
            at: arrived.at.into(),
            certificate: arrived.certificate.clone(),
        });
        Self {
            expected: material.expected,
            arrived,
        }
    }
}

impl From<&Quoted> for QuotedDto {
    fn from(quoted: &Quoted) -> Self {
        Self {
            operation: Whole::clamped(i64::from(quoted.operation)),
            setup_s: Whole::clamped(i64::from(quoted.setup_s)),
            run_s: Whole::clamped(i64::from(quoted.run_s)),
        }
    }
}

impl From<QuotedDto> for Quoted {
    fn from(quoted: QuotedDto) -> Self {
        Self {
            operation: quoted.operation.to(),
            setup_s: quoted.setup_s.to(),
            run_s: quoted.run_s.to(),
        }
    }
}

impl From<&Shipment> for ShipmentDto {
    fn from(shipment: &Shipment) -> Self {
        Self {
            at: shipment.at.into(),
            pieces: shipment.pieces,
            job: shipment.job,
        }
    }
}

use crate::http::command::new_id;
use crate::http::instant::Instant;
use crate::http::pallets::dto::PositionDto;
use crate::http::pallets::load_dto::{OperationNumber, Pieces, PiecesBody};
use crate::http::text;
use crate::http::whole::Whole;
use crate::problem::Problem;
use serde::{Deserialize, Serialize};
use spindlebook_domain::floor::{
    OpenFloor, OpeningCount, OpeningJob, OpeningLoad, OpeningPallet, OpeningSetup,
};
use spindlebook_domain::ids::{FixtureCopyId, FixtureId, JobId, LoadId, PalletId, Seq, SetupId};
use spindlebook_domain::load::Clamped;
use spindlebook_domain::time::Timestamp;
use utoipa::ToSchema;

/// What stands on the floor on day one.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = OpeningStatement, example = json!({
    "pallets": [{"pallet": "01936b5e-5c00-7000-8000-000000000301", "position": {"kind": "load_station", "number": 1},
        "setup": {"fixture": "01936b5e-5c00-7000-8000-000000000401", "copy": "01936b5e-5c00-7000-8000-000000000411"},
        "load": {"stage": "ready", "pieces": [{"job": "01936b5e-5c00-7000-8000-000000000901", "operation": 10, "pieces": 8}]}}],
    "jobs": [{"job": "01936b5e-5c00-7000-8000-000000000901",
        "operations": [{"operation": 10, "good": 4, "scrapped": 1}]}]}))]
pub struct OpeningBody {
    #[serde(default)]
    #[schema(max_items = 2000)]
    pub pallets: Vec<OpeningPalletBody>,
    #[serde(default)]
    #[schema(max_items = 2000)]
    pub jobs: Vec<OpeningJobBody>,
}

/// A pallet as it stands; one that is not named stays where it was added.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = OpeningPallet)]
pub struct OpeningPalletBody {
    #[schema(value_type = uuid::Uuid)]
    pub pallet: PalletId,
    pub position: PositionDto,
    pub setup: Option<OpeningSetupBody>,
    pub load: Option<OpeningLoadBody>,
}

#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = OpeningSetup)]
pub struct OpeningSetupBody {
    #[schema(value_type = uuid::Uuid)]
    pub fixture: FixtureId,
    #[schema(value_type = uuid::Uuid)]
    pub copy: FixtureCopyId,
    /// Somebody is still mounting it.
    #[serde(default)]
    pub unfinished: bool,
}

#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = OpeningLoad)]
pub struct OpeningLoadBody {
    pub stage: OpeningStage,
    #[schema(min_items = 1, max_items = 100)]
    pub pieces: Vec<PiecesBody>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum OpeningStage {
    Ready,
    Cut,
}

/// A half-done job. What is neither told of here nor clamped waits at the operation that it has come to.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = OpeningJob)]
pub struct OpeningJobBody {
    #[schema(value_type = uuid::Uuid)]
    pub job: JobId,
    #[schema(max_items = 50)]
    pub operations: Vec<OpeningCountBody>,
}

/// Without the pieces that are clamped on a pallet.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = OpeningCount)]
pub struct OpeningCountBody {
    pub operation: OperationNumber,
    #[serde(default)]
    pub good: Option<Pieces>,
    #[serde(default)]
    pub scrapped: Option<Pieces>,
    #[serde(default)]
    pub to_rework: Option<Pieces>,
    #[serde(default)]
    pub to_inspection: Option<Pieces>,
}

/// The statement was taken.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = OpeningTaken, example = json!({"pallets": 6, "jobs": 12, "at": "2026-11-02T06:00:00Z", "seq": 90}))]
pub struct OpenedDto {
    pub pallets: usize,
    pub jobs: usize,
    #[schema(value_type = text::Instant)]
    pub at: Instant,
    /// The entry that holds it.
    #[schema(value_type = text::Seq)]
    pub seq: Seq,
}

impl OpeningBody {
    pub fn into_command(self, at: Timestamp) -> Result<OpenFloor, Problem> {
        let pallets = self.pallets.into_iter().enumerate();
        Ok(OpenFloor {
            pallets: pallets
                .map(|(index, pallet)| pallet.read(index))
                .collect::<Result<_, _>>()?,
            jobs: self.jobs.into_iter().map(OpeningJob::from).collect(),
            at,
        })
    }
}

impl OpeningPalletBody {
    fn read(self, index: usize) -> Result<OpeningPallet, Problem> {
        Ok(OpeningPallet {
            pallet: self.pallet,
            position: self.position.read(&format!("/pallets/{index}/position"))?,
            setup: self.setup.map(|setup| OpeningSetup {
                setup: SetupId(new_id()),
                fixture: setup.fixture,
                copy: setup.copy,
                is_ended: !setup.unfinished,
            }),
            load: self.load.map(|load| OpeningLoad {
                load: LoadId(new_id()),
                clamped: load.pieces.into_iter().map(Clamped::from).collect(),
                is_cut: load.stage == OpeningStage::Cut,
            }),
        })
    }
}

impl From<OpeningJobBody> for OpeningJob {
    fn from(body: OpeningJobBody) -> Self {
        Self {
            job: body.job,
            operations: body.operations.into_iter().map(OpeningCount::from).collect(),
        }
    }
}

impl From<OpeningCountBody> for OpeningCount {
    fn from(body: OpeningCountBody) -> Self {
        let many = |pieces: Option<Pieces>| pieces.map_or(0, Whole::to);
        Self {
            operation: body.operation.to(),
            good: many(body.good),
            scrapped: many(body.scrapped),
            to_rework: many(body.to_rework),
            to_inspection: many(body.to_inspection),
        }
    }
}

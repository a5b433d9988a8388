//! The night of a cell.

use crate::http::instant::Instant;
use crate::http::plans::dto::{SearchBody, Seed};
use crate::http::plans::schedule_dto::{LeftOutDto, ScheduledLoadDto, pieces};
use crate::http::site::WindowDto;
use crate::http::text;
use crate::http::whole::Whole;
use crate::planning::{Ground, Search};
use serde::{Deserialize, Serialize};
use spindlebook_domain::cell::Cell;
use spindlebook_domain::ids::{CellId, Seq};
use spindlebook_domain::load::Clamped;
use spindlebook_domain::plan::model::LoadKey;
use spindlebook_domain::plan::night::NightFill;
use utoipa::{IntoParams, ToSchema};

const SECONDS: u32 = 1;

#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct NightQuery {
    /// How long is searched: one second without it.
    pub seconds: Option<Whole<1, 60>>,
    /// So many schedules are built instead: the same number from the same seed gives the same answer.
    pub iterations: Option<Whole<1, 10_000_000>>,
    /// 1 without it.
    pub seed: Option<Seed>,
}

impl NightQuery {
    pub fn search(&self) -> Search {
        let asked = SearchBody {
            seconds: self.seconds.map(|seconds| Whole::clamped(seconds.get())),
            iterations: self.iterations,
            seed: self.seed,
        };
        asked.or(SECONDS)
    }
}

/// What to clamp before the last person leaves, and what is cut until somebody is back.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = NightFill, example = json!({"cell": "01936b5e-5c00-7000-8000-0000000000c1", "as_of": "2026-11-02T15:00:00Z", "seq": 41,
    "night": {"from": "2026-11-02T21:00:00Z", "to": "2026-11-03T05:00:00Z"}, "spindle_s": 28800,
    "cuts_until": "2026-11-03T05:00:00Z", "to_clamp": [], "cut": [], "not_cut": []}))]
pub struct NightFillDto {
    #[schema(value_type = uuid::Uuid)]
    pub cell: CellId,
    #[schema(value_type = text::Instant)]
    pub as_of: Instant,
    /// The entry that it was computed from.
    #[schema(value_type = text::Seq)]
    pub seq: Seq,
    /// Null: within two weeks somebody always is there, or nobody has told of a calendar.
    pub night: Option<WindowDto>,
    /// Within the night, all machines of the cell together.
    pub spindle_s: i64,
    /// The last run of the night ends then; null: nothing is cut.
    #[schema(value_type = Option<text::Instant>)]
    pub cuts_until: Option<Instant>,
    /// In the order in which they are clamped, all before the night.
    #[schema(max_items = 5_000)]
    pub to_clamp: Vec<ScheduledLoadDto>,
    /// In the order of their runs, among them what was clamped before.
    #[schema(max_items = 5_000)]
    pub cut: Vec<ScheduledLoadDto>,
    /// Loads of the cell that do not run in the night, and why not.
    #[schema(max_items = 5_000)]
    pub not_cut: Vec<LeftOutDto>,
}

impl NightFillDto {
    pub fn of(ground: &Ground, cell: &Cell, fill: Option<&NightFill>) -> Self {
        let load = |load: &_| ScheduledLoadDto::of(&ground.shop, load, None);
        let not_cut = fill
            .iter()
            .flat_map(|fill| &fill.not_cut)
            .map(|(key, reason)| LeftOutDto {
                load: match key {
                    LoadKey::Standing(load) => Some(*load),
                    LoadKey::ToForm { .. } => None,
                },
                pieces: fill.map_or_else(Vec::new, |fill| pieces(&ground.shop, &clamped(fill, *key))),
                because: reason.into(),
            });
        Self {
            cell: cell.id,
            as_of: ground.now.into(),
            seq: ground.shop.seq,
            night: fill.map(|fill| fill.night.into()),
            spindle_s: fill.map_or(0, |fill| fill.spindle_s),
            cuts_until: fill.and_then(|fill| fill.cuts_until).map(Instant::from),
            to_clamp: fill.iter().flat_map(|fill| &fill.to_clamp).map(load).collect(),
            cut: fill.iter().flat_map(|fill| &fill.cut).map(load).collect(),
            not_cut: not_cut.collect(),
        }
    }
}

fn clamped(fill: &NightFill, key: LoadKey) -> Vec<Clamped> {
    let planned = fill.schedule.loads.iter().map(|load| (load.key, &load.clamped));
    let left_out = fill
        .schedule
        .left_out
        .iter()
        .map(|load| (load.key, &load.clamped));
    let mut all = planned.chain(left_out);
    all.find(|(known, _)| *known == key)
        .map_or_else(Vec::new, |(_, clamped)| clamped.clone())
}

use super::dto::{RunDto, StartBody};
use crate::auth::op;
use crate::http::ask::site_of;
use crate::http::command::{Act, Outcome, Reply, new_id};
use crate::http::late::dto::{ParkedActDto, deviations};
use crate::http::machines::dto::at_or_now;
use crate::http::noted::Noted;
use crate::http::pallets::acted::{WarningCode, WarningDto};
use crate::http::pallets::load_dto::read_overrides;
use actix_web::post;
use actix_web::web::Path;
use spindlebook_domain::floor::{StartRun, runs_on_unattended};
use spindlebook_domain::ids::{MachineId, RunId};
use spindlebook_domain::run::Run;
use spindlebook_domain::shop::Shop;
use uuid::Uuid;

/// Record that a run was started
///
/// The pallet at the machine's spindle is being cut. This is the record: it starts no machine. A held load, one whose
/// first piece is not accepted and one that is not cleared to run with nobody there are refused, whoever asks; that a
/// tool is too worn or that another pallet is next can be overridden by a planner with a reason.
///
/// Caution: before everybody leaves, look at coolant level and flow, chips and conveyor, tool life, door, detection and
/// extinguishing, and that somebody is on call; only proven work runs alone. A refusal here can keep a run out of the
/// book, not make one harmless. Coming back to a stopped machine, look first: part loose, tool broken, smoke, heat,
/// smell. Follow the machine builder's manual, your local rules and the advice of qualified people.
#[utoipa::path(
    operation_id = "startRun",
    tag = "Runs",
    params(("id" = Uuid, Path, description = "The machine")),
    request_body = StartBody,
    responses(
        (status = 201, description = "The new run", body = RunDto),
        (status = 202, description = "Parked: it waits for what is missing, or for somebody who decides", body = ParkedActDto)
    )
)]
#[post("/v1/machines/{id}/runs")]
pub async fn start_run(act: Act<op::StartRun, StartBody>, id: Path<Uuid>) -> Outcome {
    let machine = MachineId(id.into_inner());
    let zone = site_of(&act.caller.shop)?.zone;
    let StartBody {
        run,
        pallet,
        purpose,
        at,
        at_local,
        overrides,
        reported,
    } = act.body;
    let at = at_or_now(zone, at, at_local, act.draft.now())?;
    let mut noted = Noted::default();
    let overrides = read_overrides(&act.caller, overrides, reported, &mut noted)?;
    let run = run.unwrap_or_else(|| RunId(new_id()));
    let command = StartRun {
        run,
        machine,
        pallet,
        purpose,
        at,
        overrides,
    };
    act.draft
        .occurred_at(Some(at))
        .reported(reported)
        .with_private(noted.private())
        .submit(command, move |accepted| {
            let run = accepted.shop.runs.get(&run)?;
            let mut warnings = warnings(accepted.shop, run);
            warnings.extend(deviations(accepted));
            let location = format!("/v1/runs/{}", run.id);
            Some(Reply::created(location, &RunDto::of(run, accepted.shop, warnings)).at(run.changed_seq))
        })
        .await
}

fn warnings(shop: &Shop, run: &Run) -> Vec<WarningDto> {
    let ends_at = runs_on_unattended(shop, run);
    let warning = ends_at.map(|ends_at| WarningDto {
        code: WarningCode::RunsOnUnattended,
        detail: format!(
            "it is planned to end at {ends_at}, when nobody is there, and it is not cleared for that on this machine"
        ),
    });
    warning.into_iter().collect()
}

use super::dto::RunDto;
use crate::auth::op;
use crate::http::ask::Ask;
use crate::http::shown::Shown;
use crate::problem::Problem;
use actix_web::get;
use actix_web::web::Path;
use spindlebook_domain::floor::RunRefusal;
use spindlebook_domain::ids::RunId;
use spindlebook_domain::refusal::Refusal;
use spindlebook_domain::run::Run;
use spindlebook_store::read;
use uuid::Uuid;

/// Get a run
///
/// Also after its load has been counted.
#[utoipa::path(
    operation_id = "getRun",
    tag = "Runs",
    params(("id" = Uuid, Path, description = "The run")),
    responses((status = 200, description = "The run", body = RunDto))
)]
#[get("/v1/runs/{id}")]
pub async fn get_run(ask: Ask<op::GetRun>, id: Path<Uuid>) -> Result<Shown, Problem> {
    let run = RunId(id.into_inner());
    let run = match ask.shop.runs.get(&run) {
        Some(run) => run.clone(),
        None => counted(&ask, run).await?,
    };
    let shown = RunDto::of(&run, &ask.shop, Vec::new());
    Ok(Shown::new(&shown)?.at(run.changed_seq))
}

async fn counted<O>(ask: &Ask<O>, run: RunId) -> Result<Run, Problem> {
    let mut session = ask.book.store().session().await?;
    let row = read::thing(&mut session, ask.caller.site, run.0).await?;
    let unknown = || Problem::from(Refusal::from(RunRefusal::Unknown { run }));
    let row = row.filter(|row| row.kind == "run").ok_or_else(unknown)?;
    serde_json::from_str(&row.body).map_err(|error| Problem::fault(&error))
}

use super::inspection_dto::{InspectionDto, InspectionPage};
use crate::auth::op;
use crate::http::ask::Ask;
use crate::http::orders::kept;
use crate::http::page::{self, Listing, PageQuery};
use crate::http::parameters::Parameters;
use crate::http::shown::Shown;
use crate::problem::Problem;
use actix_web::get;
use actix_web::web::Path;
use spindlebook_domain::ids::JobId;
use spindlebook_domain::job::Inspection;
use std::cmp::Reverse;
use uuid::Uuid;

/// List what inspectors said of a job
///
/// The last 500 results, the newest first, those that were reversed with the entry that did it. Older ones stand in the
/// ledger.
#[utoipa::path(
    operation_id = "listInspections",
    tag = "Jobs",
    params(("id" = Uuid, Path, description = "The job"), PageQuery),
    responses((status = 200, description = "A page of results", body = InspectionPage))
)]
#[get("/v1/jobs/{id}/inspections")]
pub async fn list_inspections(
    ask: Ask<op::ListInspections>,
    id: Path<Uuid>,
    query: Parameters<PageQuery>,
) -> Result<Shown, Problem> {
    let Parameters(PageQuery { limit, cursor }) = query;
    let job = kept::job(&ask, JobId(id.into_inner())).await?;
    let listing = Listing::of("inspections", &job.id);
    let key = |one: &&Inspection| (Reverse(one.seq), one.operation);
    let mut all: Vec<_> = job.inspections.iter().collect();
    all.sort_by_key(key);
    let after = listing.after(cursor.as_deref())?;
    let (items, next_cursor) = listing.page(all, after.as_ref(), page::limit(limit), |one| key(&one))?;
    let items = items.into_iter().map(InspectionDto::from).collect();
    Shown::new(&InspectionPage { items, next_cursor })
}

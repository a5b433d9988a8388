use super::dto::EntryDto;
use super::entry_at;
use crate::auth::op;
use crate::http::ask::Ask;
use crate::http::shown::Shown;
use crate::problem::Problem;
use actix_web::get;
use actix_web::web::Path;
use spindlebook_domain::entry::GENESIS;

/// Get one entry of the ledger
#[utoipa::path(
    operation_id = "getLedgerEntry",
    tag = "Ledger",
    params(("seq" = u64, Path, minimum = 1, maximum = 9_007_199_254_740_991_i64, description = "Its number: 1, 2, 3 … without a gap")),
    responses((status = 200, description = "The entry", body = EntryDto))
)]
#[get("/v1/ledger/{seq}")]
pub async fn get_ledger_entry(ask: Ask<op::GetLedgerEntry>, seq: Path<u64>) -> Result<Shown, Problem> {
    let seq = seq.into_inner();
    let entry = entry_at(&ask, seq).await?;
    let previous = if seq == 1 {
        GENESIS
    } else {
        entry_at(&ask, seq - 1).await?.hash
    };
    Ok(Shown::new(&EntryDto::new(&entry, &previous)?)?.at(seq))
}

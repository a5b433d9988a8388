use super::dto::{EntryDto, LedgerPage};
use super::entry_at;
use crate::auth::op;
use crate::http::ask::Ask;
use crate::http::page::{self, Limit};
use crate::http::parameters::Parameters;
use crate::http::shown::Shown;
use crate::http::whole::{EXACT_MAX, Whole};
use crate::problem::Problem;
use actix_web::get;
use serde::Deserialize;
use spindlebook_domain::entry::GENESIS;
use spindlebook_domain::ids::Seq;
use utoipa::IntoParams;

pub type After = Whole<0, EXACT_MAX>;

#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct LedgerQuery {
    /// Only entries with a higher number; without it from the first.
    pub after: Option<After>,
    /// How many items at most: 50 without it, 200 at most.
    pub limit: Option<Limit>,
}

/// Read the ledger
///
/// In its order, without a gap: whoever asks on with `next_after` misses nothing, however slowly.
#[utoipa::path(
    operation_id = "listLedger",
    tag = "Ledger",
    params(LedgerQuery),
    responses((status = 200, description = "Entries in their order", body = LedgerPage))
)]
#[get("/v1/ledger")]
pub async fn list_ledger(ask: Ask<op::ListLedger>, query: Parameters<LedgerQuery>) -> Result<Shown, Problem> {
    let Parameters(LedgerQuery { after, limit }) = query;
    let after: Seq = after.map_or(0, Whole::to);
    let head_seq = ask.shop.seq;
    let limit = u32::try_from(page::limit(limit)).unwrap_or(u32::MAX);
    let entries = if after < head_seq {
        ask.book.entries_after(ask.caller.site, after, limit).await?
    } else {
        Vec::new()
    };
    let mut previous = match entries.first() {
        Some(_) if after > 0 => entry_at(&ask, after).await?.hash,
        _ => GENESIS,
    };
    let mut items = Vec::with_capacity(entries.len());
    for entry in entries {
        items.push(EntryDto::new(&entry, &previous)?);
        previous = entry.hash;
    }
    let last = items.last().map(|entry| entry.seq);
    let next_after = last.filter(|seq| *seq < head_seq);
    Shown::new(&LedgerPage {
        items,
        head_seq,
        next_after,
    })
}

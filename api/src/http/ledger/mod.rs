//! The ledger itself: every entry with the very text that was hashed, so that anybody can check the chain.

pub mod dto;
mod follower;
mod get;
mod list;
mod stream;
pub mod streams;

use super::ask::Ask;
use crate::book::Book;
use crate::problem::{Code, Problem};
use spindlebook_domain::entry::Entry;
use spindlebook_domain::ids::{Seq, SiteId};
use utoipa_actix_web::service_config::ServiceConfig;

pub fn routes(config: &mut ServiceConfig) {
    config
        .service(list::list_ledger)
        .service(stream::get_ledger_stream)
        .service(get::get_ledger_entry);
}

pub async fn entry_at<O>(ask: &Ask<O>, seq: Seq) -> Result<Entry, Problem> {
    entry_of(&ask.book, ask.caller.site, ask.shop.seq, seq).await
}

pub async fn entry_of(book: &Book, site: SiteId, head_seq: Seq, seq: Seq) -> Result<Entry, Problem> {
    let unknown = || {
        let detail = format!("There is no entry {seq}: the ledger of this site goes from 1 to {head_seq}.");
        Problem::new(Code::NotFound, detail).with("head_seq", head_seq)
    };
    let before = seq.checked_sub(1).ok_or_else(unknown)?;
    if seq > head_seq {
        return Err(unknown());
    }
    let entries = book.entries_after(site, before, 1).await?;
    let found = entries.into_iter().find(|entry| entry.envelope.seq == seq);
    found.ok_or_else(|| Problem::fault(&format!("entry {seq} is missing from the ledger")))
}

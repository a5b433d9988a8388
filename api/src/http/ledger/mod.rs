//! The ledger itself: every entry with the very text that was hashed, so that anybody can check the chain.

pub mod dto;
mod follower;
mod get;
mod list;
mod stream;
pub mod streams;

use super::ask::Ask;
use crate::problem::{Code, Problem};
use spindlebook_domain::entry::Entry;
use spindlebook_domain::ids::Seq;
use utoipa_actix_web::service_config::ServiceConfig;

pub fn routes(config: &mut ServiceConfig) {
    config
        .service(list::list_ledger)
        .service(stream::get_ledger_stream)
        .service(get::get_ledger_entry);
}

pub async fn entry_at<O>(ask: &Ask<O>, seq: Seq) -> Result<Entry, Problem> {
    let unknown = || {
        let detail = format!(
            "There is no entry {seq}: the ledger of this site goes from 1 to {}.",
            ask.shop.seq
        );
        Problem::new(Code::NotFound, detail).with("head_seq", ask.shop.seq)
    };
    let before = seq.checked_sub(1).ok_or_else(unknown)?;
    if seq > ask.shop.seq {
        return Err(unknown());
    }
    let entries = ask.book.entries_after(ask.caller.site, before, 1).await?;
    let found = entries.into_iter().find(|entry| entry.envelope.seq == seq);
    found.ok_or_else(|| Problem::fault(&format!("entry {seq} is missing from the ledger")))
}

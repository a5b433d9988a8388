//! Free texts that stand beside the ledger. An entry names a note by its id and a salted hash, so that what somebody
//! wrote can be read, and can be forgotten without breaking the chain.

mod dto;
mod forget;
mod get;

use crate::problem::{Code, Problem};
use spindlebook_domain::ids::{SiteId, TextId};
use spindlebook_store::Session;
use spindlebook_store::private::{self, PrivateText};
use utoipa_actix_web::service_config::ServiceConfig;

pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(get::get_note).service(forget::forget_note);
}

async fn find(session: &mut Session, site: SiteId, id: TextId) -> Result<PrivateText, Problem> {
    let found = private::texts(session, site, &[id]).await?.pop();
    found.ok_or_else(|| Problem::new(Code::NotFound, format!("There is no note {id} at this site.")))
}

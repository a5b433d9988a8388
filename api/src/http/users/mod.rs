//! The people of a site: who they are, and which roles they have.
//!
//! Names and logins are personal: they stand in no ledger entry and in no stored outcome, only in the answers of GET.

mod add;
mod change;
mod dto;
mod forget;
mod list;
pub(super) mod password;
mod show;

pub(super) use dto::{MemberDto, parse_roles};

use crate::problem::{Code, Problem};
use spindlebook_domain::access::{Principal, PrincipalKind};
use spindlebook_domain::ids::PrincipalId;
use spindlebook_domain::shop::Shop;
use utoipa_actix_web::service_config::ServiceConfig;

pub fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(add::add_user)
        .service(list::list_users)
        .service(show::get_user)
        .service(change::change_user)
        .service(password::set_user_password)
        .service(forget::forget_user);
}

/// A client's id is no user's, and the other way round.
pub(super) fn find(shop: &Shop, id: PrincipalId, kind: PrincipalKind) -> Result<&Principal, Problem> {
    shop.principals
        .get(&id)
        .filter(|principal| principal.kind == kind)
        .ok_or_else(|| {
            let what = match kind {
                PrincipalKind::Person => "user",
                PrincipalKind::Client => "client",
            };
            Problem::new(Code::NotFound, format!("There is no {what} {id} at this site."))
        })
}

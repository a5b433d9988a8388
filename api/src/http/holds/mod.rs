//! Holds: loads that wait for somebody who decides.

mod dispose;
pub mod disposition_dto;
pub mod dto;
mod give_reference;
pub mod list;

use self::disposition_dto::DisposedDto;
use super::command::{Accepted, Reply};
use spindlebook_domain::event::Event;
use utoipa_actix_web::service_config::ServiceConfig;

pub fn routes(config: &mut ServiceConfig) {
    config
        .service(list::list_holds)
        .service(dispose::dispose_hold)
        .service(give_reference::give_hold_reference);
}

fn decided(accepted: &Accepted<'_>) -> Option<Reply> {
    let mut events = accepted.entries.iter().map(|recorded| &recorded.event);
    let shown = events.find_map(|event| match event {
        Event::HoldDisposed(event) => Some(DisposedDto::from(event)),
        Event::DispositionProposed(event) => Some(DisposedDto::from(event)),
        _ => None,
    });
    shown.map(|shown| Reply::ok(&shown))
}

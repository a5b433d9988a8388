//! The page with which one shift hands a cell over to the next.

mod confirm;
mod dto;
mod get;
mod note;
mod odd;

use utoipa_actix_web::service_config::ServiceConfig;

pub fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(get::get_handover)
        .service(note::note_handover)
        .service(confirm::confirm_handover);
}

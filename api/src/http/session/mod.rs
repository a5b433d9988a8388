//! Signing in with login and password, refreshing, signing out, and who one is.

mod dto;
mod password;
mod refresh;
mod show;
mod sign_in;
mod sign_out;

use utoipa_actix_web::service_config::ServiceConfig;

pub fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(sign_in::sign_in)
        .service(refresh::refresh_session)
        .service(show::get_session)
        .service(sign_out::end_session)
        .service(password::change_own_password);
}

//! The token endpoint for machine clients: OAuth 2.0 client credentials (RFC 6749, section 4.4).
//!
//! Its errors are those of RFC 6749, section 5.2, and not problems: every OAuth library expects them. What that RFC
//! does not know (too many requests, a fault) is a problem here too.

mod credentials;
mod token;

use utoipa_actix_web::service_config::ServiceConfig;

pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(token::issue_token);
}

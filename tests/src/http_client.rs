//! One way to make an HTTP client.

use anyhow::Result;
use std::sync::Once;
use std::time::Duration;

static PROVIDER: Once = Once::new();

/// It gives up on an answer after half a minute, and never follows a redirect.
pub fn new() -> Result<reqwest::Client> {
    with(|builder| builder)
}

/// With options of its own, as a root certificate.
pub fn with(
    options: impl FnOnce(reqwest::ClientBuilder) -> reqwest::ClientBuilder,
) -> Result<reqwest::Client> {
    // The client panics without one, even for plain HTTP. Somebody else may have installed it already.
    PROVIDER.call_once(|| drop(rustls::crypto::ring::default_provider().install_default()));
    let builder = reqwest::Client::builder()
        .timeout(Duration::from_secs(30))
        .redirect(reqwest::redirect::Policy::none())
        .no_proxy();
    Ok(options(builder).build()?)
}

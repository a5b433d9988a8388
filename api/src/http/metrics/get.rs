use crate::auth::{Caller, op};
use crate::http::shown::Shown;
use crate::problem::{Code, Problem};
use actix_web::get;
use actix_web::web::Data;
use metrics_exporter_prometheus::PrometheusHandle;

const MEDIA_TYPE: &str = "text/plain; version=0.0.4; charset=utf-8";

/// What the figures are read from; `None` where nothing is recorded.
pub struct MetricsSource(pub Option<PrometheusHandle>);

/// Get figures about the service
///
/// In the text format of Prometheus: requests, answers, how long they took, what waits to be written.
#[utoipa::path(
    operation_id = "getMetrics",
    tag = "Health",
    responses((status = 200, description = "Figures", body = String, content_type = "text/plain",
        example = json!("# TYPE http_requests_total counter\nhttp_requests_total{operation=\"getCell\",status=\"200\"} 7\n")))
)]
#[get("/metrics")]
pub async fn get_metrics(
    _caller: Caller<op::GetMetrics>,
    source: Data<MetricsSource>,
) -> Result<Shown, Problem> {
    render(&source)
}

/// For the listener of administrators, which asks nobody to sign in.
pub fn render(source: &MetricsSource) -> Result<Shown, Problem> {
    let Some(handle) = &source.0 else {
        return Err(Problem::new(
            Code::RouteUnknown,
            "This service records no figures.",
        ));
    };
    Ok(Shown::of_type(MEDIA_TYPE, handle.render().into_bytes()))
}

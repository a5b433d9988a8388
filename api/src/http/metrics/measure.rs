use actix_web::Error;
use actix_web::body::MessageBody;
use actix_web::dev::{ServiceRequest, ServiceResponse};
use actix_web::middleware::Next;
use metrics::{counter, gauge, histogram};
use std::time::Instant;

/// Counts requests by route and status, and how long they took. By the route's pattern, not by its path: an id in a
/// label would make a new figure for every machine.
pub async fn measure<B: MessageBody>(
    request: ServiceRequest,
    next: Next<B>,
) -> Result<ServiceResponse<B>, Error> {
    let began = Instant::now();
    let method = request.method().clone();
    gauge!("http_requests_in_progress").increment(1);
    let answered = next.call(request).await;
    gauge!("http_requests_in_progress").decrement(1);
    let (route, status) = match &answered {
        Ok(response) => (response.request().match_pattern(), response.status()),
        Err(error) => (None, error.as_response_error().status_code()),
    };
    let route = route.unwrap_or_else(|| "none".to_owned());
    let (method, status) = (method.to_string(), status.as_u16().to_string());
    histogram!("http_request_duration_seconds", "method" => method.clone(), "route" => route.clone())
        .record(began.elapsed());
    counter!("http_requests_total", "method" => method, "route" => route, "status" => status).increment(1);
    answered
}

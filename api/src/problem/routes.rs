//! What no handler was found for, and path parameters that do not read.

use super::{Code, FieldError, Place, Problem};
use actix_web::dev::ResourceDef;
use actix_web::error::PathError;
use actix_web::http::{Method, header};
use actix_web::web::{Data, PathConfig};
use actix_web::{HttpRequest, HttpResponse};
use utoipa::openapi::OpenApi;
use utoipa::openapi::path::PathItem;

/// Which methods each path takes, so that a wrong method is told apart from a wrong path.
pub struct Routes(Vec<(ResourceDef, Vec<Method>)>);

impl Routes {
    pub fn new<'a>(routes: impl IntoIterator<Item = (&'a str, Vec<Method>)>) -> Self {
        Self(
            routes
                .into_iter()
                .map(|(path, methods)| (ResourceDef::new(path), methods))
                .collect(),
        )
    }

    /// A mounted route is a documented one, so the document knows them all.
    pub fn of(document: &OpenApi) -> Self {
        Self::new(
            document
                .paths
                .paths
                .iter()
                .map(|(path, item)| (path.as_str(), methods_of(item))),
        )
    }

    fn methods_at(&self, path: &str) -> Vec<&Method> {
        let here = self.0.iter().filter(|(pattern, _)| pattern.is_match(path));
        here.flat_map(|(_, methods)| methods).collect()
    }
}

fn methods_of(item: &PathItem) -> Vec<Method> {
    let declared = [
        (item.get.is_some(), Method::GET),
        (item.put.is_some(), Method::PUT),
        (item.post.is_some(), Method::POST),
        (item.patch.is_some(), Method::PATCH),
        (item.delete.is_some(), Method::DELETE),
    ];
    declared
        .into_iter()
        .filter_map(|(is, method)| is.then_some(method))
        .collect()
}

/// The default service of the application: 405 with `Allow` where only the method is wrong, else 404.
pub async fn unmatched(request: HttpRequest, routes: Data<Routes>) -> Result<HttpResponse, Problem> {
    let allowed = routes.methods_at(request.path());
    if allowed.is_empty() {
        let detail = "Nothing is served at this path; /openapi.json lists every path.";
        return Err(Problem::new(Code::RouteUnknown, detail));
    }
    let allowed = allowed
        .iter()
        .map(|method| method.as_str())
        .collect::<Vec<_>>()
        .join(", ");
    let detail = format!("{} is not taken here; use {allowed}.", request.method());
    Err(Problem::new(Code::MethodNotAllowed, detail).with_header(header::ALLOW, &allowed))
}

/// For `App::app_data`: path parameters that do not read become problems that name the parameter.
pub fn path_config() -> PathConfig {
    PathConfig::default().error_handler(|error, request| {
        let sentence = match &error {
            PathError::Deserialize(error) => error.to_string(),
            other => other.to_string(),
        };
        let mut problem = Problem::new(Code::PathInvalid, format!("The path does not read: {sentence}."));
        for (name, value) in request.match_info().iter() {
            let detail = format!("`{value}` does not read: {sentence}");
            problem = problem.with_field(FieldError::at(Place::parameter(name), "invalid", detail));
        }
        problem.into()
    })
}

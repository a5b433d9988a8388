//! The role table as text in the OpenAPI document.

use super::operations::{Allowed, Operation};
use utoipa::openapi::OpenApi;
use utoipa::openapi::extensions::ExtensionsBuilder;
use utoipa::openapi::path::{Operation as Documented, PathItem};
use utoipa::openapi::security::{
    ClientCredentials, Flow, HttpAuthScheme, HttpBuilder, OAuth2, Scopes, SecurityRequirement, SecurityScheme,
};

const BEARER: &str = "bearer";
const CLIENT: &str = "client_credentials";

/// Writes rule, roles and security of every operation into the document. Gives the ids of the operations that have
/// no row in the table, which a test wants to be none.
pub fn write_roles(document: &mut OpenApi) -> Vec<String> {
    let mut without_row = Vec::new();
    for item in document.paths.paths.values_mut() {
        for documented in operations_of(item) {
            let id = documented.operation_id.clone().unwrap_or_default();
            match Operation::of(&id) {
                Some(operation) => write_role(documented, operation),
                None => without_row.push(id),
            }
        }
    }
    let bearer = HttpBuilder::new()
        .scheme(HttpAuthScheme::Bearer)
        .bearer_format("JWT")
        .build();
    let flow = Flow::ClientCredentials(ClientCredentials::new("/oauth/token", Scopes::new()));
    let components = document.components.get_or_insert_default();
    components.add_security_scheme(BEARER, SecurityScheme::Http(bearer));
    components.add_security_scheme(CLIENT, SecurityScheme::OAuth2(OAuth2::new([flow])));
    without_row
}

fn write_role(documented: &mut Documented, operation: &Operation) {
    let rule = operation.rule();
    documented.description = Some(match documented.description.take() {
        Some(text) if !text.is_empty() => format!("{text}\n\n{rule}"),
        _ => rule,
    });
    let no_scopes: [&str; 0] = [];
    documented.security = Some(match operation.allowed {
        Allowed::Anyone => vec![SecurityRequirement::default()],
        Allowed::SignedIn | Allowed::Roles(_) => vec![
            SecurityRequirement::new(BEARER, no_scopes),
            SecurityRequirement::new(CLIENT, no_scopes),
        ],
    });
    if operation.is_act {
        let act = ExtensionsBuilder::new().add("x-act", true).build();
        documented.extensions.get_or_insert_default().merge(act);
    }
    if let Allowed::Roles(roles) = operation.allowed {
        let names: Vec<_> = roles.iter().map(|role| role.as_str()).collect();
        let roles = ExtensionsBuilder::new().add("x-roles", names).build();
        documented.extensions.get_or_insert_default().merge(roles);
    }
}

fn operations_of(item: &mut PathItem) -> impl Iterator<Item = &mut Documented> {
    [
        &mut item.get,
        &mut item.put,
        &mut item.post,
        &mut item.patch,
        &mut item.delete,
    ]
    .into_iter()
    .flatten()
}

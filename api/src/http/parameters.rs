//! The parameters of a query, read strictly: an unknown one is refused by name.

use crate::problem::{Code, Place, Problem, explain};
use actix_web::dev::Payload;
use actix_web::{FromRequest, HttpRequest};
use serde::de::DeserializeOwned;
use std::future::{Ready, ready};

/// `T` should `deny_unknown_fields`.
#[derive(Debug)]
pub struct Parameters<T>(pub T);

impl<T: DeserializeOwned> FromRequest for Parameters<T> {
    type Error = Problem;
    type Future = Ready<Result<Self, Problem>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        ready(read(request.query_string()).map(Self))
    }
}

pub fn read<T: DeserializeOwned>(query: &str) -> Result<T, Problem> {
    let pairs = serde_urlencoded::Deserializer::new(form_urlencoded::parse(query.as_bytes()));
    serde_path_to_error::deserialize(pairs).map_err(|error| {
        let place = Place::parameter(error.path().to_string());
        let field = explain(place, &error.inner().to_string());
        let detail = format!("Parameter {}: {}.", field.place_name(), field.detail());
        Problem::new(Code::QueryInvalid, detail).with_field(field)
    })
}

#[cfg(test)]
mod tests {
    use super::read;
    use crate::http::whole::Whole;
    use serde::Deserialize;

    #[derive(Debug, Deserialize)]
    #[serde(deny_unknown_fields)]
    struct Page {
        limit: Option<Whole<1, 200>>,
        cursor: Option<String>,
    }

    #[test]
    fn a_query_reads() {
        let page: Page = read("limit=20&cursor=a%20b").unwrap();
        assert_eq!(
            (page.limit.map(Whole::get), page.cursor.as_deref()),
            (Some(20), Some("a b"))
        );
    }

    #[test]
    fn a_wrong_parameter_is_named_with_what_would_be_right() {
        for (query, parameter, right) in [
            ("limi=20", "limi", "did you mean `limit`?"),
            ("limit=many", "limit", "whole number"),
            ("limit=500", "limit", "a whole number from 1 to 200"),
            ("limit=1&limit=2", "limit", "send it once"),
        ] {
            let body: serde_json::Value =
                serde_json::from_slice(&read::<Page>(query).unwrap_err().body()).unwrap();
            assert_eq!(body["errors"][0]["parameter"], parameter, "{body}");
            assert!(
                body["errors"][0]["detail"].as_str().unwrap().contains(right),
                "{body}"
            );
        }
    }
}

//! The JSON body of a request, read strictly: unknown and repeated fields are refused by name.

use crate::auth::operations::BODY_BYTES_MAX;
use crate::problem::{Code, FieldError, Place, Problem, explain_json};
use actix_web::http::header;
use actix_web::web::Payload;
use actix_web::{FromRequest, HttpRequest, dev};
use serde::de::DeserializeOwned;
use serde_json::Value;
use std::fmt;
use std::future::Future;
use std::pin::Pin;
use std::time::Duration;

/// A sender that needs longer than this for one body keeps a connection busy for nothing.
const BODY_WITHIN: Duration = Duration::from_secs(30);

/// A body with the bytes that make it comparable: two bodies that mean the same have the same. They hold names and
/// passwords; no more than a fingerprint of them is kept.
pub struct Body<T> {
    pub value: T,
    pub canonical: Vec<u8>,
}

impl<T: fmt::Debug> fmt::Debug for Body<T> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Body")
            .field("value", &self.value)
            .finish_non_exhaustive()
    }
}

/// For the few operations that are no commands of a site; those take an `Act`.
impl<T: DeserializeOwned + 'static> FromRequest for Body<T> {
    type Error = Problem;
    type Future = Pin<Box<dyn Future<Output = Result<Self, Problem>>>>;

    fn from_request(request: &HttpRequest, payload: &mut dev::Payload) -> Self::Future {
        let request = request.clone();
        let payload = payload.take();
        Box::pin(async move {
            takes_type(&request, "application/json")?;
            parse_canonical(&read_bytes(&request, payload, BODY_BYTES_MAX).await?)
        })
    }
}

pub fn parse_canonical<T: DeserializeOwned>(bytes: &[u8]) -> Result<Body<T>, Problem> {
    Ok(Body {
        value: parse(bytes)?,
        canonical: canonical(bytes)?,
    })
}

/// The whole body, up to the limit.
pub async fn read_bytes(
    request: &HttpRequest,
    mut payload: dev::Payload,
    bytes_max: usize,
) -> Result<Vec<u8>, Problem> {
    let too_large = || {
        let detail = format!("The body may have {bytes_max} bytes; send it in several requests.");
        Problem::new(Code::BodyTooLarge, detail).with("bytes_max", bytes_max)
    };
    let declared = request
        .headers()
        .get(header::CONTENT_LENGTH)
        .and_then(|value| value.to_str().ok());
    if declared
        .and_then(|value| value.parse::<u64>().ok())
        .is_some_and(|bytes| bytes > bytes_max as u64)
    {
        return Err(too_large());
    }
    let payload = Payload::from_request(request, &mut payload)
        .await
        .map_err(|error| Problem::fault(&error))?;
    match tokio::time::timeout(BODY_WITHIN, payload.to_bytes_limited(bytes_max)).await {
        Ok(Ok(Ok(bytes))) => Ok(bytes.to_vec()),
        Ok(Ok(Err(error))) => Err(Problem::new(
            Code::BodyMalformed,
            format!("The body could not be read to its end: {error}."),
        )),
        Ok(Err(_)) => Err(too_large()),
        Err(_) => {
            let detail = format!("The body did not arrive within {} s.", BODY_WITHIN.as_secs());
            Err(Problem::new(Code::RequestTooSlow, detail))
        }
    }
}

/// Refuses a body of another type, and one that is compressed: unpacking would get past the limit.
pub fn takes_type(request: &HttpRequest, wanted: &str) -> Result<(), Problem> {
    let given = request
        .headers()
        .get(header::CONTENT_TYPE)
        .and_then(|value| value.to_str().ok())
        .unwrap_or_default();
    let essence = given.split(';').next().unwrap_or_default().trim();
    if !essence.eq_ignore_ascii_case(wanted) {
        let detail = format!("The body is `{given}`; send `{wanted}`.");
        return Err(Problem::new(Code::MediaTypeUnsupported, detail).with_header(header::ACCEPT, wanted));
    }
    let coding = request
        .headers()
        .get(header::CONTENT_ENCODING)
        .and_then(|value| value.to_str().ok());
    match coding {
        None | Some("identity") => Ok(()),
        Some(coding) => {
            let detail = format!("The body is packed as `{coding}`; send it unpacked.");
            let problem = Problem::new(Code::MediaTypeUnsupported, detail);
            Err(problem.with_header(header::ACCEPT_ENCODING, "identity"))
        }
    }
}

pub fn parse<T: DeserializeOwned>(bytes: &[u8]) -> Result<T, Problem> {
    // Serde would take an array for a struct, member by member.
    if bytes.trim_ascii_start().starts_with(b"[") {
        return Err(invalid(FieldError::at(
            Place::pointer(""),
            "wrong-type",
            "invalid type: array, expected an object",
        )));
    }
    let mut reader = serde_json::Deserializer::from_slice(bytes);
    let value = serde_path_to_error::deserialize(&mut reader).map_err(|error| {
        if error.inner().is_data() {
            invalid(explain_json(&error))
        } else {
            wrong_choice::<T>(bytes).unwrap_or_else(|| malformed(bytes, error.inner()))
        }
    })?;
    reader.end().map_err(|error| malformed(bytes, &error))?;
    Ok(value)
}

/// The reader takes a number in the place of one name out of several for an error of JSON itself. Where the bytes are
/// JSON after all, reading their value says what is wrong.
fn wrong_choice<T: DeserializeOwned>(bytes: &[u8]) -> Option<Problem> {
    let value: Value = serde_json::from_slice(bytes).ok()?;
    let error = serde_path_to_error::deserialize::<_, T>(value).err()?;
    Some(invalid(explain_json(&error)))
}

/// A body that is JSON but not what the operation takes.
pub fn invalid(error: FieldError) -> Problem {
    let detail = format!("{}: {}.", error.place_name(), error.detail());
    Problem::new(Code::BodyInvalid, detail).with_field(error)
}

fn malformed(bytes: &[u8], error: &serde_json::Error) -> Problem {
    let detail = if bytes.is_empty() {
        "The body is empty; send a JSON object.".to_owned()
    } else {
        format!("The body is not JSON: {error}.")
    };
    Problem::new(Code::BodyMalformed, detail)
}

/// The same bytes for bodies that differ only in spaces, the order of members, or `1.0` for 1.
fn canonical(bytes: &[u8]) -> Result<Vec<u8>, Problem> {
    let mut value: Value = serde_json::from_slice(bytes).map_err(|error| malformed(bytes, &error))?;
    make_whole(&mut value);
    serde_json::to_vec(&value).map_err(|error| Problem::fault(&error))
}

fn make_whole(value: &mut Value) {
    match value {
        Value::Array(items) => items.iter_mut().for_each(make_whole),
        Value::Object(members) => members.values_mut().for_each(make_whole),
        Value::Number(number) => {
            #[expect(clippy::cast_possible_truncation, reason = "checked to be whole and small")]
            if let Some(float) = number.as_f64().filter(|_| number.is_f64())
                && float.fract() == 0.0
                && float.abs() < 9e15
            {
                *value = Value::from(float as i64);
            }
        }
        Value::Null | Value::Bool(_) | Value::String(_) => {}
    }
}

#[cfg(test)]
mod tests {
    use super::canonical;

    #[test]
    fn bodies_with_different_passwords_are_different() {
        for member in ["password", "current_password"] {
            let of = |secret: &str| canonical(format!("{{\"{member}\":\"{secret}\"}}").as_bytes()).unwrap();
            assert_ne!(of("one"), of("other"));
        }
    }

    #[test]
    fn bodies_that_mean_the_same_are_the_same() {
        let same = [r#"{"a":1,"b":[2,"x"]}"#, r#"{ "b" : [2.0, "x"], "a": 1e0 }"#];
        assert_eq!(
            canonical(same[0].as_bytes()).unwrap(),
            canonical(same[1].as_bytes()).unwrap()
        );
        for other in [
            r#"{"a":1.5,"b":[2,"x"]}"#,
            r#"{"a":"1","b":[2,"x"]}"#,
            r#"{"a":1,"b":["x",2]}"#,
        ] {
            assert_ne!(
                canonical(same[0].as_bytes()).unwrap(),
                canonical(other.as_bytes()).unwrap()
            );
        }
    }
}

//! Old payloads, read for ever: the one place that turns a payload of an older version into the newest shape.
//! `tests/data/events/` holds a stored sample of every version of every kind.

use crate::event::{Event, Unreadable};
use std::borrow::Cow;

/// One step: the payload of `kind` at version `from`, written as version `from + 1`.
type Step = (&'static str, u16, fn(serde_json::Value) -> serde_json::Value);

const STEPS: &[Step] = &[("plan.posted", 1, without_loads)];

/// A plan said only when spindles cut.
fn without_loads(mut payload: serde_json::Value) -> serde_json::Value {
    payload["loads"] = serde_json::json!([]);
    payload["lines"] = serde_json::json!([]);
    payload
}

/// The payload in the newest shape of its kind.
pub(crate) fn to_newest<'a>(kind: &str, schema: u16, payload: &'a [u8]) -> Result<Cow<'a, [u8]>, Unreadable> {
    climb(STEPS, Event::KINDS, kind, schema, payload)
}

fn climb<'a>(
    steps: &[Step],
    kinds: &[(&str, u16)],
    kind: &str,
    schema: u16,
    payload: &'a [u8],
) -> Result<Cow<'a, [u8]>, Unreadable> {
    let unknown = || Unreadable::UnknownKind {
        kind: kind.to_owned(),
        schema,
    };
    let unreadable = |reason: String| Unreadable::Payload {
        kind: kind.to_owned(),
        schema,
        reason,
    };
    let newest = kinds
        .iter()
        .find(|(known, _)| *known == kind)
        .map(|(_, newest)| *newest)
        .ok_or_else(unknown)?;
    if schema == newest {
        return Ok(Cow::Borrowed(payload));
    }
    if schema > newest || schema == 0 {
        return Err(unknown());
    }
    let mut value = serde_json::from_slice(payload).map_err(|error| unreadable(error.to_string()))?;
    for version in schema..newest {
        let step = steps
            .iter()
            .find(|(known, from, _)| *known == kind && *from == version);
        let (_, _, raise) = step.ok_or_else(|| unreadable(format!("no step from version {version}")))?;
        value = raise(value);
    }
    serde_json::to_vec(&value)
        .map(Cow::Owned)
        .map_err(|error| unreadable(error.to_string()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::{Value, json};

    fn seconds_to_micros(mut payload: Value) -> Value {
        let micros = payload["at_s"].as_i64().unwrap() * 1_000_000;
        payload.as_object_mut().unwrap().remove("at_s");
        payload["at_us"] = json!(micros);
        payload
    }

    fn add_reason(mut payload: Value) -> Value {
        payload["reason"] = json!("other");
        payload
    }

    const STEPS: &[Step] = &[
        ("thing.done", 1, seconds_to_micros),
        ("thing.done", 2, add_reason),
    ];
    const KINDS: &[(&str, u16)] = &[("thing.done", 3)];

    fn read(schema: u16, payload: &str) -> Result<Value, Unreadable> {
        climb(STEPS, KINDS, "thing.done", schema, payload.as_bytes())
            .map(|p| serde_json::from_slice(&p).unwrap())
    }

    #[test]
    fn an_old_payload_climbs_every_step() {
        assert_eq!(
            read(1, r#"{"at_s":2}"#),
            Ok(json!({"at_us": 2_000_000, "reason": "other"}))
        );
        assert_eq!(
            read(2, r#"{"at_us":7}"#),
            Ok(json!({"at_us": 7, "reason": "other"}))
        );
    }

    #[test]
    fn the_newest_payload_is_not_touched() {
        let payload = br#"{ "reason":"x" }"#;
        assert!(
            matches!(climb(STEPS, KINDS, "thing.done", 3, payload), Ok(Cow::Borrowed(p)) if p == payload)
        );
    }

    #[test]
    fn a_version_from_the_future_and_an_unknown_kind_are_refused() {
        assert!(matches!(
            read(4, "{}"),
            Err(Unreadable::UnknownKind { schema: 4, .. })
        ));
        assert!(matches!(
            climb(STEPS, KINDS, "thing.lost", 1, b"{}"),
            Err(Unreadable::UnknownKind { .. })
        ));
    }

    #[test]
    fn a_missing_step_is_told() {
        let gap = climb(&STEPS[1..], KINDS, "thing.done", 1, br#"{"at_s":2}"#);
        assert!(matches!(gap, Err(Unreadable::Payload { reason, .. }) if reason.contains("version 1")));
    }
}

//! `tests/data/events/` holds a stored payload of every version of every kind. Each must read for ever, and the
//! newest must be written again as the very same bytes: a change of shape without a new version fails here.

use crate::event::Event;
use std::collections::BTreeSet;
use std::path::PathBuf;

fn samples() -> Vec<(String, u16, Vec<u8>)> {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../tests/data/events");
    let files = std::fs::read_dir(folder)
        .unwrap()
        .map(|file| file.unwrap().path());
    let json = files.filter(|path| path.extension().is_some_and(|extension| extension == "json"));
    json.map(|path| {
        let stem = path.file_stem().unwrap().to_str().unwrap().to_owned();
        let (kind, schema) = stem.rsplit_once(".v").unwrap();
        (
            kind.to_owned(),
            schema.parse().unwrap(),
            std::fs::read(&path).unwrap(),
        )
    })
    .collect()
}

#[test]
fn every_version_of_every_kind_has_a_sample() {
    let there: BTreeSet<_> = samples()
        .into_iter()
        .map(|(kind, schema, _)| (kind, schema))
        .collect();
    let versions =
        |(kind, newest): &(&str, u16)| (1..=*newest).map(|version| (kind.to_string(), version)).collect();
    let wanted: BTreeSet<_> = Event::KINDS
        .iter()
        .flat_map(|kind| -> Vec<_> { versions(kind) })
        .collect();
    assert_eq!(there, wanted);
}

#[test]
fn every_sample_reads_and_the_newest_is_written_as_the_same_bytes() {
    for (kind, schema, payload) in samples() {
        let event = Event::decode(&kind, schema, &payload).unwrap();
        assert_eq!(event.kind(), kind);
        if schema == event.schema() {
            let written = String::from_utf8(event.encode().unwrap()).unwrap();
            assert_eq!(written, String::from_utf8(payload).unwrap(), "{kind}");
        }
    }
}

#[test]
fn an_unknown_field_is_not_dropped_in_silence() {
    let payload = br#"{"plan":"01936b7e-5f00-7000-8000-0000000000f1","reason":"new"}"#;
    assert!(Event::decode("plan.published", 1, payload).is_err());
}

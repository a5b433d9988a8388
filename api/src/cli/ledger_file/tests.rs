use super::{EntryLine, HeadLine, HeaderLine, check, head};
use crate::auth::SigningKey;
use spindlebook_domain::actor::Actor;
use spindlebook_domain::cell::{CellAdded, CellKind};
use spindlebook_domain::entry::{Entry, Envelope, GENESIS, Hash, hash};
use spindlebook_domain::event::Event;
use spindlebook_domain::ids::{CellId, CommandId, SiteId};
use spindlebook_domain::time::Timestamp;
use std::fs;
use std::path::PathBuf;
use uuid::Uuid;

const SITE: SiteId = SiteId(Uuid::from_u128(7));

struct File(PathBuf);

impl Drop for File {
    fn drop(&mut self) {
        let _ = fs::remove_file(&self.0);
    }
}

impl File {
    fn of(lines: &[String]) -> Self {
        let path = std::env::temp_dir().join(format!("spindlebook-ledger-{}.jsonl", Uuid::new_v4()));
        fs::write(&path, lines.join("\n") + "\n").unwrap();
        Self(path)
    }

    fn faults(&self) -> Vec<String> {
        match check(&self.0, |_| ()) {
            Ok(checked) => checked.faults,
            Err(why) => vec![why],
        }
    }
}

fn entry(seq: u64, previous: &Hash) -> Entry {
    let event = Event::from(CellAdded {
        cell: CellId(Uuid::from_u128(u128::from(seq))),
        code: format!("C{seq}").parse().unwrap(),
        name: "Cell \"ü\"".parse().unwrap(),
        kind: CellKind::Standalone,
    });
    let envelope = Envelope {
        seq,
        id: Uuid::from_u128(100 + u128::from(seq)),
        command_id: CommandId(Uuid::from_u128(200)),
        kind: event.kind().to_owned(),
        schema: event.schema(),
        occurred_at: Timestamp(1_793_599_200_000_001),
        recorded_at: Timestamp(1_793_599_200_000_002),
        actor: Actor::System,
        device: (seq > 1).then(|| "tablet".to_owned()),
    };
    let payload = event.encode().unwrap();
    Entry {
        hash: hash(previous, &envelope, &payload),
        envelope,
        payload,
    }
}

fn exported(entries: u64) -> Vec<String> {
    let mut lines = vec![serde_json::to_string(&HeaderLine::new(SITE, "north", Timestamp::MIN)).unwrap()];
    let mut last = GENESIS;
    for seq in 1..=entries {
        let entry = entry(seq, &last);
        last = entry.hash;
        lines.push(serde_json::to_string(&EntryLine::new(entry).unwrap()).unwrap());
    }
    let head = HeadLine::new(SITE, entries, &last, &SigningKey::from_bytes(&[9; 32]));
    lines.push(serde_json::to_string(&head).unwrap());
    lines
}

#[test]
fn what_was_exported_is_sound_and_names_its_signer() {
    let file = File::of(&exported(3));
    let checked = check(&file.0, |_| ()).unwrap();
    assert_eq!((checked.entries, checked.faults), (3, Vec::<String>::new()));
    let key = SigningKey::from_bytes(&[9; 32]).public_key();
    assert_eq!(checked.signer, Some(key));
    let (site, exported, signer) = head(&file.0).unwrap();
    assert_eq!((site, exported.seq, signer), (SITE, 3, key));
}

type Change<'a> = &'a dyn Fn(&mut Vec<String>);

#[test]
fn whatever_is_changed_taken_out_or_cut_off_is_found() {
    let sound = exported(4);
    let changed = |change: Change| {
        let mut lines = sound.clone();
        change(&mut lines);
        File::of(&lines).faults()
    };
    let cases: [(Change, &str); 9] = [
        (
            &|lines| lines[2] = lines[2].replace("C2", "C9"),
            "entry 2: its hash does not follow",
        ),
        (
            &|lines| lines[2] = lines[2].replace("1793599200000001", "1793599200000003"),
            "entry 2: its hash",
        ),
        (
            &|lines| lines[3] = lines[3].replace("tablet", "tablot"),
            "entry 3: its hash",
        ),
        (&|lines| drop(lines.remove(2)), "expected entry 2, found entry 3"),
        (&|lines| lines.swap(2, 3), "expected entry 2, found entry 3"),
        (
            &|lines| drop(lines.remove(4)),
            "the head tells of entry 4, the file ends otherwise, with entry 3",
        ),
        (&|lines| drop(lines.pop()), "its last line is no signed head"),
        (
            &|lines| lines[5] = lines[5].replace("\"seq\":4", "\"seq\":3"),
            "its signature does not fit",
        ),
        (
            &|lines| lines[0] = lines[0].replace("ledger/1", "ledger/2"),
            "spindlebook-ledger/2",
        ),
    ];
    for (change, told) in cases {
        let faults = changed(change);
        assert!(
            faults.iter().any(|fault| fault.contains(told)),
            "{told}: {faults:?}"
        );
    }
}

/// A ledger written anew holds together, but not under the signature of the old one.
#[test]
fn a_head_cannot_be_signed_by_somebody_else_in_the_name_of_the_site() {
    let mut lines = exported(3);
    let mut head: HeadLine = serde_json::from_str(&lines[4]).unwrap();
    head.public_key = {
        let other = HeadLine::new(SITE, 3, &GENESIS, &SigningKey::from_bytes(&[1; 32]));
        other.public_key
    };
    lines[4] = serde_json::to_string(&head).unwrap();
    assert!(
        File::of(&lines)
            .faults()
            .iter()
            .any(|fault| fault.contains("its signature does not fit"))
    );
}

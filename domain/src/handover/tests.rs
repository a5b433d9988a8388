use super::{ConfirmHandover, NoteHandover};
use crate::actor::Actor;
use crate::command::{Command, Context};
use crate::entry::EntryMeta;
use crate::event::Event;
use crate::ids::{Seq, TextId};
use crate::note::NoteRef;
use crate::refusal::Refusal;
use crate::shop::given::{Given, a_small_shop, cell, principal, refused};
use uuid::Uuid;

fn by(given: &Given, person: u8, command: impl Into<Command>) -> Result<Vec<Event>, Refusal> {
    let context = Context {
        now: given.now,
        actor: Actor::Person(principal(person)),
        login_taken: false,
        stretches: &given.stretches,
    };
    given.shop.decide(&command.into(), &context)
}

fn does(given: &mut Given, person: u8, command: impl Into<Command>) {
    for event in by(given, person, command).unwrap() {
        let meta = EntryMeta {
            seq: given.shop.seq + 1,
            occurred_at: given.now,
            recorded_at: given.now,
            actor: Actor::Person(principal(person)),
        };
        given.shop.apply(&event, &meta);
    }
}

fn note(number: u8) -> NoteHandover {
    NoteHandover {
        cell: cell(number),
        note: NoteRef::new(TextId(Uuid::from_u128(7)), &[1; 16], "Clamp 3 is loose"),
    }
}

fn confirm(number: u8, as_of: Seq) -> ConfirmHandover {
    ConfirmHandover {
        cell: cell(number),
        as_of,
    }
}

#[test]
fn every_refusal_of_confirming_in_its_order() {
    let mut given = a_small_shop();
    let before = given.seq();
    assert_eq!(refused(by(&given, 1, note(77))), "cell.unknown");
    assert_eq!(refused(by(&given, 1, confirm(77, before))), "cell.unknown");
    assert_eq!(refused(by(&given, 1, confirm(1, before + 1))), "handover.ahead");
    does(&mut given, 1, note(1));
    assert_eq!(
        refused(by(&given, 1, confirm(1, before))),
        "handover.note-not-read"
    );
    assert_eq!(
        refused(by(&given, 1, confirm(1, before + 1))),
        "handover.own-note"
    );
    assert!(
        by(&given, 2, confirm(2, before)).is_ok(),
        "another cell has no note"
    );
}

#[test]
fn a_confirmed_handover_takes_its_note_with_it() {
    let mut given = a_small_shop();
    does(&mut given, 1, note(1));
    let read = given.seq();
    does(&mut given, 2, confirm(1, read));
    let handover = given.shop.handovers.get(&cell(1)).unwrap();
    assert_eq!(handover.note, None);
    assert_eq!(
        handover.last.as_ref().unwrap().by,
        Actor::Person(principal(2)).to_string()
    );
    does(&mut given, 2, note(1));
    let again = given.seq();
    assert!(by(&given, 1, confirm(1, again)).is_ok());
}

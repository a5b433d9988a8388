//! A tablet, who held it, what it brought, and how a cell was handed over.

use spindlebook_domain::command::Command;
use spindlebook_domain::device::{
    ActSetAside, BeginBadge, Contact, DeliveredAct, EndBadge, PlaceAct, ReportContact, SetActAside, SetPin,
    UnlockPin,
};
use spindlebook_domain::handover::{ConfirmHandover, NoteHandover};
use spindlebook_domain::ids::{BadgeId, CellId, CommandId, PrincipalId, TextId};
use spindlebook_domain::note::NoteRef;
use spindlebook_domain::time::Timestamp;
use uuid::Uuid;

/// `at`: before any of it is told.
pub fn tablets(device: PrincipalId, person: PrincipalId, cell: CellId, at: Timestamp) -> Vec<Command> {
    let note = |text: &str| NoteRef::new(TextId(Uuid::now_v7()), &rand::random(), text);
    let badge = |claimed_since| BeginBadge {
        badge: BadgeId(Uuid::now_v7()),
        device,
        person,
        claimed_since,
    };
    let (claimed, dropped) = (badge(Some(at.plus_s(-600))), badge(None));
    let end = EndBadge { badge: dropped.badge };
    let key = CommandId(Uuid::now_v7());
    let contact = Contact {
        clock: at.plus_s(420),
        received_at: at,
    };
    let unplaced = ActSetAside {
        key,
        device,
        person,
        device_time: Timestamp(600_000_000),
        received_at: at,
        request: note("{}"),
    };
    vec![
        SetPin { person }.into(),
        UnlockPin { person }.into(),
        claimed.into(),
        dropped.into(),
        end.into(),
        ReportContact {
            device,
            contact,
            acts: vec![DeliveredAct { key, at }],
        }
        .into(),
        SetActAside {
            act: unplaced.clone(),
        }
        .into(),
        SetActAside {
            act: ActSetAside {
                key: CommandId(Uuid::now_v7()),
                ..unplaced
            },
        }
        .into(),
        PlaceAct {
            key,
            at: at.plus_s(-60),
        }
        .into(),
        ConfirmHandover { cell, as_of: 1 }.into(),
        NoteHandover {
            cell,
            note: note("Clamp 3 is loose"),
        }
        .into(),
    ]
}

use super::dto::{DownBody, MachineSetDownDto, at_or_now};
use crate::auth::op;
use crate::book::PrivateRows;
use crate::http::ask::site_of;
use crate::http::command::{Act, Outcome, Reply, new_id};
use actix_web::post;
use actix_web::web::Path;
use spindlebook_domain::ids::{MachineId, TextId};
use spindlebook_domain::machine::SetMachineDown;
use spindlebook_domain::note::NoteRef;
use spindlebook_store::private::PrivateText;
use uuid::Uuid;

/// Set a machine down
///
/// A person says that it cannot work, since when and why. Where its own signals say that it is in cycle all the same,
/// those count, and the contradiction is told.
#[utoipa::path(
    operation_id = "setMachineDown",
    tag = "Machines",
    params(("id" = Uuid, Path, description = "The machine")),
    request_body = DownBody,
    responses((status = 200, description = "The machine as it is now", body = MachineSetDownDto))
)]
#[post("/v1/machines/{id}/down")]
pub async fn set_machine_down(act: Act<op::SetMachineDown, DownBody>, id: Path<Uuid>) -> Outcome {
    let machine = MachineId(id.into_inner());
    let zone = site_of(&act.caller.shop)?.zone;
    let DownBody {
        at,
        at_local,
        reason,
        note,
    } = act.body;
    let at = at_or_now(zone, at, at_local, act.draft.now())?;
    let text = note.map(|note| PrivateText {
        id: TextId(new_id()),
        salt: rand::random(),
        body: Some(note.0),
        forgotten_at: None,
    });
    let note = text
        .as_ref()
        .map(|text| NoteRef::new(text.id, &text.salt, text.body.as_deref().unwrap_or_default()));
    let note_id = text.as_ref().map(|text| text.id);
    let command = SetMachineDown {
        machine,
        at,
        reason: reason.into(),
        note,
    };
    let private = PrivateRows {
        texts: text.into_iter().collect(),
        account: None,
    };
    act.draft
        .occurred_at(Some(at))
        .with_private(private)
        .submit(command, move |accepted| {
            let machine = accepted.shop.machines.get(&machine)?;
            let shown = MachineSetDownDto {
                machine: machine.into(),
                note: note_id,
            };
            Some(Reply::ok(&shown).at(machine.changed_seq))
        })
        .await
}

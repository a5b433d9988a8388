use super::dto::LineActedDto;
use super::line_body::ChangeLineBody;
use crate::auth::op;
use crate::http::command::{Act, Outcome, Reply};
use actix_web::put;
use actix_web::web::Path;
use spindlebook_domain::ids::OrderId;
use uuid::Uuid;

/// Change quantity, date or priority of a line
///
/// After release too. `If-Match` takes the version of the line or of its preview: if pieces have moved since, it is
/// refused, so that nobody decides on an older picture. What is shipped cannot be ordered less; what is made beyond the
/// new quantity is surplus.
#[utoipa::path(
    operation_id = "changeLine",
    tag = "Orders",
    params(("id" = Uuid, Path, description = "The order"), ("number" = u32, Path, description = "The line")),
    request_body = ChangeLineBody,
    responses((status = 200, description = "The line as it is now", body = LineActedDto))
)]
#[put("/v1/orders/{id}/lines/{number}")]
pub async fn change_line(act: Act<op::ChangeLine, ChangeLineBody>, path: Path<(Uuid, u32)>) -> Outcome {
    let (id, number) = path.into_inner();
    let order = OrderId(id);
    let expected = act.draft.if_match()?;
    let command = act.body.into_command(order, number, expected);
    act.draft
        .submit(command, move |accepted| {
            let shown = LineActedDto::of(accepted, order, number)?;
            Some(match &shown.line {
                Some(line) => Reply::ok(&shown).at(line.version),
                None => Reply::ok(&shown),
            })
        })
        .await
}

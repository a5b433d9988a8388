use super::aside::Request;
use super::dto::{SetAsideDto, SetAsidePage};
use crate::auth::op;
use crate::http::ask::Ask;
use crate::http::page::{Listing, PageQuery, limit};
use crate::http::parameters::Parameters;
use crate::http::shown::Shown;
use crate::problem::Problem;
use actix_web::get;
use spindlebook_store::private;
use std::collections::HashMap;

/// List acts that wait for their time
///
/// In the order in which they came. What a tablet's clock said of them cannot be; no hour counts them until somebody says
/// when they were.
#[utoipa::path(
    operation_id = "listSetAsideActs", tag = "Tablets", params(PageQuery),
    responses((status = 200, description = "A page of acts", body = SetAsidePage))
)]
#[get("/v1/acts/set-aside")]
pub async fn list_set_aside_acts(
    ask: Ask<op::ListSetAsideActs>,
    query: Parameters<PageQuery>,
) -> Result<Shown, Problem> {
    let listing = Listing::of("set-aside acts", &());
    let after = listing.after(query.0.cursor.as_deref())?;
    let mut waiting: Vec<_> = ask.shop.set_aside.values().collect();
    waiting.sort_by_key(|act| act.seq);
    let (page, next_cursor) = listing.page(waiting, after.as_ref(), limit(query.0.limit), |act| act.seq)?;
    let ids: Vec<_> = page.iter().map(|act| act.act.request.text).collect();
    let mut session = ask.book.store().session().await?;
    let texts = private::texts(&mut session, ask.caller.site, &ids).await?;
    let texts: HashMap<_, _> = texts
        .into_iter()
        .filter_map(|text| Some((text.id, text.body?)))
        .collect();
    let shown = page.into_iter().map(|waiting| {
        let text = texts.get(&waiting.act.request.text);
        let request = text.and_then(|text| serde_json::from_str::<Request>(text).ok());
        SetAsideDto::new(waiting, request)
    });
    let items = shown.collect();
    Ok(Shown::new(&SetAsidePage { items, next_cursor })?.personal())
}

//! A request that changes nothing: who asks, and the site as it is read.

use crate::auth::guard::part;
use crate::auth::{Caller, Permit, SiteSeq};
use crate::book::Book;
use crate::hours::HoursSource;
use crate::problem::{Code, FieldError, Place, Problem};
use actix_web::dev::Payload;
use actix_web::web::Data;
use actix_web::{FromRequest, HttpMessage, HttpRequest};
use spindlebook_domain::ids::Seq;
use spindlebook_domain::refusal::Refusal;
use spindlebook_domain::shop::Shop;
use spindlebook_domain::site::{Site, SiteRefusal};
use std::future::Future;
use std::pin::Pin;
use std::sync::Arc;
use std::time::Duration;

/// A read may ask for the site as it is after this entry, which another process may have written just now.
pub const MIN_SEQ: &str = "min-seq";
const MIN_SEQ_WITHIN: Duration = Duration::from_secs(2);

pub struct Ask<O> {
    pub caller: Caller<O>,
    pub book: Data<Book>,
    /// The site after the last commit, or after the entry asked for.
    pub shop: Arc<Shop>,
}

impl<O> Ask<O> {
    pub fn site(&self) -> Result<&Site, Problem> {
        site_of(&self.shop)
    }

    /// What the site's hours are computed from, as of now.
    pub fn hours_source(&self) -> HoursSource {
        HoursSource {
            site: self.caller.site,
            shop: Arc::clone(&self.shop),
            as_of: self.book.now(),
            rebuilds: self.book.rebuilds(self.caller.site),
        }
    }
}

/// The site's own facts, which its first entry brings.
pub fn site_of(shop: &Shop) -> Result<&Site, Problem> {
    let not_opened = || Problem::from(Refusal::from(SiteRefusal::NotOpened {}));
    shop.site.as_ref().ok_or_else(not_opened)
}

impl<O: Permit> FromRequest for Ask<O> {
    type Error = Problem;
    type Future = Pin<Box<dyn Future<Output = Result<Self, Problem>>>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        let request = request.clone();
        Box::pin(async move { read_ask(&request).await })
    }
}

pub(super) async fn read_ask<O: Permit>(request: &HttpRequest) -> Result<Ask<O>, Problem> {
    let caller = Caller::<O>::of(request)?;
    let book = part::<Book>(request)?.clone();
    let mut shop = Arc::clone(&caller.shop);
    if let Some(least) = min_seq_of(request)?.filter(|least| *least > shop.seq) {
        let reached = book.current_at(caller.site, least, MIN_SEQ_WITHIN).await;
        shop = reached
            .map(|current| current.shop)
            .ok_or_else(|| not_reached(least))?;
        request.extensions_mut().insert(SiteSeq(shop.seq));
    }
    Ok(Ask { caller, book, shop })
}

fn min_seq_of(request: &HttpRequest) -> Result<Option<Seq>, Problem> {
    let Some(value) = request.headers().get(MIN_SEQ) else {
        return Ok(None);
    };
    let seq = value.to_str().ok().and_then(|text| text.parse().ok());
    seq.map(Some).ok_or_else(|| {
        let detail = "Min-Seq takes the number of an entry, as X-Site-Seq gave it.";
        let field = FieldError::at(Place::Header("Min-Seq"), "invalid", detail);
        Problem::new(Code::HeaderInvalid, detail).with_field(field)
    })
}

fn not_reached(least: Seq) -> Problem {
    let detail = format!(
        "Entry {least} has not arrived here within {} s.",
        MIN_SEQ_WITHIN.as_secs()
    );
    Problem::new(Code::SeqNotReached, detail)
        .with("min_seq", least)
        .with_retry_after_s(1)
}

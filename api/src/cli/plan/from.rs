//! The ledger that is planned from.

use crate::book::Book;
use crate::cli::failure::Failure;
use crate::cli::place::PlaceArgs;
use crate::planning::Ground;
use spindlebook_domain::ids::SiteId;

pub struct Opened {
    pub book: Book,
    pub site: SiteId,
    pub ground: Ground,
}

pub async fn open(place: &PlaceArgs) -> Result<Opened, Failure> {
    let (book, site) = place.choose()?.book_and_site().await?;
    let shop = book.shop(site).unwrap_or_default();
    let ground = Ground::of(&book, site, shop, &[]).await?;
    let ground = ground.ok_or_else(|| Failure::refused("this site's ledger is empty"))?;
    Ok(Opened { book, site, ground })
}

use crate::book::Book;
use crate::http::shown::Shown;
use crate::http::text;
use crate::problem::{Code, Problem};
use actix_web::get;
use actix_web::web::Data;
use serde::Serialize;
use spindlebook_domain::ids::{Seq, SiteId};
use spindlebook_store::site::{self, SiteRow};
use utoipa::ToSchema;

#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({
    "status": "ready", "storage": "SQLite",
    "sites": [{
        "id": "01936b5e-5c00-7000-8000-000000000001", "seq": 4211, "head_seq": 4211, "lag": 0,
        "chain_head": "9f86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a08"
    }]
}))]
pub struct Readiness {
    #[schema(max_length = 5)]
    pub status: &'static str,
    /// Which database it is; it has just answered.
    #[schema(max_length = 20)]
    pub storage: &'static str,
    #[schema(max_items = 1_000)]
    pub sites: Vec<SiteReadiness>,
}

#[derive(Debug, Serialize, ToSchema)]
pub struct SiteReadiness {
    #[schema(value_type = uuid::Uuid)]
    pub id: SiteId,
    /// The entry up to which this process has read.
    #[schema(value_type = text::Seq)]
    pub seq: Seq,
    /// The newest entry in the database.
    #[schema(value_type = text::Seq)]
    pub head_seq: Seq,
    /// How many entries another process wrote that this one has not read yet.
    pub lag: u64,
    /// The hash of the newest entry in the database.
    #[schema(max_length = 64, pattern = "^[0-9a-f]{64}$")]
    pub chain_head: String,
}

/// Say whether the service can do its work
///
/// The database answers and every site takes commands. Else 503, which says what is wrong.
#[utoipa::path(
    operation_id = "getReadiness",
    tag = "Health",
    responses((status = 200, description = "It is ready", body = Readiness))
)]
#[get("/health/ready")]
pub async fn get_readiness(book: Data<Book>) -> Result<Shown, Problem> {
    let rows = site::all(&mut book.store().session().await?).await?;
    let sites: Result<Vec<_>, Problem> = rows.iter().map(|row| of_site(&book, row)).collect();
    Shown::new(&Readiness {
        status: "ready",
        storage: book.store().engine(),
        sites: sites?,
    })
}

/// A site that this process has not opened counts as not read at all.
fn of_site(book: &Book, row: &SiteRow) -> Result<SiteReadiness, Problem> {
    let current = book.current(row.id);
    if let Some(reason) = current.as_ref().and_then(|current| current.halted.as_ref()) {
        let detail = format!("The site {} can only be read: {reason}.", row.id);
        return Err(Problem::new(Code::Halted, detail).with_retry_after_s(60));
    }
    let seq = current.map_or(0, |current| current.head.seq);
    Ok(SiteReadiness {
        id: row.id,
        seq,
        head_seq: row.head.seq,
        lag: row.head.seq.saturating_sub(seq),
        chain_head: hex::encode(row.head.hash),
    })
}

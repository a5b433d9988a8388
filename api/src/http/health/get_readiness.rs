use crate::book::Book;
use crate::http::shown::Shown;
use crate::problem::{Code, Problem};
use actix_web::get;
use actix_web::web::Data;
use serde::Serialize;
use spindlebook_domain::ids::{Seq, SiteId};
use spindlebook_store::site::{self, SiteRow};
use utoipa::ToSchema;

#[derive(Debug, Serialize, ToSchema)]
#[schema(example = json!({"status": "ready", "storage": "SQLite"}))]
pub struct Readiness {
    #[schema(max_length = 5)]
    pub status: &'static str,
    /// Which database it is; it has just answered.
    #[schema(max_length = 20)]
    pub storage: &'static str,
}

/// The same for administrators, on their own listener.
#[derive(Debug, Serialize)]
pub struct DetailedReadiness {
    #[serde(flatten)]
    readiness: Readiness,
    sites: Vec<SiteReadiness>,
}

#[derive(Debug, Serialize)]
pub struct SiteReadiness {
    pub id: SiteId,
    /// The entry up to which this process has read.
    pub seq: Seq,
    /// The newest entry in the database.
    pub head_seq: Seq,
    /// How many entries another process wrote that this one has not read yet.
    pub lag: u64,
    /// The hash of the newest entry in the database.
    pub chain_head: String,
}

/// Say whether the service can do its work
///
/// The database answers and every site takes commands; else 503. It names no site: how much a shop writes is for
/// nobody outside. How far each site has been read is told where administrators read the figures of the service.
#[utoipa::path(
    operation_id = "getReadiness",
    tag = "Health",
    responses((status = 200, description = "It is ready", body = Readiness))
)]
#[get("/health/ready")]
pub async fn get_readiness(book: Data<Book>) -> Result<Shown, Problem> {
    let (readiness, rows) = look(&book).await?;
    if rows.iter().any(|row| halted(&book, row).is_some()) {
        let detail = "A site can only be read at present; the service's log says why.";
        return Err(Problem::new(Code::Halted, detail).with_retry_after_s(60));
    }
    Shown::new(&readiness)
}

/// For the listener of administrators, which asks nobody to sign in.
pub async fn show_details(book: Data<Book>) -> Result<Shown, Problem> {
    let (readiness, rows) = look(&book).await?;
    let sites: Result<Vec<_>, Problem> = rows.iter().map(|row| of_site(&book, row)).collect();
    Shown::new(&DetailedReadiness {
        readiness,
        sites: sites?,
    })
}

async fn look(book: &Book) -> Result<(Readiness, Vec<SiteRow>), Problem> {
    let rows = site::all(&mut book.store().session().await?).await?;
    let readiness = Readiness {
        status: "ready",
        storage: book.store().engine(),
    };
    Ok((readiness, rows))
}

fn halted(book: &Book, row: &SiteRow) -> Option<String> {
    book.current(row.id)?.halted.as_ref().map(ToString::to_string)
}

/// A site that this process has not opened counts as not read at all.
fn of_site(book: &Book, row: &SiteRow) -> Result<SiteReadiness, Problem> {
    if let Some(reason) = halted(book, row) {
        let detail = format!("The site {} can only be read: {reason}.", row.id);
        return Err(Problem::new(Code::Halted, detail).with_retry_after_s(60));
    }
    let seq = book.current(row.id).map_or(0, |current| current.head.seq);
    Ok(SiteReadiness {
        id: row.id,
        seq,
        head_seq: row.head.seq,
        lag: row.head.seq.saturating_sub(seq),
        chain_head: hex::encode(row.head.hash),
    })
}

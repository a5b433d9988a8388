//! Plans that are being computed. The process that computes one beats now and then; whoever asks sees it in any process.

use crate::connection::{Session, Transaction, on_either};
use crate::error::StoreError;
use spindlebook_domain::ids::{PlanId, SiteId};
use spindlebook_domain::time::Timestamp;
use uuid::Uuid;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum State {
    /// Others are being computed.
    Waiting,
    Running,
    Done,
    Failed,
}

/// Everything of a computation but its result, which may be large.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Computation {
    /// Its plan has the same id.
    pub id: PlanId,
    /// Of the request, so that a key is not used for another one.
    pub fingerprint: Vec<u8>,
    pub state: State,
    pub stop_asked: bool,
    pub asked_by: String,
    pub asked_at: Timestamp,
    /// When its process last said that it is at it.
    pub beat_at: Timestamp,
    pub ended_at: Option<Timestamp>,
    /// JSON.
    pub progress: Option<String>,
    pub failure: Option<String>,
}

/// What came of it, both JSON: for whoever reads it, and for the ledger.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Found {
    pub result: String,
    pub plan: String,
}

type Columns = (
    Uuid,
    Vec<u8>,
    String,
    i64,
    String,
    i64,
    i64,
    Option<i64>,
    Option<String>,
    Option<String>,
);

impl State {
    const ALL: [(Self, &'static str); 4] = [
        (Self::Waiting, "waiting"),
        (Self::Running, "running"),
        (Self::Done, "done"),
        (Self::Failed, "failed"),
    ];

    pub fn as_str(self) -> &'static str {
        Self::ALL
            .iter()
            .find(|(state, _)| *state == self)
            .map_or("", |(_, name)| name)
    }

    fn of(name: &str) -> Result<Self, StoreError> {
        let found = Self::ALL.iter().find(|(_, known)| *known == name);
        let unknown = || StoreError::Unreadable(format!("table computation: there is no state {name}"));
        found.map(|(state, _)| *state).ok_or_else(unknown)
    }
}

/// False: there is one with this id already.
pub async fn add(transaction: &mut Transaction, site: SiteId, new: &Computation) -> Result<bool, StoreError> {
    const INSERT: &str = "INSERT INTO computation \
        (site_id, id, fingerprint, state, stop_asked, asked_by, asked_at, beat_at) \
        VALUES ($1, $2, $3, $4, 0, $5, $6, $7) ON CONFLICT DO NOTHING";
    let added = on_either!(transaction, |connection| sqlx::query(INSERT)
        .bind(site.0)
        .bind(new.id.0)
        .bind(new.fingerprint.clone())
        .bind(new.state.as_str())
        .bind(new.asked_by.clone())
        .bind(new.asked_at.us())
        .bind(new.beat_at.us())
        .execute(connection)
        .await
        .map(|done| done.rows_affected()))?;
    Ok(added > 0)
}

pub async fn find(
    session: &mut Session,
    site: SiteId,
    id: PlanId,
) -> Result<Option<Computation>, StoreError> {
    const SELECT: &str = "SELECT id, fingerprint, state, stop_asked, asked_by, asked_at, beat_at, ended_at, progress, failure \
                          FROM computation WHERE site_id = $1 AND id = $2";
    let row: Option<Columns> = on_either!(session, |connection| sqlx::query_as(SELECT)
        .bind(site.0)
        .bind(id.0)
        .fetch_optional(connection)
        .await)?;
    row.map(Computation::from_columns).transpose()
}

/// The newest first.
pub async fn newest(session: &mut Session, site: SiteId, limit: u32) -> Result<Vec<Computation>, StoreError> {
    const SELECT: &str = "SELECT id, fingerprint, state, stop_asked, asked_by, asked_at, beat_at, ended_at, progress, failure \
                          FROM computation WHERE site_id = $1 ORDER BY asked_at DESC, id DESC LIMIT $2";
    let rows: Vec<Columns> = on_either!(session, |connection| sqlx::query_as(SELECT)
        .bind(site.0)
        .bind(i64::from(limit))
        .fetch_all(connection)
        .await)?;
    rows.into_iter().map(Computation::from_columns).collect()
}

pub async fn found(session: &mut Session, site: SiteId, id: PlanId) -> Result<Option<Found>, StoreError> {
    const SELECT: &str = "SELECT result, plan FROM computation \
                          WHERE site_id = $1 AND id = $2 AND result IS NOT NULL AND plan IS NOT NULL";
    let row: Option<(String, String)> = on_either!(session, |connection| sqlx::query_as(SELECT)
        .bind(site.0)
        .bind(id.0)
        .fetch_optional(connection)
        .await)?;
    Ok(row.map(|(result, plan)| Found { result, plan }))
}

/// It goes on, and this is the best so far. Tells whether somebody asked it to stop.
pub async fn beat(
    transaction: &mut Transaction,
    site: SiteId,
    id: PlanId,
    at: Timestamp,
    (state, progress): (State, Option<&str>),
) -> Result<bool, StoreError> {
    const UPDATE: &str = "UPDATE computation SET state = $3, beat_at = $4, progress = $5 \
                          WHERE site_id = $1 AND id = $2 RETURNING stop_asked";
    let row: Option<(i64,)> = on_either!(transaction, |connection| sqlx::query_as(UPDATE)
        .bind(site.0)
        .bind(id.0)
        .bind(state.as_str())
        .bind(at.us())
        .bind(progress)
        .fetch_optional(connection)
        .await)?;
    Ok(row.is_some_and(|(asked,)| asked != 0))
}

/// It has ended, with what was found or with why nothing was.
pub async fn end(
    transaction: &mut Transaction,
    site: SiteId,
    id: PlanId,
    at: Timestamp,
    ended: Result<(&Found, &str), &str>,
) -> Result<(), StoreError> {
    const UPDATE: &str = "UPDATE computation SET state = $3, beat_at = $4, ended_at = $4, result = $5, plan = $6, \
                          progress = COALESCE($7, progress), failure = $8 WHERE site_id = $1 AND id = $2";
    let (state, found, failure) = match ended {
        Ok(found) => (State::Done, Some(found), None),
        Err(failure) => (State::Failed, None, Some(failure)),
    };
    on_either!(transaction, |connection| sqlx::query(UPDATE)
        .bind(site.0)
        .bind(id.0)
        .bind(state.as_str())
        .bind(at.us())
        .bind(found.map(|(found, _)| found.result.as_str()))
        .bind(found.map(|(found, _)| found.plan.as_str()))
        .bind(found.map(|(_, progress)| progress))
        .bind(failure)
        .execute(connection)
        .await
        .map(drop))?;
    Ok(())
}

/// Whoever computes it sees that at the next beat.
pub async fn ask_to_stop(transaction: &mut Transaction, site: SiteId, id: PlanId) -> Result<(), StoreError> {
    const UPDATE: &str =
        "UPDATE computation SET stop_asked = 1 WHERE site_id = $1 AND id = $2 AND ended_at IS NULL";
    on_either!(transaction, |connection| sqlx::query(UPDATE)
        .bind(site.0)
        .bind(id.0)
        .execute(connection)
        .await
        .map(drop))?;
    Ok(())
}

/// Removes all but the newest of a site, and what the plan in force came from.
pub async fn forget(
    transaction: &mut Transaction,
    site: SiteId,
    keep: u32,
    in_force: Option<PlanId>,
) -> Result<(), StoreError> {
    const DELETE: &str = "DELETE FROM computation WHERE site_id = $1 AND id <> $3 AND id NOT IN \
                          (SELECT id FROM computation WHERE site_id = $1 ORDER BY asked_at DESC, id DESC LIMIT $2)";
    on_either!(transaction, |connection| sqlx::query(DELETE)
        .bind(site.0)
        .bind(i64::from(keep))
        .bind(in_force.map_or(Uuid::nil(), |plan| plan.0))
        .execute(connection)
        .await
        .map(drop))?;
    Ok(())
}

impl Computation {
    fn from_columns(columns: Columns) -> Result<Self, StoreError> {
        let (id, fingerprint, state, stop_asked, asked_by, asked_at, beat_at, ended_at, progress, failure) =
            columns;
        Ok(Self {
            id: PlanId(id),
            fingerprint,
            state: State::of(&state)?,
            stop_asked: stop_asked != 0,
            asked_by,
            asked_at: Timestamp(asked_at),
            beat_at: Timestamp(beat_at),
            ended_at: ended_at.map(Timestamp),
            progress,
            failure,
        })
    }
}

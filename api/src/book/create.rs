//! Creating a site: its row and its first entry in one transaction.

use super::batch::Batch;
use super::days::KnownDays;
use super::error::LedgerError;
use super::fold::Folded;
use super::submission::{Answer, Decision, PrivateRows, Submission};
use crate::clock::Clock;
use sha2::{Digest, Sha256};
use spindlebook_domain::actor::Actor;
use spindlebook_domain::ids::CommandId;
use spindlebook_domain::site::OpenSite;
use spindlebook_store::{Store, StoreError, site};
use uuid::Uuid;

pub async fn create_site(store: &Store, clock: &dyn Clock, open: OpenSite) -> Result<(), LedgerError> {
    let (id, code) = (open.site, open.code.to_string());
    let now = clock.now();
    let mut transaction = store.begin().await?;
    let row = site::insert(&mut transaction, id, &code, now)
        .await
        .map_err(|error| match error {
            StoreError::Constraint(_) => LedgerError::CodeTaken(code.clone()),
            error => error.into(),
        })?;
    let submission = Submission {
        actor: Actor::System,
        device: None,
        key: CommandId(Uuid::now_v7()),
        fingerprint: Sha256::digest(code.as_bytes()).into(),
        occurred_at: None,
        command: open.into(),
        private: PrivateRows::default(),
        answer: Box::new(answer),
    };
    let mut batch = Batch::new(id, Folded::default(), KnownDays::default(), now);
    batch.settle(&mut transaction, &submission).await?;
    batch.write(&mut transaction, &row).await?;
    transaction.commit().await?;
    Ok(())
}

/// Nobody waits for it, but every command has an outcome.
fn answer(decision: &Decision<'_>) -> Answer {
    let status = match decision {
        Decision::Accepted { .. } => 201,
        Decision::Refused { .. } => 409,
    };
    Answer {
        status,
        body: Vec::new(),
        etag: None,
        location: None,
    }
}

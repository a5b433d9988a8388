//! Puts the history before the book, as it came to it.

use super::{History, NotAShop, Step};
use crate::book::{
    Answer, Book, BookError, Decision, LedgerError, PrivateRows, QUEUE_MAX, Submission, create_site,
};
use crate::clock::{Clock, SetClock};
use futures_util::future::join_all;
use sha2::{Digest, Sha256};
use spindlebook_domain::command::Command;
use spindlebook_domain::ids::{PrincipalId, SiteId};
use spindlebook_store::Store;
use spindlebook_store::private::AccountChange;
use std::collections::BTreeMap;
use std::sync::Arc;

#[derive(Debug, thiserror::Error)]
pub enum TellError {
    #[error(transparent)]
    Ledger(#[from] LedgerError),
    #[error(transparent)]
    Book(#[from] BookError),
    #[error(transparent)]
    Invention(#[from] NotAShop),
    /// The history is made so that no rule has anything against it.
    #[error("the invented history is refused: {0}")]
    Refused(String),
}

const ACCEPTED: u16 = 200;

/// `accounts` are what people sign in with; `progress` hears how many commands are done.
pub async fn tell(
    store: &Store,
    history: &History,
    accounts: &BTreeMap<PrincipalId, AccountChange>,
    mut progress: impl FnMut(usize),
) -> Result<SiteId, TellError> {
    let site = history.open.site;
    let clock = Arc::new(SetClock::at(history.opened_at));
    create_site(store, clock.as_ref(), history.open.clone()).await?;
    let book = Book::open(
        store.clone(),
        Arc::<SetClock>::clone(&clock) as Arc<dyn Clock>,
        QUEUE_MAX,
    )
    .await?;
    let mut done = 0;
    for at_once in history
        .steps
        .chunk_by(|one, other| one.recorded_at == other.recorded_at)
    {
        clock.set(at_once[0].recorded_at);
        let submissions = at_once
            .iter()
            .map(|step| book.submit(site, submission(step, accounts)));
        for submitted in join_all(submissions).await {
            let answer = submitted?.into_answer();
            if answer.status != ACCEPTED {
                return Err(TellError::Refused(
                    String::from_utf8_lossy(&answer.body).into_owned(),
                ));
            }
        }
        done += at_once.len();
        progress(done);
    }
    book.stop().await;
    Ok(site)
}

fn submission(step: &Step, accounts: &BTreeMap<PrincipalId, AccountChange>) -> Submission {
    let account = match &step.command {
        Command::AddPrincipal(added) => accounts.get(&added.principal).cloned(),
        _ => None,
    };
    Submission {
        actor: step.actor,
        device: step.device.map(str::to_owned),
        key: step.key,
        fingerprint: Sha256::digest(step.key.0.as_bytes()).into(),
        occurred_at: Some(step.occurred_at),
        command: step.command.clone(),
        private: PrivateRows {
            texts: step.text.clone().into_iter().collect(),
            account,
        },
        answer: Box::new(answer),
    }
}

fn answer(decision: &Decision<'_>) -> Answer {
    let (status, body) = match decision {
        Decision::Accepted { .. } => (ACCEPTED, Vec::new()),
        Decision::Refused { refusal, .. } => (409, refusal.to_string().into_bytes()),
    };
    Answer {
        status,
        body,
        etag: None,
        location: None,
    }
}

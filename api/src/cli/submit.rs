//! A command from the command line to the book.

use super::failure::Failure;
use crate::book::{Answer, Book, Decision, PrivateRows, Submission};
use spindlebook_domain::actor::Actor;
use spindlebook_domain::command::Command;
use spindlebook_domain::ids::{CommandId, SiteId};
use spindlebook_store::private::AccountChange;
use uuid::Uuid;

const ACCEPTED: u16 = 200;

/// Whoever has the data folder acts as the system: there is nobody to sign in as.
pub async fn submit(
    book: &Book,
    site: SiteId,
    command: impl Into<Command>,
    account: Option<AccountChange>,
) -> Result<(), Failure> {
    send(book, site, command.into(), account, answer).await
}

/// As [`submit`]; a refusal names the place in the document.
pub async fn submit_document(book: &Book, site: SiteId, command: impl Into<Command>) -> Result<(), Failure> {
    send(book, site, command.into(), None, answer_with_pointer).await
}

async fn send(
    book: &Book,
    site: SiteId,
    command: Command,
    account: Option<AccountChange>,
    answer: fn(&Decision<'_>) -> Answer,
) -> Result<(), Failure> {
    let key = CommandId(Uuid::now_v7());
    let submission = Submission {
        actor: Actor::System,
        device: None,
        key,
        // The key is new, so nothing can be confused with it.
        fingerprint: [0; 32],
        occurred_at: None,
        command,
        private: PrivateRows {
            texts: Vec::new(),
            account,
        },
        answer: Box::new(answer),
    };
    let answer = book.submit(site, submission).await?.into_answer();
    if answer.status == ACCEPTED {
        Ok(())
    } else {
        Err(Failure::refused(String::from_utf8_lossy(&answer.body)))
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

fn answer_with_pointer(decision: &Decision<'_>) -> Answer {
    let plain = answer(decision);
    match decision {
        Decision::Refused { refusal, .. } if !refusal.pointer().is_empty() => Answer {
            body: format!("{}: {refusal}", refusal.pointer()).into_bytes(),
            ..plain
        },
        _ => plain,
    }
}

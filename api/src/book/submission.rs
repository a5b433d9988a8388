//! What is put before the writer, and what comes back.

use spindlebook_domain::actor::Actor;
use spindlebook_domain::command::Command;
use spindlebook_domain::entry::Entry;
use spindlebook_domain::event::Event;
use spindlebook_domain::ids::CommandId;
use spindlebook_domain::late::Settlement;
use spindlebook_domain::refusal::Refusal;
use spindlebook_domain::shop::Shop;
use spindlebook_domain::time::Timestamp;
use spindlebook_store::outcome::Outcome;
use spindlebook_store::private::{AccountChange, PrivateText};
use spindlebook_store::site::Head;

/// A person at a screen tries again within minutes.
pub const OUTCOME_KEPT_S: i64 = 86_400;
/// A device that was off line, or lay in a drawer, sends what it kept when it is back.
pub const DEVICE_OUTCOME_KEPT_S: i64 = 90 * 86_400;

/// One command with all that its keeping needs.
pub struct Submission {
    pub actor: Actor,
    pub device: Option<String>,
    /// The same key of the same actor always gets the same answer.
    pub key: CommandId,
    /// SHA-256 of the request, so that the key is not used for another one.
    pub fingerprint: [u8; 32],
    /// When it happened on the floor; `None`: now.
    pub occurred_at: Option<Timestamp>,
    pub command: Command,
    pub private: PrivateRows,
    pub answer: AnswerFn,
}

impl Submission {
    /// So long its outcome is kept under its key.
    pub const fn outcome_kept_s(&self) -> i64 {
        match (self.actor, &self.device) {
            (Actor::Client(_), _) | (_, Some(_)) => DEVICE_OUTCOME_KEPT_S,
            (Actor::Person(_) | Actor::System, None) => OUTCOME_KEPT_S,
        }
    }
}

/// What is stored beside the ledger, in the same transaction, if the command is accepted.
#[derive(Clone, Debug, Default)]
pub struct PrivateRows {
    pub texts: Vec<PrivateText>,
    pub account: Option<AccountChange>,
}

impl PrivateRows {
    pub const fn is_empty(&self) -> bool {
        self.texts.is_empty() && self.account.is_none()
    }
}

/// Makes the answer in the writer; its bytes are stored under the key, those of a refusal too. It may run again when
/// a batch has to be decided again, so it must depend on nothing but the decision.
pub type AnswerFn = Box<dyn Fn(&Decision<'_>) -> Answer + Send + Sync>;

pub enum Decision<'a> {
    Accepted {
        entries: &'a [Recorded],
        /// After these entries, without those of acts that had waited for them.
        shop: &'a Shop,
        head: Head,
    },
    Refused {
        refusal: &'a Refusal,
        shop: &'a Shop,
    },
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Answer {
    pub status: u16,
    pub body: Vec<u8>,
    pub etag: Option<String>,
    pub location: Option<String>,
}

impl Answer {
    /// Nothing but a status.
    pub const fn status(status: u16) -> Self {
        Self {
            status,
            body: Vec::new(),
            etag: None,
            location: None,
        }
    }
}

impl From<Outcome> for Answer {
    fn from(outcome: Outcome) -> Self {
        Self {
            status: outcome.status,
            body: outcome.body,
            etag: outcome.etag,
            location: outcome.location,
        }
    }
}

/// An entry with the event that its payload holds.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Recorded {
    pub entry: Entry,
    pub event: Event,
}

impl Recorded {
    /// From here on the entries are those of an act that had waited for what the entries before it say.
    pub fn settles_by_itself(&self) -> bool {
        matches!(&self.event, Event::ActSettled(settled) if settled.how == Settlement::Itself)
    }
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Submitted {
    First(Answer),
    Repeat {
        answer: Answer,
        first_given_at: Timestamp,
    },
}

impl Submitted {
    pub fn into_answer(self) -> Answer {
        match self {
            Self::First(answer) | Self::Repeat { answer, .. } => answer,
        }
    }
}

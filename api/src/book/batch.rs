//! Deciding commands one after the other on a working copy of the shop, and writing what came of them in one
//! transaction.

use super::days::KnownDays;
use super::error::{BookError, LedgerError};
use super::fold::Folded;
use super::submission::{Answer, Decision, Recorded, Submission};
use super::touched::Touched;
use spindlebook_domain::actor::Actor;
use spindlebook_domain::command::Context;
use spindlebook_domain::entry::{self, Entry, Envelope};
use spindlebook_domain::event::Event;
use spindlebook_domain::ids::{CommandId, SiteId, Track};
use spindlebook_domain::late::Settlement;
use spindlebook_domain::stretches::Mark;
use spindlebook_domain::time::Timestamp;
use spindlebook_store::entry as ledger;
use spindlebook_store::outcome::{self, Outcome};
use spindlebook_store::private::{self, AccountChange, PrivateText};
use spindlebook_store::site::{self, Head, SiteRow};
use spindlebook_store::{Session, StoreError, Transaction, Writes};
use std::collections::{BTreeSet, HashMap};
use uuid::Uuid;

/// Who sent it and its key.
pub type OutcomeKey = (String, CommandId);

/// The work on one batch. Dropped when the transaction fails: the shop that everybody sees was never touched.
pub struct Batch {
    site: SiteId,
    now: Timestamp,
    pub folded: Folded,
    pub entries: Vec<Recorded>,
    pub days: KnownDays,
    logins: BTreeSet<String>,
    touched: Touched,
    /// Answers that stood before this batch, and those that it gave.
    answered: HashMap<OutcomeKey, Outcome>,
    new_outcomes: Vec<OutcomeKey>,
    texts: Vec<PrivateText>,
    accounts: Vec<AccountChange>,
}

/// What became of one submission of the batch.
pub enum Settled {
    First(Answer),
    Repeat(Answer, Timestamp),
    /// Its key was used for another request.
    NotTaken(BookError),
}

/// Why a submission could be neither answered nor refused.
pub enum Unsettled {
    Store(StoreError),
    Fault(BookError),
}

impl From<StoreError> for Unsettled {
    fn from(error: StoreError) -> Self {
        Self::Store(error)
    }
}

impl From<BookError> for Unsettled {
    fn from(error: BookError) -> Self {
        Self::Fault(error)
    }
}

impl From<Unsettled> for LedgerError {
    fn from(error: Unsettled) -> Self {
        match error {
            Unsettled::Store(error) => error.into(),
            Unsettled::Fault(error) => error.into(),
        }
    }
}

impl Batch {
    /// `recorded_at` never decreases along a ledger, whatever the clock does.
    pub fn new(site: SiteId, folded: Folded, days: KnownDays, clock_now: Timestamp) -> Self {
        Self {
            site,
            now: clock_now.max(folded.head.recorded_at),
            folded,
            entries: Vec::new(),
            days,
            logins: BTreeSet::new(),
            touched: Touched::default(),
            answered: HashMap::new(),
            new_outcomes: Vec::new(),
            texts: Vec::new(),
            accounts: Vec::new(),
        }
    }

    /// Finds the answers that were given before.
    pub async fn find_answered<'a>(
        &mut self,
        session: &mut Session,
        submissions: impl Iterator<Item = &'a Submission>,
    ) -> Result<(), StoreError> {
        let keys: Vec<OutcomeKey> = submissions.map(key_of).collect();
        let wanted = keys.iter().map(|(principal, key)| (principal.as_str(), *key));
        for outcome in outcome::find(session, self.site, wanted).await? {
            self.answered
                .insert((outcome.principal.clone(), outcome.key), outcome);
        }
        Ok(())
    }

    /// Loads what the decisions need: the stretch rows that commands touch, logins that are taken.
    pub async fn load<'a>(
        &mut self,
        session: &mut Session,
        submissions: impl Iterator<Item = &'a Submission>,
    ) -> Result<(), StoreError> {
        let mut touches = BTreeSet::new();
        for submission in submissions.filter(|submission| !self.answered.contains_key(&key_of(submission))) {
            touches.extend(submission.command.touches(&self.folded.shop));
            if let Some(AccountChange::Add { login, .. }) = &submission.private.account
                && private::is_login_taken(session, self.site, login).await?
            {
                self.logins.insert(login.clone());
            }
        }
        let shop = &self.folded.shop;
        let is_known = |track| shop.knows_track(track);
        self.days.load(session, self.site, &touches, is_known).await
    }

    /// A key that was used before is answered before anything else is asked of the command.
    pub async fn settle(
        &mut self,
        session: &mut Session,
        submission: &Submission,
    ) -> Result<Settled, Unsettled> {
        let key = key_of(submission);
        if let Some(outcome) = self.answered.get(&key) {
            if outcome.fingerprint != submission.fingerprint {
                return Ok(Settled::NotTaken(BookError::KeyReused {
                    first_given_at: outcome.given_at,
                    entries: outcome.entries,
                }));
            }
            return Ok(Settled::Repeat(outcome.clone().into(), outcome.given_at));
        }
        let first = self.entries.len();
        let answer = self.decide(session, submission).await?;
        let new = &self.entries[first..];
        let seq_of = |recorded: &Recorded| recorded.entry.envelope.seq;
        let outcome = Outcome {
            principal: key.0.clone(),
            key: key.1,
            fingerprint: submission.fingerprint,
            status: answer.status,
            body: answer.body.clone(),
            etag: answer.etag.clone(),
            location: answer.location.clone(),
            entries: new.first().map(seq_of).zip(new.last().map(seq_of)),
            given_at: self.now,
            kept_until: self.now.plus_s(submission.outcome_kept_s()),
        };
        self.answered.insert(key.clone(), outcome);
        self.new_outcomes.push(key);
        Ok(Settled::First(answer))
    }

    async fn decide(&mut self, session: &mut Session, submission: &Submission) -> Result<Answer, Unsettled> {
        let login = match &submission.private.account {
            Some(AccountChange::Add { login, .. }) => Some(login),
            _ => None,
        };
        let context = Context {
            now: self.now,
            actor: submission.actor,
            login_taken: login.is_some_and(|login| self.logins.contains(login)),
            stretches: self.days.all(),
        };
        let events = match self.folded.shop.decide(&submission.command, &context) {
            Ok(events) => events,
            Err(refusal) => {
                let refused = Decision::Refused {
                    refusal: &refusal,
                    shop: &self.folded.shop,
                };
                return Ok((submission.answer)(&refused));
            }
        };
        let first = self.entries.len();
        let mut before_settling = None;
        let mut origin = Origin::of(submission, self.now);
        for event in events {
            let Event::ActSettled(settled) = &event else {
                self.record(session, submission, origin, event).await?;
                continue;
            };
            if settled.how == Settlement::Itself && before_settling.is_none() {
                before_settling = Some(self.folded.shop.clone());
            }
            let of_act = self.folded.shop.parked.get(&settled.parked);
            let of_act = of_act.map(|parked| Origin {
                actor: parked.told_by,
                occurred_at: settled.at.unwrap_or_else(|| parked.act.at()),
            });
            let settler = Origin::of(submission, self.now);
            self.record(session, submission, settler, event).await?;
            origin = of_act.unwrap_or(origin);
        }
        self.logins.extend(login.cloned());
        self.texts.extend(submission.private.texts.iter().cloned());
        self.accounts.extend(submission.private.account.iter().cloned());
        Ok((submission.answer)(&Decision::Accepted {
            entries: &self.entries[first..],
            shop: before_settling.as_ref().unwrap_or(&self.folded.shop),
            head: self.folded.head,
        }))
    }

    async fn record(
        &mut self,
        session: &mut Session,
        submission: &Submission,
        origin: Origin,
        event: Event,
    ) -> Result<(), Unsettled> {
        let envelope = Envelope {
            seq: self.folded.head.seq + 1,
            id: Uuid::now_v7(),
            command_id: submission.key,
            kind: event.kind().to_owned(),
            schema: event.schema(),
            occurred_at: origin.occurred_at,
            recorded_at: self.now,
            actor: origin.actor,
            device: submission.device.clone(),
        };
        let payload = event
            .encode()
            .map_err(|error| BookError::Fault(error.to_string()))?;
        let hash = entry::hash(&self.folded.head.hash, &envelope, &payload);
        let meta = envelope.meta();
        self.touched.keep(&event, &self.folded.shop);
        let marks = self.folded.shop.fold(&event, &meta);
        self.folded.head = Head {
            seq: meta.seq,
            hash,
            recorded_at: meta.recorded_at,
        };
        let key = |(track, mark): &(Track, Mark)| (*track, mark.layer(), mark.at().utc_day());
        // What a command touches was read for the whole batch; but an earlier command of it may have made the run that
        // this one ends.
        let rows = marks.iter().map(key).collect();
        self.days.load_missing(session, self.site, &rows).await?;
        let stretches = self
            .days
            .apply_marks(marks, &meta)
            .map_err(|error| BookError::Fault(error.to_string()))?;
        self.touched.note(&event, &meta, stretches);
        self.entries.push(Recorded {
            entry: Entry {
                envelope,
                payload,
                hash,
            },
            event,
        });
        Ok(())
    }

    /// Whether there is anything to commit: a batch of repeats changes nothing.
    pub fn is_new(&self) -> bool {
        !self.new_outcomes.is_empty()
    }

    /// Whether all that it changes goes into one statement with the head.
    pub fn is_plain(&self) -> bool {
        self.texts.is_empty() && self.accounts.is_empty() && !self.touched.has_special_rows()
    }

    /// Of a plain one, see [`site::advance_at_once`].
    pub async fn write_at_once(
        &self,
        session: &mut Session,
        was: &Head,
        turn: i64,
    ) -> Result<bool, StoreError> {
        let rows = self.touched.rows(&self.folded.shop, self.days.all(), was.seq);
        let mut writes = Writes::default();
        self.add_to(&mut writes)?;
        rows.add_to(&mut writes)?;
        site::advance_at_once(session, self.site, (was, turn), &self.folded.head, &writes).await
    }

    fn add_to<'a>(&'a self, writes: &mut Writes<'a>) -> Result<(), StoreError> {
        ledger::append(writes, self.entries.iter().map(|recorded| &recorded.entry))?;
        let outcomes = self.new_outcomes.iter().filter_map(|key| self.answered.get(key));
        outcome::insert(writes, outcomes)
    }

    pub async fn write(&self, transaction: &mut Transaction, was: &SiteRow) -> Result<(), StoreError> {
        let (site, shop) = (self.site, &self.folded.shop);
        private::insert_texts(transaction, site, &self.texts).await?;
        for change in &self.accounts {
            private::change_account(transaction, site, change).await?;
        }
        self.touched.write_special_rows(transaction, site, shop).await?;
        let rows = self.touched.rows(shop, self.days.all(), was.head.seq);
        let mut writes = Writes::default();
        self.add_to(&mut writes)?;
        rows.add_to(&mut writes)?;
        if !site::advance(transaction, was, &self.folded.head, &writes).await? {
            // The row is locked, so this cannot be; if it is, nothing of the batch may stand.
            return Err(StoreError::Failed(
                "the head of the ledger moved under a lock".to_owned(),
            ));
        }
        Ok(())
    }
}

/// Who did what an entry says, and when. An act that had waited is booked as that of whoever told it.
#[derive(Clone, Copy)]
struct Origin {
    actor: Actor,
    occurred_at: Timestamp,
}

impl Origin {
    fn of(submission: &Submission, now: Timestamp) -> Self {
        Self {
            actor: submission.actor,
            occurred_at: submission.occurred_at.unwrap_or(now),
        }
    }
}

fn key_of(submission: &Submission) -> OutcomeKey {
    (submission.actor.to_string(), submission.key)
}

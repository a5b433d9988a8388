//! The book as it stands while the story is told. Each act is decided by the same rules as a person's would be.

use crate::demo::Step;
use crate::demo::dice::Dice;
use crate::demo::shop::NotAShop;
use spindlebook_domain::actor::Actor;
use spindlebook_domain::command::{Command, Context};
use spindlebook_domain::entry::EntryMeta;
use spindlebook_domain::event::Event;
use spindlebook_domain::ids::TextId;
use spindlebook_domain::note::NoteRef;
use spindlebook_domain::refusal::Refusal;
use spindlebook_domain::shop::Shop;
use spindlebook_domain::stretches::StretchDays;
use spindlebook_domain::time::Timestamp;
use spindlebook_store::private::PrivateText;

pub struct Told {
    pub shop: Shop,
    pub steps: Vec<Step>,
    /// The acts of the story touch no rows of signals.
    rows: StretchDays,
}

impl Told {
    /// With what was told before the story begins.
    pub fn after(before: impl IntoIterator<Item = (Timestamp, Command)>) -> Result<Self, NotAShop> {
        let mut told = Self {
            shop: Shop::default(),
            steps: Vec::new(),
            rows: StretchDays::whole(),
        };
        for (at, command) in before {
            let events = told.decide(&told.shop, at, Actor::System, &command);
            let events = events.map_err(|refusal| NotAShop::Refused { at, refusal })?;
            fold(&mut told.shop, events, at, at, Actor::System);
        }
        Ok(told)
    }

    /// What is recorded is never recorded before what was.
    pub fn tell(&mut self, mut step: Step) -> Result<(), NotAShop> {
        if let Some(last) = self.steps.last() {
            step.recorded_at = step.recorded_at.max(last.recorded_at);
        }
        let (at, actor) = (step.recorded_at, step.actor);
        let events = self.decide(&self.shop, at, actor, &step.command);
        let events = events.map_err(|refusal| NotAShop::Refused { at, refusal })?;
        fold(&mut self.shop, events, step.occurred_at, at, actor);
        self.steps.push(step);
        Ok(())
    }

    /// Whether all of it would be taken, one after the other.
    pub fn takes(&self, at: Timestamp, actor: Actor, commands: &[Command]) -> bool {
        let mut shop = self.shop.clone();
        commands
            .iter()
            .all(|command| match self.decide(&shop, at, actor, command) {
                Ok(events) => {
                    fold(&mut shop, events, at, at, actor);
                    true
                }
                Err(_) => false,
            })
    }

    fn decide(
        &self,
        shop: &Shop,
        now: Timestamp,
        actor: Actor,
        command: &Command,
    ) -> Result<Vec<Event>, Refusal> {
        let context = Context {
            now,
            actor,
            login_taken: false,
            stretches: &self.rows,
        };
        shop.decide(command, &context)
    }
}

fn fold(shop: &mut Shop, events: Vec<Event>, occurred_at: Timestamp, recorded_at: Timestamp, actor: Actor) {
    for event in events {
        let meta = EntryMeta {
            seq: shop.seq + 1,
            occurred_at,
            recorded_at,
            actor,
        };
        shop.apply(&event, &meta);
    }
}

/// A text that lies beside the ledger, and what the ledger keeps of it.
pub fn note(dice: &mut Dice, body: &str) -> (NoteRef, PrivateText) {
    let (id, salt) = (TextId(dice.uuid()), dice.salt());
    let text = PrivateText {
        id,
        salt,
        body: Some(body.to_owned()),
        forgotten_at: None,
    };
    (NoteRef::new(id, &salt, body), text)
}

use super::Act;
use crate::command::Command;
use crate::ids::{HoldId, ParkedId};
use crate::note::NoteRef;
use crate::time::Timestamp;

/// It has happened; now it is told.
#[derive(Clone, Debug)]
pub struct ReportAct {
    pub act: Act,
    /// The id under which it waits, should it have to.
    pub parked: ParkedId,
    /// The id of the hold, should it have been against a rule.
    pub hold: HoldId,
}

impl ReportAct {
    /// A command that is told of only while it is given stays as it is.
    pub fn of(command: Command, parked: ParkedId, hold: HoldId) -> Command {
        match Act::of(command.clone()) {
            Some(act) => Self { act, parked, hold }.into(),
            None => command,
        }
    }
}

/// A person has looked at both sides.
#[derive(Clone, Debug)]
pub struct SettleAct {
    pub parked: ParkedId,
    pub choice: SettleChoice,
    pub note: Option<NoteRef>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SettleChoice {
    /// It did happen, perhaps at another time than was told.
    Book { at: Option<Timestamp> },
    /// It did not happen, or the book has it already.
    Drop,
}

use crate::actor::Actor;
use crate::event::Event;
use crate::floor::Count;
use crate::ids::Seq;
use crate::note::NoteRef;
use crate::time::Timestamp;

/// The entry comes with the command: it is a fact that never changes.
#[derive(Clone, Debug)]
pub struct Correct {
    pub corrects: Seq,
    pub event: Event,
    pub told_by: Actor,
    pub recorded_at: Timestamp,
    pub change: Change,
    pub note: Option<NoteRef>,
}

#[derive(Clone, Debug)]
pub enum Change {
    /// It did not happen.
    Withdraw,
    /// It happened at another time.
    Time(Timestamp),
    /// The pieces were counted wrong.
    Counts(Vec<Count>),
}

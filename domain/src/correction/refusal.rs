use crate::ids::{JobId, PalletId, RunId, Seq};
use crate::pallet::Position;
use crate::refusal::refusals;
use crate::time::Timestamp;

refusals! {
    pub enum CorrectionRefusal {
        NotYours { corrects: Seq, minutes: u32 } =>
            (Rule, "correction.not-yours", "", "entry {corrects} is put right by whoever told it, within {minutes} minutes, or by a planner"),
        Corrected { corrects: Seq, by: Seq } =>
            (Rule, "correction.corrected-already", "", "entry {corrects} was put right by entry {by}; put that one right"),
        WrongChange { corrects: Seq, kind: String, change: String } =>
            (Rule, "correction.not-for-this", "", "entry {corrects} ({kind}) cannot be put right by {change}; tell what is true as a new act"),
        MovedOn { corrects: Seq, pallet: PalletId, seq: Seq } =>
            (Rule, "correction.moved-on", "", "entry {seq} stands on entry {corrects}: something was done with pallet {pallet} since; put that right first, or tell what is true as a new act"),
        PlaceTaken { position: Position, pallet: PalletId } =>
            (Rule, "correction.place-taken", "", "pallet {pallet} is at {position} now; move the two to where they are"),
        SameTime { at: Timestamp } =>
            (Invalid, "correction.same-time", "/at", "it was told of {at} already"),
        TooFar { at: Timestamp, was: Timestamp, days: u32 } =>
            (Invalid, "correction.too-far", "/at", "{at} is more than {days} days from {was}"),
        Between { at: Timestamp, was: Timestamp, between: Timestamp } =>
            (Rule, "correction.out-of-order", "/at", "between {was} and {at} something else was told, at {between}: the order of acts does not change by a correction of time"),
        SameCounts {} =>
            (Invalid, "correction.same-counts", "/counts", "these are the counts that stand"),
        NotTheSamePieces { job: JobId, operation: u32, clamped: u64, counted: u64 } =>
            (Rule, "correction.counts-open", "/counts", "{clamped} pieces of job {job}, operation {operation}, were taken off and {counted} are counted"),
        JobClosed { job: JobId } =>
            (Rule, "correction.job-closed", "", "job {job} is closed: its pieces are counted no more"),
        PiecesMovedOn { job: JobId, operation: u32, pile: String, wanted: u64, there: u64 } =>
            (Rule, "correction.pieces-moved-on", "/counts", "{wanted} pieces of job {job}, operation {operation}, would have to be taken back from {pile}, and {there} are there: the others have moved on"),
        UnknownRun { run: RunId } =>
            (Rule, "correction.run-unknown", "", "nothing is known of the time of run {run} any more"),
    }
}

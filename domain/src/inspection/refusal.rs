use crate::code::Code;
use crate::ids::{HoldId, JobId, PalletId};
use crate::load::{Disposition, HoldKind};
use crate::refusal::refusals;

refusals! {
    /// Why nothing is decided about a held load.
    pub enum DispositionRefusal {
        /// Good pieces are what the customer gets: who says so is the shop's promise.
        RoleMissing { disposition: Disposition, authority: &'static str } =>
            (Forbidden, "disposition.role-missing", "/disposition", "{disposition} is decided by {authority}"),
        NotCut { pallet: PalletId, disposition: Disposition } =>
            (Rule, "disposition.not-cut", "/disposition", "the load on pallet {pallet} has not been cut to its end, so nothing of it can be called {disposition}: accept it, or take it off (what was begun to inspection) and decide then"),
        NoteMissing { disposition: Disposition } =>
            (Invalid, "disposition.note-missing", "/note", "{disposition} without a word why helps nobody later: add a note"),
        RevisionDiffers { measured: Code, job: JobId, revision: Code, hold: HoldId } =>
            (Rule, "disposition.revision-differs", "/revision", "the approval is for revision {measured}, and the pieces of job {job} are revision {revision}: hold {hold} stays"),
        Repeated { index: usize, job: JobId, operation: u32 } =>
            (Invalid, "disposition.repeated", "/pieces/{index}", "operation {operation} of job {job} stands here twice: name it once"),
        NotHeld { index: usize, job: JobId, operation: u32 } =>
            (Rule, "disposition.not-held", "/pieces/{index}", "nothing of operation {operation} of job {job} waits for a decision here"),
        BadPieces { index: usize, pieces: u32, undecided: u32, job: JobId, operation: u32 } =>
            (Rule, "disposition.more-than-held", "/pieces/{index}/pieces", "{pieces} pieces of operation {operation} of job {job} cannot be decided about: {undecided} wait for a decision"),
        BadNest { index: usize, nest: u32, nests: u32 } =>
            (Rule, "disposition.nest-unknown", "/pieces/{index}/nests", "there is no nest {nest} to name here: the fixture has {nests}, counted from 1, each named once"),
        NestsUnnamed { job: JobId, operation: u32, nests: u32, named: usize, pieces: u32 } =>
            (Rule, "disposition.nests-unnamed", "/pieces", "the customer wants each of the {nests} nests approved for operation {operation} of job {job}: name the nest of every piece ({named} named for {pieces} pieces)"),
        TillDay { customer_of: JobId, hold: HoldId, kind: HoldKind } =>
            (Rule, "disposition.till-day", "", "no inspector is there now, and the customer of job {customer_of} wants what is cut at night held till then ({kind}, {hold})"),
        NotIndependent { hold: HoldId, job: JobId } =>
            (Rule, "disposition.not-independent", "", "you loaded or ran this piece, and the customer of job {job} wants it checked by somebody else: hold {hold} stays"),
        NothingProposed { hold: HoldId } =>
            (Rule, "disposition.nothing-proposed", "", "nothing proposed about hold {hold} waits for a reference"),
        UnknownInspection { job: JobId, entry: u64 } =>
            (NotFound, "inspection.unknown", "", "entry {entry} is no result of an inspection of job {job}, or too long ago to be reversed"),
        ReversedAlready { entry: u64, by: u64 } =>
            (Rule, "inspection.reversed-already", "", "the result of entry {entry} was reversed by entry {by} already"),
        ReversalNoteMissing {} =>
            (Invalid, "inspection.note-missing", "/note", "a reversal without a word why helps nobody later: add a note"),
        MovedOn { entry: u64, pieces: u32, called: &'static str, job: JobId, operation: u32, there: u32, depends: String } =>
            (Rule, "inspection.moved-on", "", "entry {entry} called {pieces} pieces of operation {operation} of job {job} {called}, and {there} are still there: {depends}"),
    }
}

refusals! {
    pub enum InspectionRuleRefusal {
        Stale { expected: u64, current: u64 } =>
            (Stale, "inspection-rules.stale", "", "they were changed meanwhile: you changed version {expected}, they are at version {current}"),
        TooMany { rules: usize, max: usize } =>
            (Invalid, "inspection-rules.too-many", "/rules", "{rules} rules are more than {max}"),
        UnknownPart { index: usize, part: crate::ids::PartId } =>
            (Rule, "inspection-rules.part-unknown", "/rules/{index}/part", "there is no part {part} at this site"),
        SameTwice { index: usize } =>
            (Invalid, "inspection-rules.same-twice", "/rules/{index}", "another rule is about the same part and operation: one is enough"),
        OccasionTwice { index: usize } =>
            (Invalid, "inspection-rules.occasion-twice", "/rules/{index}/first_piece", "an occasion stands here twice: name it once"),
        BadNumber { index: usize, field: &'static str, number: u32, max: u32 } =>
            (Invalid, "inspection-rules.bad-number", "/rules/{index}/{field}", "{number} is no number to go by: give 1 to {max}"),
    }
}

use crate::ids::CellId;
use crate::refusal::refusals;
use crate::time::Timestamp;

refusals! {
    pub enum HandoverRefusal {
        Ahead { as_of: u64, head: u64 } =>
            (Invalid, "handover.ahead", "/as_of_seq", "{as_of} is no entry yet: the ledger goes to {head}; send the `seq` of the page that was read"),
        /// What nobody has read is not handed over.
        NotRead { cell: CellId, noted_at: Timestamp, as_of: u64, note_seq: u64 } =>
            (Rule, "handover.note-not-read", "/as_of_seq", "a note was added at {noted_at} (entry {note_seq}), after the page that was read ({as_of}); read it first"),
        OwnNote { cell: CellId, by: String } =>
            (Rule, "handover.own-note", "", "{by} wrote the note; whoever comes in confirms it"),
    }
}

use crate::code::Name;
use crate::ids::{HoldId, JobId};
use crate::refusal::refusals;
use crate::time::Timestamp;
use chrono::NaiveDate;

refusals! {
    pub enum JobRefusal {
        Unknown { job: JobId } =>
            (NotFound, "job.unknown", "", "there is no job {job} in work at this site"),
        NotOpen { job: JobId, state: &'static str } =>
            (Rule, "job.not-open", "", "the job {job} is {state}: nothing is counted on it any more"),
        IdTaken { job: JobId } =>
            (Rule, "job.id-taken", "", "there is a job {job} already"),
        TooMany { max: usize } =>
            (Rule, "job.too-many", "", "this site has {max} jobs, which is the most it takes"),
        TooManyLots { max: usize } =>
            (Rule, "job.too-many-lots", "", "a line is split into at most {max} lots"),
        UnknownOperation { field: String, job: JobId, operation: u32 } =>
            (Rule, "job.operation-unknown", "{field}", "the frozen routing of job {job} has no operation {operation}"),
        OperationTwice { field: String, operation: u32 } =>
            (Invalid, "job.operation-named-twice", "{field}", "operation {operation} is named twice; add the pieces up"),
        BadPieces { field: String, pieces: u64, max: u32 } =>
            (Invalid, "job.bad-pieces", "{field}", "{pieces} pieces are no number to report: give 1 to {max} in all"),
        /// Something must be left of the lot, and what is made stays in it.
        SplitTooLarge { job: JobId, quantity: u32, most: u32 } =>
            (Rule, "job.split-too-large", "/quantity", "{quantity} cannot be split off job {job}: at most {most} of its pieces are still to be made by another lot"),
        TooFewWaiting { field: String, job: JobId, operation: u32, pieces: u32, waiting: u32 } =>
            (Rule, "job.too-few-waiting", "{field}", "{pieces} pieces cannot be taken: {waiting} wait at operation {operation} of job {job}"),
        TooFewInRework { field: String, job: JobId, operation: u32, pieces: u32, rework: u32 } =>
            (Rule, "job.too-few-in-rework", "{field}", "{pieces} pieces cannot be taken: {rework} are in rework at operation {operation} of job {job}"),
        TooManyBlanks { job: JobId, released: u32, max: u32 } =>
            (Rule, "job.too-many-blanks", "/pieces", "job {job} has {released} blanks; it takes {max} in all"),
        /// One lot, one certificate: otherwise nobody can say which piece is of which heat.
        OtherCertificate { job: JobId, certificate: Name } =>
            (Rule, "job.other-certificate", "/certificate", "job {job} is made of {certificate}; split a lot off and give it the other blanks"),
        NotManual { field: String, job: JobId, operation: u32 } =>
            (Rule, "job.operation-not-manual", "{field}", "operation {operation} of job {job} runs in a cell: it is loaded and unloaded there"),
        MaterialNotArrived { job: JobId } =>
            (Rule, "job.material-not-arrived", "", "the material of job {job} is not here yet; say so on its order's line when it is"),
        TooManySteps { max: usize } =>
            (Rule, "job.too-many-steps", "", "a job has at most {max} hand-overs to steps"),
        BadDue { due: NaiveDate, at: NaiveDate } =>
            (Invalid, "job.due-before-out", "/due", "{due} is before the day on which the pieces went out ({at})"),
        UnknownStep { job: JobId, step: u32 } =>
            (Rule, "job.step-unknown", "/step", "job {job} has no step {step}: GET the job for those that are out"),
        MoreThanOut { job: JobId, step: u32, pieces: u64, still_out: u32 } =>
            (Rule, "job.more-back-than-out", "", "{pieces} cannot come back from step {step} of job {job}: {still_out} are still out"),
        BackBeforeOut { at: Timestamp, out_at: Timestamp } =>
            (Rule, "job.back-before-out", "/at", "{at} is before the pieces went out at {out_at}"),
        MoreThanInspected { job: JobId, operation: u32, pieces: u64, inspection: u32 } =>
            (Rule, "job.more-than-inspected", "", "{pieces} cannot be judged: {inspection} of operation {operation} of job {job} are with the inspector"),
        HeldPieces { job: JobId, operation: u32, pieces: u64, free: u32, held: u32, hold: HoldId } =>
            (Rule, "job.pieces-held", "", "{pieces} cannot be judged: of what lies in inspection at operation {operation} of job {job}, {held} are held and {free} are not; decide about the hold {hold}"),
    }
}

use crate::code::Code;
use crate::ids::{CustomerId, JobId, OrderId, PartId};
use crate::refusal::refusals;
use chrono::NaiveDate;

refusals! {
    pub enum OrderRefusal {
        Unknown { order: OrderId } =>
            (NotFound, "order.unknown", "", "there is no open order {order} at this site; a closed one does not change any more"),
        UnknownLine { order: OrderId, line: u32 } =>
            (NotFound, "order.line-unknown", "", "the order {order} has no line {line}"),
        Stale { expected: u64, current: u64 } =>
            (Stale, "order.stale", "", "it was changed meanwhile, or pieces of it were moved: you changed version {expected}, it is at version {current}"),
        IdTaken { order: OrderId } =>
            (Rule, "order.id-taken", "", "there is an order {order} already"),
        /// Closed orders are not looked at: they have left the shop.
        CodeTaken { code: Code, order: OrderId } =>
            (Rule, "order.code-taken", "/code", "the number {code} belongs to the open order {order}; add a line to it or take another number"),
        TooMany { max: usize } =>
            (Rule, "order.too-many", "", "this site has {max} open orders, which is the most it takes"),
        UnknownCustomer { customer: CustomerId } =>
            (Rule, "order.customer-unknown", "/customer", "there is no customer {customer} at this site"),
        NoLine {} =>
            (Invalid, "order.no-line", "/lines", "an order has one line at least"),
        TooManyLines { max: usize } =>
            (Rule, "order.too-many-lines", "", "an order has at most {max} lines"),
        BadLineNumber { field: String, number: u32, max: u32 } =>
            (Invalid, "order.bad-line-number", "{field}", "{number} is no line number: give 1 to {max}"),
        LineTaken { field: String, number: u32 } =>
            (Rule, "order.line-taken", "{field}", "the order has a line {number} already; choose another or leave it out"),
        UnknownPart { field: String, part: PartId } =>
            (Rule, "order.part-unknown", "{field}", "there is no part {part} at this site"),
        UnknownRevision { field: String, part: PartId, revision: Code } =>
            (Rule, "order.revision-unknown", "{field}", "the part {part} has no revision {revision}; add the revision first"),
        BadQuantity { field: String, quantity: u32, max: u32 } =>
            (Invalid, "order.bad-quantity", "{field}", "{quantity} pieces cannot be ordered: give 1 to {max}"),
        BadDate { field: String, date: NaiveDate, earliest: NaiveDate, latest: NaiveDate } =>
            (Invalid, "order.date-out-of-range", "{field}", "{date} is not between {earliest} and {latest}"),
        TooManyQuoted { field: String, max: usize } =>
            (Invalid, "order.too-many-quoted", "{field}", "at most {max} operations are quoted, one time each"),
        QuotedTwice { field: String, operation: u32 } =>
            (Invalid, "order.quoted-twice", "{field}", "operation {operation} is quoted twice; add the two up"),
        /// The line is complete or cancelled.
        LineClosed { line: u32, state: &'static str } =>
            (Rule, "order.line-closed", "", "line {line} is {state}; add another line"),
        /// What has left the house cannot be ordered less.
        UnderShipped { line: u32, quantity: u32, shipped: u32 } =>
            (Rule, "order.quantity-under-shipped", "/quantity", "{shipped} pieces of line {line} are shipped, so {quantity} cannot be ordered: give {shipped} or more"),
        AlreadyArrived { line: u32 } =>
            (Rule, "order.material-already-arrived", "", "the material of line {line} is here and its certificate is entered; another heat is another lot: split the job and give it blanks of its own"),
        AlreadyReleased { line: u32 } =>
            (Rule, "order.line-already-released", "", "line {line} is released already; more blanks are given to its job"),
        NothingToRelease { order: OrderId } =>
            (Rule, "order.nothing-to-release", "", "no line of the order {order} waits for its release"),
        ReleasedTwice { field: String, line: u32 } =>
            (Invalid, "order.line-named-twice", "{field}", "line {line} is named twice"),
        BadBlanks { field: String, blanks: u32, max: u32 } =>
            (Invalid, "order.bad-blanks", "{field}", "{blanks} blanks cannot be given out: give 0 to {max}"),
        NoRouting { line: u32, part: PartId, revision: Code } =>
            (Rule, "order.no-routing", "", "line {line} cannot be released: revision {revision} of the part {part} has no routing; set it first"),
        TooManyJobs { max: usize } =>
            (Rule, "order.too-many-jobs", "", "this site has {max} jobs, which is the most it takes"),
        /// An id for a new job came with the command and is in use.
        JobIdTaken { job: JobId } =>
            (Rule, "order.job-id-taken", "", "there is a job {job} already, or no id was given for a line"),
        NotReleased { line: u32 } =>
            (Rule, "order.line-not-released", "", "line {line} is not released: nothing of it was made"),
        SomeShipped { line: u32, shipped: u32 } =>
            (Rule, "order.line-shipped", "", "{shipped} pieces of line {line} are shipped: it cannot be cancelled any more; set its quantity to {shipped}"),
        /// Somebody has to take them off, fetch them back or judge them first.
        PiecesUnderWay { line: u32, job: JobId, clamped: u32, out: u32, inspection: u32 } =>
            (Rule, "order.pieces-under-way", "", "pieces of line {line} (job {job}) are under way: {clamped} clamped, {out} out at a step, {inspection} with the inspector; unload, bring back and judge them first"),
        BadPieces { field: String, pieces: u32, max: u32 } =>
            (Invalid, "order.bad-pieces", "{field}", "{pieces} pieces cannot be shipped: give 1 to {max}"),
        JobMissing { line: u32, lots: usize } =>
            (Rule, "order.job-missing", "/job", "line {line} has {lots} lots; name the job that the pieces are from, their certificates differ"),
        UnknownJob { line: u32, job: JobId } =>
            (Rule, "order.job-unknown", "/job", "line {line} has no job {job}"),
        NotMade { job: JobId, pieces: u32, made: u32, shipped: u32 } =>
            (Rule, "order.not-made", "/pieces", "{pieces} cannot be shipped: {made} good pieces of job {job} are finished and {shipped} of them shipped"),
        OverTolerance { line: u32, pieces: u32, quantity: u32, most: u32, shipped: u32 } =>
            (Rule, "order.over-tolerance", "/pieces", "{pieces} more are too many: {quantity} are ordered on line {line}, the customer takes at most {most}, and {shipped} are shipped"),
        TooManyShipments { max: usize } =>
            (Rule, "order.too-many-shipments", "", "a line has at most {max} shipments"),
        NotFull { line: u32, shipped: u32, least: u32 } =>
            (Rule, "order.not-full", "", "line {line} is not complete: {shipped} pieces are shipped and at least {least} are owed; change the quantity if the customer takes fewer"),
    }
}

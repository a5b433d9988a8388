use crate::code::Code;
use crate::ids::{CellId, FixtureId, MachineId, PartId, VendorId};
use crate::refusal::refusals;

refusals! {
    pub enum PartRefusal {
        Unknown { part: PartId } =>
            (NotFound, "part.unknown", "", "there is no part {part} at this site"),
        UnknownRevision { part: PartId, revision: Code } =>
            (NotFound, "part.revision-unknown", "", "the part {part} has no revision {revision}"),
        Stale { expected: u64, current: u64 } =>
            (Stale, "part.stale", "", "it was changed meanwhile: you changed version {expected}, it is at version {current}"),
        IdTaken { part: PartId } =>
            (Rule, "part.id-taken", "", "there is a part {part} already"),
        CodeTaken { code: Code, part: PartId } =>
            (Rule, "part.code-taken", "/code", "the code {code} belongs to the part {part}; choose another"),
        TooMany { max: usize } =>
            (Rule, "part.too-many", "", "this site has {max} parts, which is the most it takes"),
        RevisionTaken { part: PartId, revision: Code } =>
            (Rule, "part.revision-taken", "/revision", "the part {part} has a revision {revision} already"),
        TooManyRevisions { max: usize } =>
            (Rule, "part.too-many-revisions", "/revision", "a part has at most {max} revisions"),
        NoOperation {} =>
            (Invalid, "routing.no-operation", "/operations", "a routing has at least one operation"),
        TooManyOperations { max: usize } =>
            (Invalid, "routing.too-many-operations", "/operations", "a routing has at most {max} operations"),
        BadNumber { index: usize, number: u32, max: u32 } =>
            (Invalid, "routing.bad-number", "/operations/{index}/number", "{number} is no operation number: use 1 to {max}"),
        NotAscending { index: usize, number: u32, before: u32 } =>
            (Invalid, "routing.numbers-not-ascending", "/operations/{index}/number", "operation {number} stands after {before}: numbers go up, each once"),
        /// A list of an operation is too short or too long.
        BadCount { field: String, count: usize, min: usize, max: usize } =>
            (Invalid, "routing.bad-count", "{field}", "{count} entries stand here: give {min} to {max}"),
        Repeated { field: String, what: String } =>
            (Invalid, "routing.repeated", "{field}", "{what} stands here twice: name it once"),
        UnknownCell { field: String, cell: CellId } =>
            (Rule, "routing.cell-unknown", "{field}", "there is no cell {cell} at this site"),
        UnknownMachine { field: String, machine: MachineId, cell: CellId } =>
            (Rule, "routing.machine-unknown", "{field}", "the cell {cell} has no machine {machine}"),
        UnknownFixture { field: String, fixture: FixtureId } =>
            (Rule, "routing.fixture-unknown", "{field}", "there is no fixture {fixture} at this site"),
        UnknownVendor { field: String, vendor: VendorId } =>
            (Rule, "routing.vendor-unknown", "{field}", "there is no vendor {vendor} at this site"),
        TooFewNests { field: String, fixture: FixtureId, nests: u32, pieces_per_load: u32 } =>
            (Rule, "routing.too-few-nests", "{field}", "the fixture {fixture} has {nests} nests: it cannot hold {pieces_per_load} pieces"),
        NotPositive { field: String } =>
            (Invalid, "routing.not-positive", "{field}", "0 stands here: give at least 1"),
        /// A clearance for a machine on which it does not run clears nothing.
        ClearedElsewhere { field: String, machine: MachineId } =>
            (Rule, "routing.cleared-elsewhere", "{field}", "the operation does not run on machine {machine}, so it cannot be cleared there"),
    }
}

use crate::code::Code;
use crate::ids::{CellId, FixtureCopyId, FixtureId, HoldId, JobId, MachineId, PalletId, RunId};
use crate::load::HoldKind;
use crate::machine::DownReason;
use crate::pallet::Position;
use crate::refusal::refusals;
use crate::run::Purpose;
use crate::size::Size;
use crate::time::Timestamp;

refusals! {
    /// What holds for every act on the floor.
    pub enum ActRefusal {
        /// Acts are told in the order in which they happened; an earlier one is a correction.
        BeforeLast { at: Timestamp, last_act: Timestamp, what: String } =>
            (Rule, "act.before-last", "/at", "{at} is before the last act on {what}, at {last_act}: acts are entered in the order in which they happened"),
        MachineRuns { pallet: PalletId, machine: MachineId } =>
            (Rule, "act.machine-runs", "", "pallet {pallet} is in the machine {machine}, and a run is open there; finish or abort it first"),
        NotAtLoadStation { pallet: PalletId, position: Position } =>
            (Rule, "act.not-at-load-station", "", "pallet {pallet} is at {position}; move it to a load station first"),
    }
}

refusals! {
    pub enum MountRefusal {
        UnknownFixture { fixture: FixtureId } =>
            (Rule, "mount.fixture-unknown", "/fixture", "there is no fixture {fixture} at this site"),
        UnknownCopy { copy: FixtureCopyId, fixture: FixtureId } =>
            (Rule, "mount.copy-unknown", "/copy", "the fixture {fixture} has no copy {copy}"),
        FixtureOn { pallet: PalletId, fixture: FixtureId } =>
            (Rule, "mount.fixture-on", "", "fixture {fixture} stands on pallet {pallet}; take it off first"),
        InterfaceDiffers { fixture: Code, pallet: Code, fixture_interface: Code, pallet_interface: Code } =>
            (Rule, "mount.interface-differs", "/fixture", "fixture {fixture} is clamped by {fixture_interface}, pallet {pallet} has {pallet_interface}"),
        /// `where_it_is` names the pallet of each copy.
        NoCopyFree { fixture: Code, copies: usize, where_it_is: String } =>
            (Rule, "mount.no-copy-free", "/fixture", "no copy of fixture {fixture} is free ({copies} in all): {where_it_is}"),
        CopyInUse { copy: Code, fixture: Code, pallet: PalletId, pallet_code: Code, position: Position } =>
            (Rule, "mount.copy-in-use", "/copy", "copy {copy} of fixture {fixture} is on pallet {pallet_code} ({pallet}), at {position}"),
        TooLarge { fixture: Code, size: Size, room: Size } =>
            (Rule, "mount.too-large", "/fixture", "fixture {fixture} is {size} with its pieces; the pallet takes {room}"),
        TooHeavy { fixture: Code, mass_g: u64, mass_max_g: u32 } =>
            (Rule, "mount.too-heavy", "/fixture", "fixture {fixture} weighs {mass_g} g; the pallet takes {mass_max_g} g"),
        NothingOn { pallet: PalletId } =>
            (Rule, "mount.nothing-on", "", "no fixture is on pallet {pallet}"),
        Ended { pallet: PalletId, ended_at: Timestamp } =>
            (Rule, "mount.setup-ended", "", "the setup on pallet {pallet} was finished at {ended_at} already"),
        Loaded { pallet: PalletId, pieces: u32 } =>
            (Rule, "mount.loaded", "", "{pieces} pieces are clamped on pallet {pallet}; unload it first"),
    }
}

refusals! {
    pub enum LoadRefusal {
        NoSetup { pallet: PalletId } =>
            (Rule, "load.no-setup", "", "no fixture is on pallet {pallet}; mount one first"),
        SetupNotEnded { pallet: PalletId, since: Timestamp } =>
            (Rule, "load.setup-not-ended", "", "somebody has been mounting the fixture on pallet {pallet} since {since}; finish the setup first"),
        NotReady { pallet: PalletId } =>
            (Rule, "load.loaded-already", "", "pallet {pallet} holds pieces that have been in a run; unload it first"),
        Held { pallet: PalletId, hold: HoldId } =>
            (Rule, "load.held", "", "the load on pallet {pallet} is held ({hold}); nothing is added to it until somebody has decided"),
        BadCount { entries: usize, max: usize } =>
            (Invalid, "load.bad-count", "/pieces", "{entries} entries stand here: give 1 to {max}"),
        Repeated { index: usize, job: JobId, operation: u32 } =>
            (Invalid, "load.repeated", "/pieces/{index}", "operation {operation} of job {job} stands here twice: name it once"),
        NoPiece { index: usize } =>
            (Invalid, "load.no-piece", "/pieces/{index}/pieces", "0 pieces stand here: give at least 1"),
        UnknownJob { index: usize, job: JobId } =>
            (Rule, "load.job-unknown", "/pieces/{index}/job", "there is no open job {job} at this site"),
        NotMachined { index: usize, job: JobId, operation: u32 } =>
            (Rule, "load.operation-unknown", "/pieces/{index}/operation", "the job {job} has no operation {operation} that is machined"),
        WrongCell { index: usize, operation: u32, cell: CellId } =>
            (Rule, "load.wrong-cell", "/pieces/{index}/operation", "operation {operation} does not run in the cell {cell}"),
        WrongFixture { index: usize, operation: u32, fixture: Code } =>
            (Rule, "load.wrong-fixture", "/pieces/{index}/operation", "fixture {fixture} does not hold operation {operation}"),
        ReworkMixed { index: usize } =>
            (Rule, "load.rework-mixed", "/pieces/{index}/rework", "pieces to be reworked and others do not go on one load: their time is counted apart"),
        TooManyPieces { index: usize, pieces: u64, waiting: u32, job: JobId, operation: u32 } =>
            (Rule, "load.more-than-wait", "/pieces/{index}/pieces", "{pieces} pieces are more than the {waiting} of job {job} that wait for operation {operation}"),
        MaterialNotArrived { index: usize, job: JobId, expected: String } =>
            (Rule, "load.material-not-arrived", "/pieces/{index}/job", "the material for job {job} is not here (expected: {expected}); say on its order's line that it is, or a planner may override this with a reason"),
        NestsShort { pieces: u64, free: u64, nests: u32, fixture: Code } =>
            (Rule, "load.nests-short", "/pieces", "{pieces} pieces are more than the {free} free nests of fixture {fixture} ({nests} in all)"),
        TooLarge { index: usize, size: Size, room: Size } =>
            (Rule, "load.too-large", "/pieces/{index}", "a piece is {size}; the pallet takes {room}"),
        /// Only what has been weighed is in the sum; what has not is unknown, not nothing.
        TooHeavy { mass_g: u64, mass_max_g: u32 } =>
            (Rule, "load.too-heavy", "/pieces", "fixture and pieces weigh at least {mass_g} g; the pallet takes {mass_max_g} g"),
    }
}

refusals! {
    pub enum MoveRefusal {
        UnknownPlace { position: Position, cell: Code, places: String } =>
            (Rule, "move.place-unknown", "/to", "the cell {cell} has no {position}: it has {places}, counted from 1, and the spindles of its own machines"),
        InRun { pallet: PalletId, run: RunId } =>
            (Rule, "move.in-run", "", "pallet {pallet} is being cut (run {run}); it moves when the run has ended"),
        AlreadyThere { pallet: PalletId, position: Position } =>
            (Rule, "move.already-there", "/to", "pallet {pallet} is at {position} already"),
        PlaceTaken { position: Position, pallet: PalletId, code: Code } =>
            (Rule, "move.place-taken", "/to", "pallet {code} ({pallet}) is at {position}; one pallet a place. If the two changed places, say so with \"exchange\": true"),
        Held { pallet: PalletId, hold: HoldId, kind: HoldKind, since: Timestamp } =>
            (Rule, "move.held", "/to", "the load on pallet {pallet} has been held since {since} ({kind}, {hold}); it does not go to a spindle before somebody has decided"),
    }
}

refusals! {
    pub enum QueueRefusal {
        Stale { expected: u64, current: u64 } =>
            (Stale, "queue.stale", "", "the queue was changed meanwhile: you changed version {expected}, it is at version {current}"),
        TooMany { pallets: usize, max: usize } =>
            (Invalid, "queue.too-many", "/pallets", "{pallets} pallets are more than {max}"),
        UnknownPallet { index: usize, pallet: PalletId } =>
            (Rule, "queue.pallet-unknown", "/pallets/{index}", "there is no pallet {pallet} at this site"),
        Elsewhere { index: usize, pallet: PalletId, cell: CellId } =>
            (Rule, "queue.pallet-elsewhere", "/pallets/{index}", "pallet {pallet} belongs to the cell {cell}"),
        Repeated { index: usize, pallet: PalletId } =>
            (Invalid, "queue.repeated", "/pallets/{index}", "pallet {pallet} stands here twice: name it once"),
    }
}

refusals! {
    pub enum RunRefusal {
        Unknown { run: RunId } =>
            (NotFound, "run.unknown", "", "there is no run {run} at this site whose load is still to be counted"),
        MachineBusy { machine: MachineId, run: RunId, since: Timestamp } =>
            (Rule, "run.machine-busy", "", "the machine {machine} has been in run {run} since {since}; was its end forgotten? Finish or abort it with its true time"),
        MachineDown { machine: MachineId, since: Timestamp, reason: DownReason } =>
            (Rule, "run.machine-down", "", "the machine {machine} has been set down since {since} ({reason}); set it up first"),
        NoPallet { machine: MachineId } =>
            (Rule, "run.no-pallet", "", "no pallet is at the spindle of machine {machine}"),
        /// Whoever acts names the pallet, and another one is there.
        OtherPallet { machine: MachineId, pallet: PalletId, at_spindle: PalletId, at_spindle_code: Code } =>
            (Rule, "run.other-pallet", "/pallet", "pallet {at_spindle_code} ({at_spindle}) is at the spindle of machine {machine}, not {pallet}"),
        NothingLoaded { pallet: PalletId } =>
            (Rule, "run.nothing-loaded", "", "nothing is clamped on pallet {pallet}"),
        CutAlready { pallet: PalletId } =>
            (Rule, "run.cut-already", "", "the load on pallet {pallet} has been cut; unload it"),
        IdTaken { run: RunId } =>
            (Rule, "run.id-taken", "/run", "there is a run {run} already: give each run its own id, or none"),
        Held { pallet: PalletId, hold: HoldId, kind: HoldKind, since: Timestamp } =>
            (Rule, "run.held", "", "the load on pallet {pallet} has been held since {since} ({kind}, {hold}); nothing lifts this but a decision"),
        PurposeDiffers { purpose: Purpose, rework: String } =>
            (Rule, "run.purpose-differs", "/purpose", "the purpose {purpose} does not fit: the pieces on the pallet are {rework}"),
        /// Wherever they stand, further loads of it wait until the first one is accepted.
        /// `for_other_revision`: what is approved is another revision of the part.
        FirstPieceOpen { job: JobId, operation: u32, kind: HoldKind, pallet: Code, since: Timestamp, for_other_revision: String } =>
            (Rule, "run.first-piece-open", "", "operation {operation} of job {job} waits for its {kind}, open since {since} on pallet {pallet}; nothing lifts this but a decision{for_other_revision}"),
        WrongMachine { machine: MachineId, job: JobId, operation: u32 } =>
            (Rule, "run.wrong-machine", "", "operation {operation} of job {job} does not run on the machine {machine}"),
        /// The calendar of the cell says that nobody is there. No override: it is about what may run alone.
        NotCleared { machine: MachineId, job: JobId, operation: u32, at: Timestamp } =>
            (Rule, "run.not-cleared-unattended", "", "nobody is there at {at} by the cell's calendar, and operation {operation} of job {job} is not cleared to run unattended on the machine {machine}"),
        ToolLifeShort { machine: MachineId, tool: Code, needed_s: u64, left_s: u32, short_s: u64 } =>
            (Rule, "run.tool-life-short", "", "tool {tool} of the machine {machine} is short by {short_s} s: the load takes {needed_s} s, the best of its twins has {left_s} s; a planner may override this with a reason"),
        NotNext { pallet: PalletId, next: PalletId, next_code: Code } =>
            (Rule, "run.not-next", "", "pallet {next_code} ({next}) is next in the queue; change the queue, or let a planner override this with a reason"),
        NotRunning { run: RunId, state: String } =>
            (Rule, "run.not-running", "", "run {run} is {state}"),
        NotPaused { run: RunId, state: String } =>
            (Rule, "run.not-paused", "", "run {run} is {state}"),
    }
}

refusals! {
    pub enum UnloadRefusal {
        NothingLoaded { pallet: PalletId } =>
            (Rule, "unload.nothing-loaded", "", "nothing is clamped on pallet {pallet}"),
        /// Somebody was quicker, on another tablet.
        AlreadyUnloaded { pallet: PalletId, by: String, unloaded_at: Timestamp } =>
            (Rule, "unload.already-unloaded", "", "pallet {pallet} was unloaded by {by} at {unloaded_at} already"),
        InRun { pallet: PalletId, run: RunId } =>
            (Rule, "unload.in-run", "", "pallet {pallet} is being cut (run {run}); finish or abort it first"),
        NotClamped { index: usize, job: JobId, operation: u32 } =>
            (Rule, "unload.not-clamped", "/counts/{index}", "nothing of operation {operation} of job {job} is clamped here"),
        Repeated { index: usize, job: JobId, operation: u32 } =>
            (Invalid, "unload.repeated", "/counts/{index}", "operation {operation} of job {job} stands here twice: count it once"),
        Missing { job: JobId, operation: u32, clamped: u32 } =>
            (Rule, "unload.not-counted", "/counts", "the {clamped} clamped pieces of job {job}, operation {operation}, are not counted"),
        NotClosed { index: usize, job: JobId, operation: u32, clamped: u32, counted: u64, difference: i64 } =>
            (Rule, "unload.counts-open", "/counts/{index}", "{clamped} pieces of job {job}, operation {operation}, are clamped and {counted} are counted: {difference} too many or too few"),
        /// The inspector has spoken while it was clamped.
        DecidedOtherwise { index: usize, decided: u32, called: &'static str, field: &'static str, counted: u32 } =>
            (Rule, "unload.decided-otherwise", "/counts/{index}/{field}", "{decided} of these pieces were decided to be {called}, and {counted} are counted so; count at least {decided} there"),
        NotCut { index: usize, counted: u64 } =>
            (Rule, "unload.not-cut", "/counts/{index}", "the load has not been cut: its {counted} pieces come off uncut"),
        Broken { index: usize, good: u32 } =>
            (Rule, "unload.run-aborted", "/counts/{index}/good", "the run was broken off: {good} pieces cannot count as good before somebody has looked; count them to inspection"),
        Held { index: usize, good: u32, hold: HoldId, kind: HoldKind } =>
            (Rule, "unload.held", "/counts/{index}/good", "the load is held ({kind}, {hold}): {good} pieces cannot count as good before somebody has decided; count them to inspection"),
    }
}

refusals! {
    pub enum HoldRefusal {
        Unknown { hold: HoldId } =>
            (NotFound, "hold.unknown", "", "there is no open hold {hold} at this site"),
        NotByHand { kind: HoldKind } =>
            (Invalid, "hold.kind-not-by-hand", "/kind", "a {kind} hold follows from its rule when a run ends; place a suspect or an in_process one"),
        NothingLoaded { pallet: PalletId } =>
            (Rule, "hold.nothing-loaded", "", "nothing is clamped on pallet {pallet}"),
        Already { pallet: PalletId, hold: HoldId, kind: HoldKind, since: Timestamp } =>
            (Rule, "hold.already-held", "", "the load on pallet {pallet} has been held since {since} ({kind}, {hold})"),
        StillCut { pallet: PalletId, run: RunId } =>
            (Rule, "hold.still-cut", "", "pallet {pallet} is being cut (run {run}); what comes out can be judged when the run has ended"),
    }
}

refusals! {
    pub enum OpeningRefusal {
        TooMany { field: String, count: usize, max: usize } =>
            (Invalid, "opening.too-many", "{field}", "{count} entries are more than {max}"),
        Nothing {} =>
            (Invalid, "opening.nothing", "", "the statement names neither a pallet nor a job"),
        Repeated { field: String, what: String } =>
            (Invalid, "opening.repeated", "{field}", "{what} stands here twice: name it once"),
        UnknownPallet { index: usize, pallet: PalletId } =>
            (Rule, "opening.pallet-unknown", "/pallets/{index}/pallet", "there is no pallet {pallet} at this site"),
        PalletActed { index: usize, pallet: Code } =>
            (Rule, "opening.pallet-acted", "/pallets/{index}/pallet", "something was done with pallet {pallet} already; what it holds is told by acts now"),
        UnknownPlace { index: usize, position: Position, cell: Code, places: String } =>
            (Rule, "opening.place-unknown", "/pallets/{index}/position", "the cell {cell} has no {position}: it has {places}, counted from 1, and the spindles of its own machines"),
        PlaceTaken { index: usize, position: Position, pallet: Code } =>
            (Rule, "opening.place-taken", "/pallets/{index}/position", "pallet {pallet} is at {position}; one pallet a place"),
        UnknownFixture { index: usize, fixture: FixtureId } =>
            (Rule, "opening.fixture-unknown", "/pallets/{index}/setup/fixture", "there is no fixture {fixture} at this site"),
        UnknownCopy { index: usize, copy: FixtureCopyId } =>
            (Rule, "opening.copy-unknown", "/pallets/{index}/setup/copy", "the fixture has no copy {copy}"),
        CopyInUse { index: usize, copy: FixtureCopyId, pallet: Code } =>
            (Rule, "opening.copy-in-use", "/pallets/{index}/setup/copy", "the copy {copy} is on pallet {pallet}; it exists once"),
        DoesNotFit { index: usize, fixture: Code, pallet: Code } =>
            (Rule, "opening.fixture-does-not-fit", "/pallets/{index}/setup/fixture", "fixture {fixture} does not fit on pallet {pallet}: interface, size or mass"),
        NoSetup { index: usize } =>
            (Rule, "opening.load-without-setup", "/pallets/{index}/load", "pieces are clamped in a fixture whose setup is finished; name it"),
        BadCount { index: usize, entries: usize, max: usize } =>
            (Invalid, "opening.bad-count", "/pallets/{index}/load/pieces", "{entries} entries stand here: give 1 to {max}"),
        NoPiece { index: usize, entry: usize } =>
            (Invalid, "opening.no-piece", "/pallets/{index}/load/pieces/{entry}/pieces", "0 pieces stand here: give at least 1"),
        DoesNotRun { index: usize, entry: usize, job: JobId, operation: u32 } =>
            (Rule, "opening.operation-unknown", "/pallets/{index}/load/pieces/{entry}", "no open job {job} has an operation {operation} that runs in this cell in this fixture"),
        NestsShort { index: usize, pieces: u64, nests: u32 } =>
            (Rule, "opening.nests-short", "/pallets/{index}/load/pieces", "{pieces} pieces are more than the {nests} nests of the fixture"),
        UnknownJob { index: usize, job: JobId } =>
            (Rule, "opening.job-unknown", "/jobs/{index}/job", "there is no open job {job} at this site"),
        JobActed { index: usize, job: JobId } =>
            (Rule, "opening.job-acted", "/jobs/{index}/job", "pieces of job {job} were counted or clamped already; what became of others is told by acts now"),
        UnknownOperation { index: usize, entry: usize, operation: u32 } =>
            (Rule, "opening.job-operation-unknown", "/jobs/{index}/operations/{entry}/operation", "the job has no operation {operation}"),
        /// What an operation has had cannot be more than what the one before gave.
        TooManyPieces { field: String, job: JobId, operation: u32, pieces: u64, entered: u64 } =>
            (Rule, "opening.more-than-entered", "{field}", "{pieces} pieces of job {job} are told of at operation {operation}, but only {entered} have come to it"),
    }
}

use super::Position;
use crate::code::Code;
use crate::ids::{CellId, MachineId, PalletId};
use crate::refusal::refusals;

refusals! {
    pub enum PalletRefusal {
        Unknown { pallet: PalletId } =>
            (NotFound, "pallet.unknown", "", "there is no pallet {pallet} at this site"),
        Stale { expected: u64, current: u64 } =>
            (Stale, "pallet.stale", "", "it was changed meanwhile: you changed version {expected}, it is at version {current}"),
        IdTaken { pallet: PalletId } =>
            (Rule, "pallet.id-taken", "", "there is a pallet {pallet} already"),
        UnknownCell { cell: CellId } =>
            (Rule, "pallet.cell-unknown", "/cell", "there is no cell {cell} at this site"),
        CodeTaken { code: Code, pallet: PalletId } =>
            (Rule, "pallet.code-taken", "/code", "the code {code} belongs to the pallet {pallet}; choose another"),
        TooMany { max: usize } =>
            (Rule, "pallet.too-many", "", "this site has {max} pallets, which is the most it takes"),
        /// Its only pallet is the machine's own table.
        StandaloneHasOne { cell: CellId, pallet: PalletId } =>
            (Rule, "pallet.standalone-has-one", "/cell", "the standalone cell {cell} has its one pallet already: {pallet}"),
        StandaloneHasNoMachine { cell: CellId } =>
            (Rule, "pallet.standalone-has-no-machine", "/cell", "the standalone cell {cell} has no machine yet whose table this pallet could be; add the machine first"),
        NoSuchMachine { machine: MachineId, cell: CellId } =>
            (Rule, "pallet.position-machine-unknown", "/position/machine", "the cell {cell} has no machine {machine}"),
        NoSuchPlace { position: Position, load_stations: u32, stands: u32 } =>
            (Rule, "pallet.position-unknown", "/position", "the cell has no {position}: it has {load_stations} load stations and {stands} stands, counted from 1"),
        PlaceTaken { position: Position, pallet: PalletId, code: Code } =>
            (Rule, "pallet.position-taken", "/position", "pallet {code} ({pallet}) stands at {position}; one pallet a place"),
        NoPlaceFree { cell: CellId } =>
            (Rule, "pallet.no-place-free", "/position", "no stand and no load station of the cell {cell} is free; name the spindle that it stands at, or give the cell another stand"),
        /// What stands on it now would no longer be what it may carry.
        SetupStands { pallet: PalletId } =>
            (Rule, "pallet.setup-stands", "/interface", "a fixture stands on pallet {pallet}: its interface can change when the fixture is off"),
    }
}

use crate::code::Code;
use crate::ids::{CellId, PalletId};
use crate::pallet::Position;
use crate::refusal::refusals;

refusals! {
    pub enum CellRefusal {
        Unknown { cell: CellId } =>
            (NotFound, "cell.unknown", "", "there is no cell {cell} at this site"),
        Stale { expected: u64, current: u64 } =>
            (Stale, "cell.stale", "", "it was changed meanwhile: you changed version {expected}, it is at version {current}"),
        /// Ids are made anew for each thing; one that comes twice is a fault of whoever made it.
        IdTaken { cell: CellId } =>
            (Rule, "cell.id-taken", "", "there is a cell {cell} already"),
        CodeTaken { code: Code, cell: CellId } =>
            (Rule, "cell.code-taken", "/code", "the code {code} belongs to the cell {cell}; choose another"),
        TooMany { max: usize } =>
            (Rule, "cell.too-many", "", "this site has {max} cells, which is the most it takes"),
        /// A standalone machine is its own cell: it cannot turn into a pool that others share, nor the reverse.
        StandaloneHasOneMachine { cell: CellId, machines: usize } =>
            (Rule, "cell.standalone-has-one-machine", "/kind", "a standalone cell has one machine, and {cell} has {machines}"),
        StandaloneHasOnePallet { cell: CellId, pallets: usize } =>
            (Rule, "cell.standalone-has-one-pallet", "/kind", "a standalone cell has one pallet, its own table, and {cell} has {pallets}"),
        PlaceInUse { pallet: PalletId, code: Code, position: Position } =>
            (Rule, "cell.place-in-use", "/kind", "pallet {code} ({pallet}) stands at {position}, which the cell would no longer have; move it first"),
        NoLoadStation {} =>
            (Invalid, "cell.no-load-station", "/load_stations", "a pool needs at least one load station"),
        TooManyCalendars { max: usize } =>
            (Rule, "cell.too-many-calendars", "/valid_from", "the cell has {max} versions of its calendar, which is the most it takes; replace one"),
        NoOwnCalendar { cell: CellId } =>
            (Rule, "cell.no-own-calendar", "", "the cell {cell} works by the site's calendar already"),
    }
}

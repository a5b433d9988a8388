use super::{PalletFacts, Position};
use crate::ids::{CellId, PalletId, Seq};

#[derive(Clone, Debug)]
pub struct AddPallet {
    pub pallet: PalletId,
    pub cell: CellId,
    pub facts: PalletFacts,
    /// `None`: the first stand that is free, else the first load station.
    pub position: Option<Position>,
}

#[derive(Clone, Debug)]
pub struct ChangePallet {
    pub pallet: PalletId,
    pub facts: PalletFacts,
    /// The version that the change was made on (If-Match); `None` at the command line.
    pub expected: Option<Seq>,
}

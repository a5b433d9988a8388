//! What an entry says about the time of machines, pallets and cells.

use super::Shop;
use crate::entry::EntryMeta;
use crate::event::Event;
use crate::ids::{CellId, MachineId, PalletId, Track};
use crate::machine::marks_of;
use crate::stretches::Mark;

impl Shop {
    /// The marks of an entry that has just been folded into this shop. The writer, a rebuild and `verify` all ask here:
    /// the rows of the read tables are the fold of these marks.
    pub fn marks_after(&self, event: &Event, _meta: &EntryMeta) -> Vec<(Track, Mark)> {
        let of_machine = marks_of(event).into_iter();
        of_machine
            .flat_map(|(machine, marks)| marks.into_iter().map(move |mark| (machine.into(), mark)))
            .collect()
    }

    /// Whether rows of this track can exist. Nobody's command may ask for those of others.
    pub fn knows_track(&self, track: Track) -> bool {
        self.machines.get(&MachineId(track.0)).is_some()
            || self.pallets.get(&PalletId(track.0)).is_some()
            || self.cells.get(&CellId(track.0)).is_some()
    }

    /// The pallets whose marks tell why the spindles of a cell stood. A pallet never leaves its cell.
    pub fn pallets_of(&self, cell: CellId) -> Vec<PalletId> {
        let of_cell = self.pallets.values().filter(|pallet| pallet.cell == cell);
        of_cell.map(|pallet| pallet.id).collect()
    }
}

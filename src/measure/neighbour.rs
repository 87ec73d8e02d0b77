//! The run nearest to a run, straight across from it.

use super::across::Side;
use super::index::RunId;
use super::room::RoomMeasure;

impl RoomMeasure<'_> {
    /// The run that lies nearest straight across from a run, on either side, with nothing between them, and how far off it is there, mm from
    /// centre-line to centre-line; of several equally near the earliest. Nothing stands inside where none lies there, and nothing at all comes
    /// back where runs lie too thick to tell.
    pub fn neighbour(&self, run: RunId) -> Option<Option<(RunId, f64)>> {
        let index = self.index();
        let sides = self.sides().of(&index, run)?;
        let each = sides.iter().flat_map(Side::stretches).filter_map(|beside| {
            let off = beside.distance(beside.from)?.min(beside.distance(beside.to)?);
            Some((beside.run()?, off))
        });
        Some(each.min_by(|a, b| a.1.total_cmp(&b.1).then(a.0.cmp(&b.0))))
    }
}

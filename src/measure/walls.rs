//! How runs lie to the walls.

use super::TOUCH;
use crate::geometry::Ring;
use crate::model::Run;

/// How one run lies to the walls.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WallDistance {
    /// From the run's centre-line to the nearest wall, mm; 0 where it touches or crosses one.
    pub distance: f64,
    /// That wall (an index).
    pub wall: usize,
    /// Length of the run outside the outline, mm.
    pub outside: f64,
}

/// How each run of a cable lies to the walls, in order.
pub fn wall_distances(outline: &Ring, runs: &[Run]) -> Vec<WallDistance> {
    let mut inside = None;
    runs.iter()
        .map(|run| {
            let (wall, near) = outline.nearest(run.piece());
            let distance = if near.distance <= TOUCH { 0.0 } else { near.distance };
            let outside = if distance == 0.0 {
                inside = None;
                let outside = run.length() - outline.length_inside(run.piece(), true);
                if outside <= TOUCH { 0.0 } else { outside }
            } else if *inside.get_or_insert_with(|| outline.contains(run.start)) {
                // A run that touches no wall ends on the side it began on, and so the next begins there.
                0.0
            } else {
                run.length()
            };
            WallDistance { distance, wall, outside }
        })
        .collect()
}

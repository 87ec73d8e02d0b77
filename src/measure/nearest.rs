//! The run nearest to a run.

use super::index::{RunId, RunIndex, piece_box};
use crate::geometry::approach;

/// How far the search begins by looking, mm: a little more than the usual pitch.
const FIRST_REACH: f64 = 250.0;

/// The run nearest to `id` that it doesn't share a corner with, and how far their centre-lines lie apart, mm; nothing where there is no other.
pub fn nearest_run(index: &RunIndex<'_>, id: RunId) -> Option<(RunId, f64)> {
    let run = index.run(id);
    let (low, high) = piece_box(run.start, run.end);
    let (least, most) = index.bounds();
    let whole = (most.x - least.x).max(most.y - least.y) + FIRST_REACH;
    let mut reach = FIRST_REACH;
    loop {
        let others =
            index.near(low, high, reach).filter(|other| other.cable != id.cable || other.run.abs_diff(id.run) > 1);
        let near = others.map(|other| {
            let other_run = index.run(other);
            (other, approach((run.start, run.end), (other_run.start, other_run.end)).distance)
        });
        let best = near.min_by(|a, b| a.1.total_cmp(&b.1).then(a.0.cmp(&b.0)));
        // What lies outside the box that was looked through lies farther than its margin.
        if best.is_some_and(|(_, distance)| distance <= reach) || reach > whole {
            return best;
        }
        reach *= 4.0;
    }
}

//! The run nearest to a run.

use super::index::{RunId, RunIndex};
use crate::geometry::Bounds;

/// How far the search begins by looking, mm: a little more than the usual pitch.
const FIRST_REACH: f64 = 250.0;

/// The run nearest to `id` that it doesn't share a corner with, and how far their centre-lines lie apart, mm; nothing where there is no other.
pub fn nearest_run(index: &RunIndex<'_>, id: RunId) -> Option<(RunId, f64)> {
    let run = index.run(id).piece();
    let Bounds { low, high } = index.bounds();
    let whole = (high.x - low.x).max(high.y - low.y) + FIRST_REACH;
    let mut reach = FIRST_REACH;
    loop {
        let others =
            index.near(run.bounds(), reach).filter(|other| other.cable != id.cable || other.run.abs_diff(id.run) > 1);
        let near = others.map(|other| (other, run.approach(index.run(other).piece()).distance));
        let best = near.min_by(|a, b| a.1.total_cmp(&b.1).then(a.0.cmp(&b.0)));
        // What lies outside the box that was looked through lies farther than its margin.
        if best.is_some_and(|(_, distance)| distance <= reach) || reach > whole {
            return best;
        }
        reach *= 4.0;
    }
}

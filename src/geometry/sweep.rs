//! Whether any of many straight edges meet, without looking at every pair of them: a line is swept over the floor, and only edges that come to lie
//! next to each other on it are looked at (M. I. Shamos, D. Hoey, "Geometric intersection problems", 17th Annual Symposium on Foundations of
//! Computer Science, 1976). It ends at the first pair that meets, so that the order of the edges on the line never changes.

use std::cmp::Ordering;

use geo::algorithm::{Kernel as _, Orientation};
use geo::{GeoNum, Line};

use super::Point;

/// Two of some edges that meet, where any do. `meet` says of two edges, by their numbers, whether they do in a way that counts: those that only share
/// an end, as neighbours of a ring, may be said not to. It is asked for no more than some pairs an edge.
pub fn any_that_meet(edges: &[Line<f64>], mut meet: impl FnMut(usize, usize) -> bool) -> Option<(usize, usize)> {
    let ordered: Vec<Line<f64>> = edges.iter().map(|edge| in_order(*edge)).collect();
    // Where several things happen at a point, edges begin before others end, so that those that only touch lie side by side for a moment.
    let mut events: Vec<(Point, bool, usize)> = Vec::with_capacity(2 * edges.len());
    for (number, edge) in ordered.iter().enumerate() {
        events.push((edge.start, false, number));
        events.push((edge.end, true, number));
    }
    events.sort_by(|a, b| before(a.0, b.0).then(a.1.cmp(&b.1)).then(a.2.cmp(&b.2)));
    // From the lowest to the highest on the line.
    let mut across: Vec<usize> = Vec::new();
    for (at, ends, number) in events {
        // Those through the point stand together, since none have crossed yet.
        let first = across.partition_point(|other| side(ordered[*other], at) == Ordering::Greater);
        let through = across[first..].iter().take_while(|other| side(ordered[**other], at) == Ordering::Equal).count();
        let met = |(low, high): (usize, usize), meet: &mut dyn FnMut(usize, usize) -> bool| {
            let pair = (low.min(high), low.max(high));
            meet(pair.0, pair.1).then_some(pair)
        };
        if ends {
            let Some(place) = (first..first + through).find(|place| across[*place] == number) else { continue };
            across.remove(place);
            let beside = place.checked_sub(1).and_then(|below| Some((*across.get(below)?, *across.get(place)?)));
            if let Some(pair) = beside.and_then(|pair| met(pair, &mut meet)) {
                return Some(pair);
            }
            continue;
        }
        let near = first.saturating_sub(1)..(first + through + 1).min(across.len());
        if let Some(pair) = across[near].iter().find_map(|other| met((*other, number), &mut meet)) {
            return Some(pair);
        }
        // Of those that only share this end it lies beyond each that its own other end lies beyond.
        let end = ordered[number].end;
        let beyond = |other: &&usize| side(ordered[**other], end) == Ordering::Greater;
        let place = first + across[first..first + through].iter().take_while(beyond).count();
        across.insert(place, number);
    }
    None
}

/// An edge from where the line comes first.
fn in_order(edge: Line<f64>) -> Line<f64> {
    if before(edge.end, edge.start) == Ordering::Less { Line::new(edge.end, edge.start) } else { edge }
}

/// Which of two points the line comes to first: it leans a little, so that it comes to no two at once.
fn before(a: Point, b: Point) -> Ordering {
    a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y))
}

/// How a point lies to an edge that goes with the sweep: greater above it, less below it. Told exactly.
fn side(edge: Line<f64>, point: Point) -> Ordering {
    match <f64 as GeoNum>::Ker::orient2d(edge.start, edge.end, point) {
        Orientation::CounterClockwise => Ordering::Greater,
        Orientation::Clockwise => Ordering::Less,
        Orientation::Collinear => Ordering::Equal,
    }
}

//! Which part of a room's floor each of its cables heats.

use geo::{Area as _, BooleanOps as _, BoundingRect as _, Distance as _, Euclidean, MultiPolygon, Polygon};

use super::frame::Frame;
use super::region;
use crate::geometry::Point;

/// How often a floor is halved to find where it is cut.
const HALVINGS: usize = 24;

/// Parts of the floor, the largest first, for cables of some lengths: parts that joints and steps leave unconnected go to cables by their areas, and
/// a part with several cables is cut, `gap` mm wide, by their lengths: the way round that leaves all of them nearest to the box
/// that their tails come from. One for each cable, in their order; nothing where
/// there are more parts worth a cable than cables.
pub fn shared(
    floors: Vec<Polygon<f64>>,
    lengths: &[f64],
    gap: f64,
    home: Option<Point>,
) -> Option<Vec<MultiPolygon<f64>>> {
    let mut floors = floors;
    floors.sort_by(|a, b| b.unsigned_area().total_cmp(&a.unsigned_area()));
    let whole: f64 = floors.iter().map(|floor| floor.unsigned_area()).sum();
    let in_all: f64 = lengths.iter().sum();
    floors.retain(|floor| floor.unsigned_area() >= LEAST_PART * whole);
    if floors.is_empty() || floors.len() > lengths.len() || in_all <= 0.0 {
        return None;
    }
    // The longest cables first, each to the part that lacks the most.
    let mut order: Vec<usize> = (0..lengths.len()).collect();
    order.sort_by(|a, b| lengths[*b].total_cmp(&lengths[*a]));
    let mut lacking: Vec<f64> = floors.iter().map(|floor| floor.unsigned_area() / whole * in_all).collect();
    let mut given: Vec<Vec<usize>> = vec![Vec::new(); floors.len()];
    for (rank, cable) in order.into_iter().enumerate() {
        let left = lengths.len() - rank;
        let bare = given.iter().filter(|cables| cables.is_empty()).count();
        let part = (0..floors.len())
            .filter(|part| left > bare || given[*part].is_empty())
            .max_by(|a, b| lacking[*a].total_cmp(&lacking[*b]))?;
        lacking[part] -= lengths[cable];
        given[part].push(cable);
    }
    let mut parts = vec![MultiPolygon::new(Vec::new()); lengths.len()];
    for (floor, mut cables) in floors.into_iter().zip(given) {
        cables.sort_unstable();
        let own: Vec<f64> = cables.iter().map(|cable| lengths[*cable]).collect();
        let far = |parts: &Vec<MultiPolygon<f64>>| {
            let from =
                |part: &MultiPolygon<f64>| home.map_or(0.0, |home| Euclidean.distance(&geo::Point::from(home), part));
            parts.iter().map(from).fold(0.0, f64::max)
        };
        let ways = [Point { x: 1.0, y: 0.0 }, Point { x: 0.0, y: 1.0 }]
            .map(|step| cut(floor.clone(), &own, gap, Frame::along(step)));
        let best = ways.into_iter().min_by(|a, b| far(a).total_cmp(&far(b)))?;
        for (cable, part) in cables.into_iter().zip(best) {
            parts[cable] = part;
        }
    }
    Some(parts)
}

/// The least part of a floor that is worth a cable of its own.
const LEAST_PART: f64 = 0.06;

/// A floor cut across one direction by lengths.
fn cut(floor: Polygon<f64>, lengths: &[f64], gap: f64, frame: Frame) -> Vec<MultiPolygon<f64>> {
    let mut rest = MultiPolygon::from(floor);
    let mut parts = Vec::new();
    for (index, length) in lengths.iter().enumerate() {
        let left: f64 = lengths[index..].iter().sum();
        if index + 1 == lengths.len() {
            parts.push(rest);
            return parts;
        }
        let Some(bounds) = rest.bounding_rect() else { return parts };
        let corners = [bounds.min(), bounds.max()].map(|corner| frame.turned(corner));
        let (from, to) = (corners[0].x.min(corners[1].x), corners[0].x.max(corners[1].x));
        let (low, high) = (corners[0].y.min(corners[1].y) - 1.0, corners[0].y.max(corners[1].y) + 1.0);
        let slab = |a: f64, b: f64| {
            let corner = |x: f64, y: f64| frame.back(Point { x, y });
            region::polygon(&[corner(a, low), corner(b, low), corner(b, high), corner(a, high)])
        };
        let wanted = rest.unsigned_area() * length / left;
        let (mut near, mut far) = (from, to);
        for _ in 0..HALVINGS {
            let middle = f64::midpoint(near, far);
            let area = rest.intersection(&slab(from - 1.0, middle)).unsigned_area();
            if area < wanted { near = middle } else { far = middle }
        }
        let at = near.round();
        parts.push(rest.intersection(&slab(from - 1.0, at - gap / 2.0)));
        rest = rest.intersection(&slab(at + gap / 2.0, to + 1.0));
    }
    parts
}

//! The smallest rectangle round some points.

use geo::convex_hull::graham_hull;

use super::{Point, cross, distance, dot};

/// The sides of the smallest rectangle round some points, whichever way it is turned, mm: one of its sides lies along one of their convex hull's
/// (H. Freeman, R. Shapira, "Determining the minimum-area encasing rectangle for an arbitrary closed curve", Communications of the ACM 18, 1975), and
/// what touches the others is found by going round the hull once (M. I. Shamos, "Computational geometry", 1978). Of several as small, as round a
/// triangle, the one whose longer side is the shortest. Nothing where they lie on a line.
///
/// ```
/// use layrule::geometry::{Point, hull::least_rectangle};
/// let p = |x, y| Point { x, y };
/// // A square on its corner.
/// let sides = least_rectangle(&[p(0.0, -5.0), p(5.0, 0.0), p(0.0, 5.0), p(-5.0, 0.0)]).expect("it has an area");
/// assert!((sides.0 - 50.0_f64.sqrt()).abs() < 1e-9 && (sides.1 - 50.0_f64.sqrt()).abs() < 1e-9);
/// ```
pub fn least_rectangle(points: &[Point]) -> Option<(f64, f64)> {
    // Counter-clockwise and without corners on its sides; its first corner is there once more at the end.
    let hull = graham_hull(&mut points.to_vec(), false);
    let corners = hull.0.split_last().map(|(_, corners)| corners).filter(|corners| corners.len() > 2)?;
    let count = corners.len();
    let corner = |index: usize| corners[index % count];
    let mut best: Option<(f64, f64)> = None;
    // The corners farthest along the side, farthest off it and farthest back along it: each only ever goes on as the side does.
    let (mut along, mut off, mut back) = (0, 0, 0);
    for first in 0..count {
        let (start, end) = (corner(first), corner(first + 1));
        let length = distance(start, end);
        if length == 0.0 {
            continue;
        }
        let unit = (end - start) / length;
        let far = |index: usize| dot(corner(index) - start, unit);
        let high = |index: usize| cross(unit, corner(index) - start);
        let on = |from: usize, value: &dyn Fn(usize) -> f64| {
            let goes_on = |index: &usize| value(index + 1) > value(*index);
            (from..from + count).find(|index| !goes_on(index)).unwrap_or(from)
        };
        along = on(along.max(first + 1), &far);
        off = on(off.max(along), &high);
        back = on(back.max(off), &|index| -far(index));
        let sides = (far(along) - far(back), high(off));
        if best.is_none_or(|best| is_less(sides, best)) {
            best = Some(sides);
        }
    }
    best
}

/// Areas whose shares differ by less are alike but for rounding.
const ALIKE_SHARE: f64 = 1e-9;

/// Whether a rectangle of these sides goes before another.
fn is_less(sides: (f64, f64), than: (f64, f64)) -> bool {
    let (area, other) = (sides.0 * sides.1, than.0 * than.1);
    let alike = (area - other).abs() <= ALIKE_SHARE * other;
    if alike { sides.0.max(sides.1) < than.0.max(than.1) } else { area < other }
}

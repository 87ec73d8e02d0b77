//! Closed rings of straight edges.

use geo::{Area as _, LineString, Polygon};

use super::index::{Index, Near};
use super::tolerance::{ALIKE, ROUNDING, TOUCH};
use super::{Approach, Bounds, Piece, Point, cross, dot};

/// The edges of a ring of corners, each from a corner to the next and the last back to the first.
pub fn edges(corners: &[Point]) -> impl ExactSizeIterator<Item = Piece> + Clone + '_ {
    (0..corners.len()).map(|index| edge(corners, index))
}

fn edge(corners: &[Point], index: usize) -> Piece {
    let next = if index + 1 == corners.len() { 0 } else { index + 1 };
    Piece::new(corners[index], corners[next])
}

/// The area inside a ring of corners, mm2; negative where they go clockwise.
pub fn signed_area(corners: &[Point]) -> f64 {
    Polygon::new(LineString::new(corners.to_vec()), Vec::new()).signed_area()
}

/// A closed ring of edges, by where they lie.
#[derive(Debug)]
pub struct Ring {
    corners: Vec<Point>,
    bounds: Bounds,
    index: Index,
    /// The boxes around groups of edges in their order, around groups of those and so on; none of few edges.
    chains: Vec<Vec<Bounds>>,
}

/// How many edges, or groups of them, make a group.
const GROUP: usize = 8;

impl Ring {
    /// Indexes the edges of a ring of corners.
    pub fn new(corners: &[Point]) -> Self {
        let index = Index::new(edges(corners));
        let mut chains: Vec<Vec<Bounds>> = Vec::new();
        if !index.is_small() {
            let grouped = |boxes: &[Bounds]| -> Vec<Bounds> {
                boxes.chunks(GROUP).filter_map(|group| group.iter().copied().reduce(Bounds::with)).collect()
            };
            let mut boxes: Vec<Bounds> = edges(corners).map(|edge| edge.bounds()).collect();
            while boxes.len() > GROUP {
                boxes = grouped(&boxes);
                chains.push(boxes.clone());
            }
        }
        Ring { corners: corners.to_vec(), bounds: Bounds::around(corners), index, chains }
    }

    /// The box around it.
    pub fn bounds(&self) -> Bounds {
        self.bounds
    }

    /// Its corners.
    pub fn corners(&self) -> &[Point] {
        &self.corners
    }

    /// Its edges, in order.
    pub fn edges(&self) -> impl ExactSizeIterator<Item = Piece> + Clone + '_ {
        edges(&self.corners)
    }

    /// An edge by its number from 0.
    pub fn edge(&self, index: usize) -> Piece {
        edge(&self.corners, index)
    }

    /// The edges whose boxes meet one.
    pub fn edges_near(&self, wanted: Bounds) -> impl Iterator<Item = Piece> + '_ {
        let near = if self.bounds.meets(&wanted) { self.index.near(wanted) } else { Near::none() };
        near.map(|index| self.edge(index))
    }

    /// Whether the box of any edge meets one.
    pub fn has_edges_near(&self, wanted: Bounds) -> bool {
        self.bounds.meets(&wanted) && self.index.near(wanted).next().is_some()
    }

    /// Whether a point lies inside; what holds on an edge itself is not defined.
    ///
    /// ```
    /// use layrule::geometry::{Point, Ring};
    /// let p = |x, y| Point { x, y };
    /// let ring = Ring::new(&[p(0.0, 0.0), p(10.0, 0.0), p(10.0, 10.0), p(0.0, 10.0)]);
    /// assert!(ring.contains(p(1.0, 1.0)) && !ring.contains(p(11.0, 1.0)));
    /// ```
    pub fn contains(&self, point: Point) -> bool {
        // Counts the edges that a ray to the east crosses.
        let mut inside = false;
        let mut cross_edge = |Piece { start: a, end: b }: Piece| {
            if (a.y > point.y) != (b.y > point.y) {
                let side = cross(b - a, point - a);
                inside ^= (side > 0.0) == (b.y > a.y);
            }
        };
        if self.chains.is_empty() {
            self.edges().for_each(cross_edge);
            return inside;
        }
        // How often the ray crosses a chain that lies wholly to the east hangs on its two ends alone, however many edges it has.
        let count = self.corners.len();
        let mut turned = false;
        let mut at = 0;
        'edges: while at < count {
            for (level, boxes) in self.chains.iter().enumerate().rev() {
                let size = GROUP.pow(level as u32 + 1);
                if at % size != 0 {
                    continue;
                }
                let (around, end) = (boxes[at / size], (at + size).min(count));
                let beside = around.low.y > point.y || around.high.y < point.y || around.high.x < point.x;
                if beside || around.low.x > point.x {
                    let last = self.corners[if end == count { 0 } else { end }];
                    turned ^= !beside && (self.corners[at].y > point.y) != (last.y > point.y);
                    at = end;
                    continue 'edges;
                }
            }
            cross_edge(self.edge(at));
            at += 1;
        }
        inside ^ turned
    }

    /// The number of the edge nearest to a piece, and where they come nearest.
    pub fn nearest(&self, piece: Piece) -> (usize, Approach) {
        let Some(likely) = self.index.likely_nearest(piece) else {
            return (0, Approach { first: 0.0, second: 0.0, distance: f64::INFINITY });
        };
        let mut best = (likely, piece.approach(self.edge(likely)));
        let own = piece.bounds();
        // Whatever is nearer, or as near, meets a box that reaches as far; one just as wide may lose it by rounding.
        for index in self.index.near(own.widened(best.1.distance + ALIKE)) {
            // Boxes are no farther apart than what lies in them.
            let edge = self.edge(index);
            if index == likely || edge.bounds().square_gap(&own) > (best.1.distance + ALIKE).powi(2) {
                continue;
            }
            let near = piece.approach(edge);
            // Of edges as near as each other, as those of a corner are, the first.
            if near.distance < best.1.distance - ALIKE || (near.distance <= best.1.distance + ALIKE && index < best.0) {
                best = (index, near);
            }
        }
        best
    }

    /// Adds the shares along a piece at which it may enter or leave, or come to lie along an edge.
    pub fn cuts(&self, piece: Piece, cuts: &mut Vec<f64>) {
        let step = piece.step();
        let square = dot(step, step);
        for edge in self.edges_near(piece.bounds().widened(TOUCH)) {
            let area = cross(step, edge.step());
            let crossing = (area != 0.0).then(|| cross(edge.start - piece.start, edge.step()) / area);
            // The ends of an edge along the piece part what lies on it from what doesn't.
            let ends = [edge.start, edge.end].map(|p| dot(p - piece.start, step) / square);
            cuts.extend(crossing.into_iter().chain(ends).filter(|cut| (0.0..=1.0).contains(cut)));
        }
    }

    /// The length of a piece that lies inside, mm; a stretch along an edge counts only where `with_edges` says so.
    pub fn length_inside(&self, piece: Piece, with_edges: bool) -> f64 {
        let length = piece.length();
        if length == 0.0 {
            return 0.0;
        }
        let mut cuts = vec![0.0, 1.0];
        self.cuts(piece, &mut cuts);
        cuts.sort_by(f64::total_cmp);
        let mut inside = 0.0;
        for pair in cuts.windows(2) {
            let share = pair[1] - pair[0];
            if share * length <= ROUNDING {
                continue;
            }
            let middle = piece.along(f64::midpoint(pair[0], pair[1]));
            // A stretch lies along an edge where its middle and both its ends do; one hardly longer than what lengths are compared to
            // only passes through it.
            let on_edge = share * length > 4.0 * TOUCH && {
                let points = [middle, piece.along(pair[0]), piece.along(pair[1])];
                let mut near = self.edges_near(Bounds::at(middle).widened(TOUCH));
                near.any(|edge| points.iter().all(|point| edge.distance(*point) <= TOUCH))
            };
            if if on_edge { with_edges } else { self.contains(middle) } {
                inside += share * length;
            }
        }
        inside
    }
}

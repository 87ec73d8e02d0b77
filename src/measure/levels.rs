//! The levels of a floor: which is on top where they overlap, how runs lie to them, and which are heated for themselves.

use std::collections::BTreeSet;

use geo::{Area as _, BooleanOps as _, BoundingRect as _, MultiPolygon, Polygon, Rect};

use super::TOUCH;
use super::index::RunId;
use super::room::RoomMeasure;
use super::zones::Zone;
use crate::geometry::index::Index;
use crate::geometry::tolerance::ROUNDING;
use crate::geometry::{Bounds, Piece, Ring};
use crate::model::{AreaKind, Cable, Point, Room, Run, Shape};

/// The levels of a room: areas above or below the rest, and stairs. Where two overlap, the one drawn last is on top.
pub struct Levels<'a> {
    /// In the order drawn.
    levels: Vec<Level<'a>>,
    /// By where they lie, each as the diagonal of its box, which has that box.
    index: Index,
}

struct Level<'a> {
    /// Its number among the room's areas.
    area: usize,
    zone: &'a Zone,
    /// mm; none for stairs.
    height: Option<f64>,
}

/// What lies on top at a place: a level, by its place in the order drawn, or the floor itself.
type Ground = Option<usize>;

/// A stretch of a run, and what lies to its left and to its right. They differ along an edge alone.
struct Stretch {
    /// mm.
    length: f64,
    left: Ground,
    right: Ground,
}

impl<'a> Levels<'a> {
    /// The levels of a room. `zones` are those of the room's areas, in their order.
    pub fn new(room: &Room, zones: &'a [Zone]) -> Self {
        let levels = room.areas.iter().zip(zones).enumerate().filter_map(|(area, (own, zone))| match own.kind {
            AreaKind::Level { height } => Some(Level { area, zone, height }),
            _ => None,
        });
        let levels: Vec<Level> = levels.collect();
        let index = Index::new(levels.iter().map(|level| {
            let Bounds { low, high } = level.zone.bounds();
            Piece::new(low, high)
        }));
        Levels { levels, index }
    }

    /// Whether the room has but one level.
    pub fn is_empty(&self) -> bool {
        self.levels.is_empty()
    }

    /// The room's areas (indices) that are levels which a cable belongs on: the one it starts on or, where it starts on an edge or on stairs,
    /// the one it comes to first.
    pub fn heated(&self, cables: &[Cable]) -> BTreeSet<usize> {
        if self.is_empty() {
            return BTreeSet::new();
        }
        let homes = cables.iter().filter_map(|cable| {
            let mut stretches = cable.runs.iter().flat_map(|run| self.stretches(run.piece()));
            stretches.find_map(|stretch| self.home(&stretch)).flatten()
        });
        homes.map(|level| self.levels[level].area).collect()
    }

    /// For each run of a cable, the stretches of it on another level than the one the cable belongs on, or on stairs, each from and to so
    /// many mm along it. Along an edge it counts as on either of the two that meet there.
    pub fn stretches_off(&self, runs: &[Run]) -> Vec<Vec<(f64, f64)>> {
        let mut home = None;
        let mut all = Vec::with_capacity(runs.len());
        for run in runs {
            let mut off: Vec<(f64, f64)> = Vec::new();
            let mut from = 0.0;
            for stretch in self.stretches(run.piece()) {
                home = home.or_else(|| self.home(&stretch));
                let belongs = |ground: Ground| {
                    let height = self.height(ground);
                    height.is_some() && home.is_none_or(|home| self.height(home) == height)
                };
                let to = from + stretch.length;
                if !belongs(stretch.left) && !belongs(stretch.right) {
                    off.push((from, to));
                }
                from = to;
            }
            all.push(if length_of(&off) <= TOUCH { Vec::new() } else { off });
        }
        all
    }

    /// What a cable belongs on that first comes to lie on this stretch.
    fn home(&self, stretch: &Stretch) -> Option<Ground> {
        (stretch.left == stretch.right && self.height(stretch.left).is_some()).then_some(stretch.left)
    }

    /// mm over the rest of the floor; none for stairs.
    fn height(&self, ground: Ground) -> Option<f64> {
        ground.map_or(Some(0.0), |level| self.levels[level].height)
    }

    /// The stretches of a piece between the edges of levels, in order. Of each level that the piece comes near it is worked out once where the piece
    /// enters and leaves it; going along the piece then, the level on top is the last of those entered and not left.
    fn stretches(&self, piece: Piece) -> Vec<Stretch> {
        let whole = piece.length();
        let step = piece.step();
        let aside = Point { x: -step.y, y: step.x } * (2.0 * TOUCH / whole);
        // From a share of the piece on: whether a level lies to the left, and to the right.
        let mut changes: Vec<(f64, usize, [bool; 2])> = Vec::new();
        for level in self.index.near(piece.bounds().widened(TOUCH)) {
            let zone = self.levels[level].zone;
            let mut cuts = vec![0.0, 1.0];
            zone.cuts(piece, &mut cuts);
            cuts.sort_by(f64::total_cmp);
            for pair in cuts.windows(2).filter(|pair| (pair[1] - pair[0]) * whole > ROUNDING) {
                let middle = piece.along(f64::midpoint(pair[0], pair[1]));
                let sides = if zone.edge_distance(middle) <= TOUCH {
                    [zone.contains(middle + aside), zone.contains(middle - aside)]
                } else {
                    [zone.contains(middle); 2]
                };
                changes.push((pair[0], level, sides));
            }
        }
        changes.sort_by(|one, other| one.0.total_cmp(&other.0));
        let mut on: [BTreeSet<usize>; 2] = Default::default();
        let mut stretches: Vec<Stretch> = Vec::new();
        let mut done = 0.0;
        let mut add = |from: f64, to: f64, on: &[BTreeSet<usize>; 2]| {
            let length = (to - from) * whole;
            let [left, right] = [0, 1].map(|side: usize| on[side].last().copied());
            match stretches.last_mut() {
                Some(last) if last.left == left && last.right == right => last.length += length,
                _ if length > ROUNDING => stretches.push(Stretch { length, left, right }),
                _ => {}
            }
        };
        for (share, level, sides) in changes {
            add(done, share, &on);
            done = share;
            for (on, lies) in on.iter_mut().zip(sides) {
                if lies {
                    on.insert(level)
                } else {
                    on.remove(&level)
                };
            }
        }
        add(done, 1.0, &on);
        stretches
    }
}

/// How long some stretches are together, mm.
fn length_of(stretches: &[(f64, f64)]) -> f64 {
    stretches.iter().map(|(from, to)| to - from).sum()
}

/// The corners that a circle is drawn with where it is cut into parts.
const CIRCLE_CORNERS: u32 = 256;

/// Parts below this area are what rounding leaves over along an edge, mm2.
pub(super) const LEAST_PART: f64 = 1.0;

/// A ring of corners as a polygon.
pub(super) fn polygon(corners: &[Point]) -> Polygon<f64> {
    Polygon::new(geo::LineString::new(corners.to_vec()), Vec::new())
}

/// A shape as a polygon; a circle as one of the same area.
pub(super) fn shape_polygon(shape: &Shape) -> Polygon<f64> {
    match shape {
        Shape::Polygon(corners) => polygon(corners),
        Shape::Circle { centre, radius } => {
            let turn = std::f64::consts::TAU / f64::from(CIRCLE_CORNERS);
            let swollen = radius * (turn / turn.sin()).sqrt();
            let corner = |number: u32| {
                let (sin, cos) = (turn * f64::from(number)).sin_cos();
                *centre + Point { x: cos, y: sin } * swollen
            };
            polygon(&(0..CIRCLE_CORNERS).map(corner).collect::<Vec<_>>())
        }
    }
}

/// The parts of a room's area (an index), a level that isn't heated, that show beside the heated levels on top of it; nothing where none
/// lies on it, and it shows as it is drawn or is hidden by what takes away the floor itself.
pub(super) fn shown_beside(room: &Room, zones: &[Zone], area: usize, heated: &BTreeSet<usize>) -> Option<Vec<Ring>> {
    let bounds = zones[area].bounds();
    let over: Vec<usize> =
        heated.range(area + 1..).copied().filter(|over| zones[*over].bounds().meets(&bounds)).collect();
    if over.is_empty() {
        return None;
    }
    let mut shown = MultiPolygon::from(shape_polygon(&room.areas[area].shape));
    for over in over {
        shown = shown.difference(&shape_polygon(&room.areas[over].shape));
    }
    let mut rings = Vec::new();
    let mut parts = shown.0;
    while let Some(part) = parts.pop() {
        // What lies round a heated level is cut in two through it, so that each part is a ring without a hole.
        match (part.interiors().first().and_then(|hole| hole.bounding_rect()), part.bounding_rect()) {
            _ if part.unsigned_area() <= LEAST_PART => {}
            (Some(hole), Some(all)) => {
                let middle = hole.center().x;
                for (from, to) in [(all.min().x - 1.0, middle), (middle, all.max().x + 1.0)] {
                    let half = Rect::new((from, all.min().y - 1.0), (to, all.max().y + 1.0));
                    parts.extend(part.intersection(&half.to_polygon()));
                }
            }
            _ => rings.push(Ring::new(&part.exterior().0[..part.exterior().0.len().saturating_sub(1)])),
        }
    }
    Some(rings)
}

impl RoomMeasure<'_> {
    /// Which of the room's areas are levels that a cable belongs on; see [`Levels::heated`].
    pub fn heated_levels(&self) -> &BTreeSet<usize> {
        self.kept.on_floor.heated_levels.get_or_init(|| Levels::new(self.room, self.zones()).heated(&self.room.cables))
    }

    /// The length of a run on another level than the one its cable belongs on, mm; stairs are never a level to lie on.
    pub fn length_off_level(&self, id: RunId) -> f64 {
        length_of(self.stretches_off_level(id))
    }

    /// The stretches of a run on another level than the one its cable belongs on, each from and to so many mm along it.
    pub fn stretches_off_level(&self, id: RunId) -> &[(f64, f64)] {
        let stretches = self.kept.on_floor.off_level.get_or_init(|| {
            let levels = Levels::new(self.room, self.zones());
            if levels.is_empty() {
                return Vec::new();
            }
            self.room.cables.iter().map(|cable| levels.stretches_off(&cable.runs)).collect()
        });
        stretches.get(id.in_room()).map_or(&[], |cable| &cable[id.in_cable()])
    }
}

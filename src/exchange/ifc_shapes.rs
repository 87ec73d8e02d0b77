//! The shapes of a building model's things, as points in its own space and as outlines on the floor.
//!
//! Placements refer to placements and mapped shapes to shapes, and a file may have them refer to themselves: chains are followed for a bounded
//! number of steps, shapes gone through by a list, and all points counted.

use std::collections::HashMap;

use super::chains::rings;
use super::flatten;
use super::part21::{Records, Value};
use crate::geometry::{Point, distance};

/// The longest chain of placements.
const MOST_STEPS: usize = 64;
/// The most shapes of one thing, those that it maps among them.
const MOST_SHAPES: usize = 5_000;
/// The most points of one thing.
const MOST_POINTS: usize = 200_000;

/// The ends of an edge on the floor, by the cells that they lie in.
type Ends = [(i64, i64); 2];

/// A point in space.
pub(super) type Space = [f64; 3];

/// A place in space: where its axes point, and its origin.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Placed {
    pub(super) x: Space,
    pub(super) y: Space,
    pub(super) z: Space,
    pub(super) at: Space,
}

impl Placed {
    pub(super) const ORIGIN: Placed =
        Placed { x: [1.0, 0.0, 0.0], y: [0.0, 1.0, 0.0], z: [0.0, 0.0, 1.0], at: [0.0; 3] };

    pub(super) fn point(&self, p: Space) -> Space {
        let turned = self.direction(p);
        [turned[0] + self.at[0], turned[1] + self.at[1], turned[2] + self.at[2]]
    }

    fn direction(&self, p: Space) -> Space {
        let part = |i: usize| self.x[i] * p[0] + self.y[i] * p[1] + self.z[i] * p[2];
        [part(0), part(1), part(2)]
    }

    /// What lies in `inner`, which lies here.
    pub(super) fn then(&self, inner: &Placed) -> Placed {
        Placed {
            x: self.direction(inner.x),
            y: self.direction(inner.y),
            z: self.direction(inner.z),
            at: self.point(inner.at),
        }
    }

    pub(super) fn scaled(&self, scale: f64) -> Placed {
        let by = |axis: Space| axis.map(|part| part * scale);
        Placed { x: by(self.x), y: by(self.y), z: by(self.z), at: self.at }
    }
}

fn unit(v: Space) -> Option<Space> {
    let length = (v[0] * v[0] + v[1] * v[1] + v[2] * v[2]).sqrt();
    (length > 1e-12).then(|| v.map(|part| part / length))
}

fn across(a: Space, b: Space) -> Space {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

/// What a thing's shape comes to.
#[derive(Debug, Default)]
pub(super) struct Shape {
    /// Outlines on the floor, where the shape stands upright on it: the corners, mm once scaled, and whether of curves.
    pub(super) outlines: Vec<(Vec<Point>, bool)>,
    /// All its points.
    pub(super) points: Vec<Space>,
    /// The kinds of shapes that nothing was made of.
    pub(super) unread: Vec<String>,
}

/// Reads shapes and places of a model.
pub(super) struct Shapes<'r, 't> {
    records: &'r Records<'t>,
    /// How many radians an angle of the model's is.
    pub(super) angle: f64,
    /// How far from a curve its pieces may lie, in units of the model.
    pub(super) chord: f64,
}

impl<'r, 't> Shapes<'r, 't> {
    pub(super) fn of(records: &'r Records<'t>, angle: f64, chord: f64) -> Self {
        Shapes { records, angle, chord }
    }

    fn is(&self, number: u64, kind: &str) -> bool {
        self.records.kind(number).eq_ignore_ascii_case(kind)
    }

    /// A point or a direction; what of it isn't given is nothing.
    fn coordinates(&self, value: Option<&Value<'_>>) -> Option<Space> {
        let number = value?.record()?;
        let kind = self.records.kind(number);
        if !kind.eq_ignore_ascii_case("IFCCARTESIANPOINT") && !kind.eq_ignore_ascii_case("IFCDIRECTION") {
            return None;
        }
        let values = self.records.values(number);
        Some(in_space(values.first()?.list()))
    }

    /// A placement of two or three dimensions.
    fn axes(&self, value: Option<&Value<'_>>) -> Option<Placed> {
        let number = value?.record()?;
        let values = self.records.values(number);
        let at = self.coordinates(values.first())?;
        if self.is(number, "IFCAXIS2PLACEMENT2D") {
            let x = self.coordinates(values.get(1)).and_then(unit).unwrap_or([1.0, 0.0, 0.0]);
            return Some(Placed { x, y: [-x[1], x[0], 0.0], z: [0.0, 0.0, 1.0], at });
        }
        let z = self.coordinates(values.get(1)).and_then(unit).unwrap_or([0.0, 0.0, 1.0]);
        let wanted = self.coordinates(values.get(2)).unwrap_or([1.0, 0.0, 0.0]);
        let along = wanted[0] * z[0] + wanted[1] * z[1] + wanted[2] * z[2];
        let x = unit([wanted[0] - along * z[0], wanted[1] - along * z[1], wanted[2] - along * z[2]])?;
        Some(Placed { x, y: across(z, x), z, at })
    }

    /// Where a thing is placed, through all that it is placed in. Nothing where that goes round in a circle.
    pub(super) fn place(&self, placement: Option<&Value<'_>>) -> Option<Placed> {
        let mut place = Placed::ORIGIN;
        let mut next = placement.and_then(Value::record);
        for _ in 0..MOST_STEPS {
            let Some(number) = next else { return Some(place) };
            if !self.is(number, "IFCLOCALPLACEMENT") {
                return Some(place);
            }
            let values = self.records.values(number);
            let own = self.axes(values.get(1)).unwrap_or(Placed::ORIGIN);
            place = own.then(&place);
            next = values.first().and_then(Value::record);
        }
        None
    }

    /// The shape of a thing that stands somewhere: of its footprint where it has one, else of its body.
    pub(super) fn shape(&self, representation: Option<&Value<'_>>, placed: Placed) -> Shape {
        let mut shape = Shape::default();
        let Some(number) = representation.and_then(Value::record) else { return shape };
        let values = self.records.values(number);
        let listed = values.get(2).map(Value::list).unwrap_or_default();
        let named = |wanted: &str| {
            listed.iter().filter_map(Value::record).find(|one| {
                self.records
                    .values(*one)
                    .get(1)
                    .and_then(Value::text)
                    .is_some_and(|name| name.eq_ignore_ascii_case(wanted))
            })
        };
        let Some(chosen) = named("FootPrint").or_else(|| named("Body")).or_else(|| named("Facetation")) else {
            return shape;
        };
        let mut open: Vec<(u64, Placed)> = self.items(chosen).into_iter().map(|item| (item, placed)).collect();
        let mut seen = 0;
        while let Some((item, placed)) = open.pop() {
            seen += 1;
            if seen > MOST_SHAPES || shape.points.len() > MOST_POINTS {
                break;
            }
            self.item(item, placed, &mut shape, &mut open);
        }
        shape
    }

    /// What a representation lists.
    fn items(&self, representation: u64) -> Vec<u64> {
        let values = self.records.values(representation);
        values.get(3).map(Value::list).unwrap_or_default().iter().filter_map(Value::record).collect()
    }

    fn item(&self, number: u64, placed: Placed, shape: &mut Shape, open: &mut Vec<(u64, Placed)>) {
        let values = self.records.values(number);
        let listed =
            |index: usize| values.get(index).map(Value::list).unwrap_or_default().iter().filter_map(Value::record);
        match self.records.kind(number).to_ascii_uppercase().as_str() {
            "IFCEXTRUDEDAREASOLID" => {
                if self.extruded(&values, placed, shape).is_none() {
                    shape.unread.push("profile".into());
                }
            }
            "IFCMAPPEDITEM" => {
                let source = values
                    .first()
                    .and_then(Value::record)
                    .map(|source| self.records.values(source))
                    .unwrap_or_default();
                let origin = self.axes(source.first()).unwrap_or(Placed::ORIGIN);
                let target = self.operator(values.get(1));
                let mapped = source.get(1).and_then(Value::record).map(|mapped| self.items(mapped)).unwrap_or_default();
                let placed = placed.then(&target).then(&origin);
                open.extend(mapped.into_iter().take(MOST_SHAPES).map(|item| (item, placed)));
            }
            // What is cut off lies above the floor, mostly.
            "IFCBOOLEANCLIPPINGRESULT" | "IFCBOOLEANRESULT" => {
                open.extend(values.get(1).and_then(Value::record).map(|first| (first, placed)))
            }
            "IFCGEOMETRICCURVESET" | "IFCGEOMETRICSET" => open.extend(listed(0).map(|item| (item, placed))),
            "IFCSHELLBASEDSURFACEMODEL" => {
                let faces = listed(0).flat_map(|shell| self.faces_of(shell)).collect();
                self.faceted(faces, placed, shape);
            }
            "IFCFACETEDBREP" | "IFCFACETEDBREPWITHVOIDS" | "IFCMANIFOLDSOLIDBREP" => {
                let faces =
                    values.first().and_then(Value::record).map(|shell| self.faces_of(shell)).unwrap_or_default();
                self.faceted(faces, placed, shape);
            }
            "IFCPOLYGONALFACESET" | "IFCTRIANGULATEDFACESET" => {
                let faces = self.indexed_faces(number, &values);
                self.faceted(faces, placed, shape);
            }
            "IFCPOLYLINE" | "IFCINDEXEDPOLYCURVE" | "IFCCOMPOSITECURVE" | "IFCCIRCLE" | "IFCTRIMMEDCURVE" => {
                if let Some((points, curved)) = self.curve(number) {
                    let points: Vec<Space> = points.into_iter().map(|point| placed.point(point)).collect();
                    shape.outlines.push((points.iter().map(|p| Point { x: p[0], y: p[1] }).collect(), curved));
                    shape.points.extend(points);
                }
            }
            other => shape.unread.push(other.chars().filter(char::is_ascii_alphanumeric).take(40).collect()),
        }
    }

    /// How a mapped shape is moved, turned and scaled.
    fn operator(&self, value: Option<&Value<'_>>) -> Placed {
        let Some(number) = value.and_then(Value::record) else { return Placed::ORIGIN };
        let values = self.records.values(number);
        let x = self.coordinates(values.first()).and_then(unit).unwrap_or([1.0, 0.0, 0.0]);
        let y = self.coordinates(values.get(1)).and_then(unit).unwrap_or([-x[1], x[0], 0.0]);
        let at = self.coordinates(values.get(2)).unwrap_or([0.0; 3]);
        let z = self.coordinates(values.get(4)).and_then(unit).unwrap_or_else(|| across(x, y));
        let scale = values.get(3).and_then(Value::number).filter(|scale| scale.abs() > 1e-9).unwrap_or(1.0);
        Placed { x, y, z, at }.scaled(scale)
    }

    /// A profile that is drawn out of its plane.
    fn extruded(&self, values: &[Value<'_>], placed: Placed, shape: &mut Shape) -> Option<()> {
        let (profile, curved) = self.profile(values.first()?.record()?)?;
        let own = self.axes(values.get(1)).unwrap_or(Placed::ORIGIN);
        let placed = placed.then(&own);
        let depth = values.get(3)?.number()?;
        let way = unit(placed.direction(self.coordinates(values.get(2)).unwrap_or([0.0, 0.0, 1.0])))?;
        let scale = placed.z.iter().map(|part| part * part).sum::<f64>().sqrt();
        let reach = way.map(|part| part * depth * scale);
        let base: Vec<Space> = profile.iter().map(|point| placed.point(*point)).collect();
        let moved = |point: &Space| [point[0] + reach[0], point[1] + reach[1], point[2] + reach[2]];
        shape.points.extend(base.iter().map(moved));
        // Upright on the floor: its profile lies flat and is drawn straight up.
        let flat = base
            .windows(2)
            .all(|pair| (pair[0][2] - pair[1][2]).abs() < 1e-6 * (1.0 + distance_between(pair[0], pair[1])));
        if flat && way[0].abs() < 1e-6 && way[1].abs() < 1e-6 {
            shape.outlines.push((base.iter().map(|p| Point { x: p[0], y: p[1] }).collect(), curved));
        }
        shape.points.extend(base);
        Some(())
    }

    /// The outer corners of a profile, in its own plane, and whether straight pieces stand for curves.
    fn profile(&self, number: u64) -> Option<(Vec<Space>, bool)> {
        let values = self.records.values(number);
        let kind = self.records.kind(number).to_ascii_uppercase();
        let placed = || self.axes(values.get(2)).unwrap_or(Placed::ORIGIN);
        match kind.as_str() {
            "IFCARBITRARYCLOSEDPROFILEDEF" | "IFCARBITRARYPROFILEDEFWITHVOIDS" => self.curve(values.get(2)?.record()?),
            "IFCRECTANGLEPROFILEDEF" | "IFCROUNDEDRECTANGLEPROFILEDEF" | "IFCRECTANGLEHOLLOWPROFILEDEF" => {
                let (x, y) = (values.get(3)?.number()? / 2.0, values.get(4)?.number()? / 2.0);
                let placed = placed();
                Some((
                    [[-x, -y, 0.0], [x, -y, 0.0], [x, y, 0.0], [-x, y, 0.0]].map(|point| placed.point(point)).to_vec(),
                    false,
                ))
            }
            "IFCCIRCLEPROFILEDEF" | "IFCCIRCLEHOLLOWPROFILEDEF" => {
                let radius = values.get(3)?.number().filter(|radius| *radius > 0.0)?;
                let placed = placed();
                let points = flatten::circle(Point::zero(), radius, self.chord);
                Some((points.into_iter().map(|p| placed.point([p.x, p.y, 0.0])).collect(), true))
            }
            _ => None,
        }
    }

    /// The points of a curve, and whether straight pieces stand for it. Pieces of a composite one are plain curves.
    fn curve(&self, number: u64) -> Option<(Vec<Space>, bool)> {
        if !self.is(number, "IFCCOMPOSITECURVE") {
            return self.plain_curve(number).map(|(points, curved)| (closed(points), curved));
        }
        let values = self.records.values(number);
        let (mut points, mut curved) = (Vec::new(), false);
        for segment in values.first()?.list().iter().filter_map(Value::record).take(MOST_SHAPES) {
            let values = self.records.values(segment);
            let (mut piece, of_curve) = self.plain_curve(values.get(2)?.record()?)?;
            if values.get(1).and_then(Value::word) == Some("F") {
                piece.reverse();
            }
            points.extend(piece);
            curved |= of_curve;
            if points.len() > MOST_POINTS {
                return None;
            }
        }
        points.dedup_by(|a, b| distance_between(*a, *b) < 1e-9);
        Some((closed(points), curved))
    }

    fn plain_curve(&self, number: u64) -> Option<(Vec<Space>, bool)> {
        let values = self.records.values(number);
        match self.records.kind(number).to_ascii_uppercase().as_str() {
            "IFCPOLYLINE" => {
                let listed = values.first()?.list();
                let points: Vec<Space> =
                    listed.iter().take(MOST_POINTS).filter_map(|point| self.coordinates(Some(point))).collect();
                Some((points, false))
            }
            "IFCINDEXEDPOLYCURVE" => self.indexed_curve(&values),
            "IFCCIRCLE" => {
                let (placed, radius) = (self.axes(values.first())?, values.get(1)?.number()?);
                let points = flatten::circle(Point::zero(), radius, self.chord);
                Some((points.into_iter().map(|p| placed.point([p.x, p.y, 0.0])).collect(), true))
            }
            "IFCTRIMMEDCURVE" => self.trimmed(&values),
            _ => None,
        }
    }

    /// A line's or a circle's piece between two points or angles.
    fn trimmed(&self, values: &[Value<'_>]) -> Option<(Vec<Space>, bool)> {
        let basis = values.first()?.record()?;
        let end = |index: usize| values.get(index).map(Value::list).unwrap_or_default();
        let at = |index: usize| end(index).iter().find_map(|value| self.coordinates(Some(value)));
        if !self.is(basis, "IFCCIRCLE") {
            return Some((vec![at(1)?, at(2)?], false));
        }
        let circle = self.records.values(basis);
        let (placed, radius) = (self.axes(circle.first())?, circle.get(1)?.number().filter(|radius| *radius > 0.0)?);
        let angle = |index: usize| {
            let stated = end(index).iter().find_map(Value::number).map(|angle| angle * self.angle);
            stated.or_else(|| {
                let point = at(index)?;
                let off = [point[0] - placed.at[0], point[1] - placed.at[1], point[2] - placed.at[2]];
                let dot = |a: Space| a[0] * off[0] + a[1] * off[1] + a[2] * off[2];
                Some(dot(placed.y).atan2(dot(placed.x)))
            })
        };
        let forwards = values.get(3).and_then(Value::word) != Some("F");
        let (from, to) = if forwards { (angle(1)?, angle(2)?) } else { (angle(2)?, angle(1)?) };
        let sweep = (to - from).rem_euclid(std::f64::consts::TAU);
        let points = flatten::arc(Point::zero(), radius, from, sweep, self.chord);
        let mut points: Vec<Space> = points.into_iter().map(|p| placed.point([p.x, p.y, 0.0])).collect();
        if !forwards {
            points.reverse();
        }
        Some((points, true))
    }

    /// A curve by a list of points, with arcs through three of them.
    fn indexed_curve(&self, values: &[Value<'_>]) -> Option<(Vec<Space>, bool)> {
        let points = self.point_list(values.first()?.record()?)?;
        let segments = values.get(1).map(Value::list).unwrap_or_default();
        if segments.is_empty() {
            return Some((points, false));
        }
        let at = |value: &Value<'_>| points.get(index(value)?).copied();
        let (mut drawn, mut curved, mut is_arc) = (Vec::new(), false, false);
        for segment in segments {
            match segment {
                Value::Word(word) => is_arc = word.eq_ignore_ascii_case("IFCARCINDEX"),
                Value::List(one) => {
                    // Both kinds stand round one list of numbers.
                    let numbers = one.first().map(Value::list).filter(|inner| !inner.is_empty()).unwrap_or(one);
                    if let (true, [a, b, c]) = (is_arc, numbers) {
                        drawn.extend(arc_through(at(a)?, at(b)?, at(c)?, self.chord));
                        curved = true;
                    } else {
                        drawn.extend(numbers.iter().filter_map(at));
                    }
                }
                _ => {}
            }
            if drawn.len() > MOST_POINTS {
                return None;
            }
        }
        drawn.dedup_by(|a, b| distance_between(*a, *b) < 1e-9);
        Some((drawn, curved))
    }

    fn point_list(&self, number: u64) -> Option<Vec<Space>> {
        let values = self.records.values(number);
        Some(values.first()?.list().iter().take(MOST_POINTS).map(|point| in_space(point.list())).collect())
    }

    /// The faces of a shell, each by its corners.
    fn faces_of(&self, shell: u64) -> Vec<Vec<Space>> {
        let values = self.records.values(shell);
        let faces = values.first().map(Value::list).unwrap_or_default().iter().filter_map(Value::record);
        let mut count = 0;
        faces
            .take(MOST_SHAPES)
            .filter_map(|face| {
                let bounds = self.records.values(face);
                let bound = bounds.first()?.list().first()?.record()?;
                let loop_ = self.records.values(self.records.values(bound).first()?.record()?);
                let room = MOST_POINTS.saturating_sub(count);
                let corners: Vec<Space> =
                    loop_.first()?.list().iter().take(room).filter_map(|point| self.coordinates(Some(point))).collect();
                count += corners.len();
                Some(corners)
            })
            .collect()
    }

    fn indexed_faces(&self, number: u64, values: &[Value<'_>]) -> Vec<Vec<Space>> {
        let Some(points) = values.first().and_then(Value::record).and_then(|list| self.point_list(list)) else {
            return Vec::new();
        };
        let corners =
            |indices: &[Value<'_>]| indices.iter().filter_map(|at| points.get(index(at)?).copied()).collect::<Vec<_>>();
        if self.is(number, "IFCTRIANGULATEDFACESET") {
            let triangles = values.get(3).map(Value::list).unwrap_or_default();
            return triangles.iter().take(MOST_SHAPES * 4).map(|one| corners(one.list())).collect();
        }
        let faces = values.get(2).map(Value::list).unwrap_or_default().iter().filter_map(Value::record);
        faces
            .take(MOST_SHAPES)
            .map(|face| corners(self.records.values(face).first().map(Value::list).unwrap_or_default()))
            .collect()
    }

    /// The outline of what faces enclose, on the floor: the edge of those that lie lowest and flat.
    fn faceted(&self, faces: Vec<Vec<Space>>, placed: Placed, shape: &mut Shape) {
        let faces: Vec<Vec<Space>> =
            faces.into_iter().map(|face| face.into_iter().map(|point| placed.point(point)).collect()).collect();
        let heights = || faces.iter().flatten().map(|point| point[2]);
        let low = heights().fold(f64::INFINITY, f64::min);
        let slack = (heights().fold(f64::NEG_INFINITY, f64::max) - low) * 1e-3 + 1e-9;
        let flat = faces.iter().filter(|face| face.len() > 2 && face.iter().all(|point| point[2] - low <= slack));
        // An edge that two of them share is none of the outline's.
        let key = |point: &Space| ((point[0] / slack).round() as i64, (point[1] / slack).round() as i64);
        let mut edges: HashMap<Ends, (usize, [Point; 2])> = HashMap::new();
        for face in flat {
            for (a, b) in face.iter().zip(face.iter().cycle().skip(1)) {
                let mut ends = [key(a), key(b)];
                ends.sort_unstable();
                let drawn = [a, b].map(|p| Point { x: p[0], y: p[1] });
                edges.entry(ends).or_insert((0, drawn)).0 += 1;
            }
        }
        let mut alone: Vec<[Point; 2]> =
            edges.into_values().filter(|(count, _)| *count == 1).map(|(_, ends)| ends).collect();
        alone.sort_by(|a, b| {
            a[0].x
                .total_cmp(&b[0].x)
                .then(a[0].y.total_cmp(&b[0].y))
                .then(a[1].x.total_cmp(&b[1].x))
                .then(a[1].y.total_cmp(&b[1].y))
        });
        let pieces: Vec<&[Point]> = alone.iter().map(|ends| ends.as_slice()).collect();
        shape.outlines.extend(rings(&pieces).into_iter().map(|(corners, _)| (corners, false)));
        shape.points.extend(faces.into_iter().flatten());
    }
}

/// A number of a list that counts from 1.
fn index(value: &Value<'_>) -> Option<usize> {
    let number = value.number()?;
    (1.0..1e9).contains(&number).then(|| number as usize - 1)
}

fn in_space(values: &[Value<'_>]) -> Space {
    let part = |index: usize| values.get(index).and_then(Value::number).unwrap_or(0.0);
    [part(0), part(1), part(2)]
}

fn distance_between(a: Space, b: Space) -> f64 {
    ((a[0] - b[0]).powi(2) + (a[1] - b[1]).powi(2) + (a[2] - b[2]).powi(2)).sqrt()
}

/// Points without the last where it is the first again.
fn closed(mut points: Vec<Space>) -> Vec<Space> {
    while points.len() > 3 && points.first().zip(points.last()).is_some_and(|(a, b)| distance_between(*a, *b) < 1e-9) {
        points.pop();
    }
    points
}

/// An arc from one point to another through a third between them, in the plane of the floor.
fn arc_through(a: Space, b: Space, c: Space, chord: f64) -> Vec<Space> {
    let [p, q, r] = [a, b, c].map(|point| Point { x: point[0], y: point[1] });
    let (first, second) = (q - p, r - p);
    let twice = 2.0 * (first.x * second.y - first.y * second.x);
    if twice.abs() < 1e-12 {
        return vec![a, b, c];
    }
    let (one, two) = (first.x * first.x + first.y * first.y, second.x * second.x + second.y * second.y);
    let offset = Point { x: (second.y * one - first.y * two) / twice, y: (first.x * two - second.x * one) / twice };
    let centre = p + offset;
    let angle = |point: Point| (point.y - centre.y).atan2(point.x - centre.x);
    let turn = if twice > 0.0 {
        (angle(r) - angle(p)).rem_euclid(std::f64::consts::TAU)
    } else {
        -(angle(p) - angle(r)).rem_euclid(std::f64::consts::TAU)
    };
    flatten::arc(centre, distance(p, centre), angle(p), turn, chord)
        .into_iter()
        .map(|point| [point.x, point.y, a[2]])
        .collect()
}

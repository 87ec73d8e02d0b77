//! What is dimensioned outside the room, side by side with it and whatever the scale: rows of places along each side, from the room outward
//! fixtures, doors, boxes and sensors; cables; walls; the whole.

use super::View;
use super::room::{MOST_WALLS, outward};
use super::sheet::{Sheet, Surround};
use crate::geometry::ring::edges;
use crate::geometry::{Bounds, Piece, along, distance};
use crate::model::{AreaKind, Cable, LineKind, Point, Run, Shape};
use crate::quantity::number;

/// A side of the room.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Side {
    South,
    North,
    West,
    East,
}

impl Side {
    pub(super) const ALL: [Side; 4] = [Side::South, Side::North, Side::West, Side::East];

    /// Whether places along it lie east and west of each other.
    pub(super) fn flat(self) -> bool {
        matches!(self, Side::South | Side::North)
    }

    /// How far along the side a point lies.
    pub(super) fn along(self, point: Point) -> f64 {
        if self.flat() { point.x } else { point.y }
    }

    /// How far out towards the side it lies.
    pub(super) fn out(self, point: Point) -> f64 {
        match self {
            Side::South => -point.y,
            Side::North => point.y,
            Side::West => -point.x,
            Side::East => point.x,
        }
    }

    /// The point so far along and so far out.
    pub(super) fn point(self, along: f64, out: f64) -> Point {
        match self {
            Side::South => Point { x: along, y: -out },
            Side::North => Point { x: along, y: out },
            Side::West => Point { x: -out, y: along },
            Side::East => Point { x: out, y: along },
        }
    }

    fn opposite(self) -> Side {
        match self {
            Side::South => Side::North,
            Side::North => Side::South,
            Side::West => Side::East,
            Side::East => Side::West,
        }
    }

    /// The side that a step points to, where it points straight to one.
    fn of(step: Point) -> Option<Side> {
        let long = step.x.hypot(step.y);
        Side::ALL.into_iter().find(|side| side.out(step) > long * (1.0 - 1e-9))
    }
}

/// What a row is about; in the order from the room outward.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum About {
    Things,
    Cables,
    Walls,
    Whole,
}

/// A row of places along a side, each dimensioned from the one before.
#[derive(Debug, Clone)]
pub(super) struct Row {
    pub side: Side,
    pub about: About,
    /// What it is called.
    pub name: String,
    /// mm along the side, in order.
    pub places: Vec<f64>,
    /// What is said of stretches beyond their lengths.
    stretches: Vec<Stretch>,
    /// From where to where each thing reaches that it dimensions, mm along the side.
    told: Vec<(f64, f64)>,
}

impl Row {
    /// A row of no things, with nothing said beyond its lengths.
    fn plain(side: Side, about: About, name: &str, places: Vec<f64>) -> Row {
        Row { side, about, name: name.into(), places, stretches: Vec::new(), told: Vec::new() }
    }

    /// What is said between two of its places that follow each other.
    pub(super) fn words(&self, from: f64, to: f64) -> String {
        let own = self.stretches.iter().find(|own| same(own.from, from) && same(own.to, to));
        own.map_or_else(|| number(to - from, 1), |own| own.words.clone())
    }

    /// The row without the places that lie nearer than `least` mm to the one before them.
    pub(super) fn thinned(&self, least: f64) -> Vec<f64> {
        let mut kept: Vec<f64> = Vec::new();
        let last = self.places.last().copied();
        for place in &self.places {
            let near = kept.last().is_some_and(|before| place - before < least);
            let end = last.is_some_and(|last| !same(last, *place) && last - place < least);
            if self.about != About::Things || !(near || end) || kept.is_empty() || last == Some(*place) {
                kept.push(*place);
            }
        }
        kept
    }
}

/// Steps of one length, said as one.
#[derive(Debug, Clone)]
struct Stretch {
    from: f64,
    to: f64,
    words: String,
}

/// Something that is dimensioned along one side.
struct Feature {
    about: About,
    /// What a row of its kind is called.
    name: String,
    /// What it is called itself.
    own: String,
    side: Side,
    /// mm along the side, in order.
    places: Vec<f64>,
    stretches: Vec<Stretch>,
    /// Where it lies, inside the room.
    at: Point,
}

/// Places that are one and the same, mm.
fn same(a: f64, b: f64) -> bool {
    (a - b).abs() < 0.5
}

/// How many rows of cables and of things a side has where that is enough …
const FEWEST_INNER: usize = 2;
/// … and how many at the most, where the paper has room for them at its scale.
const MOST_INNER: usize = 8;
/// What a row of many kinds of things is called.
const SEVERAL: &str = "setting out";
/// How many features are dimensioned: more than a room that can be read has, and a bound.
const MOST_FEATURES: usize = 120;
/// How near to each other places of two things stand in one row, mm of paper; what stands nearer has rows of its own.
const APART: f64 = 2.2;

/// The rows of all sides, and what they lack.
#[derive(Debug, Clone, Default)]
pub(super) struct SettingOut {
    pub rows: Vec<Row>,
    /// What has no dimensions for want of room, each once.
    pub lacking: Vec<String>,
    /// How many things are dimensioned on the side that they lie farther from.
    across: usize,
}

/// What is set out on a sheet, and that sheet: as few rows as leave the least out and dimension things on the side that they lie nearer to,
/// but no more than the paper has room for without a smaller scale.
pub(super) fn fitted(view: &View<'_>, fit: impl Fn(&SettingOut) -> Sheet) -> (SettingOut, Sheet) {
    let few = rows(view, FEWEST_INNER, 0.0);
    let first = fit(&few);
    let apart = first.floor(APART);
    let mut best: Option<(SettingOut, Sheet)> = None;
    for most in FEWEST_INNER..=MOST_INNER {
        let own = rows(view, most, apart);
        let rank = |of: &SettingOut| (of.lacking.len(), of.across);
        if best.as_ref().is_some_and(|(best, _)| rank(best) <= rank(&own)) {
            continue;
        }
        let sheet = fit(&own);
        let as_large = sheet.paper == first.paper && sheet.scale <= first.scale && sheet.fits;
        if !as_large && best.is_some() {
            break;
        }
        let whole = rank(&own) == (0, 0);
        best = Some((own, sheet));
        if whole {
            break;
        }
    }
    best.unwrap_or((few, first))
}

/// The rows of all sides, so many of things and cables on each at the most, no two things nearer to each other in one than `apart`, mm.
fn rows(view: &View<'_>, most: usize, apart: f64) -> SettingOut {
    let corners = &view.room.corners;
    let mut out = SettingOut::default();
    if corners.len() < 3 {
        return out;
    }
    if view.figures {
        let bounds = Bounds::around(corners);
        let features = things(view, bounds).into_iter().chain(cables(view, bounds));
        for (index, feature) in features.enumerate() {
            let own = feature.own.clone();
            let put = if index < MOST_FEATURES {
                put(corners, bounds, &mut out.rows, feature, (most, apart))
            } else {
                Put::Nowhere
            };
            out.across += usize::from(put == Put::Across);
            if put == Put::Nowhere && !out.lacking.contains(&own) {
                out.lacking.push(own);
            }
        }
    }
    if corners.len() > MOST_WALLS {
        out.lacking.push(format!("{} walls", corners.len()));
    }
    walls(corners, &mut out.rows);
    out.rows.sort_by_key(|row| row.about);
    out
}

/// Adds the rows of the walls, and of the whole where no row has that.
fn walls(corners: &[Point], rows: &mut Vec<Row>) {
    for side in Side::ALL.into_iter().filter(|_| corners.len() <= MOST_WALLS) {
        let places = wall_places(corners, side);
        // What the opposite side says is not said again.
        let told = rows.iter().any(|row| {
            row.about == About::Walls
                && row.side == side.opposite()
                && row.places.len() == places.len()
                && row.places.iter().zip(&places).all(|(a, b)| same(*a, *b))
        });
        if places.len() > 1 && !told {
            rows.push(Row::plain(side, About::Walls, "walls", places));
        }
    }
    for pair in [[Side::South, Side::North], [Side::West, Side::East]] {
        let of = |side: Side| rows.iter().filter(move |row| row.side == side);
        let told = |side: Side| of(side).any(|row| row.about == About::Walls && row.places.len() == 2);
        if pair.into_iter().any(told) {
            continue;
        }
        let side = if of(pair[0]).count() <= of(pair[1]).count() { pair[0] } else { pair[1] };
        let places = corners.iter().map(|corner| side.along(*corner));
        let (low, high) =
            places.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), at| (low.min(at), high.max(at)));
        if high - low > 0.5 {
            rows.push(Row::plain(side, About::Whole, "overall", vec![low, high]));
        }
    }
}

/// How far outside the room the first row stands, mm of paper …
pub(super) const FIRST: f64 = 9.5;
/// … and how far each beyond the one before.
pub(super) const STEP: f64 = 6.0;

/// What the rows take on paper beside the floor.
pub(super) fn surround(rows: &[Row]) -> Surround {
    let of = |side: Side| {
        let count = rows.iter().filter(|row| row.side == side).count();
        if count == 0 { 9.0 } else { FIRST + STEP * (count - 1) as f64 + 4.5 }
    };
    Surround { left: of(Side::West), right: of(Side::East), top: of(Side::North), bottom: of(Side::South) }
}

/// Where a feature is dimensioned.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Put {
    /// On its side, or by the walls alone.
    There,
    /// On the opposite side.
    Across,
    Nowhere,
}

/// Puts a feature into a row of its side, or of the opposite one where it has room there alone.
fn put(corners: &[Point], bounds: Bounds, rows: &mut Vec<Row>, feature: Feature, (most, apart): (usize, f64)) -> Put {
    let (Some(first), Some(last)) = (feature.places.first().copied(), feature.places.last().copied()) else {
        return Put::There;
    };
    let mut places = datums(corners, bounds, &feature, (first, last));
    // What reaches from wall to wall is dimensioned with the walls.
    if feature.places.iter().all(|at| places.iter().any(|wall| same(*at, *wall))) {
        return Put::There;
    }
    places.extend(&feature.places);
    for (side, put) in [(feature.side, Put::There), (feature.side.opposite(), Put::Across)] {
        let fits = |row: &&mut Row| {
            let near = |at: &f64| places.iter().any(|own| !same(*at, *own) && (at - own).abs() < apart);
            row.side == side
                && row.about == feature.about
                && !row.places.iter().any(|at| within(first, last, *at) || near(at))
                // No place of the one lies in what is told of the other.
                && !row.told.iter().any(|(from, to)| places.iter().any(|at| within(*from, *to, *at)))
        };
        if let Some(row) = rows.iter_mut().find(fits) {
            join(&mut row.places, &places);
            row.stretches.extend(feature.stretches);
            row.told.push((first, last));
            if !row.name.contains(&*feature.name) {
                let several = row.about == About::Things && (row.name.contains(',') || row.name == SEVERAL);
                let own = feature.name.trim_start_matches("cable ");
                row.name = if several { SEVERAL.into() } else { format!("{}, {own}", row.name) };
            }
            return put;
        }
        if rows.iter().filter(|row| row.side == side).count() < most {
            let mut own = Vec::new();
            join(&mut own, &places);
            if own.len() > 1 {
                let Feature { about, name, stretches, .. } = feature;
                rows.push(Row { side, about, name, places: own, stretches, told: vec![(first, last)] });
            }
            return put;
        }
    }
    Put::Nowhere
}

/// Whether a place lies between two others.
fn within(from: f64, to: f64, at: f64) -> bool {
    at > from + 0.5 && at < to - 0.5
}

/// Adds places to others, in order, each once.
fn join(places: &mut Vec<f64>, more: &[f64]) {
    places.extend(more);
    places.sort_by(f64::total_cmp);
    places.dedup_by(|next, last| same(*next, *last));
}

/// The walls that a feature is dimensioned from: straight along its side from it, both ways.
fn datums(corners: &[Point], bounds: Bounds, feature: &Feature, (first, last): (f64, f64)) -> Vec<f64> {
    let side = feature.side;
    let level = side.out(feature.at);
    let (mut low, mut high) = (f64::NEG_INFINITY, f64::INFINITY);
    for edge in edges(corners) {
        let (a, b) = (side.out(edge.start), side.out(edge.end));
        let (from, to) = (side.along(edge.start), side.along(edge.end));
        if (a < level) == (b < level) || !same(from, to) {
            continue;
        }
        if from <= first + 0.5 {
            low = low.max(from);
        }
        if from >= last - 0.5 {
            high = high.min(from);
        }
    }
    let ends = (side.along(bounds.low), side.along(bounds.high));
    let near = |found: f64, end: f64| if found.is_finite() { found } else { end };
    vec![near(low, ends.0), near(high, ends.1)]
}

/// The places of the corners that are seen from a side.
fn wall_places(corners: &[Point], side: Side) -> Vec<f64> {
    let seen = |corner: &&Point| {
        [0.5, -0.5].into_iter().any(|nudge| {
            let (at, out) = (side.along(**corner) + nudge, side.out(**corner));
            !edges(corners).any(|edge| outermost(edge, side, at).is_some_and(|other| other > out + 5.0))
        })
    };
    let mut places = Vec::new();
    let found: Vec<f64> = corners.iter().filter(seen).map(|corner| side.along(*corner)).collect();
    join(&mut places, &found);
    places
}

/// How far out an edge lies at a place along a side.
fn outermost(edge: Piece, side: Side, at: f64) -> Option<f64> {
    let (from, to) = (side.along(edge.start), side.along(edge.end));
    let (a, b) = (side.out(edge.start), side.out(edge.end));
    if (from < at) == (to < at) {
        return None;
    }
    Some(a + (b - a) * (at - from) / (to - from))
}

/// How far out the walls lie at a place along a side.
pub(super) fn wall_at(corners: &[Point], side: Side, at: f64) -> Option<f64> {
    let places = [at - 0.5, at + 0.5];
    let found = places.into_iter().flat_map(|at| edges(corners).filter_map(move |edge| outermost(edge, side, at)));
    found.reduce(f64::max)
}

/// Runs that lie along the most of a cable: how far across each lies, and from where to where.
struct Laid {
    flat: bool,
    rows: Vec<(f64, f64, f64)>,
}

fn laid(runs: &[Run]) -> Laid {
    let step = |run: &Run| run.end - run.start;
    let (mut east, mut north) = (0.0, 0.0);
    for run in runs {
        if step(run).y.abs() < 1e-6 {
            east += run.length();
        } else if step(run).x.abs() < 1e-6 {
            north += run.length();
        }
    }
    let flat = east >= north;
    let parallel = runs.iter().filter(|run| if flat { step(run).y.abs() < 1e-6 } else { step(run).x.abs() < 1e-6 });
    let row = |run: &Run| {
        let (at, a, b) =
            if flat { (run.start.y, run.start.x, run.end.x) } else { (run.start.x, run.start.y, run.end.y) };
        (at, a.min(b), a.max(b))
    };
    Laid { flat, rows: parallel.map(row).collect() }
}

/// The places of runs one beside the other, equal steps said as one.
fn steps(rows: &[(f64, f64, f64)]) -> (Vec<f64>, Vec<Stretch>) {
    let mut groups: Vec<(f64, f64, u32)> = Vec::new();
    let mut before: Option<f64> = None;
    for (at, ..) in rows {
        let Some(last) = before.filter(|last| !same(*last, *at)).or_else(|| before.is_none().then_some(*at)) else {
            continue;
        };
        match groups.last_mut() {
            Some((start, end, count)) if same((*end - *start) / f64::from(*count), at - last) => {
                *end = *at;
                *count += 1;
            }
            _ if before.is_some() => groups.push((last, *at, 1)),
            _ => {}
        }
        before = Some(*at);
    }
    let forward = groups.iter().all(|group| group.1 > group.0) || groups.iter().all(|group| group.1 < group.0);
    if groups.len() > MOST_GROUPS || !forward {
        let ats = || rows.iter().map(|row| row.0);
        return (vec![ats().fold(f64::INFINITY, f64::min), ats().fold(f64::NEG_INFINITY, f64::max)], Vec::new());
    }
    let mut places: Vec<f64> = Vec::new();
    let ends: Vec<f64> =
        groups.iter().flat_map(|group| [group.0, group.1]).chain(rows.first().map(|row| row.0)).collect();
    join(&mut places, &ends);
    let several = groups.iter().filter(|group| group.2 > 1);
    let stretches = several.map(|(start, end, count)| {
        let (from, to) = (start.min(*end), start.max(*end));
        let words = format!("{count} × {} = {}", number((to - from) / f64::from(*count), 1), number(to - from, 1));
        Stretch { from, to, words }
    });
    let stretches = stretches.collect();
    (places, stretches)
}

/// How many times the step from run to run may change before the outermost runs alone are dimensioned.
const MOST_GROUPS: usize = 5;
/// How many lines of turns of a cable are dimensioned on each side.
const MOST_TURNS: usize = 3;

/// The first and the last run of each cable, its turns, and its start.
fn cables(view: &View<'_>, bounds: Bounds) -> Vec<Feature> {
    let mut found = Vec::new();
    for cable in &view.room.cables {
        let laid = laid(&cable.runs);
        if laid.rows.is_empty() {
            continue;
        }
        let own = format!("cable {}", cable.name.text);
        let name = if view.room.cables.len() > 1 { own.clone() } else { "cable".to_string() };
        let (across, turned) = if laid.flat { (Side::West, Side::South) } else { (Side::South, Side::West) };
        let feature = |side: Side, places: Vec<f64>, stretches: Vec<Stretch>, at: Point| Feature {
            about: About::Cables,
            name: name.clone(),
            own: own.clone(),
            side: nearer(bounds, side, at),
            places,
            stretches,
            at,
        };
        let (places, stretches) = steps(&laid.rows);
        let at = middle(&laid, &laid.rows);
        found.push(feature(across, places, stretches, at));
        for rows in turn_lines(&laid) {
            let (low, high) = (rows[0].1, rows[0].2);
            found.push(feature(turned, vec![low, high], Vec::new(), middle(&laid, &rows)));
        }
        found.extend(start(cable).map(|at| feature(turned, vec![turned.along(at)], Vec::new(), at)));
        found.extend(start(cable).map(|at| feature(across, vec![across.along(at)], Vec::new(), at)));
    }
    // A start that lies where a run or a turn is dimensioned already says nothing more.
    let told: Vec<(bool, f64)> = found
        .iter()
        .filter(|one| one.places.len() > 1)
        .flat_map(|one| one.places.iter().map(|at| (one.side.flat(), *at)))
        .collect();
    found.retain(|one| {
        one.places.len() > 1 || !told.iter().any(|(flat, at)| *flat == one.side.flat() && same(*at, one.places[0]))
    });
    found
}

fn start(cable: &Cable) -> Option<Point> {
    cable.runs.first().map(|run| run.start)
}

/// Of a side and its opposite, the one that a place lies nearer to; the side itself in the middle half.
fn nearer(bounds: Bounds, side: Side, at: Point) -> Side {
    let (low, high) = (side.out(bounds.low), side.out(bounds.high));
    let (least, most) = (low.min(high), low.max(high));
    let share = (side.out(at) - least) / (most - least).max(1.0);
    if share < 0.35 { side.opposite() } else { side }
}

/// The middle of the middle one of some runs.
fn middle(laid: &Laid, rows: &[(f64, f64, f64)]) -> Point {
    let (at, low, high) = rows[rows.len() / 2];
    let along = f64::midpoint(low, high);
    if laid.flat { Point { x: along, y: at } } else { Point { x: at, y: along } }
}

/// Runs by where they end, those of the most runs first.
fn turn_lines(laid: &Laid) -> Vec<Vec<(f64, f64, f64)>> {
    let mut rows = laid.rows.clone();
    rows.sort_by(|a, b| a.1.total_cmp(&b.1).then(a.2.total_cmp(&b.2)));
    let alike = rows.chunk_by(|a, b| same(a.1, b.1) && same(a.2, b.2));
    let mut lines: Vec<Vec<(f64, f64, f64)>> = alike.map(<[_]>::to_vec).collect();
    lines.sort_by_key(|rows| std::cmp::Reverse(rows.len()));
    let many = |(rank, rows): &(usize, Vec<_>)| *rank == 0 || rows.len() > 2;
    lines.into_iter().enumerate().filter(many).take(MOST_TURNS).map(|(_, rows)| rows).collect()
}

/// What stands in the room and in its walls.
fn things(view: &View<'_>, bounds: Bounds) -> Vec<Feature> {
    let room = view.room;
    let mut found = Vec::new();
    let both = |found: &mut Vec<Feature>, name: &str, own: &str, low: Point, high: Point| {
        let at = along(low, high, 0.5);
        for side in [Side::South, Side::West] {
            let side = nearer_half(bounds, side, at);
            let mut places = Vec::new();
            join(&mut places, &[side.along(low), side.along(high)]);
            let (name, own) = (name.to_string(), own.to_string());
            found.push(Feature { about: About::Things, name, own, side, places, stretches: Vec::new(), at });
        }
    };
    for sensor in &room.sensors {
        if let Some(tip) = sensor.conduit.last() {
            both(&mut found, "sensor", &format!("sensor {}", sensor.name.text), *tip, *tip);
        }
    }
    for line in &room.lines {
        if let (LineKind::Door { .. }, [a, b]) = (&line.kind, line.points.as_slice()) {
            found.extend(in_wall(view, ("doors", &format!("door {}", line.name.text)), *a, *b));
        }
    }
    let junctions = room.junctions.iter().map(|own| (format!("box {}", own.name.text), own.at));
    let thermostats = room.thermostats.iter().map(|own| (format!("thermostat {}", own.name.text), own.at));
    for (own, at) in junctions.chain(thermostats) {
        match in_wall(view, ("boxes", &own), at, at) {
            Some(feature) => found.push(feature),
            None if wall_of(view, at, at).is_some_and(|(_, edge)| slants(edge)) => {}
            None => both(&mut found, "boxes", &own, at, at),
        }
    }
    for area in &room.areas {
        let (name, word) = match area.kind {
            AreaKind::Fixture { .. } => ("fixtures", "fixture"),
            AreaKind::Drill => ("drill zones", "drill zone"),
            AreaKind::Level { .. } => ("levels", "level"),
        };
        let own = format!("{word} {}", area.name.text);
        match &area.shape {
            Shape::Circle { centre, .. } => both(&mut found, name, &own, *centre, *centre),
            Shape::Polygon(_) => {
                let Bounds { low, high } = area.shape.bounds();
                both(&mut found, name, &own, low, high);
            }
        }
    }
    found
}

/// Of a side and its opposite, the one that a place lies nearer to.
fn nearer_half(bounds: Bounds, side: Side, at: Point) -> Side {
    let half = along(bounds.low, bounds.high, 0.5);
    if side.out(at) < side.out(half) { side.opposite() } else { side }
}

/// How far from a wall something still counts as standing in it, mm.
const IN_WALL: f64 = 150.0;

/// The wall that something stands in, and its number from nothing.
fn wall_of(view: &View<'_>, a: Point, b: Point) -> Option<(usize, Piece)> {
    let middle = along(a, b, 0.5);
    let near = |edge: &Piece| edge.distance(middle);
    let walls = edges(&view.room.corners).enumerate();
    walls.min_by(|a, b| near(&a.1).total_cmp(&near(&b.1))).filter(|(_, edge)| near(edge) <= IN_WALL)
}

/// Whether a wall runs along no side of the sheet.
fn slants(edge: Piece) -> bool {
    Side::of(edge.step()).is_none()
}

/// A slanting wall with what stands in it.
pub(super) struct Slanting {
    /// Its number from nothing.
    pub(super) wall: usize,
    pub(super) edge: Piece,
    /// Its ends and what stands in it, mm along it from its start, in order.
    pub(super) places: Vec<f64>,
    /// What stands in it.
    pub(super) own: Vec<String>,
}

/// The slanting walls in which doors and boxes stand: these are dimensioned along their walls.
pub(super) fn slanting(view: &View<'_>) -> Vec<Slanting> {
    let room = view.room;
    let mut found: Vec<Slanting> = Vec::new();
    if !view.figures || room.corners.len() < 3 {
        return found;
    }
    let doors = room.lines.iter().filter_map(|line| match (&line.kind, line.points.as_slice()) {
        (LineKind::Door { .. }, [a, b]) => Some((format!("door {}", line.name.text), *a, *b)),
        _ => None,
    });
    let junctions = room.junctions.iter().map(|own| (format!("box {}", own.name.text), own.at, own.at));
    let thermostats = room.thermostats.iter().map(|own| (format!("thermostat {}", own.name.text), own.at, own.at));
    for (own, a, b) in doors.chain(junctions).chain(thermostats).take(MOST_FEATURES) {
        let Some((wall, edge)) = wall_of(view, a, b).filter(|(_, edge)| slants(*edge)) else { continue };
        let long = edge.length();
        let places = [0.0, edge.nearest_share(a) * long, edge.nearest_share(b) * long, long];
        let known = found.iter_mut().find(|other| other.wall == wall);
        match known {
            Some(other) => {
                join(&mut other.places, &places);
                other.own.push(own);
            }
            None => {
                let mut all = Vec::new();
                join(&mut all, &places);
                found.push(Slanting { wall, edge, places: all, own: vec![own] });
            }
        }
    }
    found
}

/// What stands in a wall, along that wall alone.
fn in_wall(view: &View<'_>, (name, own): (&str, &str), a: Point, b: Point) -> Option<Feature> {
    let middle = along(a, b, 0.5);
    let (_, edge) = wall_of(view, a, b)?;
    let out = outward(&view.room.corners, edge.start, edge.end);
    let side = Side::of(out)?;
    let foot = edge.start + (edge.end - edge.start) * (distance(edge.start, middle) / edge.length().max(1.0)).min(1.0);
    // Just inside the wall, from where the walls beside it are seen.
    let at = side.point(side.along(middle), side.out(foot) - 2.0);
    let mut places = Vec::new();
    join(&mut places, &[side.along(a), side.along(b)]);
    let (name, own) = (name.to_string(), own.to_string());
    Some(Feature { about: About::Things, name, own, side, places, stretches: Vec::new(), at })
}

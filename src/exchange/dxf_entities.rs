//! The entities of a DXF file, as far as they say something of a floor.

use super::dxf_text::{Pair, Pairs, plain, read};
use super::flatten::{self, Spline};
use super::{APPLICATION, Unreadable};
use crate::geometry::{Point, distance};

/// What an entity draws, in the units of its file.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Drawn {
    /// Points of a line; whether it is closed, and whether straight pieces stand for curves of it.
    Line { points: Vec<Point>, closed: bool, curved: bool },
    /// A circle.
    Circle { centre: Point, radius: f64 },
    /// A symbol that is put somewhere.
    Insert(Box<Insert>),
    /// Something written.
    Text { text: String, at: Point, height: f64 },
    /// Of this kind, of which nothing is made.
    Unread,
}

/// A block put somewhere.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Insert {
    /// The block's name.
    pub(super) block: String,
    pub(super) at: Point,
    pub(super) scale: Point,
    /// By which it is turned, degrees.
    pub(super) turned: f64,
    /// Columns and rows, and how far apart they are.
    pub(super) count: (usize, usize),
    pub(super) step: Point,
    /// What is written in it besides the block's own words.
    pub(super) words: Vec<(String, Point, f64)>,
}

/// An entity.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Entity {
    /// What DXF calls it.
    pub(super) kind: String,
    pub(super) layer: String,
    pub(super) drawn: Drawn,
    /// What this program wrote with it.
    pub(super) words: Vec<String>,
    /// Whether it is a spline of which only points that it goes through are told.
    pub(super) through: bool,
    /// Whether it is drawn on paper rather than in the model.
    pub(super) on_paper: bool,
}

/// How much more of a file is looked at.
pub(super) struct Left {
    pub(super) things: usize,
    pub(super) corners: usize,
}

impl Left {
    /// One thing more, of so many corners.
    fn take(&mut self, corners: usize) -> Result<(), Unreadable> {
        self.things = self.things.checked_sub(1).ok_or_else(Unreadable::too_much)?;
        self.corners = self.corners.checked_sub(corners).ok_or_else(Unreadable::too_much)?;
        Ok(())
    }
}

/// The most groups of one entity.
const MOST_GROUPS: usize = 200_000;
/// The most curves' points of one entity.
const MOST_POINTS: usize = 100_000;

/// An entity's own groups.
struct Groups<'t>(Vec<Pair<'t>>);

impl<'t> Groups<'t> {
    /// Those up to the next entity, which is left where it is.
    fn next(pairs: &mut Pairs<'t>) -> Result<Self, Unreadable> {
        let mut groups = Vec::new();
        while let Some(pair) = pairs.next()? {
            if pair.0 == 0 {
                pairs.keep(pair);
                break;
            }
            if groups.len() >= MOST_GROUPS {
                return Err(Unreadable::too_much());
            }
            groups.push(pair);
        }
        Ok(Groups(groups))
    }

    /// The groups before extended data, whose codes are of another kind.
    fn own(&self) -> impl Iterator<Item = &Pair<'t>> {
        self.0.iter().take_while(|(code, _)| *code < 1000)
    }

    fn text(&self, code: i32) -> Option<&'t str> {
        self.own().find(|(own, _)| *own == code).map(|(_, value)| *value)
    }

    /// A number, where it is one that can be drawn with.
    fn number(&self, code: i32) -> Option<f64> {
        self.text(code).and_then(finite)
    }

    fn whole(&self, code: i32) -> i64 {
        self.text(code).and_then(|value| value.trim().parse().ok()).unwrap_or(0)
    }

    fn point(&self, code: i32) -> Option<Point> {
        Some(Point { x: self.number(code)?, y: self.number(code + 10)? })
    }

    /// What this program wrote with it.
    fn words(&self) -> Vec<String> {
        let mut ours = false;
        let mut words = Vec::new();
        for (code, value) in &self.0 {
            match code {
                1001 => ours = value.trim() == APPLICATION,
                1000 if ours => words.push(plain(value)),
                _ => {}
            }
        }
        words
    }

    /// Whether it is seen from below: x then runs the other way. Nothing where it lies askew.
    fn mirrored(&self) -> Option<bool> {
        let up = self.number(230).unwrap_or(1.0);
        let aside = self.number(210).unwrap_or(0.0).hypot(self.number(220).unwrap_or(0.0));
        (aside < 1e-6).then_some(up < 0.0)
    }
}

/// The largest coordinate that is drawn with.
const FARTHEST: f64 = 1e12;

fn finite(value: &str) -> Option<f64> {
    value.trim().parse().ok().filter(|number: &f64| number.is_finite() && number.abs() < FARTHEST)
}

/// The entities up to the end of a section or of a block, which is left where it is.
pub(super) fn entities(pairs: &mut Pairs<'_>, left: &mut Left, chord: f64) -> Result<Vec<Entity>, Unreadable> {
    let mut entities = Vec::new();
    while let Some(pair) = pairs.next()? {
        let (0, kind) = pair else { continue };
        let kind = kind.trim();
        if matches!(kind, "ENDSEC" | "ENDBLK" | "EOF" | "BLOCK") {
            pairs.keep(pair);
            break;
        }
        let groups = Groups::next(pairs)?;
        let drawn = match kind {
            "POLYLINE" => old_polyline(&groups, pairs, left, chord)?,
            "INSERT" => insert(&groups, pairs, left)?,
            _ => drawn(kind, &groups, chord),
        };
        let corners = if let Some(Drawn::Line { points, .. }) = &drawn { points.len() } else { 1 };
        left.take(corners)?;
        entities.push(Entity {
            kind: kind.chars().filter(|c| c.is_ascii_alphanumeric() || *c == '_').take(40).collect(),
            layer: read(groups.text(8).unwrap_or("0"), false),
            drawn: drawn.unwrap_or(Drawn::Unread),
            words: groups.words(),
            through: kind == "SPLINE" && groups.point(10).is_none(),
            on_paper: groups.whole(67) == 1,
        });
    }
    Ok(entities)
}

fn drawn(kind: &str, groups: &Groups<'_>, chord: f64) -> Option<Drawn> {
    match kind {
        "LINE" => {
            Some(Drawn::Line { points: vec![groups.point(10)?, groups.point(11)?], closed: false, curved: false })
        }
        "LWPOLYLINE" => polyline(groups, chord),
        "CIRCLE" => {
            let mirrored = groups.mirrored()?;
            let radius = groups.number(40).filter(|radius| *radius > 0.0)?;
            Some(Drawn::Circle { centre: across(groups.point(10)?, mirrored), radius })
        }
        "ARC" => arc(groups, chord),
        "ELLIPSE" => ellipse(groups, chord),
        "SPLINE" => spline(groups, chord),
        "TEXT" | "ATTDEF" => {
            if kind == "ATTDEF" {
                return None;
            }
            let at = across(groups.point(10)?, groups.mirrored()?);
            Some(Drawn::Text { text: read(groups.text(1)?, false), at, height: groups.number(40).unwrap_or(0.0) })
        }
        "MTEXT" => {
            let text: String =
                groups.own().filter(|(code, _)| matches!(code, 1 | 3)).map(|(_, value)| *value).collect();
            Some(Drawn::Text {
                text: read(&text, true),
                at: groups.point(10)?,
                height: groups.number(40).unwrap_or(0.0),
            })
        }
        _ => None,
    }
}

fn across(point: Point, mirrored: bool) -> Point {
    if mirrored { Point { x: -point.x, y: point.y } } else { point }
}

/// Corners with the bulges of the pieces after them, as points.
fn bulged(corners: &[(Point, f64)], closed: bool, chord: f64) -> Option<Drawn> {
    let mut points = Vec::new();
    let mut curved = false;
    for (index, (corner, bulge)) in corners.iter().enumerate() {
        points.push(*corner);
        let next = corners.get(index + 1).or_else(|| corners.first().filter(|_| closed));
        if let Some((next, _)) = next.filter(|_| *bulge != 0.0) {
            let between = flatten::bulge(*corner, *next, *bulge, chord);
            curved |= !between.is_empty();
            points.extend(between);
        }
        if points.len() > MOST_POINTS {
            return None;
        }
    }
    (points.len() > 1).then_some(Drawn::Line { points, closed, curved })
}

fn polyline(groups: &Groups<'_>, chord: f64) -> Option<Drawn> {
    let mirrored = groups.mirrored()?;
    let mut corners: Vec<(Point, f64)> = Vec::new();
    for (code, value) in groups.own() {
        match (code, corners.last_mut()) {
            (10, _) => corners.push((Point { x: finite(value)?, y: 0.0 }, 0.0)),
            (20, Some(last)) => last.0.y = finite(value)?,
            (42, Some(last)) => last.1 = finite(value)?,
            _ => {}
        }
    }
    let turned = if mirrored { -1.0 } else { 1.0 };
    let corners: Vec<(Point, f64)> =
        corners.iter().map(|(point, bulge)| (across(*point, mirrored), bulge * turned)).collect();
    bulged(&corners, groups.whole(70) & 1 == 1, chord)
}

/// A polyline whose corners are entities of their own, as older versions have it.
fn old_polyline(
    groups: &Groups<'_>,
    pairs: &mut Pairs<'_>,
    left: &mut Left,
    chord: f64,
) -> Result<Option<Drawn>, Unreadable> {
    let flags = groups.whole(70);
    let mut corners = Vec::new();
    for_each_child("VERTEX", pairs, left, |vertex| {
        // A spline's own frame is no corner of what is drawn.
        if vertex.whole(70) & 16 == 0
            && let Some(point) = vertex.point(10)
        {
            corners.push((point, vertex.number(42).unwrap_or(0.0)));
        }
    })?;
    // A mesh is no line.
    let mirrored = groups.mirrored().filter(|_| flags & (16 | 64) == 0);
    Ok(mirrored.and_then(|mirrored| {
        let turned = if mirrored { -1.0 } else { 1.0 };
        let corners: Vec<(Point, f64)> =
            corners.iter().map(|(point, bulge)| (across(*point, mirrored), bulge * turned)).collect();
        bulged(&corners, flags & 1 == 1, chord)
    }))
}

/// Goes through the entities that belong to one, up to the end of their sequence.
fn for_each_child<'t>(
    kind: &str,
    pairs: &mut Pairs<'t>,
    left: &mut Left,
    mut visit: impl FnMut(&Groups<'t>),
) -> Result<(), Unreadable> {
    while let Some(pair) = pairs.next()? {
        let name = pair.1.trim();
        if pair.0 != 0 || (name != kind && name != "SEQEND") {
            pairs.keep(pair);
            return Ok(());
        }
        left.take(1)?;
        let groups = Groups::next(pairs)?;
        if name == "SEQEND" {
            return Ok(());
        }
        visit(&groups);
    }
    Ok(())
}

fn arc(groups: &Groups<'_>, chord: f64) -> Option<Drawn> {
    let mirrored = groups.mirrored()?;
    let (centre, radius) = (groups.point(10)?, groups.number(40).filter(|radius| *radius > 0.0)?);
    let (from, to) = (groups.number(50)?.to_radians(), groups.number(51)?.to_radians());
    let sweep = (to - from).rem_euclid(std::f64::consts::TAU);
    let points = flatten::arc(centre, radius, from, sweep, chord);
    let points = points.into_iter().map(|point| across(point, mirrored)).collect();
    Some(Drawn::Line { points, closed: false, curved: true })
}

fn ellipse(groups: &Groups<'_>, chord: f64) -> Option<Drawn> {
    let mirrored = groups.mirrored()?;
    let (centre, major, ratio) = (groups.point(10)?, groups.point(11)?, groups.number(40)?);
    let (from, to) = (groups.number(41).unwrap_or(0.0), groups.number(42).unwrap_or(std::f64::consts::TAU));
    let ratio = if mirrored { -ratio } else { ratio };
    let mut points = flatten::ellipse(centre, major, ratio, from, to, chord);
    let closed = (to - from).abs() > std::f64::consts::TAU - 1e-6;
    if closed {
        points.pop();
    }
    Some(Drawn::Line { points, closed, curved: true })
}

/// A spline by its control points, or where none are told as a curve through the points that it goes through.
fn spline(groups: &Groups<'_>, chord: f64) -> Option<Drawn> {
    let mut spline = Spline { degree: usize::try_from(groups.whole(71)).ok()?, ..Spline::default() };
    let mut through: Vec<Point> = Vec::new();
    for (code, value) in groups.own() {
        match code {
            40 => spline.knots.push(finite(value)?),
            41 => spline.weights.push(finite(value)?),
            10 => spline.points.push(Point { x: finite(value)?, y: 0.0 }),
            20 => spline.points.last_mut()?.y = finite(value)?,
            11 => through.push(Point { x: finite(value)?, y: 0.0 }),
            21 => through.last_mut()?.y = finite(value)?,
            _ => {}
        }
    }
    let mut points = match spline.points.is_empty() {
        true => flatten::through(&through, groups.whole(70) & 1 == 1, chord / 2.0)?,
        false => spline.flattened(chord / 2.0)?,
    };
    let closed = points.len() > 3 && distance(*points.first()?, *points.last()?) < chord / 100.0;
    if closed {
        points.pop();
    }
    (points.len() <= MOST_POINTS).then_some(Drawn::Line { points, closed, curved: true })
}

fn insert(groups: &Groups<'_>, pairs: &mut Pairs<'_>, left: &mut Left) -> Result<Option<Drawn>, Unreadable> {
    let mut words = Vec::new();
    if groups.whole(66) == 1 {
        for_each_child("ATTRIB", pairs, left, |word| {
            if let (Some(text), Some(at)) = (word.text(1), word.point(10)) {
                words.push((read(text, false), at, word.number(40).unwrap_or(0.0)));
            }
        })?;
    }
    let count = |code: i32| usize::try_from(groups.whole(code).clamp(1, 1_000)).unwrap_or(1);
    let Some((mirrored, at, block)) =
        groups.mirrored().zip(groups.point(10)).zip(groups.text(2)).map(|((m, a), b)| (m, a, b))
    else {
        return Ok(None);
    };
    let turned = groups.number(50).unwrap_or(0.0);
    let scale = Point { x: groups.number(41).unwrap_or(1.0), y: groups.number(42).unwrap_or(1.0) };
    Ok(Some(Drawn::Insert(Box::new(Insert {
        block: block.trim().chars().take(200).collect(),
        at: across(at, mirrored),
        // Seen from below, x runs the other way, and so does turning.
        scale: across(scale, mirrored),
        turned: if mirrored { -turned } else { turned },
        count: (count(70), count(71)),
        step: Point { x: groups.number(44).unwrap_or(0.0), y: groups.number(45).unwrap_or(0.0) },
        words,
    }))))
}

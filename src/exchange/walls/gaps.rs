//! Where doors and windows part a wall: both its faces stop there, and go on beyond.

use super::pairs::{ALONG, Partner, THICK};
use super::{Budget, CLOSES, Face};
use crate::exchange::sorts::Sort;
use crate::exchange::{Form, Item, Unreadable};
use crate::geometry::index::Index;
use crate::geometry::{Bounds, Piece, Point, cross, dot};

/// How wide an opening is in which a door or a window is drawn, mm.
const OPENING: std::ops::RangeInclusive<f64> = 400.0..=6_000.0;
/// How wide one is that is taken for a door's though none is drawn, mm.
const UNDRAWN: std::ops::RangeInclusive<f64> = 600.0..=1_400.0;
/// How far the two faces of a wall may differ in where they stop, mm.
const JAMB: f64 = 60.0;
/// The sine of the angle at which a wall stands across an opening at the least: 60°.
const ACROSS: f64 = 0.866;
/// How near to its end what crosses a face is part of its jamb, mm.
const AT_JAMB: f64 = 20.0;
/// How much of a drawn thing is looked at.
const MOST_POINTS: usize = 2_000;

/// What closes a face where it is parted.
#[derive(Debug, Clone, Copy)]
pub(super) struct Bridge {
    pub(super) piece: Piece,
    pub(super) fills: Fills,
}

/// What an opening is taken for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Fills {
    /// A door that is drawn.
    Door,
    /// One of which nothing but its opening is.
    Opening,
    /// A window, with wall below.
    Window,
}

/// Where a face stops and faces its own line's going on, or a wall across.
#[derive(Debug, Clone, Copy)]
struct Gap {
    from: Point,
    out: Point,
    wide: f64,
    /// The face that stops, and the one that goes on; nothing where a wall stands across.
    face: usize,
    beyond: Option<usize>,
    /// Whether a line is drawn from the one to the other.
    filled: bool,
}

/// What is drawn in openings.
struct Drawn<'i> {
    items: &'i [Item],
    /// Doors and windows, and the boxes round them.
    symbols: Vec<usize>,
    boxes: Index,
    /// Lines of which nothing says that they are anything else.
    lines: Vec<Piece>,
    index: Index,
}

/// The ends of faces.
struct Ends {
    all: Vec<(Point, Point, usize)>,
    index: Index,
}

/// What closes the faces of walls at doors and windows.
///
/// # Errors
/// Where more lies near openings than is looked at.
pub(super) fn bridges(
    items: &[Item],
    faces: &[Face],
    used: &[bool],
    index: &Index,
    partners: &[Vec<Partner>],
    budget: &mut Budget,
) -> Result<Vec<Bridge>, Unreadable> {
    let mut all = Vec::new();
    for (place, face) in faces.iter().enumerate().filter(|(place, _)| used[*place]) {
        let step = face.piece.step() / face.piece.length();
        all.push((face.piece.start, step * -1.0, place));
        all.push((face.piece.end, step, place));
    }
    let ends = Ends { index: Index::new(all.iter().map(|end| Piece::at(end.0))), all };
    let mut gaps: Vec<Gap> = Vec::new();
    for end in &ends.all {
        gaps.extend(gap(faces, used, index, &ends, *end, budget)?);
    }
    let drawn = Drawn::of(items);
    let starts = Index::new(gaps.iter().map(|gap| Piece::at(gap.from)));
    let mut found = Vec::new();
    for (first, gap) in gaps.iter().enumerate() {
        for second in starts.near_from(first + 1, Bounds::at(gap.from).widened(THICK.end() + JAMB)) {
            budget.take()?;
            let other = gaps[second];
            let offset = other.from - gap.from;
            let across = cross(gap.out, offset);
            let alike = dot(gap.out, other.out) > 0.0
                && cross(gap.out, other.out).abs() <= ALONG
                && dot(offset, gap.out).abs() <= JAMB
                && (gap.wide - other.wide).abs() <= 2.0 * JAMB
                && (THICK.start() - 1.0..=THICK.end() + 1.0).contains(&across.abs());
            let wall = |a: usize, b: usize| partners[a].iter().any(|partner| partner.other == b);
            let of_wall = wall(gap.face, other.face) || gap.beyond.zip(other.beyond).is_some_and(|(a, b)| wall(a, b));
            if !alike || !of_wall || (gap.filled && other.filled) {
                continue;
            }
            let Some(fills) = drawn.fills(gap, &other, across, budget)? else { continue };
            let bridge = |gap: &Gap| Bridge { piece: Piece::new(gap.from, gap.from + gap.out * gap.wide), fills };
            found.extend([bridge(gap), bridge(&other)]);
        }
    }
    Ok(found)
}

/// What lies before the end of a face, along its line.
struct Ahead {
    /// How far off the nearest wall is that the line runs into, mm, and whether that stands across.
    stop: f64,
    across: bool,
    /// Whether the line goes on at once.
    filled: bool,
}

/// What lies before the end of a face within some length, mm.
fn ahead(
    faces: &[Face],
    used: &[bool],
    index: &Index,
    (from, out, face): (Point, Point, usize),
    long: f64,
    budget: &mut Budget,
) -> Result<Ahead, Unreadable> {
    let mut ahead = Ahead { stop: f64::INFINITY, across: false, filled: false };
    for other in index.near(Bounds::between(from, from + out * long).widened(CLOSES)) {
        budget.take()?;
        if !used[other] || other == face {
            continue;
        }
        let piece = faces[other].piece;
        let (step, offset) = (piece.step() / piece.length(), piece.start - from);
        let sine = cross(out, step);
        if sine.abs() <= ALONG {
            let ends = [piece.start, piece.end].map(|end| dot(end - from, out));
            let near = cross(out, offset).abs() <= CLOSES;
            ahead.filled |= near && ends[0].min(ends[1]) < 30.0 && ends[0].max(ends[1]) > 30.0;
            continue;
        }
        let (at, on) = (cross(offset, step) / sine, cross(offset, out) / sine);
        if at > AT_JAMB && at < ahead.stop && (-CLOSES..=piece.length() + CLOSES).contains(&on) {
            (ahead.stop, ahead.across) = (at, sine.abs() >= ACROSS);
        }
    }
    Ok(ahead)
}

/// What a face faces where it stops, if that is an opening off.
fn gap(
    faces: &[Face],
    used: &[bool],
    index: &Index,
    ends: &Ends,
    end: (Point, Point, usize),
    budget: &mut Budget,
) -> Result<Option<Gap>, Unreadable> {
    // Most faces end at another wall.
    if ahead(faces, used, index, end, *OPENING.start(), budget)?.stop < *OPENING.start() {
        return Ok(None);
    }
    let Ahead { stop, across, filled } = ahead(faces, used, index, end, *OPENING.end(), budget)?;
    let (from, out, face) = end;
    let mut nearest: Option<(f64, usize)> = None;
    for place in ends.index.near(Bounds::between(from, from + out * *OPENING.end()).widened(CLOSES)) {
        budget.take()?;
        let (at, other_out, other) = ends.all[place];
        let wide = dot(at - from, out);
        let faces_it = other != face
            && cross(out, at - from).abs() <= CLOSES
            && dot(out, other_out) < 0.0
            && cross(out, other_out).abs() <= ALONG
            && wide > AT_JAMB;
        if faces_it && nearest.is_none_or(|(least, _)| wide < least) {
            nearest = Some((wide, other));
        }
    }
    let own = |wide: f64, beyond: Option<usize>| Gap { from, out, wide, face, beyond, filled };
    Ok(match nearest.filter(|(wide, _)| *wide <= stop + AT_JAMB) {
        Some((wide, other)) => OPENING.contains(&wide).then(|| own(wide, Some(other))),
        None if !filled && across && OPENING.contains(&stop) => Some(own(stop, None)),
        None => None,
    })
}

impl<'i> Drawn<'i> {
    fn of(items: &'i [Item]) -> Self {
        let of_sort =
            |place: &usize| items[*place].tag.is_none() && matches!(items[*place].sort, Sort::Door | Sort::Window);
        let symbols: Vec<usize> = (0..items.len()).filter(of_sort).collect();
        let boxes: Vec<Piece> = symbols
            .iter()
            .map(|place| Bounds::around(points(&items[*place].form)))
            .map(|around| Piece::new(around.low, around.high))
            .collect();
        let is_loose =
            |item: &&Item| item.tag.is_none() && matches!(item.sort, Sort::Unknown | Sort::Wall | Sort::Window);
        let lines: Vec<Piece> = items.iter().filter(is_loose).flat_map(|item| super::pieces(&item.form)).collect();
        Drawn { items, symbols, boxes: Index::new(boxes.into_iter()), index: Index::new(lines.iter().copied()), lines }
    }

    /// What an opening between two faces is, by what is drawn in it; nothing where it is none.
    fn fills(&self, gap: &Gap, other: &Gap, across: f64, budget: &mut Budget) -> Result<Option<Fills>, Unreadable> {
        let (from, wide) = (gap.from, gap.wide);
        let opening = [from, from + gap.out * wide, other.from, other.from + other.out * other.wide];
        let around = Bounds::around(&opening).widened(AT_JAMB);
        // How much of the opening something covers along it, and how near it comes to the middle of the wall.
        let covers = |points: &[Point]| {
            let told = points.iter().take(MOST_POINTS).map(|at| (dot(*at - from, gap.out), cross(gap.out, *at - from)));
            let (mut low, mut high, mut off) = (f64::INFINITY, f64::NEG_INFINITY, f64::INFINITY);
            for (along, aside) in told {
                (low, high) = (low.min(along), high.max(along));
                off = off.min((aside - across / 2.0).abs());
            }
            (high.min(wide) - low.max(0.0), high - low, off - across.abs() / 2.0)
        };
        let mut window = false;
        for place in self.boxes.near(around) {
            budget.take()?;
            let item = &self.items[self.symbols[place]];
            let (covered, long, off) = covers(points(&item.form));
            if covered >= 0.5 * wide && long <= 2.5 * wide && off <= 100.0 {
                if item.sort == Sort::Door {
                    return Ok(Some(Fills::Door));
                }
                window = true;
            }
        }
        for place in self.index.near(around) {
            budget.take()?;
            let line = self.lines[place];
            let (covered, _, _) = covers(&[line.start, line.end]);
            let aside = cross(gap.out, line.along(0.5) - from) / across;
            window |= covered >= 0.8 * wide
                && cross(gap.out, line.step()).abs() <= ALONG * line.length()
                && aside * across.abs() > 10.0
                && (1.0 - aside) * across.abs() > 10.0;
        }
        let faces_on = gap.beyond.is_some() || other.beyond.is_some();
        Ok(match window {
            true => Some(Fills::Window),
            false => (faces_on && UNDRAWN.contains(&wide)).then_some(Fills::Opening),
        })
    }
}

fn points(form: &Form) -> &[Point] {
    match form {
        Form::Ring(points) | Form::Line(points) | Form::Symbol(points) => points,
        Form::Circle { .. } => &[],
    }
}

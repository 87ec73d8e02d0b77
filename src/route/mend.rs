//! Changes a layout a little where something was found in it: a run is moved aside, a turn led in or out, a pair of pieces led into floor that
//! lies bare or taken out of floor that doesn't.

use super::bare::Grid;
use super::draw_in::DrawIn;
use super::fit::{Cable, LEAST_SPARE, Layout, ROUNDED, SPARE, bends, cut_off, laid};
use super::frame::Frame;
use super::rows::Ground;
use super::teeth::Comb;
use super::walk::corners;
use crate::geometry::index::Index;
use crate::geometry::{Bounds, Piece, Point, distance, dot};

/// What a layout is changed by.
pub struct Mender<'m> {
    /// Which way its rows go.
    pub frame: Frame,
    /// The floor.
    pub ground: &'m Ground,
    /// Its points.
    pub grid: &'m Grid,
    /// Small round places that runs are led round.
    pub spots: &'m [(Point, f64)],
    /// What is laid.
    pub cable: Cable,
    /// From run to run, mm.
    pub pitch: f64,
}

/// How far pieces are moved aside, in spacings.
const SHIFTS: [f64; 5] = [0.04, 0.1, 0.2, 0.35, 0.6];

/// How far from a place pieces are changed, in spacings, and how many at the most.
const NEAR: f64 = 1.6;
const MOST_PIECES: usize = 9;

/// How near the pieces of a pair may come to others, and how deep the floor is that they are led into; in spacings.
const CLEAR: f64 = 0.66;
const DEEP: f64 = 0.45;

/// The greatest cosine of an angle that is square enough.
const SQUARE: f64 = 1e-3;

impl Mender<'_> {
    /// The layouts that a layout is changed into near some places of the plan, those that are changed the least first.
    pub fn changed(&self, layout: &Layout, places: &[Point]) -> Vec<Layout> {
        let line: Vec<Point> = layout.line.iter().map(|point| self.frame.turned(*point)).collect();
        let places: Vec<Point> = places.iter().map(|point| self.frame.turned(*point)).collect();
        let pieces: Vec<Piece> = Piece::of_line(&line).collect();
        let far =
            |piece: usize| places.iter().map(|place| pieces[piece].distance(*place)).fold(f64::INFINITY, f64::min);
        let mut near: Vec<(f64, usize)> = (1..pieces.len()).map(|piece| (far(piece), piece)).collect();
        near.retain(|(far, _)| *far <= NEAR * self.pitch);
        near.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        near.truncate(MOST_PIECES);
        let mut lines: Vec<Vec<Point>> = Vec::new();
        lines.extend(near.iter().filter_map(|(_, piece)| levelled(&line, *piece)));
        lines.extend(self.comb().each_filled(&line, Bounds::around(&places).widened(self.pitch)));
        for share in SHIFTS {
            let by = (share * self.pitch).round().max(1.0);
            for (_, piece) in &near {
                lines.extend([by, -by].into_iter().filter_map(|by| shifted(&line, *piece, by)));
            }
        }
        let whole = lines.into_iter().filter_map(|changed| self.whole(changed, &line));
        let back = |line: Vec<Point>| line.iter().map(|point| self.frame.back(*point)).collect();
        whole.map(|line| Layout { line: back(line), ..layout.clone() }).collect()
    }

    fn least(&self) -> f64 {
        2.0 * self.cable.bend_radius + if self.frame.on_axis() { 0.0 } else { ROUNDED }
    }

    fn nearest(&self) -> f64 {
        self.cable.spacing.0.max(self.cable.dense) + LEAST_SPARE
    }

    fn comb(&self) -> Comb<'_> {
        let (pitch, cable, least) = (self.pitch, self.cable, self.least());
        Comb {
            ground: self.ground,
            grid: self.grid,
            spots: self.spots,
            pitch,
            clear: (pitch * CLEAR).max(self.nearest()),
            narrow: (self.nearest(), cable.alongside - SPARE),
            least,
            inset: 0.0,
            straight: cable.straight + least,
            bare: pitch * DEEP,
        }
    }

    /// A changed line made as long as its kit again; nothing where that can't be done, or it comes too near to itself.
    fn whole(&self, line: Vec<Point>, before: &[Point]) -> Option<Vec<Point>> {
        let (cable, least) = (self.cable, self.least());
        let draw_in = DrawIn {
            grid: self.grid,
            pitch: self.pitch,
            least,
            straight: cable.straight + least,
            cold: (cable.cold, cable.crumb),
        };
        let mut line = corners(&line);
        let lacking = cable.length * (1.0 - cable.over) - laid(&line, cable.bend_radius);
        if !lacking.is_finite() {
            return None;
        }
        if lacking > 0.0 {
            line = draw_in.lengthened(&line, lacking, self.ground)?;
        }
        let over = laid(&line, cable.bend_radius) - cable.length;
        if over > 0.0 {
            line = draw_in.shortened(&line, over);
            let rest = laid(&line, cable.bend_radius) - cable.length;
            if rest > 0.0 {
                line = cut_off(&line, rest.floor(), cable.straight)?;
            }
        }
        (bends(&line, least) && self.keeps_apart(&line, before)).then_some(line)
    }

    /// Whether the pieces of a line that aren't those of another keep as far from others as rules ask for.
    fn keeps_apart(&self, line: &[Point], before: &[Point]) -> bool {
        let pieces: Vec<Piece> = Piece::of_line(line).collect();
        let index = Index::new(pieces.iter().copied());
        let known: Vec<Piece> = Piece::of_line(before).collect();
        pieces.iter().enumerate().filter(|(_, piece)| !known.contains(piece)).all(|(own, piece)| {
            let near = index.near(piece.bounds().widened(self.cable.spacing.0));
            let clear = |other: usize| pieces[other].approach(*piece).distance >= self.cable.spacing.0;
            near.filter(|other| own.abs_diff(*other) > 1).all(clear)
        })
    }
}

/// A line with one of its pieces moved to its left; nothing where those that it is joined to don't lie square to it, or don't give so much.
fn shifted(line: &[Point], piece: usize, by: f64) -> Option<Vec<Point>> {
    let (from, to) = (*line.get(piece)?, *line.get(piece + 1)?);
    let length = distance(from, to);
    let step = (to - from) / length;
    let aside = Point { x: -step.y, y: step.x } * by;
    let square = |one: Point, other: Point| dot(other - one, step).abs() <= SQUARE * distance(one, other);
    let before = *line.get(piece.checked_sub(1)?)?;
    let gives = |one: Point, other: Point, moved: Point| dot(moved - one, other - one) >= 0.0;
    if !square(before, from) || !gives(before, from, from + aside) {
        return None;
    }
    if let Some(after) = line.get(piece + 2)
        && (!square(to, *after) || !gives(*after, to, to + aside))
    {
        return None;
    }
    let mut moved = line.to_vec();
    (moved[piece], moved[piece + 1]) = (from + aside, to + aside);
    Some(moved)
}

/// A line without the pair of pieces that one of its pieces joins, where it goes straight on beside them.
fn levelled(line: &[Point], piece: usize) -> Option<Vec<Point>> {
    let [before, from, to, after] = *line.get(piece.checked_sub(1)?..piece + 3)? else { return None };
    let (one, other) = (from - before, after - to);
    let alike = distance(one, other * -1.0) <= SQUARE * distance(before, from);
    let mut level = line[..piece].to_vec();
    level.extend(&line[piece + 2..]);
    alike.then(|| corners(&level))
}

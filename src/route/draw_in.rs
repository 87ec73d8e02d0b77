//! Makes a way over a floor as long as a kit: its turns are drawn in from the floor's edge, as far as that leaves nothing cold.

use super::bare::Grid;
use super::rows::Ground;
use crate::geometry::index::Index;
use crate::geometry::{Bounds, Piece, Point, distance, dot};

/// What turns are drawn in by; lengths in mm.
#[derive(Debug, Clone, Copy)]
pub struct DrawIn<'g> {
    /// The floor's points.
    pub grid: &'g Grid,
    /// From run to run.
    pub pitch: f64,
    /// The least length of a piece between two corners.
    pub least: f64,
    /// Straight cable at both ends of the line.
    pub straight: f64,
    /// How far from the line floor is cold, and how much of that is passed over, mm2.
    pub cold: (f64, f64),
}

/// A turn from one run into the next beside it.
#[derive(Debug, Clone, Copy)]
struct Turn {
    /// The piece across, an index.
    piece: usize,
    /// How far it may be drawn in, mm.
    most: f64,
}

/// How wide a turn is at the most, and how far before it other cable lies so that the floor between counts as theirs, in spacings.
const WIDEST_TURN: f64 = 1.35;
const BEFORE: f64 = 1.7;

/// How far a turn is drawn in at the most, in spacings.
const FARTHEST: f64 = 0.5;

/// How often it is looked where that left floor cold.
const MOST_TIMES: usize = 5;

/// The greatest cosine of an angle that is square enough, and what is no more than this is nothing, mm.
const SQUARE: f64 = 1e-3;
const GRAZE: f64 = 0.5;

impl DrawIn<'_> {
    /// A line shortened by `over` mm or a little less; by as much as its turns give, where that is less.
    pub fn shortened(&self, line: &[Point], over: f64) -> Vec<Point> {
        let mut turns = self.turns(line);
        let mut drawn = shorter(line, &turns, over);
        for _ in 0..MOST_TIMES {
            let cold = self.grid.points_beyond(&drawn, self.cold.0);
            if self.grid.area_of(cold.len()) <= self.cold.1 {
                break;
            }
            // Those stay where they are that could reach what is cold now.
            let reach = self.cold.0 + self.pitch * FARTHEST + self.grid.step();
            let near = |turn: &Turn| {
                let piece = Piece::new(line[turn.piece], line[turn.piece + 1]);
                cold.iter().any(|point| piece.distance(*point) <= reach)
            };
            let before = turns.len();
            turns.retain(|turn| !near(turn));
            if turns.len() == before {
                break;
            }
            drawn = shorter(line, &turns, over);
        }
        drawn
    }

    /// A line lengthened by `lacking` mm or a little more: its turns led out as far as the floor goes, all by about as much. Nothing where they
    /// don't give so much.
    pub fn lengthened(&self, line: &[Point], lacking: f64, ground: &Ground) -> Option<Vec<Point>> {
        let outward = |turn: &Turn| {
            let [before, from, to] = [line[turn.piece - 1], line[turn.piece], line[turn.piece + 1]];
            let step = unit(Piece::new(before, from));
            let ahead = |share: f64| ground.ahead(Piece::new(from, to).along(share), step, self.pitch);
            let most = [0.0, 0.25, 0.5, 0.75, 1.0].map(ahead).into_iter().fold(f64::INFINITY, f64::min);
            Turn { piece: turn.piece, most: -most.floor() }
        };
        let turns: Vec<Turn> = self.turns(line).iter().map(outward).filter(|turn| turn.most < 0.0).collect();
        let gain = |by: f64| turns.iter().map(|turn| 2.0 * by.min(-turn.most)).sum::<f64>();
        let by = (1..=self.pitch as usize).map(|by| by as f64).find(|by| gain(*by) >= lacking)?;
        let turns: Vec<Turn> = turns.iter().map(|turn| Turn { most: turn.most.max(-by), ..*turn }).collect();
        Some(moved(line, &turns, by))
    }

    /// The turns of a line before which nothing but the floor's edge lies.
    fn turns(&self, line: &[Point]) -> Vec<Turn> {
        let pieces: Vec<Piece> = Piece::of_line(line).collect();
        let index = Index::new(pieces.iter().copied());
        let is_turn =
            |piece: usize| piece > 0 && piece + 1 < pieces.len() && self.is_turn(&pieces[piece - 1..piece + 2]);
        let turn = |piece: usize| {
            let outward = unit(pieces[piece - 1]);
            // Nothing lies before it: other cable there would then lie too far off.
            let moved = |share: f64| pieces[piece].along(share) + outward * (self.pitch * BEFORE);
            let ahead = Bounds::around(&[
                pieces[piece].along(0.1) + outward * (2.0 * GRAZE),
                pieces[piece].along(0.9) + outward * (2.0 * GRAZE),
                moved(0.1),
                moved(0.9),
            ]);
            if index.near(ahead).any(|other| other != piece && other + 1 != piece && other != piece + 1) {
                return None;
            }
            // A run with a turn at either end gives half of what it has to each.
            let gives = |run: usize, other: Option<usize>| {
                let shared = other.is_some_and(&is_turn);
                let kept = if run == 0 || run + 1 == pieces.len() { self.straight } else { self.least };
                let left = pieces[run].length() - kept;
                if shared { left / 2.0 } else { left }
            };
            let most = gives(piece - 1, piece.checked_sub(2)).min(gives(piece + 1, Some(piece + 2)));
            let most = most.min(self.pitch * FARTHEST).floor();
            (most > 0.0).then_some(Turn { piece, most })
        };
        (0..pieces.len()).filter(|piece| is_turn(*piece)).filter_map(turn).collect()
    }

    /// Whether the middle one of three pieces joins the others as a turn joins two runs side by side.
    fn is_turn(&self, three: &[Piece]) -> bool {
        let [before, across, after] = three else { return false };
        if across.length() > self.pitch * WIDEST_TURN
            || [before, across, after].iter().any(|piece| piece.length() <= GRAZE)
        {
            return false;
        }
        let (before, across, after) = (unit(*before), unit(*across), unit(*after));
        dot(before, across).abs() < SQUARE && dot(before, after) < SQUARE - 1.0
    }
}

fn unit(piece: Piece) -> Point {
    piece.step() / distance(piece.start, piece.end)
}

/// A line whose turns are drawn in, each by whole millimetres, all by about as much, until it is shorter by `over` mm or a little less.
fn shorter(line: &[Point], turns: &[Turn], over: f64) -> Vec<Point> {
    let gain = |by: f64| turns.iter().map(|turn| 2.0 * turn.most.min(by)).sum::<f64>();
    let mut by = 0.0;
    let most = turns.iter().map(|turn| turn.most).fold(0.0, f64::max);
    let mut step = most;
    while step >= 1.0 {
        if by + step <= most && gain(by + step) <= over {
            by += step;
        } else {
            step = (step / 2.0).floor();
        }
    }
    moved(line, turns, by)
}

/// A line whose turns are moved inward, each as far as it may be and no farther than `by` mm.
fn moved(line: &[Point], turns: &[Turn], by: f64) -> Vec<Point> {
    let mut drawn = line.to_vec();
    for turn in turns {
        let outward = unit(Piece::new(line[turn.piece - 1], line[turn.piece]));
        let inward = outward * -turn.most.min(by);
        drawn[turn.piece] = drawn[turn.piece] + inward;
        drawn[turn.piece + 1] = drawn[turn.piece + 1] + inward;
    }
    drawn
}

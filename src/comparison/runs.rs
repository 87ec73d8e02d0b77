//! How the runs of a cable are led otherwise: which shifted and how far, which are new, which are gone.
//!
//! Rows are compared, not the turns between them, which follow from their rows. Rows that lie where they lay are the same, whichever way
//! they are laid; what is left is matched in its order so that it moves as little as can be (a sequence alignment after Needleman and Wunsch,
//! 1970). So a row put in between is one row, although all later ones have other numbers and are laid the other way. Where rows moved farther than they lie
//! apart, they are taken in their order.

use std::collections::hash_map::Entry;
use std::collections::{HashMap, HashSet};

use super::changes::{Change, How, Led, What};
use crate::geometry::tolerance::TOUCH;
use crate::geometry::{Piece, Point, cross, distance, dot};
use crate::model::{Cable, Run};

/// How far the ends of a row may have moved on average for it to be the same row, mm.
const FARTHEST: f64 = 500.0;

/// How many pairs of rows are weighed at the most; where there are more, rows are taken in their order.
const MOST_WEIGHED: usize = 4_000_000;

/// What differs in the runs of a cable; the old ones lie `offset` elsewhere.
pub(super) fn changes(old: &Cable, new: &Cable, offset: Point) -> Vec<Change> {
    let rows = |cable: &Cable, by: Point| -> Vec<(usize, Piece)> {
        let pieces: Vec<Piece> = cable.runs.iter().map(|run: &Run| run.piece().moved(by)).collect();
        (0..pieces.len()).filter(|index| !is_turn(&pieces, *index)).map(|index| (index, pieces[index])).collect()
    };
    let (before, after) = (rows(old, offset), rows(new, Point::zero()));
    let tell = |pairs: Vec<Pair>| {
        let moved: Vec<Pair> = pairs.into_iter().filter(|pair| pair.differs(&before, &after)).collect();
        let mut leds = without_what_follows(moved, &before, &after);
        leds.sort_by_key(|led| (rank(&led.how), led.runs));
        grouped(leds)
    };
    // Rows may have moved farther than to the next one's place: their order, where there are as many, then tells in far fewer words.
    let in_order =
        (before.len() == after.len()).then(|| tell((0..before.len()).map(|row| Pair(Some(row), Some(row))).collect()));
    let nearest = tell(matched(&before, &after));
    let told = in_order.filter(|told| 2 * told.len() < nearest.len()).unwrap_or(nearest);
    let mut changes = ends(&before, &after, new);
    changes.extend(told.into_iter().map(|led| {
        let cable = if matches!(led.how, How::Gone) { old } else { new };
        let at = cable.runs.get(led.runs.0 - 1).map(|run| run.piece().along(0.5));
        Change { kind: "cable", name: new.name.text.clone(), what: What::Runs(led), at }
    }));
    changes
}

/// A row of the first plan and the same of the second, by their places among the rows; or one that has no fellow.
#[derive(Debug, Clone, Copy)]
struct Pair(Option<usize>, Option<usize>);

impl Pair {
    fn differs(self, before: &[(usize, Piece)], after: &[(usize, Piece)]) -> bool {
        match (self.0, self.1) {
            (Some(a), Some(b)) => !same(before[a].1, after[b].1),
            _ => true,
        }
    }
}

fn same(a: Piece, b: Piece) -> bool {
    apart(a, b) <= TOUCH
}

/// The piece laid the way that lies nearer to another.
fn laid_like(piece: Piece, other: Piece) -> Piece {
    if dot(piece.step(), other.step()) < 0.0 { piece.reversed() } else { piece }
}

/// How far the ends of two pieces lie apart on average, mm, whichever way they are laid.
fn apart(a: Piece, b: Piece) -> f64 {
    let b = laid_like(b, a);
    (distance(a.start, b.start) + distance(a.end, b.end)) / 2.0
}

/// Whether a run is the turn between two rows: shorter than both, which lie side by side and are laid against each other.
fn is_turn(pieces: &[Piece], index: usize) -> bool {
    let Some(before) = index.checked_sub(1).and_then(|index| pieces.get(index)) else { return false };
    let Some(after) = pieces.get(index + 1) else { return false };
    let length = pieces[index].length();
    let against = dot(before.step(), after.step()) < -0.9 * before.length() * after.length();
    against && length < before.length().min(after.length())
}

/// A piece's ends, each to the nearest [`TOUCH`], the western or southern first.
fn key(piece: Piece) -> [i64; 4] {
    let whole = |value: f64| (value / TOUCH).round() as i64;
    let [a, b] = [piece.start, piece.end].map(|end| [whole(end.x), whole(end.y)]);
    let (a, b) = if a <= b { (a, b) } else { (b, a) };
    [a[0], a[1], b[0], b[1]]
}

fn matched(before: &[(usize, Piece)], after: &[(usize, Piece)]) -> Vec<Pair> {
    let mut there: HashMap<[i64; 4], Vec<usize>> = HashMap::new();
    for (index, (_, piece)) in before.iter().enumerate().rev() {
        there.entry(key(*piece)).or_default().push(index);
    }
    let mut left_before = vec![true; before.len()];
    let mut left_after = Vec::new();
    for (index, (_, piece)) in after.iter().enumerate() {
        match there.entry(key(*piece)) {
            Entry::Occupied(mut same) if !same.get().is_empty() => {
                same.get_mut().pop().into_iter().for_each(|own| left_before[own] = false);
            }
            _ => left_after.push(index),
        }
    }
    let left_before: Vec<usize> = (0..before.len()).filter(|index| left_before[*index]).collect();
    aligned(&left_before, &left_after, &|a, b| weight(before[a].1, after[b].1))
}

/// How much it tells against two rows being the same, mm; nothing where they can't be.
fn weight(a: Piece, b: Piece) -> Option<f64> {
    let parallel = cross(a.step(), b.step()).abs() <= 0.5 * a.length() * b.length();
    let apart = apart(a, b);
    // Rows side by side differ in more than their place where their lengths do.
    let beyond = (a.length() - b.length()).abs() / 4.0;
    (parallel && apart <= FARTHEST.max(a.length().min(b.length()) / 2.0)).then_some((apart + beyond).min(FARTHEST))
}

/// The pairs of two sequences, in their order, that weigh least in all, where one that has no fellow weighs as much as half the farthest.
fn aligned(before: &[usize], after: &[usize], weight: &dyn Fn(usize, usize) -> Option<f64>) -> Vec<Pair> {
    let (rows, columns) = (before.len(), after.len());
    let lone = FARTHEST / 2.0 + 1.0;
    if rows.saturating_mul(columns) > MOST_WEIGHED {
        let both = before.iter().zip(after).map(|(a, b)| Pair(Some(*a), Some(*b)));
        let gone = before.iter().skip(columns).map(|a| Pair(Some(*a), None));
        return both.chain(gone).chain(after.iter().skip(rows).map(|b| Pair(None, Some(*b)))).collect();
    }
    let wide = columns + 1;
    let mut least = vec![0.0_f64; (rows + 1) * wide];
    for (cell, value) in least.iter_mut().enumerate() {
        if cell < wide || cell % wide == 0 {
            *value = lone * (cell / wide + cell % wide) as f64;
        }
    }
    for row in 1..=rows {
        for column in 1..=columns {
            let cell = row * wide + column;
            let both =
                weight(before[row - 1], after[column - 1]).map_or(f64::INFINITY, |own| least[cell - wide - 1] + own);
            least[cell] = both.min(least[cell - wide] + lone).min(least[cell - 1] + lone);
        }
    }
    let mut pairs = Vec::new();
    let (mut row, mut column) = (rows, columns);
    while row > 0 || column > 0 {
        let cell = row * wide + column;
        let both = (row > 0 && column > 0).then(|| weight(before[row - 1], after[column - 1])).flatten();
        // The same sums as above, so that one of them is met exactly.
        if both.is_some_and(|own| least[cell] == least[cell - wide - 1] + own) {
            (row, column) = (row - 1, column - 1);
            pairs.push(Pair(Some(before[row]), Some(after[column])));
        } else if row > 0 && (column == 0 || least[cell] == least[cell - wide] + lone) {
            row -= 1;
            pairs.push(Pair(Some(before[row]), None));
        } else {
            column -= 1;
            pairs.push(Pair(None, Some(after[column])));
        }
    }
    pairs.reverse();
    pairs
}

/// What is told of first: what is there in both plans, what is new, what is gone.
fn rank(how: &How) -> usize {
    match how {
        How::Shifted { .. } | How::Turned => 0,
        How::Added => 1,
        How::Gone => 2,
    }
}

/// The differences, without runs that are only longer or shorter because the one that they meet lies elsewhere.
fn without_what_follows(pairs: Vec<Pair>, before: &[(usize, Piece)], after: &[(usize, Piece)]) -> Vec<Led> {
    let leds: Vec<Led> = pairs.into_iter().map(|pair| led(pair, before, after)).collect();
    let causes: HashSet<usize> = leds
        .iter()
        .filter(|led| !led.is_length_alone() && !matches!(led.how, How::Gone))
        .map(|led| led.runs.0)
        .collect();
    let beside = |run: usize| causes.contains(&(run + 1)) || causes.contains(&run.saturating_sub(1));
    let follows = |led: &Led| led.is_length_alone() && beside(led.runs.0);
    leds.into_iter().filter(|led| !follows(led)).collect()
}

fn led(pair: Pair, before: &[(usize, Piece)], after: &[(usize, Piece)]) -> Led {
    match pair {
        Pair(Some(a), Some(b)) => {
            let ((was, old), (is, new)) = (before[a], after[b]);
            let new = laid_like(new, old);
            let along = old.step() / old.length();
            let steps = [new.start - old.start, new.end - old.end];
            let over = |step: Point| step - along * dot(step, along);
            let (start, end) = (over(steps[0]), over(steps[1]));
            let longer = new.length() - old.length();
            let how = if distance(start, end) > TOUCH.max(0.01 * old.length()) {
                How::Turned
            } else if longer.abs() <= TOUCH {
                How::Shifted { by: (steps[0], steps[0]), longer: (0.0, 0.0) }
            } else {
                How::Shifted { by: (start, start), longer: (longer, longer) }
            };
            Led { runs: (is + 1, is + 1), before: Some((was + 1, was + 1)), how }
        }
        Pair(Some(a), None) => {
            let was = before[a].0 + 1;
            Led { runs: (was, was), before: None, how: How::Gone }
        }
        Pair(_, own) => {
            let is = own.map_or(0, |own| after[own].0) + 1;
            Led { runs: (is, is), before: None, how: How::Added }
        }
    }
}

impl Led {
    fn is_length_alone(&self) -> bool {
        matches!(self.how, How::Shifted { by: (by, _), .. } if distance(by, Point::zero()) <= TOUCH)
    }
}

/// Neighbouring runs that are led otherwise in one way, told together; a turn may lie between them.
fn grouped(leds: Vec<Led>) -> Vec<Led> {
    let mut told: Vec<Led> = Vec::new();
    for led in leds {
        match told.last_mut().filter(|last| goes_on(last, &led)) {
            None => told.push(led),
            Some(last) => {
                last.runs.1 = led.runs.1;
                if let (Some(own), Some(next)) = (&mut last.before, led.before) {
                    own.1 = next.1;
                }
                if let (How::Shifted { by, longer }, How::Shifted { by: next, longer: other }) =
                    (&mut last.how, &led.how)
                {
                    let size = |step: Point| distance(step, Point::zero());
                    if size(next.0) < size(by.0) {
                        by.0 = next.0;
                    }
                    if size(next.1) > size(by.1) {
                        by.1 = next.1;
                    }
                    *longer = (longer.0.min(other.0), longer.1.max(other.1));
                }
            }
        }
    }
    told
}

fn goes_on(last: &Led, next: &Led) -> bool {
    let steps = |from: usize, to: usize| (1..=2).contains(&to.saturating_sub(from));
    let before = match (last.before, next.before) {
        (Some(last), Some(next)) => steps(last.1, next.0),
        (None, None) => true,
        _ => false,
    };
    let sign = |value: f64| if value.abs() <= TOUCH { 0 } else { value.signum() as i32 };
    let signs = |how: &How| match how {
        How::Added => (0, 0, 0, 0),
        How::Gone => (1, 0, 0, 0),
        How::Turned => (2, 0, 0, 0),
        How::Shifted { by, longer } => (3, sign(by.1.x), sign(by.1.y), sign(longer.1 + longer.0)),
    };
    steps(last.runs.1, next.runs.0) && before && signs(&last.how) == signs(&next.how)
}

/// That a cable starts or ends elsewhere although no row of it differs there: where it is laid from the other end.
fn ends(before: &[(usize, Piece)], after: &[(usize, Piece)], new: &Cable) -> Vec<Change> {
    let (Some((_, first)), Some((_, last))) = (before.first(), before.last()) else { return Vec::new() };
    let (Some((_, start)), Some((_, end))) = (after.first(), after.last()) else { return Vec::new() };
    let reversed = distance(first.start, end.end) <= TOUCH && distance(last.end, start.start) <= TOUCH;
    let closed = distance(first.start, last.end) <= TOUCH;
    if !reversed || closed {
        return Vec::new();
    }
    let what = What::Figure { label: "laid", from: "from one end".into(), to: "from the other".into() };
    vec![Change { kind: "cable", name: new.name.text.clone(), what, at: Some(start.start) }]
}

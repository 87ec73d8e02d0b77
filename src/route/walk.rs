//! Draws the way of a tour: where rows end, where pieces across lie, and the line that they make together.

use super::cells::Field;
use super::tour::{Hung, Side, Tour};
use crate::geometry::Point;

/// How a tour is drawn.
#[derive(Debug, Clone, Copy)]
pub struct Pen {
    /// How far rows end from where the floor does, left and right, mm.
    pub insets: [f64; 2],
    /// The least length of a piece between two corners, mm.
    pub least: f64,
}

/// Whether pieces across lead up or down from a row's end; neither where the cable ends there.
type Leads = Option<bool>;

/// What is known of the rows while a tour is drawn.
struct Sketch<'f> {
    field: &'f Field,
    pen: Pen,
    used: Vec<bool>,
    /// Where rows end, left and right.
    ends: Vec<[f64; 2]>,
    leads: Vec<[Leads; 2]>,
    /// Of each row the gaps cut into it by pairs of pieces across.
    cuts: Vec<Vec<(f64, f64)>>,
    turns: Vec<(usize, usize, Side)>,
    links: Vec<(usize, usize, f64)>,
}

/// The points of a tour in the field's own frame; nothing where it can't be drawn.
pub fn drawn(field: &Field, tour: &Tour, pen: Pen) -> Option<Vec<Point>> {
    let ends = field.rows.iter().map(|row| {
        let inset = |side: Side| if row.tight[side as usize] { 0.0 } else { pen.insets[side as usize] };
        [(row.from + inset(Side::Left) - GRAZE).ceil(), (row.to - inset(Side::Right) + GRAZE).floor()]
    });
    let count = field.rows.len();
    let mut sketch = Sketch {
        field,
        pen,
        used: vec![false; count],
        ends: ends.collect(),
        leads: vec![[None; 2]; count],
        cuts: vec![Vec::new(); count],
        turns: Vec::new(),
        links: Vec::new(),
    };
    let start = match &tour.round {
        Some((rows, at)) => {
            let side = sketch.comb(rows, tour.inner, Some(*at));
            (*rows.get(*at)?, side?.other())
        }
        None => {
            sketch.path(tour)?;
            let leg = tour.path.first()?;
            let rows = &field.cells[leg.cell];
            (*(if leg.up { rows.first() } else { rows.last() })?, leg.side)
        }
    };
    for hung in &tour.hung {
        sketch.hang(hung, tour.inner);
    }
    let line = sketch.line(start)?;
    let Some(from) = tour.lead.and_then(|place| sketch.lead_start(tour, place)) else { return Some(line) };
    Some(corners(&std::iter::once(from).chain(line).collect::<Vec<_>>()))
}

/// What rounding adds to a place that is on a whole millimetre, mm.
const GRAZE: f64 = 0.03;

/// How far apart places for a pair of pieces across are that are tried, mm.
const TRIED_EVERY: f64 = 10.0;

impl Sketch<'_> {
    /// Joins two rows by a turn at one end.
    fn turn(&mut self, one: usize, other: usize, side: Side) -> Option<()> {
        let (low, high) = (one.min(other), one.max(other));
        let joint = *self.field.joint(low, high)?;
        let tight = [low, high].iter().any(|row| self.field.rows[*row].tight[side as usize]);
        let inset = if tight { 0.0 } else { self.pen.insets[side as usize] };
        match side {
            Side::Left => {
                let bound = (joint.from + inset - GRAZE).ceil();
                let at = bound.max(self.ends[one][0]).max(self.ends[other][0]);
                (self.ends[one][0], self.ends[other][0]) = (at, at);
            }
            Side::Right => {
                let bound = (joint.to - inset + GRAZE).floor();
                let at = bound.min(self.ends[one][1]).min(self.ends[other][1]);
                (self.ends[one][1], self.ends[other][1]) = (at, at);
            }
        }
        self.leads[low][side as usize] = Some(true);
        self.leads[high][side as usize] = Some(false);
        self.turns.push((one, other, side));
        Some(())
    }

    /// The first rows of a path, as far as the cable goes along their ends first.
    fn led(&self, tour: &Tour, place: usize) -> Option<(Vec<usize>, Side)> {
        let leg = tour.path.first()?;
        let mut rows = self.field.cells[leg.cell].clone();
        if !leg.up {
            rows.reverse();
        }
        rows.truncate(place + 1);
        Some((rows, leg.side))
    }

    /// Where a cable starts that goes along the ends of rows first.
    fn lead_start(&self, tour: &Tour, place: usize) -> Option<Point> {
        let (rows, side) = self.led(tour, place)?;
        let x = self.ends[*rows.first()?][side as usize];
        Some(Point { x, y: self.field.rows[*rows.last()?].y })
    }

    /// Leaves room for a cable that goes along the ends of rows first: all but the first of them end a spacing before it.
    fn make_room(&mut self, tour: &Tour, place: usize) -> Option<()> {
        let (rows, side) = self.led(tour, place)?;
        let (ends, _) = self.common_ends(&rows)?;
        let at = ends[side as usize];
        let aside = if side == Side::Left { self.field.pitch } else { -self.field.pitch };
        for (number, row) in rows.iter().enumerate() {
            self.ends[*row][side as usize] = if number == 0 { at } else { at + aside };
        }
        Some(())
    }

    /// Rows to and fro, cell after cell.
    fn path(&mut self, tour: &Tour) -> Option<()> {
        if let Some(place) = tour.lead {
            self.make_room(tour, place)?;
        }
        let mut before: Option<(usize, Side)> = None;
        for leg in &tour.path {
            let mut rows = self.field.cells[leg.cell].clone();
            if !leg.up {
                rows.reverse();
            }
            let mut side = leg.side;
            for row in rows {
                self.used[row] = true;
                if let Some((last, at)) = before {
                    self.turn(last, row, at)?;
                    side = at;
                }
                before = Some((row, side.other()));
            }
        }
        Some(())
    }

    /// Rows by pairs, each pair joined to the next at one side, which is told: the one where less floor is left out, for preference `inner`. A
    /// pair that the cable starts on has no turn at the other side.
    fn comb(&mut self, rows: &[usize], inner: Option<Side>, start: Option<usize>) -> Option<Side> {
        let ([low, high], spread) = self.common_ends(rows)?;
        let prefers = |side: Side| if inner == Some(side) { self.field.pitch } else { 0.0 };
        let side =
            if spread[0] - prefers(Side::Left) <= spread[1] - prefers(Side::Right) { Side::Left } else { Side::Right };
        let at = if side == Side::Left { low } else { high };
        for row in rows {
            self.used[*row] = true;
            self.ends[*row][side as usize] = at;
        }
        for (number, pair) in rows.chunks_exact(2).enumerate() {
            self.turn(pair[0], pair[1], side)?;
            if start != Some(2 * number) {
                self.turn(pair[0], pair[1], side.other())?;
            }
        }
        let width = self.field.pitch;
        let from = if side == Side::Left { at } else { at - width };
        for pair in rows.get(1..)?.chunks_exact(2) {
            self.link(pair[0], pair[1], from);
        }
        Some(side)
    }

    /// Joins a cell to the row that it hangs on; where there is no place for that, the cell is left cold.
    fn hang(&mut self, hung: &Hung, inner: Option<Side>) -> Option<()> {
        if !self.used[hung.on] {
            return None;
        }
        let before = (self.ends.clone(), self.leads.clone(), self.turns.len(), self.links.len());
        let near = *hung.rows.first()?;
        let place = |sketch: &mut Self, inner: Option<Side>| {
            let side = sketch.comb(&hung.rows, inner, None)?;
            sketch.place_for(hung.on, near, (hung.from, hung.to), side)
        };
        for inner in [inner, inner.map(Side::other)] {
            if let Some(at) = place(self, inner) {
                self.link(hung.on, near, at);
                return Some(());
            }
            (self.ends, self.leads) = (before.0.clone(), before.1.clone());
            self.turns.truncate(before.2);
            self.links.truncate(before.3);
            for row in &hung.rows {
                self.used[*row] = false;
                self.cuts[*row].clear();
            }
        }
        None
    }

    /// Where all of some rows can end, left and right, and how much of them all that leaves out on each side, mm.
    fn common_ends(&self, rows: &[usize]) -> Option<([f64; 2], [f64; 2])> {
        let (mut low, mut high) = (f64::NEG_INFINITY, f64::INFINITY);
        for row in rows {
            low = low.max(self.ends[*row][0]);
            high = high.min(self.ends[*row][1]);
        }
        for pair in rows.windows(2) {
            let joint = self.field.joint(pair[0].min(pair[1]), pair[0].max(pair[1]))?;
            let inset = |side: usize| {
                if pair.iter().any(|row| self.field.rows[*row].tight[side]) { 0.0 } else { self.pen.insets[side] }
            };
            low = low.max((joint.from + inset(0) - GRAZE).ceil());
            high = high.min((joint.to - inset(1) + GRAZE).floor());
        }
        let left: f64 = rows.iter().map(|row| low - self.ends[*row][0]).sum();
        let right: f64 = rows.iter().map(|row| self.ends[*row][1] - high).sum();
        Some(([low, high], [left, right]))
    }

    /// Where a pair of pieces across can lie between two rows: next to the `side` where the one is open, or as near to that as may be.
    fn place_for(&self, on: usize, near: usize, (from, to): (f64, f64), side: Side) -> Option<f64> {
        let width = self.field.pitch;
        let low = (from + self.pen.insets[0] - GRAZE).ceil().max(self.ends[on][0]).max(self.ends[near][0]);
        let high = (to - self.pen.insets[1] + GRAZE).floor().min(self.ends[on][1]).min(self.ends[near][1]) - width;
        if high < low {
            return None;
        }
        let wanted = if side == Side::Left { self.ends[near][0] } else { self.ends[near][1] - width };
        let count = ((high - low) / TRIED_EVERY).floor() as usize;
        let between = (0..=count).map(|step| low + TRIED_EVERY * step as f64);
        let mut places: Vec<f64> = between.chain([high, wanted.clamp(low, high)]).collect();
        places.sort_by(|a, b| (a - wanted).abs().total_cmp(&(b - wanted).abs()).then(a.total_cmp(b)));
        places.into_iter().find(|at| {
            let up = self.field.rows[near].y > self.field.rows[on].y;
            self.has_room(on, *at, up) && self.has_room(near, *at, !up)
        })
    }

    /// Whether a row can be cut for a pair of pieces across: what is left beside it must hold its bends, unless the cable goes straight on there.
    fn has_room(&self, row: usize, at: f64, up: bool) -> bool {
        let (width, least) = (self.field.pitch, self.pen.least);
        let [left, right] = self.ends[row];
        let at_end = |gap: f64, side: Side| {
            let straight_on = self.leads[row][side as usize] == Some(!up);
            gap >= least.max(width) || (gap == 0.0 && straight_on) || (gap >= least && straight_on)
        };
        let apart =
            |cut: &(f64, f64)| at >= cut.1 + least.max(width * 0.9) || at + width <= cut.0 - least.max(width * 0.9);
        at_end(at - left, Side::Left) && at_end(right - at - width, Side::Right) && self.cuts[row].iter().all(apart)
    }

    /// Joins two rows by a pair of pieces across.
    fn link(&mut self, one: usize, other: usize, at: f64) {
        let cut = (at, at + self.field.pitch);
        self.cuts[one].push(cut);
        self.cuts[other].push(cut);
        self.links.push((one, other, at));
    }

    /// The line that all pieces make, from an end of a row on; nothing where they make more than one.
    fn line(&mut self, start: (usize, Side)) -> Option<Vec<Point>> {
        let mut net = Net::default();
        // Of each row the nodes of its two ends, and of each of its cuts from where it is and the nodes on both sides of it.
        let mut ends: Vec<[Option<usize>; 2]> = vec![[None; 2]; self.field.rows.len()];
        let mut cut_ends: Vec<Vec<(i64, [usize; 2])>> = vec![Vec::new(); self.field.rows.len()];
        let key = |x: f64| (x * 10.0).round() as i64;
        for row in 0..self.field.rows.len() {
            if !self.used[row] {
                continue;
            }
            let y = self.field.rows[row].y;
            let [left, right] = self.ends[row];
            if right - left < self.pen.least {
                return None;
            }
            self.cuts[row].sort_by(|a, b| a.0.total_cmp(&b.0));
            let mut from = net.node(Point { x: left, y });
            ends[row][0] = Some(from);
            for (low, high) in &self.cuts[row] {
                let to = net.node(Point { x: *low, y });
                net.join(from, to)?;
                from = net.node(Point { x: *high, y });
                cut_ends[row].push((key(*low), [to, from]));
            }
            let to = net.node(Point { x: right, y });
            net.join(from, to)?;
            ends[row][1] = Some(to);
        }
        for (one, other, side) in &self.turns {
            net.join(ends[*one][*side as usize]?, ends[*other][*side as usize]?)?;
        }
        for (one, other, at) in &self.links {
            for side in [Side::Left, Side::Right] {
                let cut = |row: usize| cut_ends[row].iter().find(|(place, _)| *place == key(*at));
                let node = |row: usize| cut(row).map(|(_, nodes)| nodes[side as usize]);
                net.join(node(*one)?, node(*other)?)?;
            }
        }
        net.line_from(ends[start.0][start.1 as usize]?)
    }
}

/// Points, each joined to two others at the most.
#[derive(Default)]
struct Net {
    points: Vec<Point>,
    joined: Vec<[Option<usize>; 2]>,
}

impl Net {
    fn node(&mut self, point: Point) -> usize {
        self.points.push(point);
        self.joined.push([None; 2]);
        self.points.len() - 1
    }

    fn join(&mut self, one: usize, other: usize) -> Option<()> {
        for (from, to) in [(one, other), (other, one)] {
            *self.joined[from].iter_mut().find(|free| free.is_none())? = Some(to);
        }
        Some(())
    }

    /// The corners of the line through all points from one of them; nothing where it misses some.
    fn line_from(&self, start: usize) -> Option<Vec<Point>> {
        if self.joined[start][1].is_some() {
            return None;
        }
        let (mut before, mut here) = (usize::MAX, start);
        let mut line = vec![self.points[here]];
        let mut count = 1;
        loop {
            let next = self.joined[here].iter().flatten().find(|next| **next != before);
            let Some(next) = next else { break };
            (before, here) = (here, *next);
            line.push(self.points[here]);
            count += 1;
            if count > self.points.len() {
                return None;
            }
        }
        (count == self.points.len()).then(|| corners(&line))
    }
}

/// A line without pieces of no length and corners that turn nowhere.
pub fn corners(line: &[Point]) -> Vec<Point> {
    let mut kept: Vec<Point> = Vec::with_capacity(line.len());
    for point in line {
        if kept.last() == Some(point) {
            continue;
        }
        while let [.., one, other] = kept[..] {
            let (first, second) = (other - one, *point - other);
            let turn = first.x * second.y - first.y * second.x;
            if turn.abs() > 1e-6 * (first.x.hypot(first.y) * second.x.hypot(second.y))
                || first.x * second.x + first.y * second.y < 0.0
            {
                break;
            }
            kept.pop();
        }
        kept.push(*point);
    }
    kept
}

//! Blocks of a DXF file taken apart: what each draws, wherever it is put.
//!
//! Blocks hold blocks, and a file may have them hold themselves. They are gone through by a list of what is still to be done, no deeper than
//! [`DEEPEST`], and all that comes out is counted.

use std::collections::{BTreeMap, HashMap, HashSet};

use super::chains::rings;
use super::dxf_entities::{Drawn, Entity, Insert};
use super::dxf_in::Block;
use super::sorts::{Sort, sort};
use super::tag::Tag;
use super::{CHORD, Form, Item, Label, MOST_CORNERS, MOST_THINGS, Unit, Unreadable, flatten};
use crate::geometry::{Point, cross, distance, dot};

/// How deep blocks are taken apart.
const DEEPEST: usize = 16;

/// What a block's coordinates are turned into: `x` and `y` are where its axes point.
#[derive(Debug, Clone, Copy)]
struct Placed {
    x: Point,
    y: Point,
    at: Point,
}

impl Placed {
    fn point(&self, point: Point) -> Point {
        self.x * point.x + self.y * point.y + self.at
    }

    /// A block's, put as an insert has it.
    fn inserted(&self, insert: &Insert, base: Point, (column, row): (usize, usize)) -> Placed {
        let (sine, cosine) = insert.turned.to_radians().sin_cos();
        let turned =
            |point: Point| Point { x: cosine * point.x - sine * point.y, y: sine * point.x + cosine * point.y };
        let aside = Point { x: insert.step.x * column as f64, y: insert.step.y * row as f64 };
        let at = insert.at + turned(aside);
        let (x, y) = (turned(Point { x: insert.scale.x, y: 0.0 }), turned(Point { x: 0.0, y: insert.scale.y }));
        let own = Placed { x, y, at: at - x * base.x - y * base.y };
        Placed { x: self.point(own.x) - self.at, y: self.point(own.y) - self.at, at: self.point(own.at) }
    }

    /// How much longer lengths get, and whether in all directions alike.
    fn scale(&self) -> (f64, bool) {
        let (x, y) = (self.x.x.hypot(self.x.y), self.y.x.hypot(self.y.y));
        let square = (self.x.x * self.y.x + self.x.y * self.y.y).abs() <= 1e-6 * x * y;
        (x, square && (x - y).abs() <= 1e-6 * x.max(y))
    }
}

/// Entities that are still to be gone through, and for what symbol.
struct Task<'f> {
    entities: &'f [Entity],
    placed: Placed,
    depth: usize,
    /// The layer that things of the layer `0` take.
    layer: &'f str,
    /// The symbol that they belong to: an index.
    symbol: Option<usize>,
}

/// A symbol that says what it is: a door, a fixture.
struct Symbol {
    sort: Sort,
    layer: String,
    name: String,
    points: Vec<Point>,
    /// Its own axes, along which its box lies.
    along: Point,
}

/// What comes of it.
pub(super) struct Expanding<'f> {
    blocks: &'f HashMap<String, Block>,
    hidden: HashSet<&'f str>,
    unit: Unit,
    symbols: Vec<Symbol>,
    seen: usize,
    corners: usize,
    pub(super) items: Vec<Item>,
    pub(super) labels: Vec<Label>,
    /// How many entities nothing was made of, by their kinds.
    pub(super) unread: BTreeMap<String, usize>,
    /// How many lie on layers that aren't shown.
    pub(super) hidden_things: usize,
    /// How many splines only points are told of.
    pub(super) through: usize,
}

/// Kinds that say nothing of a floor, and aren't worth a word.
const SILENT: [&str; 9] =
    ["DIMENSION", "HATCH", "VIEWPORT", "POINT", "ATTDEF", "LEADER", "MULTILEADER", "SEQEND", "WIPEOUT"];

impl<'f> Expanding<'f> {
    pub(super) fn new(blocks: &'f HashMap<String, Block>, hidden: &'f [String], unit: Unit) -> Self {
        Expanding {
            blocks,
            hidden: hidden.iter().map(String::as_str).collect(),
            unit,
            symbols: Vec::new(),
            seen: 0,
            corners: 0,
            items: Vec::new(),
            labels: Vec::new(),
            unread: BTreeMap::new(),
            hidden_things: 0,
            through: 0,
        }
    }

    /// Goes through the entities of the model, and joins lines that meet into rings.
    pub(super) fn all(&mut self, entities: &'f [Entity]) -> Result<(), Unreadable> {
        let mm = self.unit.mm;
        let placed = Placed { x: Point { x: mm, y: 0.0 }, y: Point { x: 0.0, y: mm }, at: Point::zero() };
        let mut tasks = vec![Task { entities, placed, depth: 0, layer: "0", symbol: None }];
        while let Some(task) = tasks.pop() {
            for entity in task.entities {
                self.seen += 1;
                if self.seen > MOST_THINGS || self.corners > MOST_CORNERS {
                    return Err(Unreadable::too_much());
                }
                if !entity.on_paper {
                    self.entity(entity, &task, &mut tasks);
                }
            }
        }
        for symbol in std::mem::take(&mut self.symbols) {
            self.items.extend(finished(symbol));
        }
        self.join();
        self.doors();
        self.leaves();
        Ok(())
    }

    fn entity(&mut self, entity: &'f Entity, task: &Task<'f>, tasks: &mut Vec<Task<'f>>) {
        let layer = if entity.layer == "0" { task.layer } else { entity.layer.as_str() };
        if self.hidden.contains(layer) {
            self.hidden_things += 1;
            return;
        }
        let placed = task.placed;
        let form = match &entity.drawn {
            Drawn::Unread => {
                if !SILENT.contains(&entity.kind.as_str()) && self.unread.len() < 1_000 {
                    *self.unread.entry(entity.kind.clone()).or_default() += 1;
                }
                return;
            }
            Drawn::Text { text, at, height } => {
                let height = height * placed.scale().0;
                self.labels.push(Label { text: text.clone(), at: placed.point(*at), height });
                return;
            }
            Drawn::Insert(insert) => return self.insert(entity, insert, layer, task, tasks),
            Drawn::Circle { centre, radius } => match placed.scale() {
                (scale, true) => (Form::Circle { centre: placed.point(*centre), radius: radius * scale }, false),
                _ => (ring(&flatten::circle(*centre, *radius, CHORD / self.unit.mm), placed), true),
            },
            Drawn::Line { points, closed, curved } => {
                self.through += usize::from(entity.through);
                let meet = |points: &[Point]| points.len() > 3 && points.first() == points.last();
                match (*closed, meet(points)) {
                    (true, _) => (ring(points, placed), *curved),
                    (false, true) => (ring(points.get(1..).unwrap_or_default(), placed), *curved),
                    (false, false) => (Form::Line(points.iter().map(|point| placed.point(*point)).collect()), *curved),
                }
            }
        };
        let (form, curved) = form;
        let points = match &form {
            Form::Circle { centre, radius } => {
                let reach = Point { x: *radius, y: *radius };
                vec![*centre - reach, *centre + reach]
            }
            Form::Ring(points) | Form::Line(points) | Form::Symbol(points) => points.clone(),
        };
        self.corners += points.len();
        if let Some(symbol) = task.symbol.and_then(|symbol| self.symbols.get_mut(symbol)) {
            symbol.points.extend(points);
            return;
        }
        let tag = Tag::read(&entity.words);
        let sort = if entity.words.is_empty() { sort(layer) } else { Sort::Aside };
        self.items.push(Item { form, layer: layer.to_string(), name: None, sort, tag, curved, height: None });
    }

    fn insert(
        &mut self,
        entity: &'f Entity,
        insert: &'f Insert,
        layer: &'f str,
        task: &Task<'f>,
        tasks: &mut Vec<Task<'f>>,
    ) {
        for (text, at, height) in &insert.words {
            let (at, height) = (task.placed.point(*at), height * task.placed.scale().0);
            self.labels.push(Label { text: text.clone(), at, height });
        }
        let Some(block) = self.blocks.get(&insert.block) else { return };
        // What this program put there as a block is never read back.
        if task.depth >= DEEPEST || !entity.words.is_empty() {
            return;
        }
        let known = match sort(&insert.block) {
            Sort::Unknown => sort(layer),
            known => known,
        };
        if known == Sort::Aside {
            return;
        }
        let is_symbol = task.symbol.is_none() && matches!(known, Sort::Door | Sort::Window | Sort::Fixture(_));
        let (columns, rows) = insert.count;
        for at in (0..columns).flat_map(|column| (0..rows).map(move |row| (column, row))) {
            self.seen += 1;
            if self.seen > MOST_THINGS {
                return;
            }
            let placed = task.placed.inserted(insert, block.base, at);
            let symbol = if is_symbol {
                let name = insert.block.clone();
                self.symbols.push(Symbol {
                    sort: known,
                    layer: layer.to_string(),
                    name,
                    points: Vec::new(),
                    along: placed.x,
                });
                Some(self.symbols.len() - 1)
            } else {
                task.symbol
            };
            tasks.push(Task { entities: &block.entities, placed, depth: task.depth + 1, layer, symbol });
        }
    }

    /// Leaves of doors with the arcs that they meet, each as one symbol.
    fn doors(&mut self) {
        let is_part = |item: &Item| item.tag.is_none() && item.sort == Sort::Door && matches!(item.form, Form::Line(_));
        let (parts, rest): (Vec<Item>, Vec<Item>) = std::mem::take(&mut self.items).into_iter().partition(is_part);
        self.items = rest;
        let mut groups: Vec<Vec<Item>> = Vec::new();
        let mut ends: HashMap<(i64, i64), usize> = HashMap::new();
        for part in parts {
            let Form::Line(points) = &part.form else { continue };
            let own = [points.first(), points.last()].into_iter().flatten();
            let own: Vec<(i64, i64)> = own.map(|at| (at.x.round() as i64, at.y.round() as i64)).collect();
            // Where ends differ by a rounding they are still told apart by no more than a millimetre.
            let near = |(x, y): (i64, i64)| {
                (-1..=1).flat_map(move |dx| (-1..=1).map(move |dy| (x.saturating_add(dx), y.saturating_add(dy))))
            };
            let met = own.iter().flat_map(|end| near(*end)).find_map(|end| ends.get(&end).copied());
            let group = met.unwrap_or(groups.len());
            own.into_iter().for_each(|end| _ = ends.insert(end, group));
            match groups.get_mut(group) {
                Some(group) => group.push(part),
                None => groups.push(vec![part]),
            }
        }
        for mut group in groups {
            let points = |item: &Item| if let Form::Line(points) = &item.form { points.clone() } else { Vec::new() };
            let all: Vec<Point> = group.iter().flat_map(points).collect();
            if let [first, _, ..] = &mut group[..] {
                first.form = Form::Symbol(all);
                group.truncate(1);
            }
            self.items.extend(group);
        }
    }

    /// Quarters of circles of which no layer says anything, as doors: as wide as leaves are, each with its hinge.
    fn leaves(&mut self) {
        for item in &mut self.items {
            let Form::Line(points) = &item.form else { continue };
            if item.tag.is_some() || item.sort != Sort::Unknown || !item.curved {
                continue;
            }
            if let Some(hinge) = hinge(points) {
                item.form = Form::Symbol(points.iter().copied().chain([hinge]).collect());
                item.sort = Sort::Door;
            }
        }
    }

    /// Lines of one layer that meet end to end, as the rings that they make.
    fn join(&mut self) {
        let mut by_layer: BTreeMap<String, Vec<usize>> = BTreeMap::new();
        for (index, item) in self.items.iter().enumerate() {
            if item.tag.is_none()
                && !matches!(item.sort, Sort::Aside | Sort::Window)
                && matches!(item.form, Form::Line(_))
            {
                by_layer.entry(item.layer.clone()).or_default().push(index);
            }
        }
        let mut joined = vec![false; self.items.len()];
        let mut made = Vec::new();
        for (layer, indices) in &by_layer {
            let pieces: Vec<&[Point]> = indices
                .iter()
                .filter_map(|index| match &self.items[*index].form {
                    Form::Line(points) => Some(points.as_slice()),
                    _ => None,
                })
                .collect();
            for (corners, members) in rings(&pieces) {
                let curved = members.iter().any(|member| self.items[indices[*member]].curved);
                members.iter().for_each(|member| joined[indices[*member]] = true);
                made.push(Item {
                    form: Form::Ring(corners),
                    layer: layer.clone(),
                    name: None,
                    sort: sort(layer),
                    tag: None,
                    curved,
                    height: None,
                });
            }
        }
        let mut index = 0;
        self.items.retain(|_| {
            index += 1;
            !joined[index - 1]
        });
        self.items.extend(made);
    }
}

fn ring(points: &[Point], placed: Placed) -> Form {
    let mut corners: Vec<Point> = points.iter().map(|point| placed.point(*point)).collect();
    // Many programs draw the first corner again, closed or not.
    while corners.len() > 3 && corners.first().zip(corners.last()).is_some_and(|(a, b)| distance(*a, *b) < 1e-6) {
        corners.pop();
    }
    Form::Ring(corners)
}

/// The centre of a quarter of a circle through some points, as large as a door's leaf; nothing where they lie on none.
fn hinge(points: &[Point]) -> Option<Point> {
    const LEAF: std::ops::RangeInclusive<f64> = 500.0..=1_400.0;
    let [first, .., last] = points else { return None };
    let middle = points.get(points.len() / 2).filter(|_| points.len() >= 5)?;
    // The centre is as far from the three: two lines that it lies on.
    let (u, v) = (*middle - *first, *last - *first);
    let area = 2.0 * cross(u, v);
    let (along, across) = (dot(u, u), dot(v, v));
    let offset = Point { x: v.y * along - u.y * across, y: u.x * across - v.x * along } / area;
    let centre = *first + offset;
    let radius = distance(centre, *first);
    let round = points.iter().all(|at| (distance(*at, centre) - radius).abs() <= 0.01 * radius);
    let turned = dot(*first - centre, *last - centre) / (radius * radius);
    // Between 70° and 110°.
    (LEAF.contains(&radius) && round && turned.abs() <= 0.35).then_some(centre)
}

/// A symbol as one thing: a door or window by all its points, a fixture by the box round it along its own axes.
fn finished(symbol: Symbol) -> Option<Item> {
    let Symbol { sort, layer, name, points, along } = symbol;
    if points.len() < 2 {
        return None;
    }
    let form = match sort {
        Sort::Door | Sort::Window => Form::Symbol(points),
        _ => Form::Ring(box_along(&points, along)?),
    };
    Some(Item { form, layer, name: Some(name), sort, tag: None, curved: false, height: None })
}

/// The box round some points along an axis; nothing where it is a line.
pub(super) fn box_along(points: &[Point], along: Point) -> Option<Vec<Point>> {
    let length = along.x.hypot(along.y);
    let x = if length > 0.0 { along / length } else { return None };
    let y = Point { x: -x.y, y: x.x };
    let reach = |axis: Point| {
        let along = points.iter().map(|point| point.x * axis.x + point.y * axis.y);
        along.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), at| (low.min(at), high.max(at)))
    };
    let ((left, right), (low, high)) = (reach(x), reach(y));
    let corner = |a: f64, b: f64| x * a + y * b;
    (right - left > 1.0 && high - low > 1.0)
        .then(|| vec![corner(left, low), corner(right, low), corner(right, high), corner(left, high)])
}

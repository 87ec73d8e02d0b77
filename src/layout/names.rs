//! Every name in a plan's text: what kind of thing it names, and whether it gives the name or uses it.
//!
//! A pure function of the syntax tree. Which use means which giver is for those who know the other files.

use super::grammar::Rule;
pub use super::kinds::Kind;
use super::tree::*;
use crate::quantity::Dimension;
use crate::source::Span;

/// A name where it stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Occurrence {
    /// What it names.
    pub kind: Kind,
    /// The name.
    pub text: String,
    /// Where; a path with its quotation marks.
    pub span: Span,
    /// Whether the name is given here.
    pub declares: bool,
    /// The room it stands in: which statement of the file that is.
    pub room: Option<usize>,
}

/// Every name of a file, in the order of the text.
///
/// ```
/// use layrule::layout::{names::{Kind, occurrences}, parse};
/// let names = occurrences(&parse("let gap = 75 mm\nroom r {\n cable a {\n kit k\n run east 4 * gap\n }\n}\n"));
/// let kinds: Vec<(Kind, bool)> = names.iter().map(|name| (name.kind, name.declares)).collect();
/// assert_eq!(kinds, [(Kind::Value, true), (Kind::Room, true), (Kind::Cable, true), (Kind::Kit, false), (Kind::Value, false)]);
/// ```
pub fn occurrences(file: &File) -> Vec<Occurrence> {
    let mut found = Found { list: Vec::new(), room: None };
    for (index, statement) in file.statements.iter().enumerate() {
        found.room = None;
        match statement {
            Statement::Use(word) => found.uses(Kind::File, word),
            Statement::Let(item) => found.let_value(item),
            Statement::Material(item) => {
                found.gives(Kind::Material, &item.name);
                for entry in &item.entries {
                    match entry {
                        MaterialEntry::Conductivity(value, _)
                        | MaterialEntry::HeatCapacity(value, _)
                        | MaterialEntry::SurfaceLimit(value, _) => {
                            found.expr(value);
                        }
                        MaterialEntry::Kind(..) => {}
                    }
                }
            }
            Statement::Kit(item) => {
                found.gives(Kind::Kit, &item.name);
                item.entries.iter().for_each(|entry| found.kit_entry(entry));
            }
            Statement::Kits(item) => item.entries.iter().for_each(|entry| found.kit_table_entry(entry)),
            Statement::Supply(item) => {
                found.gives(Kind::Supply, &item.name);
                item.entries.iter().for_each(|entry| found.supply_entry(entry));
            }
            Statement::Drawing(_) => {}
            Statement::North(value, _) => found.expr(value),
            Statement::Floor(item) => {
                found.gives(Kind::Floor, &item.name);
                item.floor.layers.iter().for_each(|layer| found.layer(layer));
            }
            Statement::Room(item) => {
                found.gives(Kind::Room, &item.name);
                found.room = Some(index);
                item.entries.iter().for_each(|entry| found.room_entry(entry));
            }
        }
    }
    found.list.sort_by_key(|occurrence| occurrence.span);
    found.list
}

struct Found {
    list: Vec<Occurrence>,
    room: Option<usize>,
}

impl Found {
    fn add(&mut self, kind: Kind, text: &str, span: Span, declares: bool) {
        self.list.push(Occurrence { kind, text: text.to_string(), span, declares, room: self.room });
    }

    fn gives(&mut self, kind: Kind, word: &Word) {
        self.add(kind, &word.text, word.span, true);
    }

    fn uses(&mut self, kind: Kind, word: &Word) {
        self.add(kind, &word.text, word.span, false);
    }

    /// As deep as the parentheses, which [`crate::language::caps::DEEPEST_NESTING`] bounds.
    fn expr(&mut self, expr: &Expr) {
        match &expr.kind {
            ExprKind::Number(..) => {}
            ExprKind::Operand(ValueName(name)) => self.add(Kind::Value, name, expr.span, false),
            ExprKind::Negated(inner) => self.expr(inner),
            ExprKind::Chain(chain) => chain.operands().for_each(|operand| self.expr(operand)),
        }
    }

    fn exprs<'e>(&mut self, exprs: impl IntoIterator<Item = &'e Expr>) {
        exprs.into_iter().for_each(|expr| self.expr(expr));
    }

    fn point(&mut self, point: &PointExpr) {
        self.exprs([&point.x, &point.y]);
    }

    fn points(&mut self, points: &[PointExpr]) {
        points.iter().for_each(|point| self.point(point));
    }

    fn let_value(&mut self, item: &Let) {
        self.gives(Kind::Value, &item.name);
        self.expr(&item.value);
    }

    fn kit_entry(&mut self, entry: &KitEntry) {
        match entry {
            KitEntry::Output(power, voltage, _) => self.exprs([power, voltage]),
            KitEntry::Resistance(value, tolerance, _) => {
                self.expr(value);
                if let Some((least, most)) = tolerance {
                    self.exprs([least, most]);
                }
            }
            KitEntry::Length(value, _)
            | KitEntry::Diameter(value, _)
            | KitEntry::BendRadius(value, _)
            | KitEntry::Tail(value, _)
            | KitEntry::Cores(value, _) => self.expr(value),
            KitEntry::Mat(Mat { width, length, spacing, .. }) => self.exprs([width, length, spacing]),
            KitEntry::Screen(..) => {}
        }
    }

    fn kit_table_entry(&mut self, entry: &KitTableEntry) {
        match entry {
            KitTableEntry::Shared(entry) => self.kit_entry(entry),
            KitTableEntry::Voltage(value, _) | KitTableEntry::Spacing(value, _) => self.expr(value),
            KitTableEntry::Tolerance(least, most, _) => self.exprs([least, most]),
            KitTableEntry::Columns(..) => {}
            KitTableEntry::Row(row) => {
                self.gives(Kind::Kit, &row.name);
                row.cells.iter().for_each(|cell| self.exprs(std::iter::once(&cell.value).chain(&cell.by)));
            }
        }
    }

    fn supply_entry(&mut self, entry: &SupplyEntry) {
        match entry {
            SupplyEntry::Voltage(value, _)
            | SupplyEntry::Rcd(value, ..)
            | SupplyEntry::Breaker(value, _)
            | SupplyEntry::Ambient(value, _)
            | SupplyEntry::Fuse(value, _)
            | SupplyEntry::Before(value, _)
            | SupplyEntry::Grouped(value, _)
            | SupplyEntry::InInsulation(value, _) => self.expr(value),
            SupplyEntry::Selv(_) => {}
            SupplyEntry::Conductor(Conductor { section, length, .. }) => self.exprs([section, length]),
        }
    }

    fn shape(&mut self, shape: &ShapeExpr) {
        match shape {
            ShapeExpr::Rect(a, b) => [a, b].into_iter().for_each(|point| self.point(point)),
            ShapeExpr::Circle(centre, radius) => {
                self.point(centre);
                self.expr(radius);
            }
            ShapeExpr::Polygon(points) => self.points(points),
            ShapeExpr::Strip(points, width) => {
                self.points(points);
                self.expr(width);
            }
        }
    }

    fn room_entry(&mut self, entry: &RoomEntry) {
        match entry {
            RoomEntry::Let(item) => self.let_value(item),
            RoomEntry::Outline(outline) => self.outline(outline),
            RoomEntry::Wall(_) | RoomEntry::Bonded(..) => {}
            RoomEntry::Door(Door { name, from, to, .. }) => {
                self.gives(Kind::Door, name);
                self.exprs([from, to]);
            }
            RoomEntry::Area(area) => self.area(area),
            RoomEntry::Rug(rug) => self.rug(rug),
            RoomEntry::Line(line) => self.line(line),
            RoomEntry::Floor(Floor { layers, .. }) => layers.iter().for_each(|layer| self.layer(layer)),
            RoomEntry::UsedFloor(word, _) => self.uses(Kind::Floor, word),
            RoomEntry::ShowerHead(ShowerHead { name, at, height, .. }) => {
                self.fitting(Kind::ShowerHead, name, at, height.as_ref())
            }
            RoomEntry::Junction(Junction { name, at, height, wired, .. }) => {
                self.fitting(Kind::Junction, name, at, height.as_ref());
                wired.iter().for_each(|word| self.uses(Kind::Junction, word));
            }
            RoomEntry::EarthedGrid(value, _) | RoomEntry::Inside(value, _) | RoomEntry::HeatLoss(value, _) => {
                self.expr(value);
            }
            RoomEntry::Below(Below { temperature, .. }) => self.expr(temperature),
            RoomEntry::Thermostat(Thermostat { name, at, height, rated, limit, behind, supply, .. }) => {
                self.fitting(Kind::Thermostat, name, at, height.as_ref());
                self.expr(rated);
                self.exprs(limit);
                self.exprs(behind);
                supply.iter().for_each(|word| self.uses(Kind::Supply, word));
            }
            RoomEntry::Contactor(Contactor { name, rated, thermostat, .. }) => {
                self.gives(Kind::Contactor, name);
                self.expr(rated);
                self.uses(Kind::Thermostat, thermostat);
            }
            RoomEntry::Cable(cable) => {
                self.gives(Kind::Cable, &cable.name);
                cable.entries.iter().for_each(|entry| self.cable_entry(entry));
            }
            RoomEntry::Sensor(Sensor { name, from, points, between, lead, .. }) => {
                self.gives(Kind::Sensor, name);
                self.uses(Kind::Thermostat, from);
                if let Some(channel) = between {
                    channel.cable.iter().for_each(|word| self.uses(Kind::Cable, word));
                    self.expr(&channel.depth);
                }
                self.points(points);
                self.exprs(lead);
            }
            RoomEntry::Record(Record { entries, .. }) => entries.iter().for_each(|entry| self.record_entry(entry)),
            RoomEntry::Deviation(Deviation { rule, target, .. }) => {
                self.uses(Kind::Rule, rule);
                let target = target.as_ref().and_then(|(kind, name)| Some((Kind::of_target(&kind.text)?, name)));
                target.into_iter().for_each(|(kind, name)| self.uses(kind, name));
            }
        }
    }

    fn outline(&mut self, outline: &Outline) {
        self.point(&outline.first);
        for leg in &outline.legs {
            match leg {
                Leg::To(point) => self.point(point),
                Leg::Along(_, length, _) => self.expr(length),
            }
        }
    }

    fn area(&mut self, Area { kind, name, shape, .. }: &Area) {
        match kind {
            AreaExpr::Fixture { raised, .. } => {
                self.gives(Kind::Fixture, name);
                self.exprs(raised);
            }
            AreaExpr::Drill => self.gives(Kind::Drill, name),
            AreaExpr::Level(height) => {
                self.gives(Kind::Level, name);
                self.exprs(height);
            }
        }
        self.shape(shape);
    }

    fn rug(&mut self, Rug { name, shape, resistance, .. }: &Rug) {
        self.gives(Kind::Rug, name);
        self.shape(shape);
        self.expr(resistance);
    }

    fn line(&mut self, Line { kind, name, points, .. }: &Line) {
        match kind {
            LineExpr::Joint => self.gives(Kind::Joint, name),
            LineExpr::Pipe(_) => self.gives(Kind::Pipe, name),
            LineExpr::Partition(height) => {
                self.gives(Kind::Partition, name);
                self.exprs(height);
            }
        }
        self.points(points);
    }

    fn fitting(&mut self, kind: Kind, name: &Word, at: &PointExpr, height: Option<&Expr>) {
        self.gives(kind, name);
        self.point(at);
        self.exprs(height);
    }

    fn layer(&mut self, layer: &Layer) {
        match &layer.material {
            Some(material) => {
                self.gives(Kind::Layer, &layer.name);
                self.uses(Kind::Material, material);
            }
            // What is given by its thermal resistance is of no material.
            None if matches!(layer.thickness.kind, ExprKind::Number(_, Some(unit)) if unit.dimension == Dimension::THERMAL_RESISTANCE) =>
            {
                self.gives(Kind::Layer, &layer.name);
            }
            None => self.uses(Kind::Material, &layer.name),
        }
        self.expr(&layer.thickness);
        self.exprs(&layer.cable);
    }

    fn cable_entry(&mut self, entry: &CableEntry) {
        match entry {
            CableEntry::Kit(word) => self.uses(Kind::Kit, word),
            CableEntry::Tail(tail) | CableEntry::SecondTail(tail) => {
                match &tail.from {
                    TailFrom::Junction(word) => self.uses(Kind::Junction, word),
                    TailFrom::Cable(word) => self.uses(Kind::Cable, word),
                }
                self.points(&tail.points);
                tail.sleeves.iter().for_each(|word| self.uses(Kind::Joint, word));
            }
            CableEntry::By(word) => self.uses(Kind::Thermostat, word),
            CableEntry::Start(point, _) | CableEntry::RunTo(point, _) => self.point(point),
            CableEntry::Run(_, length, _) => self.expr(length),
            CableEntry::RunReach(_, reach, _) => self.reach(reach),
            // A plan may call a value so.
            CableEntry::RunRest(..) => {}
            CableEntry::Loops(loops) => {
                match &loops.count {
                    LoopCount::Counted(count) => self.expr(count),
                    LoopCount::Fitting(reach) => self.reach(reach),
                }
                self.exprs([&loops.length, &loops.pitch]);
            }
        }
    }

    fn reach(&mut self, reach: &Reach) {
        if let ReachTo::Fixture(word) = &reach.to {
            self.uses(Kind::Fixture, word);
        }
        self.exprs(&reach.less);
    }

    fn record_entry(&mut self, entry: &RecordEntry) {
        match entry {
            RecordEntry::Reading(Reading { cable, resistance, insulation, screen, .. }) => {
                self.uses(Kind::Cable, cable);
                self.expr(resistance);
                if let Some(tested) = insulation {
                    self.exprs(&tested.value);
                    self.exprs(&tested.voltage);
                }
                if let Some(ScreenExpr::Reads(read)) = screen {
                    self.expr(read);
                }
            }
            RecordEntry::SensorReading(SensorReading { sensor, resistance, .. }) => {
                self.uses(Kind::Sensor, sensor);
                self.expr(resistance);
            }
            RecordEntry::Label(Label { cable, .. }) => self.uses(Kind::Cable, cable),
            RecordEntry::RcdTest(RcdTest { supply, time, .. }) => {
                self.uses(Kind::Supply, supply);
                self.expr(time);
            }
            RecordEntry::Screeded(Screeded { drying, .. }) | RecordEntry::Tiled(_, drying, _) => self.exprs(drying),
            RecordEntry::Note(Note { at, .. }) | RecordEntry::Photo(Photo { at, .. }) => {
                at.iter().for_each(|at| self.point(at))
            }
            RecordEntry::SwitchedOn(..) | RecordEntry::Signed(..) | RecordEntry::Primed(..) => {}
        }
    }
}

/// What is named where a name stands in a statement that starts with the word `first`, behind the word `last`; nothing where a name is given
/// rather than used.
pub fn used_after(context: Rule, first: &str, last: &str) -> Option<Kind> {
    match (context, first, last) {
        (Rule::floor_line, ..) => Some(Kind::Material),
        (Rule::cable_line, "kit", _) => Some(Kind::Kit),
        (Rule::cable_line, "tail", "tail")
        | (Rule::cable_line, "second-tail", "second-tail")
        | (Rule::room_line, "junction", "wired") => Some(Kind::Junction),
        // The last word is the joint before, where several are named.
        (Rule::cable_line, "tail" | "second-tail", last) if last != "cable" => Some(Kind::Joint),
        (Rule::room_line, "sensor", "cable")
        | (Rule::cable_line, "tail", "cable")
        | (Rule::record_line, _, "cable") => Some(Kind::Cable),
        (Rule::cable_line, "run" | "loops", "fixture") => Some(Kind::Fixture),
        (Rule::cable_line, "by", _) | (Rule::room_line, "contactor", "for") | (Rule::room_line, "sensor", "from") => {
            Some(Kind::Thermostat)
        }
        (Rule::room_line, "floor", "floor") => Some(Kind::Floor),
        (Rule::room_line, "thermostat", "on") | (Rule::record_line, _, "supply") => Some(Kind::Supply),
        (Rule::record_line, _, "sensor") => Some(Kind::Sensor),
        (Rule::room_line, "deviation", "deviation") => Some(Kind::Rule),
        (Rule::room_line, "deviation", kind) => Kind::of_target(kind),
        _ => None,
    }
}

//! A sound plan as somebody writes it down who makes mistakes: its statements, the numbers in them, and how each is changed.

use crate::finding::Edit;
use crate::language::tokens::{Block, Sort, Token, blocks, tokens};
use crate::layout::tree;
use crate::layout::tree::{
    CableEntry, Expr, ExprKind, File, KitEntry, KitTable, KitTableEntry, Layer, Let, PointExpr, RecordEntry, RoomEntry,
    Statement, SupplyEntry,
};
use crate::measure::plan::Measured;
use crate::measure::room::RoomMeasure;
use crate::model::Point;
use crate::source::{FileId, Place, Span};

/// A change that somebody makes to a plan by mistake.
#[derive(Debug, Clone, PartialEq)]
pub struct Change {
    /// What is written otherwise.
    pub edits: Vec<Edit>,
    /// What was done, in a phrase.
    pub said: String,
    /// How far it is from what was right: of a number the share by which it changes, 1 for what is no number.
    pub size: f64,
}

/// A statement of the plan on lines of its own.
#[derive(Debug)]
pub struct Line<'s> {
    /// From its first word to its end; of a block its first line.
    pub span: Span,
    /// What it is.
    pub what: What<'s>,
    /// Which room it stands in.
    pub room: Option<usize>,
    /// Which of that room's cables it belongs to.
    pub cable: Option<usize>,
}

/// What a statement is.
#[derive(Debug, Clone, Copy)]
pub enum What<'s> {
    /// A value with a name.
    Let(&'s Let),
    /// A kit's first line.
    KitHead(&'s tree::Kit),
    /// A line of a kit.
    Kit(&'s KitEntry),
    /// The first line of a table of kits.
    KitTableHead(&'s KitTable),
    /// A line of a table of kits that no single kit has.
    KitTable(&'s KitTableEntry),
    /// A supply's first line.
    SupplyHead,
    /// A line of a supply.
    Supply(&'s SupplyEntry),
    /// A layer of a floor.
    Layer(&'s Layer),
    /// A statement of a room; the first line of a cable, a floor or a record.
    Room(&'s RoomEntry),
    /// A line of a cable.
    Cable(&'s CableEntry),
    /// A line of a test record.
    Record(&'s RecordEntry),
}

/// A number that is written in a statement.
#[derive(Debug, Clone, PartialEq)]
pub struct Number {
    /// Its digits.
    pub span: Span,
    /// As it is written.
    pub digits: String,
    /// The last word before it.
    pub after: String,
}

/// A sound plan, whose statements stand on lines of their own.
pub struct Site<'s> {
    /// Its text.
    pub text: &'s str,
    /// What is measured of it.
    pub measured: &'s Measured,
    /// Its statements, in the order of the text.
    pub lines: Vec<Line<'s>>,
    tokens: Vec<Token>,
    blocks: Vec<Block>,
}

impl<'s> Site<'s> {
    /// A plan's text as it was parsed and measured.
    pub fn new(text: &'s str, file: &'s File, measured: &'s Measured) -> Self {
        let tokens = tokens(text);
        let blocks = blocks(text, &tokens);
        let mut site = Site { text, measured, lines: Vec::new(), tokens, blocks };
        let mut room = 0;
        for statement in &file.statements {
            match statement {
                Statement::Let(item) => site.add(item.name.span, What::Let(item), None, None),
                Statement::Kit(kit) => {
                    site.add(kit.span, What::KitHead(kit), None, None);
                    for entry in &kit.entries {
                        site.add(entry.span(), What::Kit(entry), None, None);
                    }
                }
                Statement::Kits(table) => {
                    site.add(table.span, What::KitTableHead(table), None, None);
                    for entry in &table.entries {
                        let what = match entry {
                            KitTableEntry::Shared(shared) => What::Kit(shared),
                            entry => What::KitTable(entry),
                        };
                        site.add(entry.span(), what, None, None);
                    }
                }
                Statement::Supply(supply) => {
                    site.add(supply.span, What::SupplyHead, None, None);
                    for entry in &supply.entries {
                        site.add(supply_span(entry), What::Supply(entry), None, None);
                    }
                }
                // The title block and where north lies are no work of those who learn.
                Statement::Drawing(_) | Statement::North(..) => {}
                Statement::Floor(named) => site.layers(&named.floor.layers, None),
                Statement::Room(item) => {
                    site.room(item, room);
                    room += 1;
                }
                Statement::Use(_) | Statement::Material(_) => {}
            }
        }
        site
    }

    fn room(&mut self, room: &'s tree::Room, number: usize) {
        let mut cables = 0;
        let own = Some(number);
        for entry in &room.entries {
            self.add(room_span(entry), What::Room(entry), own, None);
            match entry {
                RoomEntry::Floor(floor) => self.layers(&floor.layers, own),
                RoomEntry::Record(record) => {
                    for entry in &record.entries {
                        self.add(record_span(entry), What::Record(entry), own, None);
                    }
                }
                RoomEntry::Cable(cable) => {
                    for entry in &cable.entries {
                        self.add(cable_span(entry), What::Cable(entry), own, Some(cables));
                    }
                    cables += 1;
                }
                _ => {}
            }
        }
    }

    fn layers(&mut self, layers: &'s [Layer], room: Option<usize>) {
        layers.iter().for_each(|layer| self.add(layer.span, What::Layer(layer), room, None));
    }

    /// Adds the statement that a part of it lies in: all of its lines, less what stands before and behind.
    fn add(&mut self, part: Span, what: What<'s>, room: Option<usize>, cable: Option<usize>) {
        let start = self.text[..part.start()].rfind('\n').map_or(0, |at| at + 1);
        let end = self.text[part.end()..].find('\n').map_or(self.text.len(), |length| part.end() + length);
        let lines = &self.text[start..end];
        let (before, after) = (lines.len() - lines.trim_start().len(), lines.len() - lines.trim_end().len());
        self.lines.push(Line { span: Span::new(start + before..end - after), what, room, cable });
    }

    /// The text of a stretch.
    pub fn text(&self, span: Span) -> &'s str {
        self.text.get(span.range()).unwrap_or("")
    }

    /// What is measured of a room.
    pub fn measure(&self, room: usize) -> Option<RoomMeasure<'_>> {
        self.measured.room(room)
    }

    /// From run to run of the cable that a statement belongs to, mm; of the first cable of its room where it belongs to none.
    pub fn spacing(&self, line: &Line<'_>) -> Option<f64> {
        self.measure(line.room?)?.pitch(line.cable.unwrap_or(0))
    }

    /// A stretch written otherwise.
    pub fn edit(&self, span: Span, text: impl Into<String>) -> Edit {
        Edit { place: Place { file: FileId(0), span }, text: text.into() }
    }

    /// The whole lines of a stretch taken out.
    pub fn without(&self, span: Span) -> Edit {
        let start = self.text[..span.start()].rfind('\n').map_or(0, |at| at + 1);
        let end = self.text[span.end()..].find('\n').map_or(self.text.len(), |length| span.end() + length + 1);
        self.edit(Span::new(start..end), "")
    }

    /// A statement more, on the line after another's.
    pub fn after(&self, line: &Line<'_>, statement: &str) -> Edit {
        self.edit(Span::new(line.span.end()..line.span.end()), format!("\n{statement}"))
    }

    /// A block from its first word to its closing brace.
    pub fn block(&self, head: Span) -> Option<Span> {
        let block = self.blocks.iter().find(|block| block.open >= head.start() && block.open <= head.end())?;
        Some(Span::new(head.start()..(block.close + 1).min(self.text.len())))
    }

    /// The numbers of a stretch, dates left out.
    pub fn numbers(&self, span: Span) -> Vec<Number> {
        let mut numbers = Vec::new();
        let mut after = String::new();
        let first = self.tokens.partition_point(|token| token.span.start() < span.start());
        for token in self.tokens[first..].iter().take_while(|token| token.span.end() <= span.end()) {
            match token.sort {
                Sort::Word => after = self.text(token.span).to_string(),
                Sort::Number if !self.text(token.span).contains('-') => {
                    let digits = self.text(token.span).to_string();
                    numbers.push(Number { span: token.span, digits, after: after.clone() });
                }
                _ => {}
            }
        }
        numbers
    }

    /// A word of a stretch and what goes with it, up to the end of `with`: `type A`, `screen 0.6 ohm`.
    pub fn clause(&self, within: Span, word: &str, with: Span) -> Option<Span> {
        let before = self.text.get(within.start()..with.start())?;
        let at = within.start() + before.rfind(word)?;
        Some(Span::new(at..with.end()))
    }

    /// Points moved by so much (mm); nothing where a coordinate is more than a number.
    pub fn moved(&self, points: &[&PointExpr], by: Point) -> Option<Vec<Edit>> {
        let mut edits = Vec::new();
        for point in points {
            for (coordinate, by) in [(&point.x, by.x), (&point.y, by.y)] {
                if by != 0.0 {
                    edits.push(self.edit(coordinate.span, whole(plain_length(coordinate)? + by)));
                }
            }
        }
        Some(edits)
    }

    /// A name that nothing of the plan has, by the words for such a thing.
    pub fn free_name(&self, words: &[&str]) -> String {
        let taken = |name: &str| {
            self.tokens.iter().any(|token| token.sort == Sort::Word && self.text.get(token.span.range()) == Some(name))
        };
        let free = words.iter().find(|word| !taken(word)).map(|word| (*word).to_string());
        let numbered = || (2..).map(|number| format!("{}-{number}", words.first().unwrap_or(&"one")));
        free.or_else(|| numbered().find(|name| !taken(name))).unwrap_or_default()
    }

    /// The last line of what stands in a room before its devices and cables, after which one more thing is written.
    pub fn last_thing(&self, room: usize) -> Option<&Line<'s>> {
        let stands = |line: &&Line<'s>| {
            let things = matches!(
                line.what,
                What::Room(
                    RoomEntry::Outline(_)
                        | RoomEntry::Wall(_)
                        | RoomEntry::Door(_)
                        | RoomEntry::Area(_)
                        | RoomEntry::Line(_)
                )
            );
            line.room == Some(room) && things
        };
        self.lines.iter().rev().find(stands)
    }
}

/// A length that is written as one number, mm.
fn plain_length(expr: &Expr) -> Option<f64> {
    match expr.kind {
        ExprKind::Number(value, None) => Some(value),
        _ => None,
    }
}

/// A length as it is drawn: in whole millimetres.
pub fn whole(length: f64) -> String {
    // Adding nothing keeps `-0` from being written.
    format!("{}", length.round() + 0.0)
}

/// A point as it is drawn.
pub fn point(at: Point) -> String {
    format!("({}, {})", whole(at.x), whole(at.y))
}

fn supply_span(entry: &SupplyEntry) -> Span {
    match entry {
        SupplyEntry::Voltage(_, span)
        | SupplyEntry::Rcd(.., span)
        | SupplyEntry::Breaker(_, span)
        | SupplyEntry::Ambient(_, span)
        | SupplyEntry::Fuse(_, span)
        | SupplyEntry::Selv(span)
        | SupplyEntry::Before(_, span)
        | SupplyEntry::Grouped(_, span)
        | SupplyEntry::InInsulation(_, span) => *span,
        SupplyEntry::Conductor(conductor) => conductor.span,
    }
}

fn room_span(entry: &RoomEntry) -> Span {
    match entry {
        RoomEntry::Let(item) => item.name.span,
        RoomEntry::Outline(item) => item.span,
        RoomEntry::Wall(item) => item.span,
        RoomEntry::Door(item) => item.span,
        RoomEntry::Area(item) => item.span,
        RoomEntry::Line(item) => item.span,
        RoomEntry::Rug(item) => item.span,
        RoomEntry::Floor(item) => item.span,
        RoomEntry::ShowerHead(item) => item.span,
        RoomEntry::Below(item) => item.kind.span,
        RoomEntry::UsedFloor(_, span)
        | RoomEntry::EarthedGrid(_, span)
        | RoomEntry::Inside(_, span)
        | RoomEntry::HeatLoss(_, span)
        | RoomEntry::Bonded(_, span) => *span,
        RoomEntry::Junction(item) => item.span,
        RoomEntry::Thermostat(item) => item.span,
        RoomEntry::Contactor(item) => item.span,
        RoomEntry::Cable(item) => item.span,
        RoomEntry::Sensor(item) => item.span,
        RoomEntry::Record(item) => item.span,
        RoomEntry::Deviation(item) => item.span,
    }
}

fn cable_span(entry: &CableEntry) -> Span {
    match entry {
        CableEntry::Kit(word) | CableEntry::By(word) => word.span,
        CableEntry::Tail(tail) | CableEntry::SecondTail(tail) => tail.span,
        CableEntry::Start(_, span)
        | CableEntry::Run(.., span)
        | CableEntry::RunTo(_, span)
        | CableEntry::RunReach(.., span)
        | CableEntry::RunRest(.., span) => *span,
        CableEntry::Loops(loops) => loops.span,
    }
}

fn record_span(entry: &RecordEntry) -> Span {
    match entry {
        RecordEntry::Reading(item) => item.span,
        RecordEntry::SensorReading(item) => item.span,
        RecordEntry::Screeded(item) => item.span,
        RecordEntry::Label(item) => item.span,
        RecordEntry::RcdTest(item) => item.span,
        RecordEntry::Tiled(.., span)
        | RecordEntry::SwitchedOn(_, span)
        | RecordEntry::Primed(_, span)
        | RecordEntry::Signed(.., span) => *span,
        RecordEntry::Note(item) => item.span,
        RecordEntry::Photo(item) => item.span,
    }
}

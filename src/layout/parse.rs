//! Plan text to syntax tree.
//!
//! pest reads the whole file by `grammar/layout.pest`; what its `skipped` rule had to take is handed to
//! [`super::explain::LANGUAGE`], and everything else becomes the [`tree`](super::tree).

mod record;
mod small;

use pest::Parser as _;
use pest::error::Error;

use super::explain::LANGUAGE;
use super::grammar::{LayoutParser, Rule};
use super::tree::*;
use crate::language::brackets::scan_brackets;
use crate::language::expression::{self, Rules};
use crate::language::faults::{Faults, Unread};
use crate::language::is_word;
use crate::language::nodes::{self, Nodes};
use crate::source::Span;
use crate::worded::Worded as _;
use record::record_entry;
use small::{drawing_entry, flight, swing};

/// Reads a plan's text. What can't be read stands in [`File::faults`]; the rest is read all the same.
///
/// ```
/// let file = layrule::layout::parse("let gap = 75 mm\nroom {\nlet = 3\n");
/// assert_eq!((file.statements.len(), file.faults.len()), (1, 3));
/// ```
pub fn parse(text: &str) -> File {
    let mut file = File::default();
    let shown = match scan_brackets(text, &mut file.faults) {
        Ok(shown) => shown,
        Err(fault) => {
            file.faults.push(fault);
            return file;
        }
    };
    match nodes(Rule::file, &shown) {
        Ok(nodes) => {
            let mut builder = Builder { text, faults: Faults::new(std::mem::take(&mut file.faults)), beside: 0 };
            for node in nodes.roots().flat_map(Node::parts) {
                if let Some(statement) = builder.statement(node) {
                    file.statements.push(statement);
                }
            }
            file.faults = builder.faults.told();
        }
        // `file` takes any text; should it ever not, the reader is told where.
        Err(error) => file.faults.push(LANGUAGE.whole_file(text, &error)),
    }
    file
}

/// A statement of a cable's block by itself, places counted from its own start; nothing where it is none.
///
/// ```
/// use layrule::layout::{parse::cable_statement, tree::CableEntry};
///
/// assert!(matches!(cable_statement("run east 80"), Some(CableEntry::Run(..))));
/// assert!(cable_statement("run along").is_none());
/// ```
pub fn cable_statement(text: &str) -> Option<CableEntry> {
    nodes(Rule::cable_line, text).ok()?.roots().next().and_then(cable_entry)
}

/// A statement of a room's block by itself, places counted from its own start; nothing where it is none.
pub fn room_statement(text: &str) -> Option<RoomEntry> {
    let nodes = nodes(Rule::room_line, text).ok()?;
    Builder { text, faults: Faults::default(), beside: 0 }.room_entry(nodes.roots().next()?)
}

/// A layer of a floor's block by itself, places counted from its own start; nothing where it is none.
pub fn floor_layer(text: &str) -> Option<Layer> {
    layer(nodes(Rule::floor_line, text).ok()?.roots().next()?)
}

/// A row of a table of kits by itself, places counted from its own start; nothing where it is none.
pub fn kit_row(text: &str) -> Option<KitRow> {
    match nodes(Rule::kits_line, text).ok()?.roots().next().and_then(kit_table_entry)? {
        KitTableEntry::Row(row) => Some(row),
        _ => None,
    }
}

/// What pest makes of a text by one rule, keywords left out: they stand last in the grammar.
fn nodes(rule: Rule, text: &str) -> Result<Nodes<'_, Rule>, Box<Error<Rule>>> {
    let shown = nodes::with_blanks(text);
    let pairs = LayoutParser::parse(rule, &shown)?;
    Ok(Nodes::new(text, 0, pairs, |rule| (rule as usize) < Rule::use_word as usize))
}

type Node<'n> = nodes::Node<'n, Rule>;
type Parts<'n> = nodes::Parts<'n, Rule>;

impl Parts<'_> {
    fn expr(&mut self) -> Option<Expr> {
        self.next().and_then(expr)
    }

    /// The expression inside an optional clause such as `height 1200`.
    fn clause(&mut self, rule: Rule) -> Option<Expr> {
        self.if_is(rule).and_then(|node| node.parts().expr())
    }

    fn point(&mut self) -> Option<PointExpr> {
        self.next().and_then(point)
    }

    fn points(&mut self) -> Vec<PointExpr> {
        self.all_of(Rule::point).filter_map(point).collect()
    }

    fn heading(&mut self) -> Option<Heading> {
        Heading::of_word(self.next()?.text())
    }

    fn shape(&mut self) -> Option<ShapeExpr> {
        let node = self.next()?;
        let rule = node.rule();
        let mut parts = node.parts();
        Some(match rule {
            Rule::rect => ShapeExpr::Rect(parts.point()?, parts.point()?),
            Rule::circle => ShapeExpr::Circle(parts.point()?, parts.expr()?),
            Rule::polygon => ShapeExpr::Polygon(parts.points()),
            _ => ShapeExpr::Strip(parts.points(), parts.expr()?),
        })
    }
}

fn point(node: Node<'_>) -> Option<PointExpr> {
    let span = node.span();
    let mut parts = node.parts();
    Some(PointExpr { x: parts.expr()?, y: parts.expr()?, span })
}

/// What sums are made of.
const ARITHMETIC: Rules<Rule> =
    Rules { operator: Rule::operator, sign: Rule::sign, number: Rule::number, unit: Rule::unit };

/// An expression; the depth of the recursion is the depth of its parentheses.
fn expr(node: Node<'_>) -> Option<Expr> {
    match node.rule() {
        Rule::sum | Rule::wrapped_sum => expression::sum(node, &ARITHMETIC, expr),
        Rule::bracketed => expr(node.parts().next()?),
        Rule::number => Some(expression::number(node, None)),
        _ => {
            let name = ValueName(node.text().trim_end().to_string());
            Some(Expr { kind: ExprKind::Operand(name), span: node.tight() })
        }
    }
}

/// Makes the tree and collects the faults on the way.
struct Builder<'i> {
    text: &'i str,
    faults: Faults,
    /// How many faults of the room at hand hide nothing that lies in its floor.
    beside: usize,
}

/// What of a room hides nothing that lies in its floor where it can't be read: a rule that needs it says what is missing.
const BESIDE_THE_FLOOR: &[&str] = &["inside", "below", "heat-loss", "bonded", "rug", "deviation"];

impl<'i> Builder<'i> {
    fn skipped(&mut self, node: Node<'_>, context: Rule) {
        self.faults.add(node.span(), || LANGUAGE.skipped(self.text, node.span(), context));
        let first = node.text().split_whitespace().next();
        if context == Rule::room_line && first.is_some_and(|first| BESIDE_THE_FLOOR.contains(&first)) {
            self.beside += 1;
        }
    }

    /// The lines of a block that holds nothing of what lies in the floor, and whether one of them could not be read.
    fn lines_beside<T>(
        &mut self,
        parts: Parts<'_>,
        context: Rule,
        read: impl FnMut(&mut Self, Node<'_>) -> Option<T>,
    ) -> (Vec<T>, bool) {
        let faults = self.faults.count();
        let lines = self.lines(parts, context, read);
        let broken = self.faults.count() - faults;
        self.beside += broken;
        (lines, broken > 0)
    }

    /// The lines of a block, each read by `read`; what is `skipped` is explained as something `context` can't hold.
    fn lines<T>(
        &mut self,
        parts: Parts<'_>,
        context: Rule,
        mut read: impl FnMut(&mut Self, Node<'_>) -> Option<T>,
    ) -> Vec<T> {
        let mut lines = Vec::new();
        for node in parts {
            if node.rule() == Rule::skipped {
                self.skipped(node, context);
                continue;
            }
            match read(self, node) {
                Some(line) => lines.push(line),
                None => self.faults.add(node.tight(), || Unread::SenselessLine.at(node.tight())),
            }
        }
        lines
    }

    fn statement(&mut self, node: Node<'_>) -> Option<Statement> {
        let head = node.head();
        let rule = node.rule();
        match rule {
            Rule::EOI => return None,
            Rule::skipped => {
                self.skipped(node, Rule::file_line);
                return None;
            }
            Rule::stray => {
                self.faults.add(node.span(), || Unread::StrayBrace.at(node.span()));
                return None;
            }
            _ => {}
        }
        let mut parts = node.parts();
        Some(match rule {
            Rule::use_file => Statement::Use(parts.word()?),
            Rule::let_value => Statement::Let(let_value(parts)?),
            Rule::material => {
                let name = parts.word()?;
                let faults = self.faults.count();
                let entries = self.lines(parts, Rule::material_line, |_, node| material_entry(node));
                let broken = self.faults.count() > faults;
                Statement::Material(Material { name, entries, broken })
            }
            Rule::kit => {
                let name = parts.word()?;
                let title = parts.word_if(Rule::text);
                let faults = self.faults.count();
                let entries = self.lines(parts, Rule::kit_line, |_, node| kit_entry(node));
                let broken = self.faults.count() > faults;
                Statement::Kit(Kit { name, title, entries, broken, span: head })
            }
            Rule::kits => self.kits(node),
            Rule::supply => {
                let name = parts.word()?;
                let entries = self.lines(parts, Rule::supply_line, |_, node| supply_entry(node));
                Statement::Supply(Supply { name, entries, span: head })
            }
            Rule::drawing => {
                let entries = self.lines(parts, Rule::drawing_line, |_, node| drawing_entry(node));
                Statement::Drawing(Drawing { entries, span: head })
            }
            Rule::plan_north => Statement::North(parts.expr()?, head),
            Rule::named_floor => {
                let (name, kind) = (parts.word()?, parts.word()?);
                let faults = self.faults.count();
                let layers = self.lines(parts, Rule::floor_line, |_, node| layer(node));
                let broken = self.faults.count() > faults;
                Statement::Floor(NamedFloor { name, floor: Floor { kind, layers, broken, span: head } })
            }
            _ => {
                let name = parts.word()?;
                let title = parts.word_if(Rule::text);
                let faults = self.faults.count();
                let beside = std::mem::take(&mut self.beside);
                let entries = self.lines(parts, Rule::room_line, Self::room_entry);
                let broken = self.faults.count() - faults > self.beside;
                self.beside = beside;
                Statement::Room(Box::new(Room { name, title, entries, broken, span: head }))
            }
        })
    }

    /// Kits of one make, a row each.
    fn kits(&mut self, node: Node<'_>) -> Statement {
        let span = node.head();
        let unread = node.parts().filter(|part| part.rule() == Rule::skipped).filter_map(first_word).collect();
        let mut parts = node.parts();
        let title = parts.word_if(Rule::text);
        let faults = self.faults.count();
        let entries = self.lines(parts, Rule::kits_line, |_, node| kit_table_entry(node));
        let broken = self.faults.count() > faults;
        Statement::Kits(KitTable { title, entries, unread, broken, span })
    }

    fn room_entry(&mut self, node: Node<'_>) -> Option<RoomEntry> {
        let rule = node.rule();
        let mut parts = node.parts();
        match rule {
            Rule::floor => {
                let kind = parts.word()?;
                let (layers, broken) = self.lines_beside(parts, Rule::floor_line, |_, node| layer(node));
                Some(RoomEntry::Floor(Floor { kind, layers, broken, span: node.head() }))
            }
            Rule::cable => {
                let name = parts.word()?;
                let faults = self.faults.count();
                let entries = self.lines(parts, Rule::cable_line, |_, node| cable_entry(node));
                let broken = self.faults.count() > faults;
                Some(RoomEntry::Cable(Cable { name, entries, broken, span: node.head() }))
            }
            Rule::record => {
                let (entries, broken) = self.lines_beside(parts, Rule::record_line, |_, node| record_entry(node));
                Some(RoomEntry::Record(Record { entries, broken, span: node.head() }))
            }
            Rule::fixture | Rule::drill | Rule::level => area(node),
            Rule::joint | Rule::pipe | Rule::partition => line(node),
            Rule::junction | Rule::thermostat | Rule::contactor | Rule::sensor | Rule::shower_head => device(node),
            _ => room_line(node),
        }
    }
}

/// A statement of a room that is a line and holds no other thing.
fn room_line(node: Node<'_>) -> Option<RoomEntry> {
    let span = node.tight();
    let rule = node.rule();
    let mut parts = node.parts();
    Some(match rule {
        Rule::let_value => RoomEntry::Let(let_value(parts)?),
        Rule::outline => RoomEntry::Outline(outline(parts, span)?),
        Rule::wall => RoomEntry::Wall(Wall {
            number: parts.word()?,
            title: parts.word_if(Rule::text),
            outside: parts.if_is(Rule::outside).is_some(),
            span,
        }),
        Rule::door => RoomEntry::Door(Door {
            name: parts.word()?,
            wall: parts.word()?,
            side: parts.if_is(Rule::from_side).and_then(|node| Side::of_word(&node.parts().word()?.text)),
            from: parts.expr()?,
            to: parts.expr()?,
            through: parts.if_is(Rule::through).is_some(),
            swing: parts.if_is(Rule::swing).and_then(swing),
            span,
        }),
        Rule::rug => {
            RoomEntry::Rug(Rug { name: parts.word()?, shape: parts.shape()?, resistance: parts.expr()?, span })
        }
        Rule::used_floor => RoomEntry::UsedFloor(parts.word()?, span),
        Rule::earthed_grid => RoomEntry::EarthedGrid(parts.expr()?, span),
        Rule::inside => RoomEntry::Inside(parts.expr()?, span),
        Rule::below => RoomEntry::Below(Below { kind: parts.word()?, temperature: parts.expr()?, span }),
        Rule::heat_loss => RoomEntry::HeatLoss(parts.expr()?, span),
        Rule::bonded => RoomEntry::Bonded(parts.if_is(Rule::by_main).is_some(), span),
        _ => RoomEntry::Deviation(Deviation {
            rule: parts.word()?,
            target: parts.if_is(Rule::deviation_target).and_then(|node| {
                let mut parts = node.parts();
                Some((parts.word()?, parts.word()?))
            }),
            reason: parts.word()?,
            until: parts.if_is(Rule::until).and_then(|node| node.parts().word()),
            span,
        }),
    })
}

/// A part of the floor.
fn area(node: Node<'_>) -> Option<RoomEntry> {
    let rule = node.rule();
    let mut parts = node.parts();
    let name = parts.word()?;
    let mut rises = None;
    let kind = match rule {
        Rule::fixture => {
            let kind = parts.word_if(Rule::fixture_kind);
            let mut raised = parts.if_is(Rule::raised).map(Node::parts);
            let height = raised.as_mut().and_then(Parts::expr);
            let open = raised.is_some_and(|mut raised| raised.if_is(Rule::open_below).is_some());
            AreaExpr::Fixture { kind, raised: height, open }
        }
        Rule::drill => AreaExpr::Drill,
        _ if parts.if_is(Rule::stairs).is_some() => {
            rises = parts.if_is(Rule::flight).and_then(flight);
            AreaExpr::Level(None)
        }
        _ => AreaExpr::Level(Some(parts.expr()?)),
    };
    Some(RoomEntry::Area(Area { name, kind, shape: parts.shape()?, rises, span: node.tight() }))
}

/// What goes along the floor.
fn line(node: Node<'_>) -> Option<RoomEntry> {
    let rule = node.rule();
    let mut parts = node.parts();
    let name = parts.word()?;
    let pipe = parts.word_if(Rule::pipe_kind);
    let points = parts.points();
    let kind = match rule {
        Rule::joint => LineExpr::Joint,
        Rule::pipe => LineExpr::Pipe(pipe),
        _ => LineExpr::Partition(parts.clause(Rule::height)),
    };
    Some(RoomEntry::Line(Line { name, kind, points, span: node.tight() }))
}

/// What is wired, and what water comes from.
fn device(node: Node<'_>) -> Option<RoomEntry> {
    let span = node.tight();
    let rule = node.rule();
    let mut parts = node.parts();
    let name = parts.word()?;
    Some(match rule {
        Rule::junction => RoomEntry::Junction(Junction {
            name,
            at: parts.point()?,
            height: parts.clause(Rule::height),
            ip: parts.if_is(Rule::ip_rating).and_then(|node| node.parts().word()),
            wired: parts.if_is(Rule::wired_to).and_then(|node| node.parts().word()),
            span,
        }),
        Rule::thermostat => RoomEntry::Thermostat(Thermostat {
            name,
            at: parts.point()?,
            height: parts.clause(Rule::height),
            rated: parts.clause(Rule::rated)?,
            limit: parts.clause(Rule::floor_limit),
            behind: parts.clause(Rule::behind),
            supply: parts.if_is(Rule::on_supply).and_then(|node| node.parts().word()),
            span,
        }),
        Rule::contactor => {
            let rated = parts.clause(Rule::rated)?;
            let category = parts.word_if(Rule::category);
            RoomEntry::Contactor(Contactor { name, rated, category, thermostat: parts.word()?, span })
        }
        Rule::sensor => RoomEntry::Sensor(Sensor {
            name,
            from: parts.word()?,
            between: parts.if_is(Rule::between).and_then(channel),
            points: parts.points(),
            lead: parts.clause(Rule::lead),
            span,
        }),
        _ => RoomEntry::ShowerHead(ShowerHead { name, at: parts.point()?, height: parts.clause(Rule::height), span }),
    })
}

fn let_value(mut parts: Parts<'_>) -> Option<Let> {
    Some(Let { name: parts.word()?, value: parts.expr()? })
}

fn outline(mut parts: Parts<'_>, span: Span) -> Option<Outline> {
    let Some(walk) = parts.if_is(Rule::walk) else {
        let mut points = parts.points().into_iter();
        return Some(Outline { first: points.next()?, legs: points.map(Leg::To).collect(), span });
    };
    let mut parts = walk.parts();
    let first = parts.point()?;
    let mut legs = Vec::new();
    while let Some(leg) = parts.if_is(Rule::leg) {
        let span = leg.tight();
        let mut parts = leg.parts();
        legs.push(match parts.peek()?.rule() {
            Rule::point => Leg::To(parts.point()?),
            _ => Leg::Along(parts.heading()?, parts.expr()?, span),
        });
    }
    Some(Outline { first, legs, span })
}

fn kit_entry(node: Node<'_>) -> Option<KitEntry> {
    let span = node.tight();
    let rule = node.rule();
    let mut parts = node.parts();
    Some(match rule {
        Rule::output => KitEntry::Output(parts.expr()?, parts.expr()?, span),
        Rule::kit_length => KitEntry::Length(parts.expr()?, span),
        Rule::resistance => {
            let value = parts.expr()?;
            let tolerance = parts.if_is(Rule::tolerance).and_then(|node| {
                let mut parts = node.parts();
                Some((parts.expr()?, parts.expr()?))
            });
            KitEntry::Resistance(value, tolerance, span)
        }
        Rule::diameter => KitEntry::Diameter(parts.expr()?, span),
        Rule::bend_radius => KitEntry::BendRadius(parts.expr()?, span),
        Rule::tail_length => KitEntry::Tail(parts.expr()?, span),
        Rule::cores => KitEntry::Cores(parts.expr()?, span),
        Rule::mat => KitEntry::Mat(Mat { width: parts.expr()?, length: parts.expr()?, spacing: parts.expr()?, span }),
        _ => KitEntry::Screen(parts.word()?.text == "earthed", span),
    })
}

fn kit_table_entry(node: Node<'_>) -> Option<KitTableEntry> {
    let span = node.tight();
    let mut parts = node.parts();
    Some(match node.rule() {
        Rule::voltage => KitTableEntry::Voltage(parts.expr()?, span),
        Rule::kits_tolerance => {
            let mut parts = parts.next()?.parts();
            KitTableEntry::Tolerance(parts.expr()?, parts.expr()?, span)
        }
        Rule::kits_spacing => KitTableEntry::Spacing(parts.expr()?, span),
        Rule::columns => KitTableEntry::Columns(parts.all_of(Rule::column).map(Node::word).collect(), span),
        Rule::kit_row => KitTableEntry::Row(KitRow {
            name: parts.word()?,
            cells: parts.all_of(Rule::cell).map(kit_cell).collect::<Option<Vec<_>>>()?,
            title: parts.word_if(Rule::text),
            span,
        }),
        _ => KitTableEntry::Shared(kit_entry(node)?),
    })
}

/// What a line that can't be read starts with.
fn first_word(node: Node<'_>) -> Option<Word> {
    let text = node.text();
    let length = text.find(|c: char| !is_word(c)).unwrap_or(text.len());
    let start = node.span().start();
    (length > 0).then(|| Word { text: text[..length].to_string(), span: Span::new(start..start + length) })
}

fn kit_cell(node: Node<'_>) -> Option<KitCell> {
    let (span, text) = (node.tight(), node.text().trim_end().to_string());
    let mut parts = node.parts();
    let value = parts.expr()?;
    let by = if parts.peek().is_some() { Some(parts.expr()?) } else { None };
    Some(KitCell { value, by, text, span })
}

fn supply_entry(node: Node<'_>) -> Option<SupplyEntry> {
    let span = node.tight();
    let rule = node.rule();
    let mut parts = node.parts();
    Some(match rule {
        Rule::voltage => SupplyEntry::Voltage(parts.expr()?, span),
        Rule::rcd => {
            let current = parts.expr()?;
            let kind = parts.if_is(Rule::rcd_type).and_then(|node| node.parts().word());
            SupplyEntry::Rcd(current, kind, span)
        }
        Rule::breaker => SupplyEntry::Breaker(parts.expr()?, span),
        Rule::ambient => SupplyEntry::Ambient(parts.expr()?, span),
        Rule::fuse => SupplyEntry::Fuse(parts.expr()?, span),
        Rule::selv => SupplyEntry::Selv(span),
        Rule::drop_before => SupplyEntry::Before(parts.expr()?, span),
        Rule::grouped => SupplyEntry::Grouped(parts.expr()?, span),
        Rule::in_insulation => SupplyEntry::InInsulation(parts.expr()?, span),
        _ => {
            let section = parts.expr()?;
            parts.if_is(Rule::metal);
            SupplyEntry::Conductor(Conductor {
                section,
                length: parts.expr()?,
                method: parts.word()?,
                insulation: parts.word_if(Rule::insulation),
                span,
            })
        }
    })
}

fn material_entry(node: Node<'_>) -> Option<MaterialEntry> {
    let (rule, span) = (node.rule(), node.span());
    let mut parts = node.parts();
    Some(match rule {
        Rule::material_kind => MaterialEntry::Kind(parts.word()?, span),
        Rule::surface_limit => MaterialEntry::SurfaceLimit(parts.expr()?, span),
        Rule::heat_capacity => MaterialEntry::HeatCapacity(parts.expr()?, span),
        _ => MaterialEntry::Conductivity(parts.expr()?, span),
    })
}

fn layer(node: Node<'_>) -> Option<Layer> {
    let span = node.tight();
    let mut parts = node.parts();
    Some(Layer {
        name: parts.word()?,
        thickness: parts.expr()?,
        material: parts.if_is(Rule::layer_material).map(|node| node.word()),
        cable: parts.clause(Rule::layer_cable),
        span,
    })
}

fn cable_entry(node: Node<'_>) -> Option<CableEntry> {
    let span = node.tight();
    let rule = node.rule();
    let mut parts = node.parts();
    Some(match rule {
        Rule::cable_kit => CableEntry::Kit(parts.word()?),
        Rule::tail => CableEntry::Tail(Box::new(tail(parts, span)?)),
        Rule::second_tail => CableEntry::SecondTail(Box::new(tail(parts, span)?)),
        Rule::switched_by => CableEntry::By(parts.word()?),
        Rule::start => CableEntry::Start(parts.point()?, span),
        Rule::run => match parts.peek()?.rule() {
            Rule::point => CableEntry::RunTo(parts.point()?, span),
            _ => {
                let heading = parts.heading()?;
                match parts.peek()?.rule() {
                    Rule::rest => CableEntry::RunRest(heading, parts.word()?, span),
                    Rule::reach => CableEntry::RunReach(heading, reach(parts.next()?)?, span),
                    _ => CableEntry::Run(heading, parts.expr()?, span),
                }
            }
        },
        _ => CableEntry::Loops(Box::new(match parts.if_is(Rule::fitting_loops) {
            Some(node) => {
                let mut parts = node.parts();
                let (length, heading) = (parts.expr()?, parts.heading()?);
                let (pitch, stepping) = (parts.expr()?, parts.heading()?);
                Loops { count: LoopCount::Fitting(reach(parts.next()?)?), length, heading, pitch, stepping, span }
            }
            None => Loops {
                count: LoopCount::Counted(parts.expr()?),
                length: parts.expr()?,
                heading: parts.heading()?,
                pitch: parts.expr()?,
                stepping: parts.heading()?,
                span,
            },
        })),
    })
}

/// The channel between two runs.
fn channel(node: Node<'_>) -> Option<Channel> {
    let span = node.tight();
    let mut parts = node.parts();
    Some(Channel {
        runs: [parts.word()?, parts.word()?],
        cable: parts.if_is(Rule::of_cable).and_then(|node| node.parts().word()),
        depth: parts.expr()?,
        span,
    })
}

/// How far something goes.
fn reach(node: Node<'_>) -> Option<Reach> {
    let span = node.tight();
    let mut parts = node.parts();
    let to = match parts.if_is(Rule::reached_fixture) {
        Some(node) => ReachTo::Fixture(node.parts().word()?),
        None => ReachTo::Wall(parts.word()?),
    };
    Some(Reach { to, less: parts.clause(Rule::less), span })
}

fn tail(mut parts: Parts<'_>, span: Span) -> Option<Tail> {
    let from = match parts.if_is(Rule::tail_cable) {
        Some(node) => TailFrom::Cable(node.parts().word()?),
        None => TailFrom::Junction(parts.word()?),
    };
    let points = parts.points();
    let sleeves =
        parts.if_is(Rule::sleeves).map(|node| node.parts().all_of(Rule::name).map(|name| name.word()).collect());
    Some(Tail { from, points, sleeves: sleeves.unwrap_or_default(), span })
}

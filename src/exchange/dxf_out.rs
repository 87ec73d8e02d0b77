//! A plan as a DXF drawing: every room at its true size in mm in model space, a layer for each kind of thing, blocks for boxes and sensors.
//!
//! What a drawing of lines can't say (names, kinds, free heights, which room) goes with each entity as extended data under
//! [`APPLICATION`], as the words of a plan's statement without its geometry; [`super::dxf_in`] reads them back.

use std::borrow::Cow;
use std::collections::BTreeSet;

use dxf::entities::{Circle, Entity, EntityType, Insert, Line, LwPolyline, Text};
use dxf::enums::{AcadVersion, DrawingUnits, Units};
use dxf::tables::{AppId, Layer, LineType};
use dxf::{Block, Color, Drawing, LwPolylineVertex, XData, XDataItem};

use super::tag::Tag;
use super::{APPLICATION, layers};
use crate::CAUTION;
use crate::geometry::ring::signed_area;
use crate::geometry::{Bounds, Point};
use crate::model::{Plan, Room, Shape};
use crate::quantity::number;

/// A plan that was drawn, and what there is to say of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Drawn {
    /// The file, as text.
    pub bytes: Vec<u8>,
    /// Rooms that are drawn elsewhere than the plan has them, in words.
    pub remarks: Vec<String>,
}

/// Height of names, mm of floor: 2.5 mm at 1:50.
const LETTERS: f64 = 125.0;
/// Height of a room's title.
const TITLE: f64 = 200.0;
/// How far apart rooms are set that lie over each other in the plan, mm.
const APART: f64 = 2_000.0;
/// Half the side of a box's symbol, mm.
const HALF_BOX: f64 = 60.0;
/// The size of the block by which a sensor's tip is marked, mm.
const TIP: f64 = 25.0;

/// Draws rooms of a plan.
///
/// # Errors
/// Where the file can't be put together, with the reason.
pub fn draw(plan: &Plan, rooms: &[&Room]) -> Result<Drawn, String> {
    let mut sheet = Sheet::new();
    let mut remarks = Vec::new();
    let alone = rooms.len() == 1;
    for (room, by) in rooms.iter().zip(moved_apart(rooms)) {
        if by != Point::zero() {
            let (name, far) = (&room.name.text, number(by.x / 1000.0, 3));
            remarks.push(format!(
                "room `{name}` is drawn {far} m further east than in the plan, where it lies over another"
            ));
        }
        sheet.by = by;
        sheet.prefix = if alone { String::new() } else { format!("{}-", room.name.text) };
        sheet.room(plan, room);
    }
    sheet.prefix.clear();
    sheet.caution(rooms);
    let mut bytes = Vec::new();
    sheet.drawing.normalize();
    // By itself, since the crate gives up at a clock whose zone had no first midnight of 1900.
    let Sheet { drawing, .. } = sheet;
    let save = || drawing.save(&mut bytes).map_err(|error| error.to_string());
    std::thread::scope(|scope| scope.spawn(save).join()).map_err(|_| "the writer failed".to_string())??;
    Ok(Drawn { bytes: mended(&bytes), remarks })
}

/// How far each room has to be moved so that none lies over another; most plans have all of them side by side already.
fn moved_apart(rooms: &[&Room]) -> Vec<Point> {
    let boxes: Vec<Bounds> = rooms.iter().map(|room| Bounds::around(&room.corners)).collect();
    let over = |a: &Bounds, b: &Bounds| {
        a.low.x < b.high.x - 1.0 && b.low.x < a.high.x - 1.0 && a.low.y < b.high.y - 1.0 && b.low.y < a.high.y - 1.0
    };
    let any = boxes.iter().enumerate().any(|(index, one)| boxes.iter().skip(index + 1).any(|other| over(one, other)));
    if !any {
        return vec![Point::zero(); rooms.len()];
    }
    let mut next = boxes.first().map_or(0.0, |first| first.low.x);
    let place = |one: &Bounds| {
        let by = Point { x: next - one.low.x, y: 0.0 };
        next += one.high.x - one.low.x + APART;
        by
    };
    boxes.iter().map(place).collect()
}

/// The drawing as it is put together.
struct Sheet {
    drawing: Drawing,
    /// The layers that it has.
    known: BTreeSet<String>,
    /// How far the room in hand is moved.
    by: Point,
    /// What the layers of its cables begin with, where there are several rooms.
    prefix: String,
}

impl Sheet {
    fn new() -> Self {
        let mut drawing = Drawing::new();
        // The first version with widths of lines. What later ones add the crate writes in ways that strict readers refuse.
        drawing.header.version = AcadVersion::R2000;
        drawing.header.default_drawing_units = Units::Millimeters;
        drawing.header.drawing_units = DrawingUnits::Metric;
        drawing.header.drawing_code_page = "ANSI_1252".into();
        // The same plan makes the same file, whenever and wherever it is drawn.
        still(&mut drawing);
        drawing.add_app_id(AppId { name: APPLICATION.into(), ..AppId::default() });
        for (name, description, dashes) in layers::LINE_TYPES {
            drawing.add_line_type(LineType {
                name: name.into(),
                description: description.into(),
                element_count: i32::try_from(dashes.len()).unwrap_or(0),
                total_pattern_length: dashes.iter().map(|dash: &f64| dash.abs()).sum(),
                dash_dot_space_lengths: dashes.to_vec(),
                complex_line_type_element_types: vec![0; dashes.len()],
                ..LineType::default()
            });
        }
        let mut sheet = Sheet { drawing, known: BTreeSet::new(), by: Point::zero(), prefix: String::new() };
        sheet.blocks();
        sheet
    }

    /// The symbols. What each is called is written beside it: an attribute of a block the crate writes so that strict readers refuse the file.
    fn blocks(&mut self) {
        let square =
            |half: f64| [(-half, -half), (half, -half), (half, half), (-half, half)].map(|(x, y)| Point { x, y });
        let half = HALF_BOX;
        let cross = [
            (Point { x: -half, y: -half }, Point { x: half, y: half }),
            (Point { x: -half, y: half }, Point { x: half, y: -half }),
        ];
        let mut junction = vec![polyline(&square(half), true)];
        junction.extend(cross.map(|(a, b)| line(a, b)));
        let thermostat = vec![polyline(&square(half), true), circle(Point::zero(), half * 0.6)];
        let tip = vec![circle(Point::zero(), TIP)];
        for (name, drawn) in [(layers::JUNCTION, junction), (layers::THERMOSTAT, thermostat), (layers::TIP, tip)] {
            let entities: Vec<Entity> = drawn.into_iter().map(|shape| by_block(shape, "0")).collect();
            self.drawing.add_block(Block { name: name.into(), layer: "0".into(), entities, ..Block::default() });
        }
    }

    fn room(&mut self, plan: &Plan, room: &Room) {
        if !room.corners.is_empty() {
            let tag = Tag::of_room(room);
            self.add(&layers::WALLS, None, polyline(&self.moved(&room.corners), true), &tag);
        }
        let title = room.title.as_deref().unwrap_or(&room.name.text);
        let low = Bounds::around(&room.corners).low;
        self.text(title, Point { x: low.x, y: low.y - TITLE * 2.0 }, TITLE);
        for area in &room.areas {
            self.shape(layers::of_area(&area.kind), &area.shape, &Tag::of_area(area, &room.name.text));
        }
        for rug in &room.rugs {
            self.shape(&layers::RUGS, &rug.shape, &Tag::of_rug(rug, &room.name.text));
        }
        for one in &room.lines {
            let tag = Tag::of_line(one, &room.name.text, signed_area(&room.corners) >= 0.0);
            self.add(layers::of_line(&one.kind), None, polyline(&self.moved(&one.points), false), &tag);
            if let [from, to, ..] = one.points.as_slice() {
                self.text(&one.name.text, (*from + *to) / 2.0, LETTERS * 0.6);
            }
        }
        for head in &room.shower_heads {
            let tag = Tag::of_shower_head(head, &room.name.text);
            self.add(&layers::SHOWER_HEADS, None, circle(head.at + self.by, TIP), &tag);
        }
        self.cables(plan, room);
        self.devices(room);
    }

    fn cables(&mut self, plan: &Plan, room: &Room) {
        let owner = &room.name.text;
        for cable in &room.cables {
            let name = &cable.name.text;
            let corners: Vec<Point> = cable
                .runs
                .first()
                .map(|run| run.start)
                .into_iter()
                .chain(cable.runs.iter().map(|run| run.end))
                .collect();
            let kit = cable.kit.and_then(|kit| plan.kits.get(kit)).map_or("", |kit| kit.name.text.as_str());
            if corners.len() > 1 {
                let tag = Tag::other("cable", name, owner);
                self.add(&layers::CABLE, Some(name), polyline(&self.moved(&corners), false), &tag);
            }
            if let Some(start) = corners.first() {
                self.text(format!("{name} {kit}").trim_end(), *start, LETTERS * 0.6);
            }
            let second = cable.second_tail.iter().map(|tail| &tail.route);
            for route in std::iter::once(&cable.tail).chain(second).filter(|route| route.len() > 1) {
                let tag = Tag::other("tail", name, owner);
                self.add(&layers::TAIL, Some(name), polyline(&self.moved(route), false), &tag);
            }
        }
    }

    fn devices(&mut self, room: &Room) {
        let owner = &room.name.text;
        let height =
            |height: Option<f64>| height.map_or_else(String::new, |height| format!(" at {} mm", number(height, 1)));
        for box_ in &room.junctions {
            let name = &box_.name.text;
            let told = format!("{name}{}", height(box_.height));
            self.block(&layers::BOXES, layers::JUNCTION, box_.at, &told, &Tag::other("junction", name, owner));
        }
        for one in &room.thermostats {
            let name = &one.name.text;
            let told = format!("{name}{}, {} A", height(one.height), number(one.rated, 1));
            self.block(&layers::BOXES, layers::THERMOSTAT, one.at, &told, &Tag::other("thermostat", name, owner));
        }
        for sensor in &room.sensors {
            let tag = Tag::other("sensor", &sensor.name.text, owner);
            if sensor.conduit.len() > 1 {
                self.add(&layers::SENSORS, None, polyline(&self.moved(&sensor.conduit), false), &tag);
            }
            if let Some(tip) = sensor.conduit.last() {
                self.block(&layers::SENSORS, layers::TIP, *tip, &sensor.name.text, &tag);
            }
        }
    }

    /// What a drawing is not, below all rooms.
    fn caution(&mut self, rooms: &[&Room]) {
        let low = rooms
            .iter()
            .map(|room| Bounds::around(&room.corners))
            .reduce(Bounds::with)
            .map_or(Point::zero(), |all| all.low);
        self.by = Point::zero();
        for (index, line) in textwrap::wrap(CAUTION, 76).iter().enumerate() {
            let down = TITLE * 2.0 + LETTERS * 1.5 * (index + 1) as f64;
            self.text(line, Point { x: low.x, y: low.y - down }, LETTERS * 0.6);
        }
    }

    fn moved(&self, points: &[Point]) -> Vec<Point> {
        points.iter().map(|point| *point + self.by).collect()
    }

    fn shape(&mut self, layer: &'static layers::Look, shape: &Shape, tag: &Tag) {
        let drawn = match shape {
            Shape::Polygon(corners) => polyline(&self.moved(corners), true),
            Shape::Circle { centre, radius } => circle(*centre + self.by, *radius),
        };
        let middle = match shape {
            Shape::Polygon(corners) => {
                corners.iter().fold(Point::zero(), |sum, one| sum + *one) / corners.len().max(1) as f64
            }
            Shape::Circle { centre, .. } => *centre,
        };
        self.add(layer, None, drawn, tag);
        self.text(&tag.name, middle, LETTERS * 0.6);
    }

    fn text(&mut self, text: &str, place: Point, height: f64) {
        let text = one_line(text);
        let written = Text { location: at(place + self.by), text_height: height, value: text, ..Text::default() };
        self.add(&layers::TEXT, None, EntityType::Text(written), &Tag::default());
    }

    /// Puts a symbol somewhere, with what is told of it beside it; above for a thermostat, since its junction box is often behind it.
    fn block(&mut self, layer: &'static layers::Look, name: &str, place: Point, told: &str, tag: &Tag) {
        let insert = Insert { name: name.into(), location: at(place + self.by), ..Insert::default() };
        self.add(layer, None, EntityType::Insert(insert), tag);
        let up = if name == layers::THERMOSTAT { HALF_BOX * 0.5 } else { -HALF_BOX * 1.2 };
        self.text(told, place + Point { x: HALF_BOX * 1.4, y: up }, LETTERS * 0.6);
    }

    /// Adds an entity on a layer, which is made where it isn't there yet; `of` is the thing that has a layer to itself.
    fn add(&mut self, look: &'static layers::Look, of: Option<&str>, shape: EntityType, tag: &Tag) {
        let layer = match of {
            Some(of) => format!("{}-{}{of}", look.name, self.prefix),
            None => look.name.to_string(),
        };
        if self.known.insert(layer.clone()) {
            self.drawing.add_layer(Layer {
                name: layer.clone(),
                color: Color::from_index(look.color),
                line_type_name: look.line_type.into(),
                ..Layer::default()
            });
        }
        let mut entity = Entity::new(shape);
        entity.common.layer = layer;
        entity.common.lineweight_enum_value = look.weight;
        let words = tag.words();
        if !words.is_empty() {
            let items = words.iter().map(|word| XDataItem::Str(short(word))).collect();
            entity.common.x_data.push(XData { application_name: APPLICATION.into(), items });
        }
        self.drawing.add_entity(entity);
    }
}

/// Takes out of a drawing's head what differs from run to run.
fn still(drawing: &mut Drawing) {
    let header = &mut drawing.header;
    header.creation_date_universal = Default::default();
    header.update_date_universal = Default::default();
    header.fingerprint_guid = Default::default();
    header.version_guid = Default::default();
}

/// The file as strict readers want it, and as it is on any day and in any time zone. The crate gives tables no handle, the end of a block the
/// handle of its beginning, and reckons the drawing's dates by the machine's own clock.
fn mended(bytes: &[u8]) -> Vec<u8> {
    let text = String::from_utf8_lossy(bytes);
    let mut lines = text.lines();
    let mut pairs: Vec<(&str, Cow<'_, str>)> = Vec::new();
    while let (Some(code), Some(value)) = (lines.next(), lines.next()) {
        pairs.push((code, value.into()));
    }
    let places = ["$HANDSEED", "$TDCREATE", "$TDUPDATE"]
        .map(|word| pairs.iter().position(|(_, value)| value == word).map(|place| place + 1));
    let [seed, dates @ ..] = places;
    let free = seed.and_then(|place| u64::from_str_radix(pairs.get(place)?.1.trim(), 16).ok());
    let mut free = free.unwrap_or(0x10_0000);
    let mut next = || {
        free += 1;
        format!("{:X}", free - 1)
    };
    for place in dates.into_iter().flatten() {
        if let Some((_, value)) = pairs.get_mut(place) {
            *value = "0.0".into();
        }
    }
    let mut written: Vec<(&str, Cow<'_, str>)> = Vec::with_capacity(pairs.len() + 16);
    let mut of = "";
    let kinds: Vec<String> = pairs.iter().map(|(_, value)| value.to_string()).collect();
    for (index, (code, value)) in pairs.into_iter().enumerate() {
        match code.trim() {
            "0" => of = kinds.get(index).map_or("", String::as_str),
            "5" if of == "ENDBLK" => {
                written.push((code, next().into()));
                continue;
            }
            "2" if of == "TABLE" => {
                written.push((code, value));
                written.push(("  5", next().into()));
                continue;
            }
            _ => {}
        }
        written.push((code, value));
    }
    let end = next();
    if let Some((_, value)) = seed.and_then(|place| written.get_mut(place)) {
        *value = end.into();
    }
    written.iter().flat_map(|(code, value)| format!("{code}\r\n{value}\r\n").into_bytes()).collect()
}

/// What DXF takes for a text: one line, in which no sign begins a code of its own.
fn one_line(text: &str) -> String {
    crate::source::one_line(text).replace("%%", "% %").replace(beyond, "\u{fffd}")
}

/// Whether a letter has more digits than this form of DXF has room for.
fn beyond(c: char) -> bool {
    u32::from(c) > 0xffff
}

/// A word of extended data, which is no longer than 255 bytes; letters beyond ASCII take seven each.
fn short(word: &str) -> String {
    const LONGEST: usize = 250;
    let mut room = LONGEST;
    let fits = |c: &char| {
        let takes = if c.is_ascii() { 2 } else { 7 };
        room.checked_sub(takes).map(|left| room = left).is_some()
    };
    word.replace(beyond, "\u{fffd}").chars().take_while(fits).collect()
}

fn at(point: Point) -> dxf::Point {
    dxf::Point::new(point.x, point.y, 0.0)
}

fn polyline(points: &[Point], closed: bool) -> EntityType {
    let vertices =
        points.iter().map(|point| LwPolylineVertex { x: point.x, y: point.y, ..LwPolylineVertex::default() });
    let mut line = LwPolyline { vertices: vertices.collect(), ..LwPolyline::default() };
    line.set_is_closed(closed);
    EntityType::LwPolyline(line)
}

fn line(from: Point, to: Point) -> EntityType {
    EntityType::Line(Line { p1: at(from), p2: at(to), ..Line::default() })
}

fn circle(centre: Point, radius: f64) -> EntityType {
    EntityType::Circle(Circle { center: at(centre), radius, ..Circle::default() })
}

/// An entity of a block, which looks as what it is put in.
fn by_block(shape: EntityType, layer: &str) -> Entity {
    let mut entity = Entity::new(shape);
    entity.common.layer = layer.into();
    entity.common.lineweight_enum_value = -2;
    entity
}

//! Nothing written on a sheet lies on anything else where there is a way round: labels, leaders and dimensions counted over the examples,
//! the faults and rooms laid by lot; where something does, a free spot is looked for by brute force.

use layrule::checker;
use layrule::draw::canvas::Frame;
use layrule::draw::sheet::{Paper, Scales};
use layrule::draw::{Drawing, Request, draw};
use layrule::measure::plan::Measured;
use layrule::model::load::Library;
use layrule::model::resolve::resolve;
use layrule::model::{Plan, Point, Room, Shape};
use layrule::source::Disk;
use roxmltree::{Document, Node};

use crate::common::{RULES, TODAY, plan, root};

/// A thing written: what it covers, its leader where it has one, and what it says.
struct Written {
    frame: Frame,
    leader: Option<(Point, Point)>,
    words: String,
    /// A run's number stands on its run.
    on_run: bool,
    /// A number on its isotherm, which has no other place than along that.
    on_line: bool,
    /// What something is called, which may be led to from anywhere: it is to lie on no line at all.
    is_name: bool,
}

/// What stands in an element.
fn words_of(node: Node<'_, '_>) -> String {
    let texts = node.descendants().filter(Node::is_text).filter_map(|node| node.text());
    texts.map(str::trim).collect()
}

fn point(numbers: &[f64]) -> Point {
    Point { x: numbers[0], y: numbers[1] }
}

fn line_of(node: Node<'_, '_>) -> Option<(Point, Point)> {
    let read = |name: &str| node.attribute(name)?.parse::<f64>().ok();
    Some((Point { x: read("x1")?, y: read("y1")? }, Point { x: read("x2")?, y: read("y2")? }))
}

fn written(document: &Document<'_>) -> Vec<Written> {
    let labels = document.descendants().filter_map(|node| {
        let frame = node.attribute("data-frame")?;
        let sides: Vec<f64> = frame.split(' ').map(|side| side.parse().expect("a number")).collect();
        let words = words_of(node);
        let leader = node.children().find(|child| child.has_tag_name("line")).and_then(line_of);
        let frame = Frame { left: sides[0], top: sides[1], right: sides[2], bottom: sides[3] };
        let class = node.attribute("class").unwrap_or_default();
        Some(Written {
            frame,
            leader,
            words,
            on_run: class == "run-number",
            on_line: class == "isotherm",
            is_name: ["name", "end", "extreme"].contains(&class),
        })
    });
    labels.collect()
}

/// The lines of dimensions and of what leads to them.
fn dimension_lines(document: &Document<'_>) -> Vec<(Point, Point)> {
    let is = |node: &Node<'_, '_>, class: &str| node.attribute("class") == Some(class);
    let own = document.descendants().filter(|node| is(node, "dimension"));
    // The first line of each is its own; the others are strokes at its ends or lead to it.
    let own = own.filter_map(|node| node.children().find(|child| child.has_tag_name("line")).and_then(line_of));
    let leads = document.descendants().filter(|node| is(node, "leads")).filter_map(line_of);
    own.chain(leads).collect()
}

fn cross((a, b): (Point, Point), (c, d): (Point, Point)) -> bool {
    let side =
        |from: Point, to: Point, at: Point| (to.x - from.x) * (at.y - from.y) - (to.y - from.y) * (at.x - from.x);
    side(a, b, c) * side(a, b, d) < -1e-9 && side(c, d, a) * side(c, d, b) < -1e-9
}

/// What lies on a sheet besides what is written there: on paper, mm.
struct Sheet {
    cables: Vec<(Point, Point)>,
    walls: Vec<(Point, Point)>,
    dimensions: Vec<(Point, Point)>,
    /// Tails, conduits, joints, pipes and thresholds.
    routes: Vec<(Point, Point)>,
    /// The edges of what stands in the room, and of rugs.
    edges: Vec<(Point, Point)>,
    /// Discs of findings.
    discs: Vec<Frame>,
    /// Routes, edges, the outer sides of walls, and whatever lines words have.
    lines: Vec<(Point, Point)>,
    /// Devices, marks, and the strip with scale bar and north.
    boxes: Vec<Frame>,
    room: Frame,
}

/// Tails, conduits, joints, pipes and thresholds on paper.
pub(super) fn routes(room: &Room, drawing: &Drawing) -> Vec<(Point, Point)> {
    let on = |at: Point| drawing.sheet.on_paper(at);
    let junction = |at: Option<usize>| at.map(|at| room.junctions[at].at);
    let tails = room
        .cables
        .iter()
        .map(|cable| junction(cable.junction).into_iter().chain(cable.tail.iter().copied()).collect());
    let second = room.cables.iter().filter_map(|cable| cable.second_tail.as_ref());
    let second = second.map(|tail| junction(tail.junction).into_iter().chain(tail.route.iter().copied()).collect());
    let conduits = room.sensors.iter().map(|sensor| {
        let from = room.thermostats.get(sensor.thermostat).map(|own| own.at);
        from.into_iter().chain(sensor.conduit.iter().copied()).collect()
    });
    let drawn = room.lines.iter().map(|line| line.points.clone());
    let routes: Vec<Vec<Point>> = tails.chain(second).chain(conduits).chain(drawn).collect();
    routes.iter().flat_map(|route| route.windows(2).map(|pair| (on(pair[0]), on(pair[1])))).collect()
}

/// Junction boxes, thermostats and tips of sensors on paper.
pub(super) fn devices<'d>(room: &'d Room, drawing: &'d Drawing) -> impl Iterator<Item = Point> + 'd {
    let devices = room.junctions.iter().map(|own| own.at).chain(room.thermostats.iter().map(|own| own.at));
    let tips = room.sensors.iter().filter_map(|sensor| sensor.conduit.last().copied());
    devices.chain(tips).map(|at| drawing.sheet.on_paper(at))
}

fn round(at: Point, by: f64) -> Frame {
    Frame { left: at.x - by, top: at.y - by, right: at.x + by, bottom: at.y + by }
}

impl Sheet {
    fn of(plan: &Plan, index: usize, drawing: &Drawing, document: &Document<'_>) -> Sheet {
        let room = &plan.rooms[index];
        let on = |at: Point| drawing.sheet.on_paper(at);
        let paper = |a: Point, b: Point| (on(a), on(b));
        let cables = room.cables.iter().flat_map(|cable| &cable.runs).map(|run| paper(run.start, run.end)).collect();
        let corners = &room.corners;
        let walls: Vec<_> =
            (0..corners.len()).map(|at| paper(corners[at], corners[(at + 1) % corners.len()])).collect();
        let mut lines: Vec<(Point, Point)> = Vec::new();
        let mut boxes: Vec<Frame> = Vec::new();
        for (a, b) in &walls {
            // The band of a wall, 1.6 mm, on either side: a spot nearer than that is none.
            let long = (b.x - a.x).hypot(b.y - a.y);
            for by in [-1.6, -0.8, 0.8, 1.6] {
                let side = Point { x: (b.y - a.y) / long * by, y: (a.x - b.x) / long * by };
                lines.push((*a + side, *b + side));
            }
        }
        let routes = routes(room, drawing);
        let shapes = room.areas.iter().map(|area| &area.shape).chain(room.rugs.iter().map(|rug| &rug.shape));
        let rings = shapes.map(|shape| match shape {
            Shape::Polygon(corners) => corners.clone(),
            Shape::Circle { .. } => shape.bounds().corners().to_vec(),
        });
        let edges: Vec<(Point, Point)> = rings
            .flat_map(|ring| (0..ring.len()).map(move |at| (ring[at], ring[(at + 1) % ring.len()])))
            .map(|(a, b)| paper(a, b))
            .collect();
        lines.extend(routes.iter().chain(&edges));
        boxes.extend(devices(room, drawing).map(|at| round(at, 1.5)));
        let labels = document.descendants().find(|node| node.attribute("class") == Some("labels")).expect("labels");
        let rings = labels.descendants().filter(|node| node.attribute("class") == Some("finding-number"));
        let rings = rings.filter_map(|node| node.children().find(|child| child.has_tag_name("circle")));
        let number =
            |node: Node<'_, '_>, name: &str| node.attribute(name).expect("it").parse::<f64>().expect("a number");
        let discs = rings.map(|ring| round(Point { x: number(ring, "cx"), y: number(ring, "cy") }, 1.9)).collect();
        for node in labels.descendants() {
            let read = |name: &str| node.attribute(name).and_then(|figure| figure.parse::<f64>().ok()).unwrap_or(0.0);
            match node.tag_name().name() {
                "line" if node.parent().is_some_and(|parent| !parent.has_attribute("data-frame")) => {
                    lines.extend(line_of(node));
                }
                "circle" => boxes.push(round(Point { x: read("cx"), y: read("cy") }, read("r") + 0.3)),
                "rect" if node.parent().is_some_and(|parent| !parent.has_attribute("data-frame")) => {
                    boxes.push(Frame::new(read("x"), read("y"), read("width"), read("height")).grown(0.3));
                }
                _ => {}
            }
            if let Some(corners) = node.attribute("data-corners") {
                let figures: Vec<f64> = corners.split(' ').map(|figure| figure.parse().expect("a number")).collect();
                let corners: Vec<Point> = figures.chunks(2).map(point).collect();
                boxes.push(Frame::around(corners[0], corners[2]).grown(1.5));
            }
        }
        if !drawing.sheet.beside {
            let low = Frame { top: drawing.sheet.drawing.bottom - 12.5, ..drawing.sheet.drawing };
            boxes.push(low);
        }
        let dimensions = dimension_lines(document);
        let room = drawing.sheet.drawing.grown(-1.5);
        Sheet { cables, walls, dimensions, routes, edges, discs, lines, boxes, room }
    }

    /// Whether a box and its leader lie on nothing of the sheet, and on none of what is written but `but`.
    fn free(&self, frame: &Frame, leader: Option<(Point, Point)>, all: &[Written], but: usize) -> bool {
        let wide = frame.grown(0.4);
        let lines = self.cables.iter().chain(&self.walls).chain(&self.dimensions).chain(&self.lines);
        let others = || all.iter().enumerate().filter(|(index, _)| *index != but).map(|(_, other)| other);
        self.room.holds(&wide)
            && !self.boxes.iter().any(|other| wide.meets(other))
            && leader.is_none_or(|(a, b)| !self.boxes.iter().any(|other| !other.reaches(b) && other.cut_by(a, b)))
            && !lines.into_iter().any(|(a, b)| wide.cut_by(*a, *b))
            && others().all(|other| {
                !wide.meets(&other.frame)
                    && other.leader.is_none_or(|(a, b)| !wide.cut_by(a, b))
                    && leader.is_none_or(|(a, b)| !other.frame.grown(0.1).cut_by(a, b))
                    && leader.zip(other.leader).is_none_or(|(one, two)| !cross(one, two))
            })
    }
}

/// What lies on something else although a free spot can be found for it, in the words of a reader.
fn avoidable(plan: &Plan, index: usize, drawing: &Drawing) -> Vec<String> {
    let document = Document::parse(&drawing.svg).expect("XML");
    let all = written(&document);
    let sheet = Sheet::of(plan, index, drawing, &document);
    let mut found = Vec::new();
    for (number, one) in all.iter().enumerate().filter(|(_, one)| !one.on_line) {
        let on = all.iter().enumerate().filter(|(other, _)| *other != number).find_map(|(_, other)| {
            let meets = one.frame.meets(&other.frame);
            let crossed = one.leader.is_some_and(|(a, b)| other.frame.cut_by(a, b));
            let leaders = one.leader.zip(other.leader).is_some_and(|(one, two)| cross(one, two));
            (meets || crossed || leaders).then(|| format!("`{}`", other.words))
        });
        let line = || {
            let lines = sheet.cables.iter().filter(|_| !one.on_run).chain(&sheet.dimensions).chain(&sheet.walls);
            lines.into_iter().any(|(a, b)| one.frame.cut_by(*a, *b)).then(|| "a line".to_string())
        };
        let disc = || sheet.discs.iter().any(|disc| one.frame.meets(disc)).then(|| "a disc".to_string());
        let other = || {
            let mut lines = sheet.routes.iter().chain(&sheet.edges).filter(|_| one.is_name);
            lines.any(|(a, b)| one.frame.cut_by(*a, *b)).then(|| "what is drawn".to_string())
        };
        let Some(on) = on.or_else(line).or_else(disc).or_else(other) else { continue };
        let at = one.leader.map_or_else(|| one.frame.middle(), |(_, to)| to);
        let (wide, high) = (one.frame.width(), one.frame.height());
        let spot = (-30..=30).flat_map(|x| (-30..=30).map(move |y| (f64::from(x), f64::from(y)))).find(|(x, y)| {
            let frame = Frame::new(at.x + x - wide / 2.0, at.y + y - high / 2.0, wide, high);
            let near = Point { x: at.x.clamp(frame.left, frame.right), y: at.y.clamp(frame.top, frame.bottom) };
            sheet.free(&frame, Some((near, at)), &all, number)
        });
        found.extend(spot.map(|spot| format!("`{}` lies on {on}; free {spot:?} from it", one.words)));
    }
    found
}

fn request<'f>(found: &'f [layrule::finding::Finding], findings: bool) -> Request<'f> {
    Request { findings, ..Request::new(found) }
}

/// The plans of a folder of examples, with their findings drawn where asked.
fn hold_folder(folder: &str, findings: bool) -> (usize, Vec<String>) {
    let library = Library::new(&Disk, root(), root());
    let mut names: Vec<_> =
        std::fs::read_dir(root().join(folder)).expect("a folder").map(|one| one.expect("it").path()).collect();
    names.sort();
    let (mut sheets, mut told) = (0, Vec::new());
    for path in names.iter().filter(|path| path.extension().is_some_and(|ending| ending == "lay")) {
        let name = path.file_name().expect("a name").to_string_lossy();
        let measured = Measured::new(resolve(library.load(path, &name).expect("a plan")));
        let report = checker::check_plan(&measured, &RULES, TODAY);
        for (index, room) in measured.rooms().enumerate() {
            let drawing = draw(room, &request(&report.findings, findings));
            sheets += 1;
            told.extend(avoidable(measured.plan(), index, &drawing).into_iter().map(|what| format!("{name}: {what}")));
        }
    }
    (sheets, told)
}

#[test]
fn nothing_written_on_the_examples_lies_on_anything_that_it_could_keep_off() {
    let (sheets, told) = hold_folder("examples", true);
    assert!(sheets > 10);
    assert!(told.is_empty(), "{}", told.join("\n"));
}

/// As the floor's warmth is shown: where it is warmest and coolest is named beside the rest.
#[test]
fn nothing_written_on_warm_floors_lies_on_anything_that_it_could_keep_off() {
    let library = Library::new(&Disk, root(), root());
    let (mut sheets, mut told) = (0, Vec::new());
    for name in EXAMPLES {
        let path = root().join(format!("examples/{name}.lay"));
        let measured = Measured::new(resolve(library.load(&path, name).expect("a plan")));
        for (index, room) in measured.rooms().enumerate() {
            let map = room.temperature_map().expect("its floor is known");
            let drawing = draw(room, &Request { heat: Some(&*map), ..request(&[], false) });
            sheets += 1;
            assert!(drawing.svg.contains("coolest"));
            told.extend(avoidable(measured.plan(), index, &drawing).into_iter().map(|what| format!("{name}: {what}")));
        }
    }
    assert!(sheets > 9 && told.is_empty(), "{}", told.join("\n"));
}

#[test]
fn nothing_written_on_the_faults_lies_on_anything_that_it_could_keep_off() {
    let (sheets, told) = hold_folder("examples/faults", true);
    assert!(sheets > 50);
    assert!(told.is_empty(), "{}", told.join("\n"));
}

/// A number out of a row of them (Knuth's constants for a linear congruential generator, recalled).
struct Lot(u64);

impl Lot {
    fn below(&mut self, most: u64) -> u64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % most
    }
}

/// A room by lot: rectangular, L-shaped or with a corner cut off, with a cable, a fixture, a door, boxes and a sensor.
fn room_by_lot(lot: &mut Lot) -> String {
    let (wide, deep) = (1800 + 100 * lot.below(40), 1500 + 100 * lot.below(35));
    let (notch, cut) = (400 + 100 * lot.below(6), 300 + 50 * lot.below(8));
    let outline = match lot.below(3) {
        0 => format!("(0, 0) ({wide}, 0) ({wide}, {deep}) (0, {deep})"),
        1 => {
            format!("(0, 0) ({wide}, 0) ({wide}, {0}) ({1}, {0}) ({1}, {deep}) (0, {deep})", deep - notch, wide - notch)
        }
        _ => format!("(0, 0) ({wide}, 0) ({wide}, {0}) ({1}, {deep}) (0, {deep})", deep - cut, wide - cut),
    };
    let pitch = 75 + 5 * lot.below(12);
    let loops = 2 + lot.below((deep - notch - 300) / pitch - 1);
    let long = wide - notch - 250;
    let tip = 120 + pitch / 2;
    let door = 100 + 50 * lot.below(8);
    let fixture = 300 + 50 * lot.below(6);
    format!(
        "room r {{\n outline {outline}\n wall 1 \"garden wall\" outside\n door hall wall 1 from {door} to {}\n \
         fixture chest rect (0, {}) ({fixture}, {deep})\n drill stop circle ({}, {}) radius 30\n junction j (0, {}) height 300\n \
         thermostat t (0, {}) height 1200 rated 16 A\n cable a {{\n  tail j (60, {}) (60, 120) (120, 120)\n  start (120, 120)\n  \
         loops {loops} of {long} east, stepping {pitch} north\n }}\n sensor s from t (0, {tip}) (500, {tip})\n}}\n",
        door + 700,
        deep - 250,
        wide - 150 - notch / 2,
        80 + 10 * lot.below(10),
        300 + 20 * lot.below(20),
        800 + 20 * lot.below(20),
        300,
    )
}

#[test]
fn nothing_written_on_rooms_by_lot_lies_on_anything_that_it_could_keep_off() {
    let mut lot = Lot(20_261_125);
    let mut told = Vec::new();
    for number in 0..300 {
        let text = room_by_lot(&mut lot);
        let measured = Measured::new(plan(&text));
        assert!(measured.plan().faults.is_empty(), "{text}\n{:?}", measured.plan().faults);
        let drawing = draw(measured.room(0).expect("a room"), &request(&[], false));
        told.extend(avoidable(measured.plan(), 0, &drawing).into_iter().map(|what| format!("room {number}: {what}")));
    }
    assert!(told.is_empty(), "{} in all\n{}", told.len(), told.join("\n"));
}

/// What is wrong with a sheet's dimensions: each has to be as long on paper as it says, at the drawing's scale, and none may cross a wall,
/// another or what is written.
fn wrong_dimensions(plan: &Plan, index: usize, drawing: &Drawing) -> Vec<String> {
    let document = Document::parse(&drawing.svg).expect("XML");
    let sheet = Sheet::of(plan, index, drawing, &document);
    let mut wrong = Vec::new();
    for node in document.descendants().filter(|node| node.attribute("class") == Some("dimension")) {
        let said: f64 = node.attribute("data-mm").expect("a length").parse().expect("a number");
        let Some((a, b)) = node.children().find(|child| child.has_tag_name("line")).and_then(line_of) else {
            continue;
        };
        let long = (b.x - a.x).hypot(b.y - a.y) * drawing.sheet.scale;
        // Lines are written to 0.001 mm of paper.
        if (long - said).abs() >= 0.002 * drawing.sheet.scale {
            wrong.push(format!("{long} for {said}"));
        }
    }
    for (number, one) in sheet.dimensions.iter().enumerate() {
        let wall = sheet.walls.iter().find(|wall| cross(*one, **wall));
        let other = sheet.dimensions[number + 1..].iter().find(|other| cross(*one, **other));
        wrong.extend(wall.map(|_| format!("{one:?} crosses a wall")));
        wrong.extend(other.map(|other| format!("{one:?} crosses {other:?}")));
    }
    let crossed = written(&document).into_iter();
    let crossed = crossed.filter(|one| sheet.dimensions.iter().any(|(a, b)| one.frame.cut_by(*a, *b)));
    wrong.extend(crossed.map(|one| format!("a dimension crosses `{}`", one.words)));
    wrong
}

#[test]
fn dimensions_are_as_long_as_they_say_and_cross_neither_walls_nor_each_other() {
    let mut wrong = Vec::new();
    let mut hold = |name: &str, measured: &Measured| {
        for (index, room) in measured.rooms().enumerate() {
            let drawing = draw(room, &request(&[], false));
            let found = wrong_dimensions(measured.plan(), index, &drawing);
            wrong.extend(found.into_iter().map(|what| format!("{name}: {what}")));
        }
    };
    let library = Library::new(&Disk, root(), root());
    for name in EXAMPLES {
        let path = root().join(format!("examples/{name}.lay"));
        hold(name, &Measured::new(resolve(library.load(&path, name).expect("a plan"))));
    }
    hold("crowded", &Measured::new(plan(CROWDED)));
    for number in 0..60 {
        hold(&format!("varied {number}"), &Measured::new(plan(&crate::varied::plan(number))));
    }
    assert!(wrong.is_empty(), "{} in all\n{}", wrong.len(), wrong.join("\n"));
}

const EXAMPLES: [&str; 10] =
    ["bathroom", "boot-room", "flat-6", "garden-room", "hall", "kitchen", "living-room", "loft", "studio", "two-bays"];

/// A room in which much stands, so that a row or two a side don't hold what is to be dimensioned.
const CROWDED: &str = "room utility \"Utility room\" {
  outline (0, 0) (3600, 0) (3600, 2800) (2600, 2800) (2600, 3400) (0, 3400)
  door hall wall 1 from 300 to 1100
  door garden wall 2 from 900 to 1700
  door store wall 6 from 1900 to 2700
  fixture bench unit rect (1400, 0) (2400, 500)
  fixture sink basin rect (2500, 0) (3100, 450)
  fixture dryer unit rect (3000, 2200) (3600, 2800)
  fixture boiler unit rect (0, 3000) (400, 3400)
  fixture shelf rect (700, 3100) (1500, 3400)
  fixture post column rect (1700, 1500) (1900, 1700)
  drill hook circle (600, 1200) radius 40
  drill foot circle (2900, 1100) radius 40
  junction j1 (3600, 600) height 300
  junction j2 (0, 600) height 300
  thermostat t1 (3600, 700) height 1200 rated 16 A
  thermostat t2 (0, 750) height 1200 rated 16 A
  cable a {
    by t2
    tail j2 (60, 600) (60, 760)
    start (60, 760)
    loops 8 of 1400 east, stepping 90 north
  }
  cable b {
    by t1
    tail j1 (3500, 600) (3500, 800)
    start (3500, 800)
    loops 8 of 1400 west, stepping 100 north
  }
  sensor s1 from t2 (0, 805) (500, 805)
  sensor s2 from t1 (3600, 850) (3000, 850)
}
";

/// The places that are dimensioned on a sheet, mm of floor: those along x, and those along y.
fn dimensioned(drawing: &Drawing) -> [Vec<f64>; 2] {
    let document = Document::parse(&drawing.svg).expect("XML");
    let sheet = &drawing.sheet;
    let mut found = [Vec::new(), Vec::new()];
    for node in document.descendants().filter(|node| node.attribute("class") == Some("dimension")) {
        let Some((a, b)) = node.children().find(|child| child.has_tag_name("line")).and_then(line_of) else {
            continue;
        };
        if a.y == b.y {
            found[0].extend([a, b].map(|at| (at.x - sheet.origin.x) * sheet.scale));
        } else if a.x == b.x {
            found[1].extend([a, b].map(|at| (sheet.origin.y - at.y) * sheet.scale));
        }
    }
    found
}

/// The slanting wall that something stands in, from nothing, and where along it, mm.
fn slanting(room: &Room, points: &[Point]) -> Option<(usize, Vec<f64>)> {
    let middle = (points[0] + points[points.len() - 1]) / 2.0;
    let walls = layrule::geometry::ring::edges(&room.corners).enumerate();
    let nearest = walls.min_by(|a, b| a.1.distance(middle).total_cmp(&b.1.distance(middle)));
    // What lies farther off stands in no wall.
    let (wall, edge) = nearest.filter(|(_, edge)| edge.distance(middle) <= 150.0)?;
    let step = edge.step();
    let askew = step.x.abs() > 1e-6 && step.y.abs() > 1e-6;
    let long = step.x.hypot(step.y);
    let along = |at: &Point| (step.x * (at.x - edge.start.x) + step.y * (at.y - edge.start.y)) / long;
    askew.then(|| (wall, points.iter().map(along).collect()))
}

/// Whether places of a wall are dimensioned along it.
fn along_wall(document: &Document<'_>, wall: usize, places: &[f64]) -> bool {
    let number = (wall + 1).to_string();
    let own = document.descendants().find(|node| node.attribute("data-wall") == Some(number.as_str()));
    let told: Vec<f64> = own
        .and_then(|node| node.attribute("data-places"))
        .into_iter()
        .flat_map(|places| places.split(' ').filter_map(|place| place.parse().ok()))
        .collect();
    places.iter().all(|place| told.iter().any(|own| (own - place).abs() < 0.6))
}

/// What stands in a slanting wall is dimensioned along it, each value along its line (ISO 129-1, recalled): a wall of 3-4-5, 2500 mm long, with a
/// door of 800 mm 600 mm from its south end and a thermostat 1900 mm from there. Where the paper has no room beside it, the sheet says so.
#[test]
fn what_stands_in_a_slanting_wall_is_dimensioned_along_it() {
    // From (4000, 1000) to (2500, 3000): 0.6 west and 0.8 north of each step.
    let text = "room r {
  outline (0, 0) (4000, 0) (4000, 1000) (2500, 3000) (0, 3000)
  door way wall 3 from 600 to 1400
  thermostat t (2860, 2520) height 1100 rated 16 A
}
";
    let measured = Measured::new(plan(text));
    assert!(measured.plan().faults.is_empty(), "{:?}", measured.plan().faults);
    let room = measured.room(0).expect("a room");
    let drawing = draw(room, &request(&[], false));
    assert_eq!(undimensioned(measured.plan(), 0, &drawing), Vec::<String>::new());
    let document = Document::parse(&drawing.svg).expect("XML");
    let own = document.descendants().find(|node| node.attribute("data-wall") == Some("3")).expect("a chain");
    assert_eq!(own.attribute("data-places"), Some("0 600 1400 1900 2500"));
    let lengths: Vec<&str> = own.children().filter_map(|node| node.attribute("data-mm")).collect();
    assert_eq!(lengths, ["600", "800", "500", "600"]);
    let words: Vec<String> = own.descendants().filter(|node| node.has_tag_name("text")).map(words_of).collect();
    assert_eq!(words, ["600", "800", "500", "600"]);
    // Read upwards to the right of the wall, which falls by 4 in 3 to the east: 53.13°.
    for node in own.descendants().filter(|node| node.has_tag_name("text")) {
        assert!(node.attribute("transform").is_some_and(|turn| turn.starts_with("rotate(53.13 ")), "{node:?}");
    }
    // Nothing hangs on the thermostat.
    assert!(drawing.svg.contains(">0 W, 0.0 A<"));
    // The wall's own length stands farther out.
    assert!(document.descendants().any(|node| node.attribute("data-mm") == Some("2500")));
    let tight = Request { paper: Some(Paper::A4), scales: Scales::Only(19.0), ..Request::new(&[]) };
    let tight = draw(room, &tight);
    assert_eq!(undimensioned(measured.plan(), 0, &tight), Vec::<String>::new());
}

/// What of a room's fixtures, doors, sensors and boxes isn't dimensioned, nor said on the sheet not to be.
fn undimensioned(plan: &Plan, index: usize, drawing: &Drawing) -> Vec<String> {
    use layrule::model::LineKind;
    let room = &plan.rooms[index];
    let mut wanted: Vec<(String, Vec<Point>, bool)> = Vec::new();
    for area in &room.areas {
        let points = match &area.shape {
            Shape::Circle { centre, .. } => vec![*centre],
            Shape::Polygon(corners) => corners.clone(),
        };
        wanted.push((area.name.text.clone(), points, false));
    }
    for line in room.lines.iter().filter(|line| matches!(line.kind, LineKind::Door { .. })) {
        wanted.push((line.name.text.clone(), line.points.clone(), true));
    }
    let sensors = room.sensors.iter().filter_map(|own| Some((&own.name, *own.conduit.last()?, false)));
    let boxes = room.junctions.iter().map(|own| (&own.name, own.at, true));
    let thermostats = room.thermostats.iter().map(|own| (&own.name, own.at, true));
    let devices = sensors.chain(boxes).chain(thermostats);
    wanted.extend(devices.map(|(name, at, in_wall)| (name.text.clone(), vec![at], in_wall)));
    let document = Document::parse(&drawing.svg).expect("XML");
    let lacking = document.descendants().find(|node| node.attribute("class") == Some("lacking")).map(words_of);
    let told = dimensioned(drawing);
    let has = |axis: usize, at: f64| told[axis].iter().any(|own| (own - at).abs() < 0.6 + 0.002 * drawing.sheet.scale);
    let is_told = |axis: usize, points: &[Point]| {
        let along = points.iter().map(|at| if axis == 0 { at.x } else { at.y });
        let (low, high) = along.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), at| (low.min(at), high.max(at)));
        has(axis, low) && has(axis, high)
    };
    let missing = wanted.into_iter().filter(|(name, points, in_wall)| {
        let both = [is_told(0, points), is_told(1, points)];
        // What stands in a wall is dimensioned along that.
        let whole = match slanting(room, points).filter(|_| *in_wall) {
            Some((wall, places)) => along_wall(&document, wall, &places),
            None if *in_wall => both.contains(&true),
            None => both == [true, true],
        };
        !whole && !lacking.as_ref().is_some_and(|words| words.contains(name.as_str()))
    });
    missing.map(|(name, ..)| name).collect()
}

/// Every fixture, door, sensor and box has its dimensions, in both directions or along its wall; at a scale that leaves no paper for them
/// the sheet says which have none.
#[test]
fn all_that_stands_in_a_room_is_dimensioned() {
    let mut missing = Vec::new();
    let mut hold = |name: &str, measured: &Measured| {
        for (index, room) in measured.rooms().enumerate() {
            let drawing = draw(room, &request(&[], false));
            let found = undimensioned(measured.plan(), index, &drawing);
            missing.extend(found.into_iter().map(|what| format!("{name}: {what}")));
        }
    };
    let library = Library::new(&Disk, root(), root());
    for name in EXAMPLES {
        let path = root().join(format!("examples/{name}.lay"));
        hold(name, &Measured::new(resolve(library.load(&path, name).expect("a plan"))));
    }
    let crowded = Measured::new(plan(CROWDED));
    assert!(crowded.plan().faults.is_empty(), "{:?}", crowded.plan().faults);
    hold("crowded", &crowded);
    for number in 0..60 {
        hold(&format!("varied {number}"), &Measured::new(plan(&crate::varied::plan(number))));
    }
    assert!(missing.is_empty(), "{} in all\n{}", missing.len(), missing.join("\n"));
    let room = crowded.room(0).expect("a room");
    let free = draw(room, &request(&[], false));
    assert!(!free.svg.contains("Not dimensioned"));
    let tight = Request { paper: Some(Paper::A4), scales: Scales::Only(29.0), ..Request::new(&[]) };
    let tight = draw(room, &tight);
    assert!(tight.svg.contains("Not dimensioned, for want of room"));
    assert_eq!(undimensioned(crowded.plan(), 0, &tight), Vec::<String>::new());
}

/// The first and the last run, the turns and the start of a cable are dimensioned from two walls, each by its own sum.
#[test]
fn a_cable_is_set_out_from_two_walls() {
    let text = "room r {\n outline (0, 0) (3000, 0) (3000, 2000) (0, 2000)\n cable a {\n  start (110, 90)\n  loops 9 of 2700 east, \
                stepping 100 north\n }\n}\n";
    let measured = Measured::new(plan(text));
    let drawing = draw(measured.room(0).expect("a room"), &request(&[], false));
    let document = Document::parse(&drawing.svg).expect("XML");
    let side = |side: &str| -> Vec<(String, f64)> {
        let row = document.descendants().find(|node| {
            node.attribute("class") == Some("setting-out cables") && node.attribute("data-side") == Some(side)
        });
        let own =
            row.into_iter().flat_map(|row| row.children()).filter(|node| node.attribute("class") == Some("dimension"));
        own.map(|node| (words_of(node), node.attribute("data-mm").expect("it").parse().expect("a number"))).collect()
    };
    // Turns at 110 and 110 + 2700 = 2810, 190 from the other wall.
    let turns = side("south");
    assert_eq!(turns.iter().map(|(_, mm)| *mm).collect::<Vec<_>>(), [110.0, 2700.0, 190.0]);
    // Runs at 90, 190 … 890: eight steps; 1110 are left.
    let runs = side("west");
    assert_eq!(runs.iter().map(|(_, mm)| *mm).collect::<Vec<_>>(), [90.0, 800.0, 1110.0]);
    assert_eq!(runs[1].0, "8 × 100 = 800");
}

/// Metre marks lie on the cable as it is drawn, each as far along it as it says.
#[test]
fn metre_marks_are_as_far_along_the_cable_as_they_say() {
    // A square of 20 m round, sharp corners: 5 m is the first corner's end, 10 m the second's.
    let text = "room r {\n outline (0, 0) (6000, 0) (6000, 6000) (0, 6000)\n cable a {\n  start (500, 500)\n  run east 4000\n  \
                run north 4000\n  run west 4000\n }\n}\n";
    let measured = Measured::new(plan(text));
    let drawing = draw(measured.room(0).expect("a room"), &request(&[], false));
    let document = Document::parse(&drawing.svg).expect("XML");
    let marks = document.descendants().find(|node| node.attribute("class") == Some("metre-marks")).expect("marks");
    assert_eq!(marks.attribute("data-metres"), Some("5 10"));
    let data = marks.attribute("d").expect("a path");
    let middles: Vec<Point> = data
        .split('M')
        .filter(|stroke| !stroke.is_empty())
        .map(|stroke| {
            let ends: Vec<Vec<f64>> = stroke
                .split('L')
                .map(|end| end.split(' ').map(|figure| figure.parse().expect("a number")).collect())
                .collect();
            let (a, b) = (point(&ends[0]), point(&ends[1]));
            Point { x: f64::midpoint(a.x, b.x), y: f64::midpoint(a.y, b.y) }
        })
        .collect();
    // Where no kit says otherwise corners are drawn with 2 mm of paper: a quarter takes r·π/2 where its corner takes 2·r.
    let radius = 2.0 * drawing.sheet.scale;
    let saved = radius * (2.0 - std::f64::consts::FRAC_PI_2);
    let wanted =
        [Point { x: 4500.0, y: 500.0 + 1000.0 + saved }, Point { x: 4500.0 - 2000.0 - 2.0 * saved, y: 4500.0 }];
    for (found, wanted) in middles.iter().zip(wanted) {
        assert!((found.x - wanted.x).abs() < 0.01 && (found.y - wanted.y).abs() < 0.01, "{found:?} for {wanted:?}");
    }
}

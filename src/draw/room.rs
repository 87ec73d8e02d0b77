//! The room itself: walls, doors, fixtures, drill zones, levels, joints, pipes; and rugs.

use super::View;
use super::canvas::{Frame, Item, group, item, number, pair, path};
use super::labels::{BARRED, Labels, Spot, UNWANTED, Words, around_turned};
use super::lettering::size;
use super::palette as color;
use super::palette::width;
use crate::geometry::ring::{edges, signed_area};
use crate::geometry::tolerance::TOUCH;
use crate::geometry::{Bounds, Piece, Ring, along, cross, distance};
use crate::layout::tree::Heading;
use crate::model::{Area, AreaKind, Line, LineKind, Point, Room, Shape, Swing};
use crate::worded::Worded as _;

/// The hatches that areas are filled with, in floor coordinates.
pub(super) fn hatches(view: &View<'_>) -> Item {
    let mm = |paper: f64| number(view.sheet.floor(paper), 4);
    let tile = |id: &str, step: f64, strokes: &str, stroke: &str| {
        let line = item("path").set("d", strokes).line(stroke, view.sheet.floor(width::FINE));
        item("pattern")
            .set("id", id)
            .set("patternUnits", "userSpaceOnUse")
            .set("width", mm(step))
            .set("height", mm(step))
            .set("patternTransform", "rotate(45)")
            .with(line)
    };
    let one = format!("M0 0V{}", mm(1.6));
    let both = format!("M0 0V{}M0 0H{}", mm(1.0), mm(1.0));
    let treads = format!("M0 0V{}", mm(2.4));
    let stairs = tile("stairs", 2.4, &treads, color::LEVEL).set("patternTransform", "rotate(0)");
    let flat = tile("flat-stairs", 2.4, &treads, color::LEVEL).set("patternTransform", "rotate(90)");
    item("defs")
        .with(tile("fixture", 1.6, &one, color::FIXTURE))
        .with(tile("drill", 1.0, &both, color::DRILL))
        .with(stairs)
        .with(flat)
}

/// A shape's path, in floor coordinates.
fn outline_of(shape: &Shape) -> Item {
    match shape {
        Shape::Polygon(corners) => item("path").set("d", path(corners, true)),
        Shape::Circle { centre, radius } => {
            item("circle").set("cx", number(centre.x, 4)).set("cy", number(centre.y, 4)).set("r", number(*radius, 4))
        }
    }
}

/// The floor and its walls. An outside wall is darker; a door is a gap in its wall.
pub(super) fn walls(view: &View<'_>) -> Item {
    let room = view.room;
    let mut whole = group("walls");
    if room.corners.is_empty() {
        return whole;
    }
    let band = view.sheet.floor(2.0 * width::WALL);
    let ring = path(&room.corners, true);
    whole.push(item("path").set("d", ring.clone()).line(color::WALL, band).set("stroke-linejoin", "miter"));
    for (edge, wall) in edges(&room.corners).zip(&room.walls) {
        if wall.outside {
            let piece = item("path").set("d", path(&[edge.start, edge.end], false)).line(color::OUTSIDE_WALL, band);
            whole.push(piece.set("stroke-linecap", "square"));
        }
    }
    whole.push(item("path").set("class", "floor").set("d", ring.clone()).set("fill", color::PAPER));
    for line in &room.lines {
        if let (LineKind::Door { .. }, [a, b]) = (&line.kind, line.points.as_slice()) {
            whole.push(door(view, line, *a, *b));
        }
    }
    whole
}

/// The edge of the floor, over what lies on it.
pub(super) fn outline(view: &View<'_>) -> Item {
    item("path")
        .set("id", "outline")
        .set("d", path(&view.room.corners, true))
        .line(color::INK, view.sheet.floor(width::BROAD))
        .set("stroke-linejoin", "miter")
}

/// The step from the outline outward, of the length of one.
pub(super) fn outward(corners: &[Point], a: Point, b: Point) -> Point {
    out_of(turn(corners), a, b)
}

/// Of how many walls each is dimensioned and called by its number: with more of them there is no telling one from the other on paper, and looking for
/// room for each beside all the others takes too long.
pub(super) const MOST_WALLS: usize = 240;

/// 1 where corners go round counter-clockwise, -1 where they don't.
fn turn(corners: &[Point]) -> f64 {
    if signed_area(corners) < 0.0 { -1.0 } else { 1.0 }
}

/// As [`outward`], for who asks of many edges of corners that go round that way.
fn out_of(turn: f64, a: Point, b: Point) -> Point {
    let step = (b - a) / distance(a, b).max(f64::MIN_POSITIVE);
    Point { x: step.y * turn, y: -step.x * turn }
}

fn door(view: &View<'_>, line: &Line, a: Point, b: Point) -> Item {
    let depth = view.sheet.floor(width::WALL);
    let out = outward(&view.room.corners, a, b) * depth;
    let gap = item("path").set("d", path(&[a, b, b + out, a + out], true)).set("fill", color::PAPER);
    let jambs = format!("M{}L{}M{}L{}", pair(a), pair(a + out), pair(b), pair(b + out));
    let door = group("door")
        .set("data-name", line.name.text.as_str())
        .with(gap)
        .with(item("path").set("d", jambs).line(color::INK, view.sheet.floor(width::BROAD)));
    let door = match line.swing {
        Some(swing) => door.with(leaf(view, swing, a, b)),
        None => door,
    };
    if goes_on(line) {
        return door;
    }
    door.with(item("path").set("d", path(&[a + out, b + out], false)).line(color::GREY, view.sheet.floor(width::THIN)))
}

/// A door's leaf, open, and the way that it goes.
fn leaf(view: &View<'_>, swing: Swing, a: Point, b: Point) -> Item {
    let [hinge, open, latch] = opened(&view.room.corners, swing, a, b);
    let wide = distance(a, b);
    let left = cross(latch - hinge, open - hinge) > 0.0;
    let radius = number(wide, 4);
    let data = format!("M{}A{radius} {radius} 0 0 {} {}L{}", pair(latch), u8::from(left), pair(open), pair(hinge));
    item("path").set("class", "swing").set("d", data).line(color::GREY, view.sheet.floor(width::THIN))
}

/// The hinges of a door from `a` to `b`, the end of its leaf as it stands open, and its latch.
fn opened(corners: &[Point], swing: Swing, a: Point, b: Point) -> [Point; 3] {
    let (hinge, latch) = if swing.at_last { (b, a) } else { (a, b) };
    let wide = distance(a, b);
    let out = outward(corners, a, b) * if swing.outward { wide } else { -wide };
    [hinge, hinge + out, latch]
}

/// As [`opened`], and the corner between the open leaf and the latch, of a line that is a door with a swing.
pub(super) fn open_leaf(room: &Room, line: &Line) -> Option<[Point; 4]> {
    let (LineKind::Door { .. }, Some(swing), [a, b]) = (&line.kind, line.swing, line.points.as_slice()) else {
        return None;
    };
    let [hinge, open, latch] = opened(&room.corners, swing, *a, *b);
    Some([hinge, open, latch + open - hinge, latch])
}

/// The foot and the top of the arrow up a flight of stairs.
fn way_up(area: &Area, heading: Heading) -> (Point, Point) {
    let Bounds { low, high } = area.shape.bounds();
    let half = (high - low) * 0.42;
    let step = match heading {
        Heading::East => Point { x: half.x, y: 0.0 },
        Heading::West => Point { x: -half.x, y: 0.0 },
        Heading::North => Point { x: 0.0, y: half.y },
        Heading::South => Point { x: 0.0, y: -half.y },
    };
    let middle = along(low, high, 0.5);
    (middle - step, middle + step)
}

/// An arrow up a flight of stairs.
fn flight(view: &View<'_>, area: &Area, heading: Heading) -> Item {
    let (foot, top) = way_up(area, heading);
    let long = distance(foot, top).max(f64::MIN_POSITIVE);
    let way = (top - foot) / long;
    let side = Point { x: -way.y, y: way.x };
    let mm = |paper: f64| view.sheet.floor(paper);
    let back = top - way * mm(2.4);
    let head = path(&[back + side * mm(0.9), top, back - side * mm(0.9)], false);
    let line = format!("{}{head}", path(&[foot, top], false));
    item("path").set("class", "flight").set("d", line).line(color::LEVEL, mm(width::MEDIUM))
}

/// Whether the floor's covering goes on through a door.
fn goes_on(line: &Line) -> bool {
    matches!(line.kind, LineKind::Door { through: true, .. })
}

/// The doors' thresholds over the outline: thin where the walls are broad.
pub(super) fn thresholds(view: &View<'_>) -> Item {
    let mut whole = group("thresholds");
    for line in &view.room.lines {
        if matches!(line.kind, LineKind::Door { .. }) {
            let data = path(&line.points, false);
            whole.push(item("path").set("d", data.clone()).line(color::PAPER, view.sheet.floor(1.2 * width::BROAD)));
            let dash = [0.8, 0.8].map(|length| number(view.sheet.floor(length), 4)).join(" ");
            let thin = item("path").set("d", data).line(color::GREY, view.sheet.floor(width::THIN));
            whole.push(if goes_on(line) { thin.set("stroke-dasharray", dash) } else { thin });
        }
    }
    if view.room.corners.is_empty() {
        return whole;
    }
    // A joint under a closed door lies along the outline, which has just been drawn over it.
    let walls = Ring::new(&view.room.corners);
    let on_wall = |point: Point| walls.nearest(Piece::at(point)).1.distance <= TOUCH;
    // One from wall to wall across the floor has its ends alone there.
    let along_walls = |line: &&Line| {
        line.points.windows(2).all(|pair| [0.0, 0.5, 1.0].into_iter().all(|at| on_wall(along(pair[0], pair[1], at))))
    };
    let joints = view.room.lines.iter().filter(|line| matches!(line.kind, LineKind::Joint));
    for line in joints.filter(along_walls) {
        whole.push(joint(view, line));
    }
    whole
}

/// Levels, then fixtures, then drill zones. Where the floor is shaded, nothing but what stands on it hides it.
pub(super) fn areas(view: &View<'_>, shaded: bool) -> Item {
    let mut whole = group("areas");
    let rank = |area: &Area| match area.kind {
        AreaKind::Level { .. } => 0,
        AreaKind::Fixture { .. } => 1,
        AreaKind::Drill => 2,
    };
    let mut areas: Vec<&Area> = view.room.areas.iter().collect();
    areas.sort_by_key(|area| rank(area));
    for area in areas {
        whole.push(area_item(view, area, shaded));
    }
    whole
}

fn area_item(view: &View<'_>, area: &Area, shaded: bool) -> Item {
    let mm = |paper: f64| view.sheet.floor(paper);
    let dash = |lengths: [f64; 2]| lengths.map(|length| number(mm(length), 4)).join(" ");
    let edge = || outline_of(&area.shape);
    let named = |class: &str| group(class).set("data-name", area.name.text.as_str());
    let ground = |class: &str, fill: &str| {
        if shaded { named(class) } else { named(class).with(edge().set("fill", fill)) }
    };
    match &area.kind {
        AreaKind::Fixture { raised: None, .. } => {
            named("fixture").with(edge().set("fill", color::FIXTURE_GROUND)).with(
                edge()
                    .set("fill", "url(#fixture)")
                    .set("stroke", color::FIXTURE)
                    .set("stroke-width", number(mm(width::MEDIUM), 4)),
            )
        }
        // Nothing stands on the floor under it: its edge alone, broken.
        AreaKind::Fixture { raised: Some(_), .. } => named("fixture raised")
            .with(edge().line(color::FIXTURE, mm(width::MEDIUM)).set("stroke-dasharray", dash([1.8, 1.0]))),
        AreaKind::Drill => ground("drill", color::PAPER).with(
            edge()
                .set("fill", "url(#drill)")
                .set("stroke", color::DRILL)
                .set("stroke-width", number(mm(width::CABLE), 4)),
        ),
        AreaKind::Level { height } => {
            let ground = ground("level", color::LEVEL_GROUND);
            // Treads lie across the way up.
            let flat = matches!(area.rises, Some(Heading::North | Heading::South));
            let treads = if flat { "url(#flat-stairs)" } else { "url(#stairs)" };
            let ground = if height.is_none() { ground.with(edge().set("fill", treads)) } else { ground };
            let ground = ground.with(edge().line(color::LEVEL, mm(width::CABLE)));
            match area.rises {
                Some(heading) => ground.with(flight(view, area, heading)),
                None => ground,
            }
        }
    }
}

/// Rugs and flat furniture: their edges alone, over what lies in the floor.
pub(super) fn rugs(view: &View<'_>) -> Item {
    let mut whole = group("rugs");
    let dash = number(view.sheet.floor(0.6), 4);
    for rug in &view.room.rugs {
        let edge = outline_of(&rug.shape).line(color::RUG, view.sheet.floor(width::MEDIUM));
        whole.push(
            group("rug")
                .set("data-name", rug.name.text.as_str())
                .with(edge.set("stroke-dasharray", format!("{dash} {dash}"))),
        );
    }
    whole
}

/// A movement joint's line.
fn joint(view: &View<'_>, line: &Line) -> Item {
    let dash = [5.0, 1.2, 0.5, 1.2].map(|length| number(view.sheet.floor(length), 4)).join(" ");
    let drawn = item("path").set("d", path(&line.points, false)).line(color::JOINT, view.sheet.floor(width::BROAD));
    drawn.set("stroke-dasharray", dash)
}

/// Joints and pipes.
pub(super) fn lines(view: &View<'_>) -> Item {
    let mut whole = group("lines");
    let mm = |paper: f64| view.sheet.floor(paper);
    for line in &view.room.lines {
        let data = path(&line.points, false);
        let drawn = |stroke: &str, paper: f64| item("path").set("d", data.clone()).line(stroke, mm(paper));
        match &line.kind {
            LineKind::Joint => {
                whole.push(group("joint").set("data-name", line.name.text.as_str()).with(joint(view, line)));
            }
            LineKind::Pipe(_) => whole.push(
                group("pipe")
                    .set("data-name", line.name.text.as_str())
                    .with(drawn(color::PIPE, 1.1))
                    .with(drawn(color::PAPER, 0.7)),
            ),
            LineKind::Partition(_) => whole.push(
                group("partition").set("data-name", line.name.text.as_str()).with(drawn(color::WALL, width::WALL)),
            ),
            LineKind::Door { .. } => {}
        }
    }
    whole
}

/// Names of what stands in the room, where they cover nothing.
pub(super) fn labels(view: &View<'_>, labels: &mut Labels) -> Item {
    let mut whole = group("names");
    for line in &view.room.lines {
        if let LineKind::Door { .. } = line.kind {
            whole.extend(door_label(view, labels, line));
        }
    }
    for area in &view.room.areas {
        whole.extend(shape_label(view, labels, &Words::new(&area_words(area)), &area.shape));
    }
    for rug in &view.room.rugs {
        let words = Words::sized(&rug.name.text.replace(['-', '_'], " "), size::SMALL).colored(color::GREY);
        whole.extend(shape_label(view, labels, &words, &rug.shape));
    }
    for line in &view.room.lines {
        let words = match &line.kind {
            LineKind::Pipe(Some(pipe)) => format!("{} pipe {}", pipe.word(), line.name.text),
            LineKind::Door { .. } => continue,
            kind => format!("{} {}", kind.named().word(), line.name.text),
        };
        let words = Words::sized(&words, size::SMALL);
        let (wide, high) = words.extent();
        let ends = line.points.first().into_iter().chain(line.points.last());
        let middles = line.points.windows(2).map(|pair| along(pair[0], pair[1], 0.5));
        let starts: Vec<Point> = ends.copied().chain(middles).map(|point| view.sheet.on_paper(point)).collect();
        let anchor = starts.last().copied();
        let spots = starts.into_iter().flat_map(|point| around_turned(point, wide, high));
        let spot = anchor.and_then(|anchor| labels.take_near(anchor, (wide, high), true, spots));
        whole.extend(spot.map(|spot| words.draw(&spot, "name")));
    }
    whole
}

/// A door's name beyond its wall, turned as the wall is.
fn door_label(view: &View<'_>, labels: &mut Labels, line: &Line) -> Option<Item> {
    let [a, b] = line.points.as_slice() else { return None };
    let name = format!("door {}", line.name.text);
    // Where there is no room for more, the name alone is told.
    let through = goes_on(line).then(|| format!("{name}, tiles go through"));
    let mut beyond = through.into_iter().chain([name.clone()]);
    let beyond = beyond.find_map(|words| door_words(view, labels, (*a, *b), &words));
    beyond.or_else(|| {
        // The leaf of one that opens outward takes that place.
        let words = Words::sized(&name, size::SMALL).colored(color::GREY);
        line.swing.and_then(|_| words.put_around(labels, view.sheet.on_paper(along(*a, *b, 0.5)), "name"))
    })
}

/// Words beyond the wall of a door from `a` to `b`, turned as the wall is; nothing where there is no room for them.
fn door_words(view: &View<'_>, labels: &mut Labels, (a, b): (Point, Point), words: &str) -> Option<Item> {
    let words = Words::sized(words, size::SMALL).colored(color::GREY);
    let (wide, high) = words.extent();
    let out = outward(&view.room.corners, a, b);
    let out = Point { x: out.x, y: -out.y };
    let middle = view.sheet.on_paper(along(a, b, 0.5));
    let upright = out.x.abs() > out.y.abs();
    let (wide, high) = if upright { (high, wide) } else { (wide, high) };
    let spots = [0.0, 1.0, 2.0, -1.0].into_iter().map(|more| {
        let far = width::WALL + 1.0 + more + if upright { wide } else { high } / 2.0;
        let centre = middle + out * far;
        let frame = Frame::new(centre.x - wide / 2.0, centre.y - high / 2.0, wide, high);
        Spot { frame, upright, leader: None, worse: more.abs() }
    });
    labels.take(spots, BARRED - 1.0).map(|spot| words.draw(&spot, "name"))
}

/// What an area is called on the drawing.
fn area_words(area: &Area) -> String {
    let name = area.name.text.replace(['-', '_'], " ");
    match &area.kind {
        AreaKind::Fixture { raised: Some(height), .. } => format!("{name}, {} clear", number(*height, 1)),
        AreaKind::Fixture { kind, .. } => match kind {
            Some(kind) if !name.contains(kind.word()) => format!("{name} ({})", kind.word()),
            _ => name,
        },
        AreaKind::Drill => name,
        AreaKind::Level { height: Some(height) } => {
            format!("{name} {}{}", if *height >= 0.0 { "+" } else { "" }, number(*height, 1))
        }
        AreaKind::Level { height: None } if name.contains("stair") || name.contains("step") => name,
        AreaKind::Level { height: None } => format!("{name} (stairs)"),
    }
}

/// Points of a shape's box at which its name is tried: the middle first.
const WITHIN: [(f64, f64); 13] = [
    (0.5, 0.5),
    (0.5, 0.35),
    (0.5, 0.65),
    (0.35, 0.5),
    (0.65, 0.5),
    (0.25, 0.25),
    (0.75, 0.75),
    (0.25, 0.75),
    (0.75, 0.25),
    (0.5, 0.1),
    (0.5, 0.9),
    (0.15, 0.5),
    (0.85, 0.5),
];

/// What something is called, within its shape or beside it.
fn shape_label(view: &View<'_>, labels: &mut Labels, words: &Words, shape: &Shape) -> Option<Item> {
    let (wide, high) = words.extent();
    let Bounds { low, high: top } = shape.bounds();
    let whole = Frame::around(view.sheet.on_paper(low), view.sheet.on_paper(top));
    let ring = match shape {
        Shape::Polygon(corners) => Some(Ring::new(corners)),
        Shape::Circle { .. } => None,
    };
    let sheet = &view.sheet;
    let inside = |frame: &Frame| {
        whole.grown(-0.3).holds(frame)
            && ring.as_ref().is_none_or(|ring| {
                let corners = [
                    (frame.left, frame.top),
                    (frame.right, frame.top),
                    (frame.left, frame.bottom),
                    (frame.right, frame.bottom),
                ];
                corners.into_iter().all(|(x, y)| {
                    let floor = Point { x: (x - sheet.origin.x) * sheet.scale, y: (sheet.origin.y - y) * sheet.scale };
                    ring.contains(floor)
                })
            })
    };
    let within = [false, true].into_iter().flat_map(|upright| {
        let (wide, high) = if upright { (high, wide) } else { (wide, high) };
        WITHIN.into_iter().enumerate().map(move |(rank, (x, y))| {
            let centre = Point { x: whole.left + x * whole.width(), y: whole.top + y * whole.height() };
            let frame = Frame::new(centre.x - wide / 2.0, centre.y - high / 2.0, wide, high);
            Spot { frame, upright, leader: None, worse: 0.001 * rank as f64 + if upright { 0.05 } else { 0.0 } }
        })
    });
    let within: Vec<Spot> = within.filter(|spot| inside(&spot.frame)).collect();
    let beside = around_turned(whole.middle(), wide, high).map(|spot| Spot {
        worse: spot.worse + UNWANTED,
        leader: Some(whole.middle()),
        ..spot
    });
    let spots = within.into_iter().chain(beside);
    labels.take_near(whole.middle(), (wide, high), true, spots).map(|spot| words.draw(&spot, "name"))
}

/// How much labels rather keep off the edges of what stands in the room.
const EDGE: f64 = 5.0 * UNWANTED;

/// What labels keep off for the room's sake: walls, and the edges of what stands in it.
pub(super) fn obstacles(view: &View<'_>, labels: &mut Labels) {
    let sheet = &view.sheet;
    let corners = &view.room.corners;
    let turn = turn(corners);
    if corners.len() > MOST_WALLS {
        labels.search_hardly();
    }
    for edge in edges(corners) {
        let out = out_of(turn, edge.start, edge.end);
        let out = Point { x: out.x, y: -out.y };
        let (a, b) = (sheet.on_paper(edge.start), sheet.on_paper(edge.end));
        for depth in [0.0, width::WALL / 2.0, width::WALL] {
            labels.bar_line(a + out * depth, b + out * depth, BARRED);
        }
    }
    for area in &view.room.areas {
        if let Some((foot, top)) = area.rises.map(|heading| way_up(area, heading)) {
            labels.bar_line(sheet.on_paper(foot), sheet.on_paper(top), BARRED);
        }
    }
    for leaf in view.room.lines.iter().filter_map(|line| open_leaf(view.room, line)) {
        let [hinge, open, corner, latch] = leaf.map(|at| sheet.on_paper(at));
        // The arc lies beyond its chord, halfway to the corner between them at the most.
        let bow = along(along(open, latch, 0.5), corner, 0.4142);
        for pair in [hinge, open, bow, latch].windows(2) {
            labels.bar_line(pair[0], pair[1], BARRED);
        }
    }
    let shapes = view.room.areas.iter().map(|area| &area.shape).chain(view.room.rugs.iter().map(|rug| &rug.shape));
    for shape in shapes {
        match shape {
            Shape::Polygon(corners) => {
                for edge in edges(corners) {
                    labels.bar_line(sheet.on_paper(edge.start), sheet.on_paper(edge.end), EDGE);
                }
            }
            Shape::Circle { .. } => {
                let Bounds { low, high } = shape.bounds();
                labels.bar(Frame::around(sheet.on_paper(low), sheet.on_paper(high)), EDGE);
            }
        }
    }
    for line in &view.room.lines {
        for pair in line.points.windows(2) {
            labels.bar_line(sheet.on_paper(pair[0]), sheet.on_paper(pair[1]), BARRED);
        }
    }
}

//! Plans as DXF and rooms out of files of others: there and back over the examples, files written by hand against sums worked by hand, and
//! files made to do harm.

use std::fmt::Write as _;

use layrule::exchange::rooms::{Room as Found, rooms};
use layrule::exchange::{Traced, Unit, Unreadable, dxf_in, dxf_out, geojson_in, ifc, write};
use layrule::geometry::Point;
use layrule::model::load::Library;
use layrule::model::resolve::resolve;
use layrule::model::{Plan, Room, Shape};
use layrule::source::Disk;

use crate::common::program::Folder;
use crate::common::{plan, root};

/// The plans that are sound; those of kits alone have no room.
const EXAMPLES: &[&str] = &[
    "bathroom",
    "boot-room",
    "flat-6",
    "garden-room",
    "hall",
    "kitchen",
    "living-room",
    "loft",
    "studio",
    "two-bays",
    "wash-room",
];

fn example(name: &str) -> Plan {
    let library = Library::new(&Disk, root(), root());
    let path = root().join(format!("examples/{name}.lay"));
    resolve(library.load(&path, &format!("{name}.lay")).expect("the example is there"))
}

fn drawn(plan: &Plan) -> Vec<u8> {
    dxf_out::draw(plan, &plan.rooms.iter().collect::<Vec<_>>()).expect("it is drawn").bytes
}

/// All rooms of what was traced, as a plan's text.
pub(super) fn outlined(traced: &Traced) -> String {
    let found = rooms(traced, None).expect("there are rooms");
    write::plan(traced, &found.iter().collect::<Vec<_>>(), "it").expect("a plan")
}

pub(super) fn from_dxf(text: &str) -> String {
    outlined(&dxf_in::trace(text.as_bytes(), None).expect("it is read"))
}

/// The lines of a plan that are no comments, their blanks as one.
pub(super) fn statements(text: &str) -> Vec<String> {
    let lines = text.lines().map(|line| line.split_whitespace().collect::<Vec<_>>().join(" "));
    lines.filter(|line| !line.is_empty() && !line.starts_with('#')).collect()
}

fn near(a: Point, b: Point) -> bool {
    (a.x - b.x).abs() < 1e-3 && (a.y - b.y).abs() < 1e-3
}

/// Whether two shapes are one, whichever corner they begin at.
fn alike(a: &Shape, b: &Shape) -> bool {
    match (a, b) {
        (Shape::Circle { centre, radius }, Shape::Circle { centre: other, radius: r }) => {
            near(*centre, *other) && (radius - r).abs() < 1e-3
        }
        (Shape::Polygon(a), Shape::Polygon(b)) if a.len() == b.len() => {
            (0..a.len()).any(|by| (0..a.len()).all(|index| near(a[index], b[(index + by) % b.len()])))
        }
        _ => false,
    }
}

/// Holds a room to what it was before: its outline, its walls, and all that has a place on its floor.
fn same_room(before: &Room, after: &Room, of: &str) {
    assert_eq!(before.title, after.title, "{of}");
    assert_eq!(before.corners.len(), after.corners.len(), "{of}");
    assert!(before.corners.iter().zip(&after.corners).all(|(a, b)| near(*a, *b)), "{of}: {:?}", after.corners);
    let walls = |room: &Room| room.walls.iter().map(|wall| (wall.title.clone(), wall.outside)).collect::<Vec<_>>();
    assert_eq!(walls(before), walls(after), "{of}");
    let areas =
        |room: &Room| room.areas.iter().map(|area| (area.name.text.clone(), area.kind.clone())).collect::<Vec<_>>();
    assert_eq!(areas(before), areas(after), "{of}");
    for (a, b) in before.areas.iter().zip(&after.areas) {
        assert!(alike(&a.shape, &b.shape), "{of}: {}: {:?} became {:?}", a.name.text, a.shape, b.shape);
    }
    let lines =
        |room: &Room| room.lines.iter().map(|line| (line.name.text.clone(), line.kind.clone())).collect::<Vec<_>>();
    assert_eq!(lines(before), lines(after), "{of}");
    for (a, b) in before.lines.iter().zip(&after.lines) {
        assert!(
            a.points.len() == b.points.len() && a.points.iter().zip(&b.points).all(|(a, b)| near(*a, *b)),
            "{of}: {}",
            a.name.text
        );
        assert_eq!(a.swing, b.swing, "{of}: {}", a.name.text);
    }
    let rises = |room: &Room| room.areas.iter().map(|area| area.rises).collect::<Vec<_>>();
    assert_eq!(rises(before), rises(after), "{of}");
    assert_eq!(before.rugs.len(), after.rugs.len(), "{of}");
    for (a, b) in before.rugs.iter().zip(&after.rugs) {
        assert!(
            a.name.text == b.name.text && (a.resistance - b.resistance).abs() < 1e-6 && alike(&a.shape, &b.shape),
            "{of}"
        );
    }
    assert_eq!(before.shower_heads.len(), after.shower_heads.len(), "{of}");
    for (a, b) in before.shower_heads.iter().zip(&after.shower_heads) {
        assert!(a.name.text == b.name.text && a.height == b.height && near(a.at, b.at), "{of}");
    }
}

#[test]
fn every_sound_example_comes_back_out_of_its_drawing() {
    let listed = std::fs::read_dir(root().join("examples")).expect("a folder").filter_map(|entry| {
        let path = entry.expect("an entry").path();
        let name = path.file_stem().map(|stem| stem.to_string_lossy().into_owned());
        name.filter(|name| path.extension().is_some_and(|ending| ending == "lay") && name != "kits")
    });
    let mut listed: Vec<String> = listed.collect();
    listed.sort();
    assert_eq!(listed, EXAMPLES);
    for name in EXAMPLES {
        let before = example(name);
        let text = outlined(&dxf_in::trace(&drawn(&before), None).expect("it is read"));
        let after = plan(&text);
        assert!(after.faults.is_empty(), "{name}: {:?}\n{text}", after.faults);
        assert_eq!(layrule::layout::tidy::tidy(&text).as_deref(), Ok(text.as_str()), "{name}");
        assert_eq!(before.rooms.len(), after.rooms.len(), "{name}");
        for room in &before.rooms {
            let same = after.rooms.iter().find(|other| other.name.text == room.name.text);
            same_room(room, same.expect("a room of that name"), name);
        }
        // And what came back is drawn as what was sent, as far as it came back.
        let again = outlined(&dxf_in::trace(&drawn(&after), None).expect("it is read"));
        assert_eq!(again, text, "{name}");
    }
}

/// The groups of a file, each of two lines: the form that the DXF reference gives (recalled).
fn groups(bytes: &[u8]) -> Vec<(i32, String)> {
    let text = std::str::from_utf8(bytes).expect("UTF-8");
    let lines: Vec<&str> = text.lines().collect();
    lines.chunks_exact(2).map(|pair| (pair[0].trim().parse().expect("a code"), pair[1].trim().to_string())).collect()
}

/// The corners of the polylines of a layer, one after the other.
fn polylines(bytes: &[u8], layer: &str) -> Vec<Vec<Point>> {
    let groups = groups(bytes);
    let entities = groups.iter().enumerate().filter(|(_, group)| group.0 == 0 && group.1 == "LWPOLYLINE");
    let own =
        entities.map(|(start, _)| groups[start + 1..].iter().take_while(|group| group.0 != 0).collect::<Vec<_>>());
    own.filter(|own| own.iter().any(|group| group.0 == 8 && group.1 == layer))
        .map(|own| {
            let of =
                |code| own.iter().filter(move |group| group.0 == code).map(|group| group.1.parse().expect("a number"));
            of(10).zip(of(20)).map(|(x, y)| Point { x, y }).collect()
        })
        .collect()
}

#[test]
fn a_drawing_holds_the_plan_at_its_true_size() {
    let plan = example("bathroom");
    let bytes = drawn(&plan);
    let room = &plan.rooms[0];
    let groups = groups(&bytes);
    let unit = groups.iter().position(|group| group.1 == "$INSUNITS").expect("a unit");
    assert_eq!(groups[unit + 1], (70, "4".into()), "4 is the millimetre");
    assert_eq!(polylines(&bytes, "ROOM-WALLS"), std::slice::from_ref(&room.corners));
    let cable = &room.cables[0];
    let corners: Vec<Point> =
        std::iter::once(cable.runs[0].start).chain(cable.runs.iter().map(|run| run.end)).collect();
    assert_eq!(polylines(&bytes, "CABLE-a"), [corners]);
    assert_eq!(polylines(&bytes, "TAIL-a"), std::slice::from_ref(&cable.tail));
    assert_eq!(polylines(&bytes, "SENSORS"), std::slice::from_ref(&room.sensors[0].conduit));
    assert_eq!(
        polylines(&bytes, "FIXTURES").len(),
        room.areas.iter().filter(|area| area.kind.word() == "fixture").count()
    );
    for block in ["JUNCTION-BOX", "THERMOSTAT", "SENSOR-TIP"] {
        let put = groups
            .windows(30)
            .any(|some| some[0] == (0, "INSERT".into()) && some.iter().any(|group| *group == (2, block.into())));
        assert!(put, "{block}");
    }
    // Every thing has a handle of its own.
    let mut handles: Vec<&str> = groups.iter().filter(|group| group.0 == 5).map(|group| group.1.as_str()).collect();
    let all = handles.len();
    handles.sort_unstable();
    handles.dedup();
    assert_eq!(handles.len(), all);
}

#[test]
fn rooms_that_lie_over_each_other_are_set_apart() {
    let text = "room a {\n outline (0, 0) (3000, 0) (3000, 2000) (0, 2000)\n}\nroom b {\n outline (0, 0) (2000, 0) (2000, 2000) (0, 2000)\n}\n";
    let plan = plan(text);
    let drawn = dxf_out::draw(&plan, &plan.rooms.iter().collect::<Vec<_>>()).expect("drawn");
    assert_eq!(drawn.remarks, ["room `b` is drawn 5 m further east than in the plan, where it lies over another"]);
    let outlines = polylines(&drawn.bytes, "ROOM-WALLS");
    assert_eq!(outlines[1][0], Point { x: 5000.0, y: 0.0 });
}

/// A drawing of others: a head with its unit (`$INSUNITS`), blocks and entities, each as `code value` separated by bars.
pub(super) fn dxf(unit: &str, blocks: &[&str], entities: &[&str]) -> String {
    let mut text = String::new();
    let mut put = |line: &str| {
        for group in line.split('|').filter(|group| !group.is_empty()) {
            let (code, value) = group.split_once(' ').expect("a code and a value");
            let _ = write!(text, "{code}\n{value}\n");
        }
    };
    put(&format!("0 SECTION|2 HEADER|9 $INSUNITS|70 {unit}|0 ENDSEC|0 SECTION|2 BLOCKS"));
    blocks.iter().for_each(|line| put(line));
    put("0 ENDSEC|0 SECTION|2 ENTITIES");
    entities.iter().for_each(|line| put(line));
    put("0 ENDSEC|0 EOF");
    text
}

/// Corners of a closed polyline on a layer.
pub(super) fn ring(layer: &str, corners: &[(f64, f64)]) -> String {
    let points: Vec<String> = corners.iter().map(|(x, y)| format!("10 {x}|20 {y}")).collect();
    format!("0 LWPOLYLINE|8 {layer}|70 1|{}", points.join("|"))
}

/// An L of 3.0 by 2.5 m whose notch is 1.0 by 0.5 m, drawn in metres from (100, 200) line by line, with a door's symbol of 1 unit scaled to
/// 0.8 m and turned by a quarter in the wall to the east, a bath, and a column of 0.2 m on a layer that says nothing.
#[test]
fn a_room_drawn_line_by_line_is_found() {
    let corners = [(100.0, 200.0), (103.0, 200.0), (103.0, 202.0), (102.0, 202.0), (102.0, 202.5), (100.0, 202.5)];
    let mut entities: Vec<String> = (0..6)
        .map(|index| {
            // Every other line the other way round, as lines come.
            let ends = [corners[index], corners[(index + 1) % 6]];
            let [a, b] = if index % 2 == 0 { ends } else { [ends[1], ends[0]] };
            format!("0 LINE|8 WALLS|10 {}|20 {}|11 {}|21 {}", a.0, a.1, b.0, b.1)
        })
        .collect();
    entities.push("0 INSERT|8 DOORS|2 LEAF|10 103.0|20 200.6|41 0.8|42 0.8|50 90".into());
    entities.push(
        ring("SANITARY", &[(100.0, 201.8), (101.7, 201.8), (101.7, 202.5), (100.0, 202.5)]).replace("SANITARY", "BATH"),
    );
    entities.push("0 CIRCLE|8 X|10 101.5|20 201.0|40 0.1".into());
    entities.push("0 MTEXT|8 TEXT|10 101.0|20 201.5|40 0.2|1 {\\fArial|b0;Utility \"3\"}".replace("Arial|b0", "Arial"));
    entities.push("0 TEXT|8 TEXT|10 101.0|20 201.0|40 0.1|1 7.0 m2".into());
    let block = "0 BLOCK|2 LEAF|10 0|20 0|0 LINE|8 0|10 0|20 0|11 0|21 1|0 ARC|8 0|10 0|20 0|40 1|50 0|51 90|0 ENDBLK";
    let entities: Vec<&str> = entities.iter().map(String::as_str).collect();
    let text = from_dxf(&dxf("6", &[block], &entities));
    assert_eq!(
        statements(&text),
        [
            "room utility-3 \"Utility '3'\" {",
            "outline (0, 0) (3000, 0) (3000, 2000) (2000, 2000) (2000, 2500) (0, 2500)",
            "door leaf wall 2 from 600 to 1400 hinged right",
            "fixture bath rect (0, 1800) (1700, 2500)",
            "}",
        ],
        "{text}"
    );
    for said in [
        "Drawn in m, as the file states.",
        "(0, 0) here is (100000, 200000) there, in mm.",
        "On `X`, which doesn't say what it is: fixture shape-1 circle (1500, 1000) radius 100",
    ] {
        assert!(text.contains(said), "{said}\n{text}");
    }
}

/// A bulge of 1 is a half-circle: of 2 m across, between corners 2 m apart, it lies 1 m outside them. The chords lie within 2 mm of it, so
/// that the area is the circle's less at most that of a strip of two thirds of 2 mm along it.
#[test]
fn curves_become_chords_within_the_stated_tolerance() {
    let bay = "0 LWPOLYLINE|8 ROOM|70 1|10 0|20 0|10 2000|20 0|42 1|10 2000|20 2000|10 0|20 2000";
    let text = from_dxf(&dxf("4", &[], &[bay]));
    assert!(text.contains("Curves are written as straight pieces that lie within 2 mm of them."), "{text}");
    let plan = plan(&text);
    let corners = &plan.rooms[0].corners;
    let radius = |point: &&Point| point.x > 2000.5;
    for point in corners.iter().filter(radius) {
        let from_centre = (point.x - 2000.0).hypot(point.y - 1000.0);
        assert!((from_centre - 1000.0).abs() < 0.1, "{point:?}");
    }
    let area = layrule::geometry::ring::signed_area(corners);
    let whole = 4e6 + std::f64::consts::PI * 1e6 / 2.0;
    assert!(area < whole && area > whole - std::f64::consts::PI * 1000.0 * 2.0 * 2.0 / 3.0, "{area} of {whole}");
}

/// A door's arc tells the hand of its hinges and the way it opens: hinged at the first end or the last, into the room or out of it, its arc
/// and leaf drawn apart, the hinges as deep in the wall as that is thick. A double door has an arc round each end, and none is told.
#[test]
fn doors_swing_as_their_arcs_are_drawn() {
    let room = ring("ROOM", &[(0.0, 0.0), (4000.0, 0.0), (4000.0, 3000.0), (0.0, 3000.0)]);
    let arc = |x: f64, y: f64, radius: f64, from: f64, to: f64| {
        format!("0 ARC|8 DOOR|10 {x}|20 {y}|40 {radius}|50 {from}|51 {to}")
    };
    let leaf = |a: (f64, f64), b: (f64, f64)| format!("0 LINE|8 DOOR|10 {}|20 {}|11 {}|21 {}", a.0, a.1, b.0, b.1);
    let door = |parts: &[String]| {
        let mut all = vec![room.as_str()];
        all.extend(parts.iter().map(String::as_str));
        let told = statements(&from_dxf(&dxf("4", &[], &all)));
        let mut doors = told.into_iter().filter(|line| line.starts_with("door"));
        let door = doors.next().expect("a door");
        assert_eq!(doors.next(), None);
        door
    };
    // Looking south at wall 1 from inside, its west end is at the right.
    let inward = [arc(1000.0, 0.0, 800.0, 0.0, 90.0), leaf((1000.0, 0.0), (1000.0, 800.0))];
    assert_eq!(door(&inward), "door door wall 1 from 1000 to 1800 hinged right");
    let last = [arc(1800.0, 0.0, 800.0, 90.0, 180.0), leaf((1800.0, 0.0), (1800.0, 800.0))];
    assert_eq!(door(&last), "door door wall 1 from 1000 to 1800 hinged left");
    let outward = [arc(1000.0, -120.0, 800.0, 270.0, 360.0), leaf((1000.0, -120.0), (1000.0, -920.0))];
    assert_eq!(door(&outward), "door door wall 1 from 1000 to 1800 hinged right outward");
    // In the wall to the east.
    let east = [arc(4000.0, 1900.0, 900.0, 180.0, 270.0), leaf((4000.0, 1900.0), (3100.0, 1900.0))];
    assert_eq!(door(&east), "door door wall 2 from 1000 to 1900 hinged left");
    let double = [
        arc(1000.0, 0.0, 800.0, 0.0, 90.0),
        leaf((1000.0, 0.0), (1000.0, 800.0)),
        arc(2600.0, 0.0, 800.0, 90.0, 180.0),
        leaf((2600.0, 0.0), (2600.0, 800.0)),
    ];
    assert!(!door(&double).contains("hinged"), "{}", door(&double));
}

/// A spline of degree 2 with weights 1, 1/√2, 1 is a quarter of a circle (Piegl and Tiller, The NURBS Book, 7.3, recalled): the corner of a
/// room rounded by 1 m lies within 1 mm of it.
#[test]
fn splines_become_chords() {
    let weight = std::f64::consts::FRAC_1_SQRT_2;
    let spline = format!(
        "0 SPLINE|8 ROOM|70 4|71 2|72 6|73 3|40 0|40 0|40 0|40 1|40 1|40 1|41 1|41 {weight}|41 1|10 3000|20 1000|10 3000|20 2000|10 2000|20 2000"
    );
    let lines = [(3000, 1000, 3000, 0), (3000, 0, 0, 0), (0, 0, 0, 2000), (0, 2000, 2000, 2000)];
    let lines = lines.map(|(a, b, c, d)| format!("0 LINE|8 ROOM|10 {a}|20 {b}|11 {c}|21 {d}"));
    let mut all: Vec<&str> = lines.iter().map(String::as_str).collect();
    all.push(&spline);
    let text = from_dxf(&dxf("4", &[], &all));
    let plan = plan(&text);
    let corners = &plan.rooms[0].corners;
    let round: Vec<&Point> = corners.iter().filter(|at| at.x > 2000.5 && at.y > 1000.5).collect();
    assert!(round.len() > 10, "{text}");
    assert!(round.iter().all(|at| ((at.x - 2000.0).hypot(at.y - 1000.0) - 1000.0).abs() < 0.1), "{text}");
    let area = layrule::geometry::ring::signed_area(corners);
    let whole = 6e6 - 1e6 * (1.0 - std::f64::consts::FRAC_PI_4);
    // A strip of two thirds of 1 mm along a quarter of 1 m at the most.
    assert!(area <= whole + 100.0 && area > whole - 1571.0 * 2.0 / 3.0, "{area} of {whole}");
    // Knots that don't fit are read as nothing, and told of.
    let broken = spline.replace("|40 1|40 1|40 1", "|40 1|40 1");
    let room = ring("ROOM", &[(0.0, 0.0), (3000.0, 0.0), (3000.0, 2000.0), (0.0, 2000.0)]);
    assert!(from_dxf(&dxf("4", &[], &[&room, &broken])).contains("Not read: 1 SPLINE."));
}

/// A spline that only points are told of is drawn through them: those of a quarter of a circle of 1 m, 15° apart, leave it by no more than the
/// share of their arcs that a cubic of the chords' directions misses, 0.11 mm by hand at the middle of each, and the chords lie within 1 mm of that.
#[test]
fn splines_through_points_are_drawn_through_them() {
    let at = |step: u32| {
        let (sine, cosine) = (f64::from(step) * 15.0).to_radians().sin_cos();
        format!("11 {}|21 {}", 2000.0 + 1000.0 * cosine, 1000.0 + 1000.0 * sine)
    };
    let points: Vec<String> = (0..=6).map(at).collect();
    let spline = format!("0 SPLINE|8 ROOM|70 8|71 3|72 0|73 0|74 7|{}", points.join("|"));
    let lines = [(3000, 1000, 3000, 0), (3000, 0, 0, 0), (0, 0, 0, 2000), (0, 2000, 2000, 2000)];
    let lines = lines.map(|(a, b, c, d)| format!("0 LINE|8 ROOM|10 {a}|20 {b}|11 {c}|21 {d}"));
    let mut all: Vec<&str> = lines.iter().map(String::as_str).collect();
    all.push(&spline);
    let text = from_dxf(&dxf("4", &[], &all));
    assert!(text.contains("1 spline is told by points alone: a smooth curve is drawn through these"), "{text}");
    let plan = plan(&text);
    let round: Vec<&Point> = plan.rooms[0].corners.iter().filter(|at| at.x > 2000.5 && at.y > 1000.5).collect();
    assert!(round.len() > 20, "{text}");
    assert!(round.iter().all(|at| ((at.x - 2000.0).hypot(at.y - 1000.0) - 1000.0).abs() < 0.2), "{text}");
    let area = layrule::geometry::ring::signed_area(&plan.rooms[0].corners);
    let whole = 6e6 - 1e6 * (1.0 - std::f64::consts::FRAC_PI_4);
    assert!((area - whole).abs() < 1571.0 * 1.0, "{area} of {whole}");
}

/// The binary form has the same groups (DXF Reference, "Binary DXF Files", recalled): codes of two bytes, reals of eight, texts up to a zero.
fn binary(text: &str, wide: bool) -> Vec<u8> {
    let mut bytes = b"AutoCAD Binary DXF\r\n\x1a\0".to_vec();
    let lines: Vec<&str> = text.lines().collect();
    for pair in lines.chunks(2) {
        let (code, value) = (pair[0].parse::<i16>().expect("a code"), pair[1]);
        if wide {
            bytes.extend(code.to_le_bytes());
        } else {
            bytes.push(u8::try_from(code).expect("a short code"));
        }
        match code {
            10..=59 => bytes.extend(value.parse::<f64>().expect("a real").to_le_bytes()),
            60..=79 => bytes.extend(value.parse::<i16>().expect("a whole number").to_le_bytes()),
            _ => bytes.extend(value.bytes().chain([0])),
        }
    }
    bytes
}

#[test]
fn binary_drawings_are_read_as_their_text() {
    let room = ring("ROOM", &[(0.0, 0.0), (3000.0, 0.0), (3000.0, 2000.5), (0.0, 2000.5)]);
    let text = dxf("4", &[], &[&room, "0 TEXT|8 NOTES|10 1000|20 1000|40 100|1 Küche"]);
    for wide in [true, false] {
        let bytes = binary(&text, wide);
        let traced = dxf_in::trace(&bytes, None).expect("it is read");
        assert_eq!(outlined(&traced), from_dxf(&text), "{wide}");
        // Cut short anywhere it comes to an answer.
        for end in 0..bytes.len() {
            let _ = dxf_in::trace(&bytes[..end], None);
        }
        let cut = refusal(dxf_in::trace(&bytes[..bytes.len() - 2], None));
        assert!(cut.starts_with("it is a DXF file in its binary form that ends in the middle of a group"), "{cut}");
    }
}

/// Old polylines, mirrored entities (extrusion 0, 0, -1 turns x round), and a block in a block in feet.
#[test]
fn forms_of_older_drawings_are_read() {
    let old = "0 POLYLINE|8 RAUM|66 1|70 1|0 VERTEX|8 RAUM|10 0|20 0|0 VERTEX|8 RAUM|10 10|20 0|0 VERTEX|8 RAUM|10 10|20 8|0 VERTEX|8 RAUM|10 0|20 8|0 SEQEND";
    let inner = "0 BLOCK|2 INNER|10 1|20 1|0 CIRCLE|8 0|10 1|20 1|40 0.5|0 ENDBLK";
    let outer = "0 BLOCK|2 POST|10 0|20 0|0 INSERT|8 COLUMN|2 INNER|10 1|20 0|0 ENDBLK";
    let insert = "0 INSERT|8 0|2 POST|10 3|20 4";
    let mirrored = "0 CIRCLE|8 COLUMN|10 -8|20 4|40 0.5|210 0|220 0|230 -1";
    let text = from_dxf(&dxf("2", &[inner, outer], &[old, insert, mirrored]));
    let told = statements(&text);
    assert_eq!(told[1], "outline (0, 0) (3048, 0) (3048, 2438.4) (0, 2438.4)", "{text}");
    assert!(told.contains(&"fixture column circle (2438.4, 1219.2) radius 152.4".to_string()), "{text}");
    // The inner block is a symbol by its layer: the box round it, a foot wide.
    assert!(told.contains(&"fixture inner column rect (1066.8, 1066.8) (1371.6, 1371.6)".to_string()), "{text}");
}

pub(super) fn refusal(result: Result<Traced, Unreadable>) -> String {
    let error = result.expect_err("it is refused");
    format!("{}; {}", error.what, error.help)
}

#[test]
fn what_a_drawing_does_not_tell_is_asked_for() {
    let room = ring("ROOM", &[(0.0, 0.0), (300.0, 0.0), (300.0, 200.0), (0.0, 200.0)]);
    let text = dxf("0", &[], &[&room]);
    assert!(
        refusal(dxf_in::trace(text.as_bytes(), None))
            .starts_with("it doesn't say in what unit it is drawn (`$INSUNITS`); say so with `--unit mm`")
    );
    let traced = dxf_in::trace(text.as_bytes(), Unit::of_word("cm")).expect("read");
    assert_eq!(statements(&outlined(&traced))[1], "outline (0, 0) (3000, 0) (3000, 2000) (0, 2000)");
    // Taken for mm, it is none of a room's size, and the answer says so.
    let traced = dxf_in::trace(text.as_bytes(), Unit::of_word("mm")).expect("read");
    let error = rooms(&traced, None).expect_err("too small");
    assert!(error.help.starts_with("the largest of 1 closed ones is about 244.95 mm across"), "{}", error.help);
}

/// Files that would have the program grow, go round or stop half-way: each comes to an answer.
#[test]
fn hostile_drawings_come_to_an_answer() {
    let room = ring("ROOM", &[(0.0, 0.0), (3000.0, 0.0), (3000.0, 2000.0), (0.0, 2000.0)]);
    let own = "0 BLOCK|2 A|10 0|20 0|0 INSERT|8 0|2 A|10 1|20 1|0 ENDBLK";
    let text = from_dxf(&dxf("4", &[own], &[&room, "0 INSERT|8 0|2 A|10 0|20 0"]));
    assert!(text.contains("outline"), "{text}");
    // Twenty blocks, each of ten of the next: 10^20 things.
    let towers: Vec<String> = (0..20)
        .map(|level| {
            let inserts = format!("0 INSERT|8 0|2 B{}|10 1|20 1|", level + 1).repeat(10);
            format!("0 BLOCK|2 B{level}|10 0|20 0|{inserts}0 ENDBLK")
        })
        .collect();
    let towers: Vec<&str> = towers.iter().map(String::as_str).collect();
    let tower = dxf("4", &towers, &[&room, "0 INSERT|8 0|2 B0|10 0|20 0"]);
    assert!(refusal(dxf_in::trace(tower.as_bytes(), None)).starts_with("it draws more than 300000 things"));
    // A field of a million times a million.
    let field = dxf(
        "4",
        &["0 BLOCK|2 A|10 0|20 0|0 CIRCLE|8 0|10 0|20 0|40 5|0 ENDBLK"],
        &["0 INSERT|8 0|2 A|10 0|20 0|70 30000|71 30000|44 1|45 1"],
    );
    assert!(refusal(dxf_in::trace(field.as_bytes(), None)).starts_with("it draws more than"));
    for (bytes, said) in [
        (&b"AutoCAD Binary DXF\r\n\x1a\0"[..], "it has no section of a DXF file; export it as DXF in its text form"),
        (b"AC1032\0\0", "it is a DWG file; save it as DXF"),
        (
            b"hello\nworld\n",
            "line 1 should hold a group's code, which is a whole number; it is no DXF file, or it was changed by hand; export it again as DXF in its text form",
        ),
        (b"0\nSECTION\n2", "it ends in the middle of a group, at line 3; it was cut short; export it again"),
        (b"", "it has no section of a DXF file; export it as DXF in its text form"),
    ] {
        assert_eq!(refusal(dxf_in::trace(bytes, None)), said);
    }
    // Numbers that are none, or too large, leave their things out.
    let text = from_dxf(&dxf(
        "4",
        &[],
        &[
            &room,
            "0 CIRCLE|8 COLUMN|10 nan|20 1|40 inf",
            "0 LINE|8 WALL|10 1e300|20 0|11 0|21 0",
            "0 ARC|8 DOOR|10 0|20 0|40 1e11|50 0|51 359",
        ],
    ));
    assert!(text.contains("Not read: 1 CIRCLE and 1 LINE."), "{text}");
}

/// Every cut of a drawing, and every digit of it changed for a letter, comes to an answer.
#[test]
fn damaged_drawings_come_to_an_answer() {
    let bytes = drawn(&example("hall"));
    for end in (0..bytes.len()).step_by(997) {
        if let Ok(traced) = dxf_in::trace(&bytes[..end], Unit::of_word("mm")) {
            let _ = rooms(&traced, None).map(|found| write::plan(&traced, &found.iter().collect::<Vec<_>>(), "it"));
        }
    }
    for step in [3, 7, 11] {
        let mut damaged = bytes.clone();
        damaged.iter_mut().step_by(step * 131).for_each(|byte| *byte = b'9');
        if let Ok(traced) = dxf_in::trace(&damaged, Unit::of_word("mm")) {
            let _ = rooms(&traced, None).map(|found| write::plan(&traced, &found.iter().collect::<Vec<_>>(), "it"));
        }
    }
}

/// Words that a drawing brings along are no statements of their own, and no line of a comment ends where they want it to.
#[test]
fn words_of_a_drawing_stay_words() {
    let corners = "10 0|20 0|10 3000|20 0|10 3000|20 2000|10 0|20 2000";
    let tagged = format!(
        "0 LWPOLYLINE|8 ROOM|70 1|{corners}|1001 LAYRULE|1000 room|1000 r|1000 |1000 |1000 |1000 a\" {{|1000 1 outside|1000 b\""
    );
    let fixture = "0 LWPOLYLINE|8 X|70 1|10 0|20 0|10 500|20 0|10 500|20 500|10 0|20 500|1001 LAYRULE|1000 fixture|1000 f|1000 r|1000 bath raised 9 rect|1000 }|1000 ";
    let layer =
        "0 LWPOLYLINE|8 bath\u{2028}room x {\u{7}|70 1|10 900|20 900|10 1200|20 900|10 1200|20 1200|10 900|20 1200";
    let text = from_dxf(&dxf("4", &[], &[&tagged, fixture, layer]));
    let read = plan(&text);
    assert!(read.faults.is_empty(), "{text}");
    assert_eq!(read.rooms.len(), 1, "{text}");
    assert!(!text.contains(['\u{7}', '\u{2028}']), "{text}");
    assert_eq!(read.rooms[0].title.as_deref(), Some("a' {"));
}

const MAP: &str = r#"{"type": "FeatureCollection", "features": [
  {"type": "Feature", "properties": {"kind": "room", "name": "Scullery"},
   "geometry": {"type": "Polygon", "coordinates": [
     [[10, 20], [13, 20], [13, 22], [10, 22], [10, 20]],
     [[11, 21], [11.2, 21], [11.2, 21.2], [11, 21.2], [11, 21]]]}},
  {"type": "Feature", "properties": {"kind": "door", "name": "yard"},
   "geometry": {"type": "LineString", "coordinates": [[10.5, 19.9], [11.4, 19.9]]}},
  {"type": "Feature", "properties": {"kind": "sink"},
   "geometry": {"type": "GeometryCollection", "geometries": [
     {"type": "Polygon", "coordinates": [[[12.4, 21.5], [13, 21.5], [13, 22], [12.4, 22], [12.4, 21.5]]]}]}}
]}"#;

/// Three by two metres, a door 0.9 m wide half a metre from the corner, drawn in the middle of a wall 0.2 m thick.
#[test]
fn a_map_in_metres_is_read() {
    let text = outlined(&geojson_in::trace(MAP.as_bytes(), None).expect("read"));
    assert_eq!(
        statements(&text),
        [
            "room scullery \"Scullery\" {",
            "outline (0, 0) (3000, 0) (3000, 2000) (0, 2000)",
            "door yard wall 1 from 500 to 1400",
            "fixture basin rect (2400, 1500) (3000, 2000)",
            "fixture hole rect (1000, 1000) (1200, 1200)",
            "}",
        ],
        "{text}"
    );
    let feet = outlined(&geojson_in::trace(MAP.as_bytes(), Unit::of_word("ft")).expect("read"));
    assert_eq!(statements(&feet)[1], "outline (0, 0) (914.4, 0) (914.4, 609.6) (0, 609.6)");
}

#[test]
fn maps_that_are_none_are_told_of() {
    let deep = format!("{}{}", r#"{"type":"GeometryCollection","geometries":["#.repeat(5_000), "]}".repeat(5_000));
    for (text, said) in [
        ("{", "it can't be read as GeoJSON"),
        ("[]", "it can't be read as GeoJSON"),
        (deep.as_str(), "it can't be read as GeoJSON"),
    ] {
        assert!(refusal(geojson_in::trace(text.as_bytes(), None)).starts_with(said), "{said}");
    }
    // Degrees of longitude and latitude: a room is some thousandths of a thousandth of one.
    let degrees = r#"{"type":"Polygon","coordinates":[[[9.0,50.0],[9.00004,50.0],[9.00004,50.00003],[9.0,50.00003],[9.0,50.0]]]}"#;
    let error = rooms(&geojson_in::trace(degrees.as_bytes(), None).expect("read"), None).expect_err("too small");
    assert!(error.help.contains("map coordinates in degrees must be turned into metres first"), "{}", error.help);
}

/// A model in metres, its angles in degrees: a bath of 2.6 by 2.9 m whose space is turned by a quarter about (5, 1), a door 0.9 m wide by the
/// hole in its wall, a pan by its predefined type, and the room above it.
fn model(units: &str) -> String {
    let data = [
        "#1=IFCPROJECT('p',$,'Mill',$,$,$,$,$,#2);",
        units,
        "#10=IFCCARTESIANPOINT((5.,1.,0.));",
        "#11=IFCDIRECTION((0.,0.,1.));",
        "#12=IFCDIRECTION((0.,1.,0.));",
        "#13=IFCAXIS2PLACEMENT3D(#10,#11,#12);",
        "#14=IFCLOCALPLACEMENT($,#13);",
        "#20=IFCCARTESIANPOINTLIST2D(((0.,0.),(2.6,0.),(2.6,2.9),(0.,2.9)));",
        "#21=IFCINDEXEDPOLYCURVE(#20,(IFCLINEINDEX((1,2,3,4,1))),.F.);",
        "#22=IFCARBITRARYCLOSEDPROFILEDEF(.AREA.,$,#21);",
        "#23=IFCEXTRUDEDAREASOLID(#22,$,#11,2.5);",
        "#24=IFCSHAPEREPRESENTATION($,'Body','SweptSolid',(#23));",
        "#25=IFCPRODUCTDEFINITIONSHAPE($,$,(#24));",
        "#26=IFCSPACE('s',$,'1.02',$,$,#14,#25,'B\\X2\\00E4\\X0\\d',.ELEMENT.,.SPACE.,$);",
        // The same a storey higher.
        "#30=IFCCARTESIANPOINT((0.,0.,3.));",
        "#31=IFCAXIS2PLACEMENT3D(#30,$,$);",
        "#32=IFCLOCALPLACEMENT(#14,#31);",
        "#33=IFCSPACE('t',$,'2.02',$,$,#32,#25,'Loft',.ELEMENT.,.SPACE.,$);",
        // A hole in the wall along the space's own x axis, 0.2 m thick outside it.
        "#40=IFCCARTESIANPOINT((0.95,-0.1,0.));",
        "#41=IFCAXIS2PLACEMENT3D(#40,$,$);",
        "#42=IFCLOCALPLACEMENT(#14,#41);",
        "#43=IFCRECTANGLEPROFILEDEF(.AREA.,$,$,0.9,0.2);",
        "#44=IFCEXTRUDEDAREASOLID(#43,$,#11,2.);",
        "#45=IFCSHAPEREPRESENTATION($,'Body','SweptSolid',(#44));",
        "#46=IFCPRODUCTDEFINITIONSHAPE($,$,(#45));",
        "#47=IFCOPENINGELEMENT('o',$,'hole',$,$,#42,#46,$,.OPENING.);",
        "#48=IFCDOOR('d',$,'Door; 1',$,$,#42,$,$,2.,0.9,.DOOR.,$,$);",
        "#49=IFCRELFILLSELEMENT('f',$,$,$,#47,#48);",
        // A pan by a shape that it maps.
        "#50=IFCCARTESIANPOINT((2.1,2.2,0.));",
        "#51=IFCAXIS2PLACEMENT3D(#50,$,$);",
        "#52=IFCLOCALPLACEMENT(#14,#51);",
        "#53=IFCRECTANGLEPROFILEDEF(.AREA.,$,$,0.4,0.6);",
        "#54=IFCEXTRUDEDAREASOLID(#53,$,#11,0.4);",
        "#55=IFCSHAPEREPRESENTATION($,'Body','SweptSolid',(#54));",
        "#56=IFCCARTESIANPOINT((0.,0.,0.));",
        "#57=IFCAXIS2PLACEMENT3D(#56,$,$);",
        "#58=IFCREPRESENTATIONMAP(#57,#55);",
        "#59=IFCCARTESIANTRANSFORMATIONOPERATOR3D($,$,#56,1.,$);",
        "#60=IFCMAPPEDITEM(#58,#59);",
        "#61=IFCSHAPEREPRESENTATION($,'Body','MappedRepresentation',(#60));",
        "#62=IFCPRODUCTDEFINITIONSHAPE($,$,(#61));",
        "#63=IFCSANITARYTERMINAL('w',$,'P1',$,$,#52,#62,$,.TOILETPAN.);",
        // Places that refer to each other, and a map of itself.
        "#70=IFCLOCALPLACEMENT(#71,$);",
        "#71=IFCLOCALPLACEMENT(#70,$);",
        "#72=IFCCOLUMN('c',$,'lost',$,$,#70,#62,$,$);",
        "#73=IFCMAPPEDITEM(#74,#59);",
        "#74=IFCREPRESENTATIONMAP(#57,#75);",
        "#75=IFCSHAPEREPRESENTATION($,'Body','MappedRepresentation',(#73));",
        "#76=IFCPRODUCTDEFINITIONSHAPE($,$,(#75));",
        "#77=IFCCOLUMN('e',$,'round',$,$,#14,#76,$,$);",
    ];
    format!("ISO-10303-21;\nHEADER;\nENDSEC;\nDATA;\n{}\nENDSEC;\nEND-ISO-10303-21;\n", data.join("\n"))
}

const METRES: &str = "#2=IFCUNITASSIGNMENT((#3));\n#3=IFCSIUNIT(*,.LENGTHUNIT.,$,.METRE.);";

/// The records as ISO 16739-1 has them (recalled). Turned by a quarter, the space's x runs north and its y west: (x, y) lies at (5 - y, 1 + x).
#[test]
fn a_building_model_is_read() {
    let traced = ifc::trace(model(METRES).as_bytes(), None).expect("read");
    let found = rooms(&traced, None).expect("rooms");
    let names: Vec<(&str, Option<&str>)> =
        found.iter().map(|room: &Found| (room.name.as_str(), room.title.as_deref())).collect();
    assert_eq!(names, [("b-d-1-02", Some("Bäd 1.02")), ("loft-2-02", Some("Loft 2.02"))]);
    let text = write::plan(&traced, &[&found[0]], "mill.ifc").expect("a plan");
    assert_eq!(
        statements(&text),
        [
            "room b-d-1-02 \"Bäd 1.02\" {",
            // (0, 0), (2.6, 0), (2.6, 2.9), (0, 2.9) of the space at (5, 1), (5, 3.6), (2.1, 3.6), (2.1, 1).
            "outline (2900, 0) (2900, 2600) (0, 2600) (0, 0)",
            "door door-1 wall 1 from 500 to 1400",
            "fixture p1 wc rect (400, 1900) (1000, 2300)",
            "}",
        ],
        "{text}"
    );
    assert!(text.contains("Left out: 1 thing, whose places refer to each other in a circle."), "{text}");
    let above = write::plan(&traced, &[&found[1]], "mill.ifc").expect("a plan");
    assert_eq!(statements(&above).len(), 3, "no door and no pan of the storey below: {above}");
}

#[test]
fn units_of_a_model_are_heeded() {
    let feet = "#2=IFCUNITASSIGNMENT((#3));\n#3=IFCCONVERSIONBASEDUNIT(#4,.LENGTHUNIT.,'FOOT',#5);\n\
                #5=IFCMEASUREWITHUNIT(IFCLENGTHMEASURE(0.3048),#6);\n#6=IFCSIUNIT(*,.LENGTHUNIT.,$,.METRE.);";
    let text =
        model(feet).replace("(2.6,2.9)", "(20.,10.)").replace("(2.6,0.)", "(20.,0.)").replace("(0.,2.9)", "(0.,10.)");
    let traced = ifc::trace(text.as_bytes(), None).expect("read");
    let found = rooms(&traced, None).expect("rooms");
    let size = found[0].size();
    assert!(near(size, Point { x: 3048.0, y: 6096.0 }), "{size:?}");
    let said = refusal(ifc::trace(model("").as_bytes(), None));
    assert!(said.starts_with("it doesn't say in what unit its lengths are; say so with `--unit`"), "{said}");
}

/// A space whose boundary is given by faces: a prism on a triangle of 3 by 4 m, its floor of two triangles that share an edge.
#[test]
fn a_space_of_faces_is_outlined_along_its_floor() {
    let data = "ISO-10303-21;\nDATA;\n#1=IFCPROJECT('p',$,'',$,$,$,$,$,#2);\n#2=IFCUNITASSIGNMENT((#3));\n#3=IFCSIUNIT(*,.LENGTHUNIT.,.MILLI.,.METRE.);\n\
        #4=IFCCARTESIANPOINTLIST3D(((0.,0.,0.),(3000.,0.,0.),(3000.,2000.,0.),(0.,4000.,0.),(0.,0.,2500.),(3000.,0.,2500.),(0.,4000.,2500.)));\n\
        #5=IFCTRIANGULATEDFACESET(#4,$,.T.,((1,3,2),(1,4,3),(5,6,7),(1,2,6),(1,6,5)),$);\n#6=IFCSHAPEREPRESENTATION($,'Body','Tessellation',(#5));\n\
        #7=IFCPRODUCTDEFINITIONSHAPE($,$,(#6));\n#8=IFCSPACE('s',$,'Gable',$,$,$,#7,$,.ELEMENT.,.SPACE.,$);\nENDSEC;\nEND-ISO-10303-21;\n";
    let traced = ifc::trace(data.as_bytes(), None).expect("read");
    let read = plan(&outlined(&traced));
    let area = layrule::geometry::ring::signed_area(&read.rooms[0].corners);
    // 3 by 2 m, and the triangle of 3 by 2 m over it.
    assert!((area - 9e6).abs() < 1.0, "{area}");
    assert_eq!(read.rooms[0].corners.len(), 4);
}

#[test]
fn hostile_models_come_to_an_answer() {
    let lists = format!("#1=IFCSPACE({}1{});", "(".repeat(100_000), ")".repeat(100_000));
    for text in [
        "ISO-10303-21;DATA;#1=IFCSPACE('".to_string(),
        format!("ISO-10303-21;DATA;{lists}"),
        "ISO-10303-21;DATA;#1=IFCSPACE();#2=IFCUNITASSIGNMENT((#2));#3=IFCPROJECT(#3);".to_string(),
        "ISO-10303-21;DATA;/*".to_string(),
        "hello".to_string(),
        model(METRES).replace("#14)", "#32)"),
    ] {
        assert!(!refusal_or_text(ifc::trace(text.as_bytes(), Unit::of_word("m"))).is_empty());
    }
    // A list of ten thousand points that a thousand shapes of one space ask for.
    let points = "(1.,2.,3.),".repeat(10_000);
    let items: Vec<String> = (0..1_000).map(|number| format!("#{}", number + 100)).collect();
    let mapped: String =
        items.iter().map(|item| format!("{item}=IFCTRIANGULATEDFACESET(#4,$,.T.,((1,2,3)),$);\n")).collect();
    let often = format!(
        "ISO-10303-21;\nDATA;\n#4=IFCCARTESIANPOINTLIST3D(({points}));\n{mapped}#6=IFCSHAPEREPRESENTATION($,'Body','T',({}));\n\
         #7=IFCPRODUCTDEFINITIONSHAPE($,$,(#6));\n#8=IFCSPACE('s',$,'a',$,$,$,#7,$,.ELEMENT.,.SPACE.,$);\n",
        items.join(",")
    );
    let said = refusal(ifc::trace(often.as_bytes(), Unit::of_word("m")));
    assert!(said.starts_with("it draws more than 300000 things"), "{said}");
    let whole = model(METRES);
    for end in (0..whole.len()).step_by(53) {
        let _ = refusal_or_text(ifc::trace(&whole.as_bytes()[..end], None));
    }
}

pub(super) fn refusal_or_text(result: Result<Traced, Unreadable>) -> String {
    match result {
        Ok(traced) => match rooms(&traced, None) {
            Ok(found) => {
                write::plan(&traced, &found.iter().collect::<Vec<_>>(), "it").unwrap_or_else(|error| error.what)
            }
            Err(error) => error.what,
        },
        Err(error) => error.what,
    }
}

/// What was said, without the ends of lines that a terminal's width asks for.
fn unwrapped(said: &str) -> String {
    said.split_whitespace().filter(|word| *word != "│").collect::<Vec<_>>().join(" ")
}

#[test]
fn the_program_draws_and_outlines() {
    let map = MAP.replace("Scullery", "Scullery 1");
    let two = map.replace(
        r#""features": ["#,
        r#""features": [{"type": "Feature", "properties": {"kind": "room", "name": "Larder"},
        "geometry": {"type": "Polygon", "coordinates": [[[20, 20], [22, 20], [22, 22], [20, 22], [20, 20]]]}},"#,
    );
    let folder = Folder::new(&[("map.geojson", &map), ("two.geojson", &two), ("a.dwg", "AC1032"), ("a.txt", "")]);
    std::fs::write(folder.path("bath.lay"), std::fs::read(root().join("examples/bathroom.lay")).expect("read"))
        .expect("written");
    std::fs::write(folder.path("kits.lay"), std::fs::read(root().join("examples/kits.lay")).expect("read"))
        .expect("written");
    assert_eq!(folder.run(&["draw", "bath.lay", "--output", "bath.dxf"]), (0, String::new(), String::new()));
    let (code, plan, said) = folder.run(&["outline", "bath.dxf"]);
    assert_eq!((code, said.as_str()), (0, ""));
    std::fs::write(folder.path("back.lay"), &plan).expect("written");
    let (code, told, _) = folder.run(&["check", "back.lay", "--fail-on", "note"]);
    assert_eq!(code, 0, "{told}");
    // A plan that is there is never written over.
    assert_eq!(folder.run(&["outline", "map.geojson", "-o", "new.lay"]).0, 0);
    let (code, _, said) = folder.run(&["outline", "map.geojson", "-o", "new.lay"]);
    assert!(code == 2 && said.contains("something is there already"), "{said}");
    let (code, told, said) = folder.run(&["outline", "two.geojson"]);
    assert!(
        code == 2
            && told.is_empty()
            && unwrapped(&said).contains("draws 2 rooms: `larder` \"Larder\", 2 by 2 m on `room`"),
        "{said}"
    );
    let (code, told, _) = folder.run(&["outline", "two.geojson", "--room", "scullery"]);
    assert!(code == 0 && told.contains("room scullery-1 \"Scullery 1\""), "{told}");
    let (code, told, _) = folder.run(&["outline", "two.geojson", "--all"]);
    assert!(
        code == 0
            && told.contains("room larder")
            && statements(&told).iter().any(|line| line.starts_with("outline (10000, 0)")),
        "{told}"
    );
    for (arguments, part) in [
        (&["outline", "two.geojson", "--room", "ladder"][..], "did you mean `larder`?"),
        (&["outline", "map.geojson", "--layer", "ROOMS"], "holds no closed outline as large as a room"),
        (&["outline", "map.geojson", "--unit", "mile"], "write `mm`, `cm`, `dm`, `m`, `in` or `ft`"),
        (&["outline", "a.dwg"], "is a DWG file, which isn't read"),
        (&["outline", "a.txt"], "doesn't say what it is"),
        (&["outline", "none.dxf"], "there is no such file"),
        (
            &["draw", "bath.lay", "--findings", "-o", "bath.dxf"],
            "a DXF has neither paper, nor marks of findings, nor shading",
        ),
    ] {
        let (code, _, said) = folder.run(arguments);
        let said = unwrapped(&said);
        assert!(code == 2 && said.contains(part), "{arguments:?}: {said}");
    }
}

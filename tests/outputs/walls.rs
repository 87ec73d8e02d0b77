//! Rooms between walls drawn as two lines each: floor plans drawn here line by line, whose rooms, doors and areas are worked by hand.

use std::time::{Duration, Instant};

use layrule::exchange::rooms::rooms;
use layrule::exchange::{Unit, dxf_in};
use layrule::geometry::Point;
use layrule::geometry::ring::signed_area;

use super::exchange::{dxf, from_dxf, outlined, refusal, ring, statements};
use crate::common::plan;

/// A line of a drawing, mm.
type Line = ((f64, f64), (f64, f64));

/// A drawing that grows.
#[derive(Default)]
struct Sheet {
    lines: Vec<(String, Line)>,
    others: Vec<String>,
}

impl Sheet {
    /// A straight line with gaps, each from where to where along it, mm.
    fn line(&mut self, layer: &str, a: (f64, f64), b: (f64, f64), gaps: &[(f64, f64)]) {
        let long = (b.0 - a.0).hypot(b.1 - a.1);
        let at = |place: f64| (a.0 + (b.0 - a.0) * place / long, a.1 + (b.1 - a.1) * place / long);
        let mut from = 0.0;
        for (low, high) in gaps.iter().copied().chain([(long, long)]) {
            if low > from {
                // Every other line the other way round, as lines come.
                let (a, b) = (at(from), at(low));
                let turned = self.lines.len() % 2 == 1;
                self.lines.push((layer.into(), if turned { (b, a) } else { (a, b) }));
            }
            from = high;
        }
    }

    /// A wall along a line, its other face `thick` to the left, both parted at gaps, which are closed at both sides.
    fn wall(&mut self, layer: &str, a: (f64, f64), b: (f64, f64), thick: f64, gaps: &[(f64, f64)]) {
        let long = (b.0 - a.0).hypot(b.1 - a.1);
        let step = ((b.0 - a.0) / long, (b.1 - a.1) / long);
        let aside = |p: (f64, f64)| (p.0 - step.1 * thick, p.1 + step.0 * thick);
        self.line(layer, a, b, gaps);
        self.line(layer, aside(a), aside(b), gaps);
        for place in gaps.iter().flat_map(|(low, high)| [*low, *high]).filter(|place| *place > 0.0 && *place < long) {
            let at = (a.0 + step.0 * place, a.1 + step.1 * place);
            self.line(layer, at, aside(at), &[]);
        }
    }

    /// Corners of what is drawn round by lines, closed.
    fn round(&mut self, layer: &str, corners: &[(f64, f64)], gaps: &[(usize, f64, f64)]) {
        for (index, a) in corners.iter().enumerate() {
            let own: Vec<(f64, f64)> =
                gaps.iter().filter(|gap| gap.0 == index).map(|(_, low, high)| (*low, *high)).collect();
            self.line(layer, *a, corners[(index + 1) % corners.len()], &own);
        }
    }

    fn text(&mut self, at: (f64, f64), text: &str) {
        self.others.push(format!("0 TEXT|8 NOTES|10 {}|20 {}|40 150|1 {text}", at.0, at.1));
    }

    /// A door's leaf and its arc: from the hinge a leaf `wide` long at an angle, and the arc between two angles, degrees.
    fn door(&mut self, layer: &str, hinge: (f64, f64), wide: f64, leaf: f64, arc: (f64, f64)) {
        let (sine, cosine) = leaf.to_radians().sin_cos();
        self.line(layer, hinge, (hinge.0 + wide * cosine, hinge.1 + wide * sine), &[]);
        let (x, y) = hinge;
        self.others.push(format!("0 ARC|8 {layer}|10 {x}|20 {y}|40 {wide}|50 {}|51 {}", arc.0, arc.1));
    }

    /// As a file in mm.
    fn file(&self) -> String {
        let mut entities: Vec<String> = self
            .lines
            .iter()
            .map(|(layer, (a, b))| format!("0 LINE|8 {layer}|10 {}|20 {}|11 {}|21 {}", a.0, a.1, b.0, b.1))
            .collect();
        entities.extend(self.others.iter().cloned());
        dxf("4", &[], &entities.iter().map(String::as_str).collect::<Vec<_>>())
    }
}

/// A flat of four rooms, 8.0 by 6.0 m outside, its outer walls 300 mm thick and its inner ones 100 mm. Inner faces stop at the walls that stand on
/// them, as drawn walls do that were cleaned up.
fn flat(walls: &str, doors: &str) -> Sheet {
    let mut sheet = Sheet::default();
    // The front door is 900 mm wide from 5000, the window 1.2 m from 5000 at the back.
    sheet.round(
        walls,
        &[(0.0, 0.0), (8000.0, 0.0), (8000.0, 6000.0), (0.0, 6000.0)],
        &[(0, 5000.0, 5900.0), (2, 1800.0, 3000.0)],
    );
    let inner = [(300.0, 300.0), (7700.0, 300.0), (7700.0, 5700.0), (300.0, 5700.0)];
    let parted = [
        (0, 3600.0, 3700.0),
        (0, 4700.0, 5600.0),
        (1, 3100.0, 3200.0),
        (2, 1500.0, 2700.0),
        (2, 3700.0, 3800.0),
        (3, 2700.0, 2800.0),
    ];
    sheet.round(walls, &inner, &parted);
    for x in [5000.0, 5900.0] {
        sheet.line(walls, (x, 0.0), (x, 300.0), &[]);
    }
    for x in [5000.0, 6200.0] {
        sheet.line(walls, (x, 5700.0), (x, 6000.0), &[]);
    }
    for y in [5820.0, 5880.0] {
        sheet.line(if walls == "0" { "0" } else { "A-GLAZ" }, (5000.0, y), (6200.0, y), &[]);
    }
    // From south to north, with a door of 800 mm 700 mm from its south end, and the walls that stand on it to both sides.
    sheet.line(walls, (3900.0, 300.0), (3900.0, 5700.0), &[(700.0, 1500.0), (2600.0, 2700.0)]);
    sheet.line(walls, (4000.0, 300.0), (4000.0, 5700.0), &[(700.0, 1500.0), (3100.0, 3200.0)]);
    for y in [1000.0, 1800.0] {
        sheet.line(walls, (3900.0, y), (4000.0, y), &[]);
    }
    // To the west with a door of 800 mm, to the east one of 900 mm without a leaf.
    sheet.wall(walls, (300.0, 2900.0), (3900.0, 2900.0), 100.0, &[(700.0, 1500.0)]);
    sheet.wall(walls, (4000.0, 3400.0), (7700.0, 3400.0), 100.0, &[(1000.0, 1900.0)]);
    sheet.door(doors, (5000.0, 300.0), 900.0, 90.0, (0.0, 90.0));
    sheet.door(doors, (3900.0, 1000.0), 800.0, 180.0, (90.0, 180.0));
    sheet.door(doors, (1000.0, 3000.0), 800.0, 90.0, (0.0, 90.0));
    sheet.text((1000.0, 1200.0), "Bath");
    sheet.text((1500.0, 4500.0), "Bedroom");
    sheet.text((6000.0, 2000.0), "Hall");
    sheet.text((6000.0, 4500.0), "Kitchen");
    sheet
}

/// The flat's rooms, moved by 300 mm so that the inner corner is the origin: 3.6 by 2.6, 3.6 by 2.7, 3.7 by 3.1 and 3.7 by 2.2 m.
const FLAT: [&str; 16] = [
    "room bath \"Bath\" {",
    "outline (0, 0) (3600, 0) (3600, 2600) (0, 2600)",
    "door door wall 2 from 700 to 1500 hinged right",
    "door door-2 wall 3 from 2100 to 2900 hinged left outward",
    "}",
    "room bedroom \"Bedroom\" {",
    "outline (0, 2700) (3600, 2700) (3600, 5400) (0, 5400)",
    "door door wall 1 from 700 to 1500 hinged right",
    "}",
    "room hall \"Hall\" {",
    "outline (3700, 0) (7400, 0) (7400, 3100) (3700, 3100)",
    "door door wall 1 from 1000 to 1900 hinged right",
    "door door-2 wall 3 from 1800 to 2700",
    "door door-3 wall 4 from 1600 to 2400 hinged left outward",
    "}",
    "room kitchen \"Kitchen\" {",
];

#[test]
fn rooms_of_a_flat_are_what_lies_between_its_walls() {
    for (walls, doors) in [("A-WALL", "A-DOOR"), ("0", "0"), ("LINES", "LINES")] {
        let text = from_dxf(&flat(walls, doors).file());
        let told: Vec<String> = statements(&text);
        assert_eq!(told[..16], FLAT, "{walls}\n{text}");
        assert_eq!(
            told[16..],
            ["outline (3700, 3200) (7400, 3200) (7400, 5400) (3700, 5400)", "door door wall 1 from 1000 to 1900", "}"],
            "{walls}\n{text}"
        );
        // Of the opening without a leaf both rooms are told so; of the window nothing.
        assert_eq!(text.matches("No door is drawn in the opening").count(), 2, "{text}");
        assert!(text.contains("Walls are drawn as two lines each"), "{text}");
        assert!(!text.contains("shape-"), "{text}");
    }
}

#[test]
fn units_of_a_floor_plan_are_heeded() {
    let text = flat("A-WALL", "A-DOOR").file();
    let numbers = |text: &str, mm: f64| {
        let mut scaled = String::new();
        let lines: Vec<&str> = text.lines().collect();
        for pair in lines.chunks(2) {
            let code: i32 = pair[0].parse().expect("a code");
            let value = match code {
                10..=49 => (pair[1].parse::<f64>().expect("a number") / mm).to_string(),
                _ => pair[1].to_string(),
            };
            scaled += &format!("{}\n{value}\n", pair[0]);
        }
        scaled
    };
    let wanted = statements(&from_dxf(&text));
    for (word, mm) in [("m", 1000.0), ("cm", 10.0), ("in", 25.4)] {
        let traced = dxf_in::trace(numbers(&text, mm).as_bytes(), Unit::of_word(word)).expect("it is read");
        assert_eq!(statements(&outlined(&traced)), wanted, "{word}");
    }
}

/// An L of 4.0 by 3.0 m whose notch is 1.5 by 1.0 m, within walls 240 mm thick, its corners open by 2 mm or drawn too long by as much.
#[test]
fn corners_that_hardly_meet_are_corners() {
    let inner = [(0.0, 0.0), (4000.0, 0.0), (4000.0, 2000.0), (2500.0, 2000.0), (2500.0, 3000.0), (0.0, 3000.0)];
    let outer =
        [(-240.0, -240.0), (4240.0, -240.0), (4240.0, 2240.0), (2740.0, 2240.0), (2740.0, 3240.0), (-240.0, 3240.0)];
    for open in [2.0, -2.0] {
        let mut sheet = Sheet::default();
        for corners in [&inner, &outer] {
            for (index, a) in corners.iter().enumerate() {
                let b = corners[(index + 1) % 6];
                let long = f64::hypot(b.0 - a.0, b.1 - a.1);
                let step = ((b.0 - a.0) / long * open, (b.1 - a.1) / long * open);
                let (a, b) = ((a.0 + step.0, a.1 + step.1), (b.0 - step.0, b.1 - step.1));
                let gaps = [(500.0 - a.0, 1300.0 - a.0)];
                sheet.line("WALLS", a, b, if index == 0 { &gaps } else { &[] });
            }
        }
        let text = from_dxf(&sheet.file());
        assert_eq!(
            statements(&text),
            [
                "room room-1 {",
                "outline (0, 0) (4000, 0) (4000, 2000) (2500, 2000) (2500, 3000) (0, 3000)",
                "door door wall 1 from 500 to 1300",
                "}"
            ],
            "{open}\n{text}"
        );
        assert!(text.contains("open by up to 10 mm"), "{text}");
    }
}

/// A room with a wall that slants by 45°, of 3 m along its south wall and 1 m off the corner to the north-east: 3 × 2.5 m less half a square metre. Its
/// slanting wall has a door of 800 mm in its 1414 mm, from 307.
#[test]
fn a_door_stands_in_a_slanting_wall() {
    let half = std::f64::consts::FRAC_1_SQRT_2;
    let thick = 150.0;
    let mut sheet = Sheet::default();
    let inner = [(0.0, 0.0), (3000.0, 0.0), (3000.0, 1500.0), (2000.0, 2500.0), (0.0, 2500.0)];
    // Where lines 150 mm outside of two walls that meet at 135° cross, tan 22.5° of it lies beyond the corner.
    let more = thick * (std::f64::consts::PI / 8.0).tan();
    let outer = [
        (-thick, -thick),
        (3000.0 + thick, -thick),
        (3000.0 + thick, 1500.0 + more),
        (2000.0 + more, 2500.0 + thick),
        (-thick, 2500.0 + thick),
    ];
    sheet.round("WALL", &inner, &[(2, 307.0, 1107.0)]);
    sheet.round("WALL", &outer, &[(2, 307.0 + more, 1107.0 + more)]);
    let at = |along: f64| (3000.0 - along * half, 1500.0 + along * half);
    sheet.door("DOOR", at(307.0), 800.0, 225.0, (135.0, 225.0));
    let text = from_dxf(&sheet.file());
    assert_eq!(
        statements(&text)[..3],
        [
            "room room-1 {",
            "outline (0, 0) (3000, 0) (3000, 1500) (2000, 2500) (0, 2500)",
            "door door wall 3 from 307 to 1107 hinged right"
        ],
        "{text}"
    );
    let read = plan(&text);
    assert!((signed_area(&read.rooms[0].corners) - 7.0e6).abs() < 1.0);
}

/// A door beside a wall that stands across has no jamb of its own there: 800 mm up to the wall, known by its leaf alone.
#[test]
fn a_door_stands_in_a_corner() {
    let rooms = |with_leaf: bool| {
        let mut sheet = Sheet::default();
        sheet.round("WALL", &[(0.0, 0.0), (4000.0, 0.0), (4000.0, 5000.0), (0.0, 5000.0)], &[]);
        sheet.round("WALL", &[(-200.0, -200.0), (4200.0, -200.0), (4200.0, 5200.0), (-200.0, 5200.0)], &[]);
        sheet.line("WALL", (0.0, 2400.0), (3200.0, 2400.0), &[]);
        sheet.line("WALL", (0.0, 2500.0), (3200.0, 2500.0), &[]);
        sheet.line("WALL", (3200.0, 2400.0), (3200.0, 2500.0), &[]);
        if with_leaf {
            sheet.door("DOOR", (4000.0, 2400.0), 800.0, 270.0, (180.0, 270.0));
        }
        statements(&from_dxf(&sheet.file()))
    };
    assert_eq!(
        rooms(true),
        [
            "room room-1 {",
            "outline (0, 0) (4000, 0) (4000, 2400) (0, 2400)",
            "door door wall 3 from 0 to 800 hinged right",
            "}",
            "room room-2 {",
            "outline (0, 2500) (4000, 2500) (4000, 5000) (0, 5000)",
            "door door wall 1 from 3200 to 4000 hinged left outward",
            "}"
        ]
    );
    // Else it is one room with a piece of wall that stands into it.
    assert_eq!(
        rooms(false)[1],
        "outline (0, 0) (4000, 0) (4000, 5000) (0, 5000) (0, 2500) (3200, 2500) (3200, 2400) (0, 2400)"
    );
}

/// On one layer that says nothing: walls as closed pieces, a bath in the corner, a bench along a wall, a stair's treads, dimension lines and a
/// frame round it all. What stands in the room is told as a shape, and nothing of a wall is.
#[test]
fn furniture_is_no_wall() {
    let mut sheet = Sheet::default();
    let block = |a: (f64, f64), b: (f64, f64)| ring("0", &[a, (b.0, a.1), b, (a.0, b.1)]);
    sheet.others.extend([
        block((0.0, 0.0), (1200.0, 200.0)),
        block((2000.0, 0.0), (4000.0, 200.0)),
        block((0.0, 200.0), (200.0, 3000.0)),
        block((3800.0, 200.0), (4000.0, 3000.0)),
        block((0.0, 3000.0), (4000.0, 3200.0)),
        // A bath, and a bench 300 mm deep.
        block((200.0, 2250.0), (1900.0, 3000.0)),
        block((2400.0, 2700.0), (3800.0, 3000.0)),
        block((-3000.0, -3000.0), (9000.0, 9000.0)),
        block((-3200.0, -3200.0), (9200.0, 9200.0)),
    ]);
    for step in 0..6 {
        let y = 400.0 + 250.0 * f64::from(step);
        sheet.line("0", (3000.0, y), (3800.0, y), &[]);
    }
    sheet.line("0", (0.0, -500.0), (4000.0, -500.0), &[]);
    sheet.line("0", (0.0, -800.0), (4000.0, -800.0), &[]);
    sheet.text((1000.0, 1000.0), "Store");
    let text = from_dxf(&sheet.file());
    assert_eq!(
        statements(&text),
        [
            "room store \"Store\" {",
            "outline (0, 0) (3600, 0) (3600, 2800) (0, 2800)",
            "door door wall 1 from 1000 to 1800",
            "}"
        ],
        "{text}"
    );
    for shape in ["rect (0, 2050) (1700, 2800)", "rect (2200, 2500) (3600, 2800)"] {
        assert!(text.contains(shape), "{shape}\n{text}");
    }
    assert_eq!(text.matches("fixture shape-").count(), 2, "{text}");
}

/// A pier stands in the room by itself, on the layer of walls, and is told as a shape; a court that runs round a house is no room.
#[test]
fn what_stands_apart_is_told() {
    let mut sheet = Sheet::default();
    sheet.round("WALLS", &[(0.0, 0.0), (5000.0, 0.0), (5000.0, 4000.0), (0.0, 4000.0)], &[(0, 1000.0, 1900.0)]);
    sheet.round(
        "WALLS",
        &[(-300.0, -300.0), (5300.0, -300.0), (5300.0, 4300.0), (-300.0, 4300.0)],
        &[(0, 1300.0, 2200.0)],
    );
    sheet.round("WALLS", &[(-4000.0, -4000.0), (9000.0, -4000.0), (9000.0, 9000.0), (-4000.0, 9000.0)], &[]);
    sheet.round("WALLS", &[(2300.0, 1800.0), (2700.0, 1800.0), (2700.0, 2200.0), (2300.0, 2200.0)], &[]);
    let text = from_dxf(&sheet.file());
    assert_eq!(
        statements(&text),
        ["room room-1 {", "outline (0, 0) (5000, 0) (5000, 4000) (0, 4000)", "door door wall 1 from 1000 to 1900", "}"],
        "{text}"
    );
    assert!(text.contains("fixture shape-1 rect (2300, 1800) (2700, 2200)"), "{text}");
}

/// Where a wall was left open, the answer says where.
#[test]
fn walls_that_leave_a_room_open_are_told() {
    let mut sheet = Sheet::default();
    sheet.line("WALL", (0.0, 0.0), (0.0, 3000.0), &[]);
    sheet.line("WALL", (-150.0, -150.0), (-150.0, 3150.0), &[]);
    sheet.line("WALL", (0.0, 0.0), (4000.0, 0.0), &[]);
    sheet.line("WALL", (-150.0, -150.0), (4000.0, -150.0), &[]);
    let traced = dxf_in::trace(sheet.file().as_bytes(), None).expect("it is read");
    let told = refusal(rooms(&traced, None).map(|_| traced.clone()));
    assert!(told.contains("walls drawn as two lines end openly at (0, 3000)"), "{told}");
}

/// A hundred thousand lines in any disorder come to an answer within seconds: crossing one another, side by side, or as one grid.
#[test]
fn very_many_lines_come_to_an_answer() {
    let mut state = 88_172_645_463_325_252_u64;
    let mut random = move |below: f64| {
        // Marsaglia's xorshift (recalled).
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        (state % 1_000_000) as f64 / 1e6 * below
    };
    let kinds: [&mut dyn FnMut(usize) -> Line; 4] = [
        &mut |_| ((random(50e3), random(50e3)), (random(50e3), random(50e3))),
        &mut |place| ((0.0, place as f64), (90e3, place as f64 + 1.0)),
        &mut |place| {
            let at = (place / 2) as f64 * 100.0;
            if place % 2 == 0 { ((at, 0.0), (at, 5e6)) } else { ((0.0, at), (5e6, at)) }
        },
        &mut |place| {
            let (x, y) = ((place % 300) as f64 * 130.0, (place / 300) as f64 * 130.0);
            ((x, y), (x + 900.0, y))
        },
    ];
    for (number, kind) in kinds.into_iter().enumerate() {
        let layer = ["0", "WALL"][number % 2];
        let lines = (0..100_000).map(|place| (layer.to_string(), kind(place))).collect();
        let file = Sheet { lines, others: Vec::new() }.file();
        let begun = Instant::now();
        let traced = dxf_in::trace(file.as_bytes(), None).expect("it is read");
        let told = refusal(rooms(&traced, None).map(|_| traced.clone()));
        let took = begun.elapsed();
        assert!(told.starts_with("it draws too many lines near one another for walls to be told among them"), "{told}");
        // Seconds on a machine that does nothing else.
        assert!(took < Duration::from_secs(60), "{number}: {took:?}");
    }
}

/// Corners of rooms are where the lines of walls cross, whatever lies how much aside: no room is larger than what its walls' outer faces enclose.
#[test]
fn walls_in_disorder_come_to_an_answer() {
    let whole = flat("0", "0");
    for left_out in 0..whole.lines.len() {
        let mut sheet = Sheet { lines: whole.lines.clone(), others: whole.others.clone() };
        sheet.lines.remove(left_out);
        let traced = dxf_in::trace(sheet.file().as_bytes(), None).expect("it is read");
        let Ok(found) = rooms(&traced, None) else { continue };
        let area: f64 = found.iter().map(|room| signed_area(room.outline.corners()).abs()).sum();
        let inside = |at: &Point| (-1.0..8001.0).contains(&at.x) && (-1.0..6001.0).contains(&at.y);
        assert!(area <= 48.1e6, "{left_out}: {area}");
        assert!(found.iter().all(|room| room.outline.corners().iter().all(inside)), "{left_out}");
    }
}

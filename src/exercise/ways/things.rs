//! What stands and lies in the room: drawn after the cable, moved, enlarged, forgotten.

use super::{Way, forgotten, mistyped};
use crate::exercise::site::{Change, Line, Site, What, point, whole};
use crate::geometry::ring::edges;
use crate::geometry::{along, distance};
use crate::layout::tree::{AreaExpr, LineExpr, PointExpr, RoomEntry, ShapeExpr};
use crate::model::Point;

pub(super) const WAYS: &[Way] = &[
    Way {
        name: "fixture-drawn-later",
        does: "a fixture is drawn after the cable",
        aims: &["fixture-overlap", "stove-clearance", "fixture-clearance", "tail-under-fixture"],
        changes: fixture_drawn_later,
    },
    Way {
        name: "hole-drilled-later",
        does: "a hole is drilled after the cable is drawn",
        aims: &["drill-zone", "drilled-lead"],
        changes: hole_drilled_later,
    },
    Way {
        name: "line-drawn-later",
        does: "a pipe, a partition or a joint is drawn after the cable",
        aims: &[
            "movement-joint",
            "under-partition",
            "pipe-clearance",
            "tail-over-pipe",
            "tail-across-joint",
            "tail-through-partition",
        ],
        changes: line_drawn_later,
    },
    Way {
        name: "level-drawn-later",
        does: "a step is drawn after the cable",
        aims: &["single-level"],
        changes: level_drawn_later,
    },
    Way {
        name: "rug-laid-later",
        does: "a rug is laid over the heated floor",
        aims: &["rug-sheath"],
        changes: rug_laid_later,
    },
    Way {
        name: "door-hung-later",
        does: "a door is hung after the cable is drawn",
        aims: &["doorway", "tail-in-doorway"],
        changes: door_hung_later,
    },
    Way {
        name: "thing-moved",
        does: "what stands or lies in the room is moved",
        aims: &[
            "cold-patch",
            "fixture-overlap",
            "fixture-clearance",
            "drill-zone",
            "single-level",
            "stove-clearance",
            "movement-joint",
            "under-partition",
        ],
        changes: thing_moved,
    },
    Way {
        name: "thing-mistyped",
        does: "a number of what stands or lies in the room is mistyped",
        aims: &[
            "fixture-overlap",
            "cold-patch",
            "fixture-clearance",
            "single-level",
            "drill-zone",
            "movement-joint",
            "stove-clearance",
            "pipe-clearance",
            "tail-under-fixture",
        ],
        changes: |site, changes| mistyped(site, changes, is_thing, |after| after != "raised"),
    },
    Way {
        name: "raised-mistaken",
        does: "a raised fixture is drawn as one on a plinth",
        aims: &["fixture-overlap", "fixture-clearance"],
        changes: raised_mistaken,
    },
    Way {
        name: "door-mistyped",
        does: "where a door is hung is mistyped",
        aims: &["tail-in-doorway"],
        changes: |site, changes| {
            mistyped(
                site,
                changes,
                |what| matches!(what, What::Room(RoomEntry::Door(_))),
                |after| after == "from" || after == "to",
            );
        },
    },
    Way {
        name: "tiled-through",
        does: "tiles are led through a doorway",
        aims: &["doorway-joint"],
        changes: tiled_through,
    },
    Way {
        name: "joint-forgotten",
        does: "a movement joint is forgotten",
        aims: &["bay-proportion"],
        changes: joint_forgotten,
    },
    Way {
        name: "rug-mistyped",
        does: "the resistance of a rug is mistyped",
        aims: &["rug-sheath"],
        changes: |site, changes| {
            mistyped(site, changes, |what| matches!(what, What::Room(RoomEntry::Rug(_))), |after| after == "resistance")
        },
    },
];

fn is_thing(what: &What<'_>) -> bool {
    matches!(what, What::Room(RoomEntry::Area(_) | RoomEntry::Line(_) | RoomEntry::Rug(_)))
}

/// Something more in a room, drawn behind what stands there.
fn drawn(site: &Site<'_>, room: usize, statement: &str, changes: &mut Vec<Change>) {
    let Some(last) = site.last_thing(room) else { return };
    let said = format!("`{statement}` drawn after the cable");
    changes.push(Change { edits: vec![site.after(last, statement)], said, size: 1.0 });
}

/// A line that something drawn later may come to lie on.
struct Stretch {
    room: usize,
    from: Point,
    to: Point,
}

/// How many of the runs of a cable are looked at.
const RUNS_EACH: usize = 6;
/// The shortest that anything is drawn over, mm.
const LONG_ENOUGH: f64 = 250.0;

/// Some of the runs of each cable, tails and conduits.
fn ways(site: &Site<'_>) -> (Vec<Stretch>, Vec<Stretch>) {
    let (mut runs, mut leads) = (Vec::new(), Vec::new());
    for (room, measure) in site.measured.rooms().enumerate() {
        for cable in &measure.room.cables {
            let long: Vec<_> = cable.runs.iter().filter(|run| run.length() >= LONG_ENOUGH).collect();
            let every = long.len().div_ceil(RUNS_EACH).max(1);
            runs.extend(long.iter().step_by(every).map(|run| Stretch { room, from: run.start, to: run.end }));
            leads.extend(pieces(room, &cable.tail));
        }
        for sensor in &measure.room.sensors {
            leads.extend(pieces(room, &sensor.conduit));
        }
    }
    (runs, leads)
}

fn pieces(room: usize, points: &[Point]) -> impl Iterator<Item = Stretch> {
    let pairs = points.windows(2).map(move |pair| Stretch { room, from: pair[0], to: pair[1] });
    pairs.filter(|way| distance(way.from, way.to) > 1.0).collect::<Vec<_>>().into_iter()
}

fn rect(middle: Point, wide: f64, high: f64) -> String {
    let half = Point { x: wide / 2.0, y: high / 2.0 };
    format!("rect {} {}", point(middle - half), point(middle + half))
}

fn fixture_drawn_later(site: &Site<'_>, changes: &mut Vec<Change>) {
    let (runs, leads) = ways(site);
    let name = site.free_name(&["locker", "shelf", "cabinet"]);
    let stove = site.free_name(&["stove", "fireplace"]);
    for way in &runs {
        for share in [0.1, 0.5] {
            let middle = along(way.from, way.to, share);
            drawn(site, way.room, &format!("fixture {name} unit {}", rect(middle, 400.0, 300.0)), changes);
        }
        let beside = |clear: f64| along(way.from, way.to, 0.5) + square(way) * (150.0 + clear);
        drawn(site, way.room, &format!("fixture {name} unit {}", rect(beside(30.0), 300.0, 300.0)), changes);
        for clear in [30.0, 80.0] {
            drawn(site, way.room, &format!("fixture {stove} stove {}", rect(beside(clear), 300.0, 300.0)), changes);
            let end = way.to + (way.to - way.from) / distance(way.from, way.to) * (150.0 + clear);
            drawn(site, way.room, &format!("fixture {stove} stove {}", rect(end, 300.0, 300.0)), changes);
            drawn(site, way.room, &format!("fixture {name} unit {}", rect(end, 300.0, 300.0)), changes);
        }
    }
    for way in &leads {
        drawn(
            site,
            way.room,
            &format!("fixture {name} unit {}", rect(along(way.from, way.to, 0.5), 200.0, 200.0)),
            changes,
        );
    }
}

/// At right angles to a line, 1 mm long.
fn square(way: &Stretch) -> Point {
    let step = (way.to - way.from) / distance(way.from, way.to);
    Point { x: -step.y, y: step.x }
}

fn hole_drilled_later(site: &Site<'_>, changes: &mut Vec<Change>) {
    let (runs, leads) = ways(site);
    let name = site.free_name(&["stop", "bracket", "anchor"]);
    for way in runs.iter().chain(&leads) {
        for (share, aside) in [(0.5, 0.0), (0.5, 45.0), (0.2, -45.0), (0.98, 0.0)] {
            let at = along(way.from, way.to, share) + square(way) * aside;
            drawn(site, way.room, &format!("drill {name} circle {} radius 15", point(at)), changes);
        }
    }
}

fn line_drawn_later(site: &Site<'_>, changes: &mut Vec<Change>) {
    let (runs, leads) = ways(site);
    let names = [
        ("pipe", site.free_name(&["flow", "riser"]), " hot"),
        ("partition", site.free_name(&["screen", "stud-wall"]), ""),
        ("joint", site.free_name(&["expansion", "edge-joint"]), ""),
    ];
    for way in runs.iter().chain(&leads) {
        let (side, middle) = (square(way), along(way.from, way.to, 0.5));
        let along_it = (way.to - way.from) / distance(way.from, way.to) * 100.0;
        let across = [middle - side * 120.0, middle + side * 120.0];
        let beside = [middle - along_it + side * 35.0, middle + along_it + side * 35.0];
        for (word, name, kind) in &names {
            for [from, to] in [across, beside] {
                drawn(site, way.room, &format!("{word} {name}{kind} {} {}", point(from), point(to)), changes);
            }
        }
    }
}

fn level_drawn_later(site: &Site<'_>, changes: &mut Vec<Change>) {
    let (runs, _) = ways(site);
    let name = site.free_name(&["platform", "step"]);
    for way in &runs {
        for share in [0.15, 0.5] {
            let middle = along(way.from, way.to, share);
            drawn(site, way.room, &format!("level {name} +150 {}", rect(middle, 500.0, 400.0)), changes);
        }
    }
}

fn rug_laid_later(site: &Site<'_>, changes: &mut Vec<Change>) {
    let (runs, _) = ways(site);
    let name = site.free_name(&["carpet", "rug"]);
    for way in &runs {
        let middle = along(way.from, way.to, 0.5);
        for resistance in ["0.15", "0.3", "0.6", "1.2"] {
            let statement = format!("rug {name} {} resistance {resistance} m2K/W", rect(middle, 800.0, 600.0));
            drawn(site, way.room, &statement, changes);
        }
    }
}

fn door_hung_later(site: &Site<'_>, changes: &mut Vec<Change>) {
    let name = site.free_name(&["closet", "yard", "cellar"]);
    for (room, measure) in site.measured.rooms().enumerate() {
        for (wall, edge) in edges(&measure.room.corners).enumerate() {
            let mut from = 100.0;
            while from + 800.0 < edge.length() {
                let statement =
                    format!("door {name} wall {} from {} to {}", wall + 1, whole(from), whole(from + 800.0));
                drawn(site, room, &statement, changes);
                from += 900.0;
            }
        }
    }
}

/// The points that a thing is moved by: of a rectangle both, of a circle its centre, of anything else all.
fn points<'s>(line: &Line<'s>) -> Vec<&'s PointExpr> {
    let of_shape = |shape: &'s ShapeExpr| match shape {
        ShapeExpr::Rect(low, high) => vec![low, high],
        ShapeExpr::Circle(middle, _) => vec![middle],
        ShapeExpr::Polygon(points) | ShapeExpr::Strip(points, _) => points.iter().collect(),
    };
    match line.what {
        What::Room(RoomEntry::Area(area)) => of_shape(&area.shape),
        What::Room(RoomEntry::Rug(rug)) => of_shape(&rug.shape),
        What::Room(RoomEntry::Line(line)) => line.points.iter().collect(),
        _ => Vec::new(),
    }
}

fn thing_moved(site: &Site<'_>, changes: &mut Vec<Change>) {
    for line in site.lines.iter().filter(|line| is_thing(&line.what)) {
        let points = points(line);
        for by in [40.0, 80.0, 150.0, 300.0, 600.0] {
            for way in [(1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)] {
                let by_way = Point { x: way.0 * by, y: way.1 * by };
                let Some(edits) = site.moved(&points, by_way) else { continue };
                let said = format!("`{}` moved by {by} mm", super::short(site.text(line.span)));
                changes.push(Change { edits, said, size: by / 1000.0 });
            }
        }
    }
}

fn raised_mistaken(site: &Site<'_>, changes: &mut Vec<Change>) {
    for line in &site.lines {
        let What::Room(RoomEntry::Area(area)) = line.what else { continue };
        let AreaExpr::Fixture { raised: Some(height), .. } = &area.kind else { continue };
        if let Some(clause) = site.clause(line.span, "raised", height.span) {
            let said = format!("`{}` left out", site.text(clause));
            changes.push(Change { edits: vec![site.edit(clause, "")], said, size: 1.0 });
        }
        let number = site.numbers(height.span).into_iter().next();
        changes.extend(number.map(|number| {
            let edits = vec![site.edit(number.span, "20")];
            Change { edits, said: format!("20 written for {}", number.digits), size: 0.5 }
        }));
    }
}

fn tiled_through(site: &Site<'_>, changes: &mut Vec<Change>) {
    for line in &site.lines {
        let What::Room(RoomEntry::Door(door)) = line.what else { continue };
        if !door.through {
            // What is said of its hinges stands behind that.
            let end = door.to.span.end();
            let end = crate::source::Span::new(end..end);
            let said = format!("the tiles led through door `{}`", door.name.text);
            changes.push(Change { edits: vec![site.edit(end, " through")], said, size: 1.0 });
        }
    }
}

fn joint_forgotten(site: &Site<'_>, changes: &mut Vec<Change>) {
    let is_joint =
        |what: &What<'_>| matches!(what, What::Room(RoomEntry::Line(line)) if matches!(line.kind, LineExpr::Joint));
    forgotten(site, changes, is_joint);
}

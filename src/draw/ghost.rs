//! A room as it was, behind the room as it is: edges of what stood on the floor, cables, tails and conduits, in grey dashes.

use std::collections::HashSet;

use super::View;
use super::canvas::{Item, group, item, number, pair, path};
use super::palette as color;
use super::palette::width;
use crate::geometry::Point;
use crate::model::{Room, Shape};

/// A room as it was.
#[derive(Debug, Clone, Copy)]
pub struct Ghost<'a> {
    /// The room.
    pub room: &'a Room,
    /// What is to be added to its points for those of the room that is drawn, mm.
    pub offset: Point,
}

/// What was before is drawn by long dashes and two dots, which ISO 128-2 (recalled) has for other positions of what can be moved; mm of paper.
pub(super) const DASH: [f64; 6] = [3.0, 0.7, 0.3, 0.7, 0.3, 0.7];

/// What was and is no more, in floor coordinates.
pub(super) fn ghost(view: &View<'_>) -> Option<Item> {
    let Ghost { room, offset } = view.ghost?;
    let mm = |paper: f64| view.sheet.floor(paper);
    let dash = DASH.map(|length| number(mm(length), 4)).join(" ");
    let there: HashSet<String> = outlines(view.room, Point::zero()).into_iter().map(|(_, data)| data).collect();
    let mut whole = group("ghost");
    for (class, data) in outlines(room, offset).into_iter().filter(|(_, data)| !there.contains(data)) {
        let line = item("path").set("d", data).set("class", class).line(color::GREY, mm(width::MEDIUM));
        whole.push(line.set("stroke-dasharray", dash.as_str()));
    }
    Some(whole)
}

/// The edges and lines of what lies in a room, each with its class and as the data of a path, moved by a step.
fn outlines(room: &Room, by: Point) -> Vec<(&'static str, String)> {
    let data = |points: &[Point], closed: bool| {
        let moved: Vec<Point> = points.iter().map(|point| *point + by).collect();
        path(&moved, closed)
    };
    let mut all = vec![("outline", data(&room.corners, true))];
    let shapes = room.areas.iter().map(|area| &area.shape).chain(room.rugs.iter().map(|rug| &rug.shape));
    all.extend(shapes.map(|shape| match shape {
        Shape::Polygon(corners) => ("area", data(corners, true)),
        Shape::Circle { centre, radius } => ("area", circle(*centre + by, *radius)),
    }));
    all.extend(room.lines.iter().map(|line| ("line", data(&line.points, false))));
    for cable in &room.cables {
        let corners = cable.runs.iter().map(|run| run.end);
        let corners: Vec<Point> = cable.runs.first().map(|run| run.start).into_iter().chain(corners).collect();
        let second = cable.second_tail.iter().map(|tail| &tail.route);
        all.push(("runs", data(&corners, false)));
        all.extend(std::iter::once(&cable.tail).chain(second).map(|route| ("tail", data(route, false))));
    }
    all.extend(room.sensors.iter().map(|sensor| ("conduit", data(&sensor.conduit, false))));
    all.retain(|(_, data)| !data.is_empty());
    all
}

/// A circle as the data of a path: two half rounds.
fn circle(centre: Point, radius: f64) -> String {
    let side = Point { x: radius, y: 0.0 };
    let round = number(radius, 4);
    let half = |to: Point| format!("A{round} {round} 0 0 1 {}", pair(to));
    format!("M{}{}{}Z", pair(centre - side), half(centre + side), half(centre - side))
}

//! What was built otherwise than drawn, and photographs, on the drawing: a numbered square where each is.

use super::View;
use super::canvas::{Frame, Item, group, item, straight};
use super::labels::{Labels, around, nearest_edge};
use super::lettering::{self, CAPITAL, size};
use super::palette as color;
use super::palette::width;
use crate::model::Point;

/// Half the side of a square, mm.
const HALF: f64 = 1.7;

/// How many squares a sheet bears at the most.
const MOST_MARKED: usize = 200;

/// A numbered square, mm of paper.
pub(super) fn square(centre: Point, number: usize) -> Item {
    let text = number.to_string();
    let wide = lettering::width(&text, size::SMALL, true);
    let at = Point { x: centre.x - wide / 2.0, y: centre.y + size::SMALL * CAPITAL / 2.0 };
    let half = HALF.max(wide / 2.0 + 0.5);
    let frame = Frame { left: centre.x - half, top: centre.y - HALF, right: centre.x + half, bottom: centre.y + HALF };
    let edge = frame.item().line(color::INK, width::CABLE).set("fill", color::PAPER);
    group("note-number").set("data-note", number).with(edge).with(lettering::line(&text, at, size::SMALL, true))
}

/// The squares, each as near to its place as there is room.
pub(super) fn marks(view: &View<'_>, labels: &mut Labels) -> Option<Item> {
    let mut whole = group("notes-at");
    let mut any = false;
    let marks = view.room.record.iter().flat_map(|record| record.marks());
    for (number, at) in marks.take(MOST_MARKED) {
        any = true;
        let at = view.sheet.on_paper(at);
        let side = 2.0 * HALF + 0.4;
        let Some(spot) = labels.take(around(at, side, side), f64::INFINITY) else { continue };
        let near = nearest_edge(&spot.frame, at);
        let cross = item("path").set("class", "spot").set(
            "d",
            format!("M{} {}h1.4m-0.7 -0.7v1.4", super::canvas::number(at.x - 0.7, 3), super::canvas::number(at.y, 3)),
        );
        let own = group("note").with(straight(near, at, color::INK, width::THIN));
        whole.push(own.with(cross.line(color::INK, width::MEDIUM)).with(square(spot.frame.middle(), number)));
    }
    any.then_some(whole)
}

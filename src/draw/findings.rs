//! Findings on the drawing: a numbered disc where each is, and the list of them.

use super::View;
use super::canvas::{Item, group, item, straight};
use super::labels::{Labels, around, nearest_edge};
use super::lettering::{self, CAPITAL, size};
use super::palette as color;
use super::palette::width;
use crate::finding::{Finding, Severity};
use crate::model::Point;

/// Radius of a numbered disc, mm.
pub(super) const RADIUS: f64 = 1.9;

/// A finding with the number it bears in the whole plan, from 1.
pub(super) type Numbered<'a> = (usize, &'a Finding);

/// A numbered disc: dark for an error, light for a warning, broken for a note; agreed ones have a thin edge.
pub(super) fn disc(centre: Point, number: usize, finding: &Finding) -> Item {
    let text = number.to_string();
    let letters = if text.len() > 2 { 1.6 } else { size::SMALL };
    let wide = lettering::width(&text, letters, true);
    let at = Point { x: centre.x - wide / 2.0, y: centre.y + letters * CAPITAL / 2.0 };
    let dark = finding.severity == Severity::Error && finding.accepted.is_none();
    let (ground, letter) = if dark { (color::INK, color::PAPER) } else { (color::PAPER, color::INK) };
    let edge = if finding.accepted.is_some() { width::THIN } else { width::BROAD };
    let mut ring = item("circle")
        .num("cx", centre.x)
        .num("cy", centre.y)
        .num("r", RADIUS)
        .line(color::INK, edge)
        .set("fill", ground);
    if finding.severity == Severity::Note {
        ring = ring.set("stroke-dasharray", "0.9 0.6");
    }
    group("finding-number")
        .set("data-finding", number)
        .with(ring)
        .with(lettering::line(&text, at, letters, true).set("fill", letter))
}

/// How many findings a sheet marks: more than can be read there, and a bound on what it costs to find room for them.
pub(super) const MOST_MARKED: usize = 400;

/// The findings that a sheet marks: all that lie at a place, or the heaviest of them where there are too many.
fn marked<'f>(findings: &'f [Numbered<'f>]) -> Vec<&'f Numbered<'f>> {
    let mut marked: Vec<_> = findings.iter().filter(|(_, finding)| finding.at.is_some()).collect();
    if marked.len() > MOST_MARKED {
        marked.sort_by_key(|(_, finding)| (finding.accepted.is_some(), std::cmp::Reverse(finding.severity)));
        marked.truncate(MOST_MARKED);
        marked.sort_by_key(|(number, _)| *number);
    }
    marked
}

/// The discs, each as near to its place as there is room.
pub(super) fn marks(view: &View<'_>, findings: &[Numbered<'_>], labels: &mut Labels) -> Item {
    let mut whole = group("findings");
    for (number, finding) in marked(findings) {
        let Some(at) = finding.at else { continue };
        let at = view.sheet.on_paper(at);
        let side = 2.0 * RADIUS + 0.4;
        let Some(spot) = labels.take(around(at, side, side), f64::INFINITY) else { continue };
        let mut own = group("finding");
        let centre = spot.frame.middle();
        let near = nearest_edge(&spot.frame, at);
        own.push(straight(near, at, color::INK, width::MEDIUM));
        own.push(
            item("circle").set("class", "spot").num("cx", at.x).num("cy", at.y).num("r", 0.6).set("fill", color::INK),
        );
        whole.push(own.with(disc(centre, *number, finding)));
    }
    whole
}

/// Height of a line of the list, mm.
const LINE: f64 = 3.5;

/// What the list says of a finding, broken into lines.
fn lines_of(view: &View<'_>, finding: &Finding, wide: f64) -> (String, Vec<String>) {
    let place = finding.place();
    let file = view.plan.sources.get(place.file);
    let line = file.map_or(0, |file| file.line_and_column(place.span.start()).0);
    let head = format!("{} {} · line {line}", finding.severity.word(), finding.rule);
    let agreed = finding.accepted.as_ref().map(|accepted| format!(" (agreed: {})", accepted.reason));
    let text = format!("{}{}", finding.message, agreed.unwrap_or_default()).replace('`', "");
    (head, lettering::wrap(&text, size::BODY, false, wide, 5))
}

/// The list in a box of a width, and how high it came out, mm. What goes beyond `most` mm is counted only.
pub(super) fn list(view: &View<'_>, findings: &[Numbered<'_>], wide: f64, most: f64) -> (Item, f64) {
    let mut whole = group("finding-list");
    let indent = 2.0 * RADIUS + 1.6;
    let mut y = 0.0;
    for (count, (number, finding)) in findings.iter().enumerate() {
        let (head, lines) = lines_of(view, finding, wide - indent);
        let own = LINE * (lines.len() + 1) as f64 + 1.4;
        let left = findings.len() - count;
        let reserve = if left > 1 { LINE } else { 0.0 };
        if y + own + reserve > most {
            let placed = findings.iter().filter(|(_, finding)| finding.at.is_some()).count();
            let marked = if placed > MOST_MARKED { format!("; {MOST_MARKED} are marked") } else { String::new() };
            let words = format!("and {left} more: layrule check lists them all{marked}");
            whole.push(lettering::line(&words, Point { x: indent, y: y + 2.6 }, size::BODY, false));
            y += LINE;
            break;
        }
        whole.push(disc(Point { x: RADIUS + 0.2, y: y + RADIUS + 0.2 }, *number, finding));
        let head = lettering::shorten(&head, size::BODY, true, wide - indent);
        whole.push(lettering::line(&head, Point { x: indent, y: y + 2.6 }, size::BODY, true));
        for (row, text) in lines.iter().enumerate() {
            let at = Point { x: indent, y: y + 2.6 + LINE * (row + 1) as f64 };
            whole.push(lettering::line(text, at, size::BODY, false));
        }
        y += own;
    }
    (whole, y)
}

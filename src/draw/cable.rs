//! Heating cables: their path with rounded turns, direction, run numbers, ends, cold tails.

use std::fmt::Write as _;

use super::View;
use super::canvas::{Frame, Item, group, item, number, pair, path};
use super::labels::{BARRED, Labels, Spot, UNWANTED, Words};
use super::lettering::size;
use super::palette as color;
use super::palette::width;
use crate::geometry::{Piece, along, cross, distance};
use crate::measure::length::{laid_length, places_along, turns};
use crate::model::{Cable, Mat, Point, Run};

/// A cable's path with each corner rounded to the bending radius, mm, or to what it has room for where that is less: the curve that
/// [`laid_length`](crate::measure::length::laid_length) reckons with.
pub(super) fn rounded(runs: &[Run], bend_radius: f64) -> String {
    let (Some(first), Some(last)) = (runs.first(), runs.last()) else { return String::new() };
    let mut data = format!("M{}", pair(first.start));
    for turn in turns(runs) {
        let (before, after) = (&runs[turn.run], &runs[turn.run + 1]);
        let radius = turn.radius.min(bend_radius);
        if radius <= 0.0 {
            let _ = write!(data, "L{}", pair(before.end));
            continue;
        }
        let tangent = radius * turn.half_tangent;
        let from = along(before.end, before.start, tangent / before.length());
        let to = along(after.start, after.end, tangent / after.length());
        let left = cross(before.end - before.start, after.end - after.start) > 0.0;
        let radius = number(radius, 4);
        // In floor coordinates, where y grows north, a turn to the left sweeps towards growing angles.
        let _ = write!(data, "L{}A{radius} {radius} 0 0 {} {}", pair(from), u8::from(left), pair(to));
    }
    let _ = write!(data, "L{}", pair(last.end));
    data
}

/// The radius that a cable's turns are drawn with, mm: its kit's, or all that there is room for.
pub(super) fn bend_radius(view: &View<'_>, cable: &Cable) -> f64 {
    let kit = cable.kit.and_then(|kit| view.plan.kits.get(kit));
    kit.and_then(|kit| kit.bend_radius).unwrap_or_else(|| view.sheet.floor(2.0))
}

/// The shade of a room's cable and the dashes of its line, mm of paper, by which it is told from its neighbours.
pub(super) fn style(index: usize) -> (&'static str, &'static [f64]) {
    color::CABLES[index % color::CABLES.len()]
}

/// The cold tails, the cables and their ends, in floor coordinates.
pub(super) fn cables(view: &View<'_>) -> Item {
    let mut whole = group("cables");
    let mm = |paper: f64| view.sheet.floor(paper);
    for (index, cable) in view.room.cables.iter().enumerate() {
        let mut own = group("cable").set("data-name", cable.name.text.as_str());
        for (route, sleeves) in tails(view, cable) {
            let dash = [1.8, 0.9].map(|length| number(mm(length), 4)).join(" ");
            let drawn = item("path").set("class", "tail").set("d", path(&route, false));
            own.push(drawn.line(color::TAIL, mm(width::CABLE)).set("stroke-dasharray", dash));
            own.extend(sleeves.iter().flat_map(|joint| sleeve(view, &route, *joint)));
        }
        if let Some(mat) = mat(view, cable) {
            let mesh =
                item("path").set("class", "mat").set("d", rounded(&cable.runs, 0.0)).line(color::MAT, mat.spacing);
            own.push(mesh.set("stroke-linejoin", "miter").set("stroke-linecap", "square"));
        }
        let drawn = item("path")
            .set("class", "runs")
            .set("id", format!("cable-{}", index + 1))
            .set("data-runs", cable.runs.len())
            .set("d", rounded(&cable.runs, bend_radius(view, cable)));
        let (shade, dash) = style(index);
        let mut drawn = drawn.line(shade, mm(width::CABLE)).set("stroke-linejoin", "round");
        if !dash.is_empty() {
            let dash: Vec<String> = dash.iter().map(|length| number(mm(*length), 4)).collect();
            drawn = drawn.set("stroke-dasharray", dash.join(" "));
        }
        own.push(drawn);
        own.push(item("path").set("class", "direction").set("d", arrows(view, cable)).set("fill", shade));
        own.extend(metre_marks(view, cable));
        own.extend(ends(view, cable));
        whole.push(own);
    }
    whole
}

/// The mat that holds a cable.
pub(super) fn mat(view: &View<'_>, cable: &Cable) -> Option<Mat> {
    cable.kit.and_then(|kit| view.plan.kits.get(kit)).and_then(|kit| kit.mat)
}

/// A cable's cold tails, each from its junction box to the cable, and the joints (lines of the room) that it crosses in a sleeve.
fn tails<'v>(view: &'v View<'_>, cable: &'v Cable) -> impl Iterator<Item = (Vec<Point>, &'v [usize])> {
    let first = (cable.junction, &cable.tail, &cable.sleeves[..]);
    let second = cable.second_tail.iter().map(|tail| (tail.junction, &tail.route, &tail.sleeves[..]));
    std::iter::once(first).chain(second).filter(|(_, route, _)| !route.is_empty()).filter_map(
        |(from, route, sleeves)| {
            let junction = from.and_then(|junction| view.room.junctions.get(junction)).map(|junction| junction.at);
            let mut route: Vec<Point> = junction.into_iter().chain(route.iter().copied()).collect();
            route.dedup();
            (route.len() > 1).then_some((route, sleeves))
        },
    )
}

/// How far a sleeve reaches to each side of its joint on paper, mm.
const SLEEVE: f64 = 2.2;

/// A sleeve round a tail where it crosses a joint: a line on each side of it.
fn sleeve(view: &View<'_>, route: &[Point], joint: usize) -> Vec<Item> {
    let mm = |paper: f64| view.sheet.floor(paper);
    let Some(line) = view.room.lines.get(joint) else { return Vec::new() };
    let pieces = Piece::of_line(route).flat_map(|own| Piece::of_line(&line.points).map(move |other| (own, other)));
    let crossed = pieces.filter_map(|(own, other)| {
        let near = own.approach(other);
        (near.distance == 0.0 && own.length() > 0.0).then(|| (own.along(near.first), own.step() / own.length()))
    });
    crossed
        .flat_map(|(at, way)| {
            let side = Point { x: -way.y, y: way.x } * mm(0.7);
            [side, side * -1.0].map(|side| {
                let ends = [at - way * mm(SLEEVE) + side, at + way * mm(SLEEVE) + side];
                item("path").set("class", "sleeve").set("d", path(&ends, false)).line(color::TAIL, mm(width::THIN))
            })
        })
        .collect()
}

/// Start: a disc. End: a bar across.
fn ends(view: &View<'_>, cable: &Cable) -> Vec<Item> {
    let (Some(first), Some(last)) = (cable.runs.first(), cable.runs.last()) else { return Vec::new() };
    let mm = |paper: f64| view.sheet.floor(paper);
    let step = (last.end - last.start) / last.length();
    let side = Point { x: -step.y, y: step.x } * mm(0.9);
    let disc = item("circle")
        .set("class", "start")
        .set("cx", number(first.start.x, 4))
        .set("cy", number(first.start.y, 4))
        .set("r", number(mm(0.8), 4))
        .set("fill", color::CABLE);
    let bar = item("path").set("class", "end").set("d", path(&[last.end - side, last.end + side], false));
    vec![disc, bar.line(color::CABLE, mm(0.7))]
}

/// How long a run must be on paper to carry an arrow or a number, mm.
const CARRIES: f64 = 9.0;
/// How many runs apart arrows stand.
const EVERY: usize = 8;

/// Arrow heads on some of a cable's long runs, the first and the last among them.
fn arrows(view: &View<'_>, cable: &Cable) -> String {
    let mut data = String::new();
    let long: Vec<&Run> = cable.runs.iter().filter(|run| run.length() >= view.sheet.floor(CARRIES)).collect();
    // A plan of very many runs needs no more than can be seen.
    let every = EVERY.max(long.len() / 200);
    for (count, run) in long.iter().enumerate() {
        if count % every != 0 && count + 1 != long.len() {
            continue;
        }
        let step = (run.end - run.start) / run.length();
        let side = Point { x: -step.y, y: step.x };
        let mm = |paper: f64| view.sheet.floor(paper);
        let tip = along(run.start, run.end, 0.5) + step * mm(1.1);
        let back = tip - step * mm(2.2);
        let _ = write!(
            data,
            "M{}L{}L{}L{}Z",
            pair(tip),
            pair(back + side * mm(0.75)),
            pair(tip - step * mm(1.6)),
            pair(back - side * mm(0.75))
        );
    }
    data
}

/// The pieces that labels keep off: runs and tails, on paper.
pub(super) fn pieces<'v>(view: &'v View<'_>) -> impl Iterator<Item = Piece> + 'v {
    let runs = view.room.cables.iter().flat_map(|cable| &cable.runs).map(Run::piece);
    let tails = view.room.cables.iter().flat_map(|cable| {
        let pieces = tails(view, cable).flat_map(|(route, _)| Piece::of_line(&route).collect::<Vec<_>>());
        pieces.collect::<Vec<_>>()
    });
    runs.chain(tails).map(|piece| Piece::new(view.sheet.on_paper(piece.start), view.sheet.on_paper(piece.end)))
}

/// The words at a cable's two ends.
pub(super) fn end_labels(view: &View<'_>, labels: &mut Labels) -> Item {
    let mut whole = group("ends");
    for cable in &view.room.cables {
        let (Some(first), Some(last)) = (cable.runs.first(), cable.runs.last()) else { continue };
        for (word, at) in [("starts", first.start), ("ends", last.end)] {
            let words = Words::sized(&format!("{} {word}", cable.name.text), size::SMALL).colored(color::CABLE);
            let at = view.sheet.on_paper(at);
            labels.bar_sign(Frame { left: at.x, top: at.y, right: at.x, bottom: at.y }.grown(0.9), UNWANTED);
            whole.extend(words.put_around(labels, at, "end"));
        }
    }
    whole
}

/// How far from the run's western or southern end its number is tried, mm of paper.
const ALONG: [f64; 6] = [5.0, 9.0, 14.0, 20.0, 27.0, 35.0];

/// How many of a cable's runs may bear numbers: more than a sheet has room for.
const MOST_NUMBERED: usize = 50_000;

/// Run numbers, each on its own run, which is broken for it.
pub(super) fn run_numbers(view: &View<'_>, labels: &mut Labels) -> Item {
    let mut whole = group("run-numbers").set("fill", color::CABLE).set("font-size", size::SMALL.to_string());
    for cable in &view.room.cables {
        for (number, run) in cable.runs.iter().enumerate().take(MOST_NUMBERED) {
            if run.length() < view.sheet.floor(CARRIES) {
                continue;
            }
            let text = (number + 1).to_string();
            let words = Words::sized(&text, size::SMALL).colored(color::CABLE).grounded();
            let piece = (view.sheet.on_paper(run.start), view.sheet.on_paper(run.end));
            let taken = labels.take_on(piece, number_spots(piece, words.extent()));
            whole.extend(taken.map(|spot| words.draw(&spot, "run-number").set("data-run", number + 1)));
        }
    }
    whole
}

/// Spots on a run, the words along it.
fn number_spots((start, end): (Point, Point), (wide, high): (f64, f64)) -> impl Iterator<Item = Spot> {
    let (west, east) = if (start.x, -start.y) <= (end.x, -end.y) { (start, end) } else { (end, start) };
    let length = distance(west, east);
    let step = (east - west) / length;
    let upright = step.y.abs() > step.x.abs();
    let (wide, high) = if upright { (high, wide) } else { (wide, high) };
    // The arrow that some runs bear in their middles stays clear.
    let clear = move |at: &f64| at + wide.max(high) < length && (at - length / 2.0).abs() > wide.max(high) / 2.0 + 1.8;
    ALONG.into_iter().filter(clear).map(move |at| {
        let centre = west + step * at;
        let frame = Frame::new(centre.x - wide / 2.0, centre.y - high / 2.0, wide, high);
        Spot { frame, upright, leader: None, worse: 0.0 }
    })
}

/// The metre marks that cables bear in print: every so many m.
const MARKED: f64 = 5.0;
/// How many marks of a cable are drawn.
const MOST_MARKS: f64 = 400.0;

/// A place on a cable: how much of it lies before it, m, and which way it goes on.
struct Mark {
    metres: f64,
    at: Point,
    step: Point,
}

/// The marks on a cable's path as it is drawn, rounded corners and all.
fn marks(view: &View<'_>, cable: &Cable) -> Vec<Mark> {
    // They tell how long a cable is as laid.
    if !view.figures {
        return Vec::new();
    }
    let whole = laid_length(&cable.runs, bend_radius(view, cable)) / 1e3;
    let every = [1.0, 2.0, 4.0, 10.0, 20.0, 100.0, 1000.0].map(|times| MARKED * times);
    let Some(every) = every.into_iter().find(|every| whole / every <= MOST_MARKS) else { return Vec::new() };
    let lengths = (1..).map(|count| f64::from(count) * every).take_while(|metres| *metres < whole - 1e-9);
    let wanted: Vec<f64> = lengths.map(|metres| metres * 1e3).collect();
    let places = places_along(&cable.runs, bend_radius(view, cable), &wanted);
    wanted.iter().zip(places).map(|(length, (at, step))| Mark { metres: length / 1e3, at, step }).collect()
}

/// Strokes across a cable at its metre marks, in floor coordinates.
fn metre_marks(view: &View<'_>, cable: &Cable) -> Option<Item> {
    let marks = marks(view, cable);
    let mut data = String::new();
    for mark in &marks {
        let side = Point { x: -mark.step.y, y: mark.step.x } * view.sheet.floor(0.7);
        let _ = write!(data, "M{}L{}", pair(mark.at - side), pair(mark.at + side));
    }
    let metres: Vec<String> = marks.iter().map(|mark| number(mark.metres, 1)).collect();
    let strokes = item("path").set("class", "metre-marks").set("data-metres", metres.join(" ")).set("d", data);
    (!marks.is_empty()).then(|| strokes.line(color::CABLE, view.sheet.floor(width::MEDIUM)))
}

/// How many metres of each cable lie before its marks, beside those that have room for it.
pub(super) fn metre_numbers(view: &View<'_>, labels: &mut Labels) -> Item {
    let mut whole = group("metres").set("fill", color::CABLE);
    for cable in &view.room.cables {
        for mark in marks(view, cable) {
            let words = Words::sized(&format!("{} m", number(mark.metres, 1)), size::SMALL).colored(color::CABLE);
            let (wide, high) = words.extent();
            let step = Point { x: mark.step.x, y: -mark.step.y };
            let at = view.sheet.on_paper(mark.at);
            let upright = step.y.abs() > step.x.abs();
            let (wide, high) = if upright { (high, wide) } else { (wide, high) };
            let side = Point { x: step.y, y: -step.x };
            let off = (wide * side.x.abs() + high * side.y.abs()) / 2.0 + 0.5;
            let spots = [0.0, 0.5, -0.5].into_iter().flat_map(|shift| {
                [1.0, -1.0].into_iter().map(move |hand| {
                    // Past the stroke's end where it stands over it.
                    let centre = at
                        + side * (hand * (off + if shift == 0.0 { 0.5 } else { 0.0 }))
                        + step * (shift * (wide.max(high) + 0.8));
                    let frame = Frame::new(centre.x - wide / 2.0, centre.y - high / 2.0, wide, high);
                    Spot { frame, upright, leader: None, worse: shift.abs() + if hand < 0.0 { 0.1 } else { 0.0 } }
                })
            });
            whole.extend(labels.take(spots, BARRED - 1.0).map(|spot| words.draw(&spot, "metre")));
        }
    }
    whole
}

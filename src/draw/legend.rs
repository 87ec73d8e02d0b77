//! The legend: a sample and a word for each thing that the drawing holds. Also the scale bar and the arrow to the north.

use super::View;
use super::canvas::{Item, group, item, number, path, straight};
use super::ghost;
use super::lettering::{self, size};
use super::palette as color;
use super::palette::width;
use super::sheet::FOOT;
use crate::model::{AreaKind, Cable, LineKind, Point};

/// Width of a sample, mm.
const SAMPLE: f64 = 9.0;
/// Height of an entry, mm.
pub(super) const ENTRY: f64 = 4.1;

fn p(x: f64, y: f64) -> Point {
    Point { x, y }
}

/// A sample line.
fn stroke(stroke_color: &str, wide: f64, dash: Option<&str>) -> Item {
    let line = straight(p(0.0, 0.0), p(SAMPLE, 0.0), stroke_color, wide);
    match dash {
        Some(dash) => line.set("stroke-dasharray", dash),
        None => line,
    }
}

/// A sample field. The floor's hatches are drawn in floor coordinates, so samples have strokes of their own.
fn field(ground: &str, edge: &str, hatch: Option<(f64, bool)>) -> Item {
    let mut whole = item("g").with(
        item("rect")
            .num("x", 0.0)
            .num("y", -1.4)
            .num("width", SAMPLE)
            .num("height", 2.8)
            .line(edge, width::MEDIUM)
            .set("fill", ground),
    );
    if let Some((step, both)) = hatch {
        let mut data = String::new();
        let mut x = 0.0;
        while x + 2.8 <= SAMPLE + 1e-9 {
            data.push_str(&path(&[p(x, 1.4), p(x + 2.8, -1.4)], false));
            if both {
                data.push_str(&path(&[p(x, -1.4), p(x + 2.8, 1.4)], false));
            }
            x += step;
        }
        whole.push(item("path").set("d", data).line(edge, width::FINE));
    }
    whole
}

/// What the drawing holds, each with its sample.
fn entries(view: &View<'_>) -> Vec<(Item, String)> {
    let room = view.room;
    let mut found: Vec<(Item, &'static str)> = Vec::new();
    let cables = cable_samples(view);
    let area = |wanted: fn(&AreaKind) -> bool| room.areas.iter().any(|area| wanted(&area.kind));
    let line = |wanted: fn(&LineKind) -> bool| room.lines.iter().any(|line| wanted(&line.kind));
    if !room.cables.is_empty() {
        let disc = item("circle").num("cx", 2.0).num("cy", 0.0).num("r", 0.8).set("fill", color::CABLE);
        found.push((item("g").with(stroke(color::CABLE, width::CABLE, None)).with(disc), "cold joint"));
        let bar = straight(p(7.0, -0.9), p(7.0, 0.9), color::CABLE, 0.7);
        let two_tails = room.cables.iter().any(|cable| cable.second_tail.is_some());
        let end = if two_tails { "its far end" } else { "end termination" };
        found.push((item("g").with(stroke(color::CABLE, width::CABLE, None)).with(bar), end));
    }
    if room.cables.iter().any(|cable| super::cable::mat(view, cable).is_some()) {
        let mesh = item("rect").num("x", 0.0).num("y", -1.2).num("width", SAMPLE).num("height", 2.4);
        let mesh = item("g").with(mesh.set("fill", color::MAT)).with(stroke(color::CABLE, width::CABLE, None));
        found.push((mesh, "mat: cable on its mesh"));
    }
    if room.cables.iter().any(|cable| !cable.tail.is_empty() || cable.second_tail.is_some()) {
        found.push((stroke(color::TAIL, width::CABLE, Some("1.8 0.9")), "cold tail"));
    }
    let second = |cable: &Cable| cable.second_tail.as_ref().is_some_and(|tail| !tail.sleeves.is_empty());
    if room.cables.iter().any(|cable| !cable.sleeves.is_empty() || second(cable)) {
        let sides = item("path").set("d", "M2 -0.7H7M2 0.7H7").line(color::TAIL, width::THIN);
        found.push((item("g").with(stroke(color::TAIL, width::CABLE, Some("1.8 0.9"))).with(sides), "sleeve"));
    }
    if !room.junctions.is_empty() {
        let square = item("rect").num("x", 3.4).num("y", -1.1).num("width", 2.2).num("height", 2.2);
        let cross = item("path").set("d", "M3.4 -1.1L5.6 1.1M5.6 -1.1L3.4 1.1").line(color::TAIL, width::THIN);
        found.push((item("g").with(square.line(color::TAIL, width::CABLE)).with(cross), "junction box"));
    }
    if !room.thermostats.is_empty() {
        let disc = |r: f64| item("circle").num("cx", 4.5).num("cy", 0.0).num("r", r);
        found.push((
            item("g").with(disc(1.25).line(color::INK, width::CABLE)).with(disc(0.5).set("fill", color::INK)),
            "thermostat",
        ));
    }
    if !room.sensors.is_empty() {
        let dots = stroke(color::SENSOR, 0.5, Some("0.01 0.9")).set("stroke-linecap", "round");
        let tip = item("path").set("d", "M7.8 0L9 -0.8L10.2 0L9 0.8Z").set("fill", color::SENSOR);
        found.push((item("g").with(dots).with(tip), "sensor in its conduit"));
    }
    if room.walls.iter().any(|wall| wall.outside) {
        found.push((stroke(color::OUTSIDE_WALL, width::WALL, None), "outside wall"));
    }
    let jambs = || item("path").set("d", "M0 -0.8V0.8M9 -0.8V0.8").line(color::INK, width::BROAD);
    if line(|kind| matches!(kind, LineKind::Door { through: false, .. })) {
        found.push((item("g").with(stroke(color::GREY, width::THIN, None)).with(jambs()), "door"));
    }
    if line(|kind| matches!(kind, LineKind::Door { through: true, .. })) {
        let thin = stroke(color::GREY, width::THIN, Some("0.8 0.8"));
        found.push((item("g").with(thin).with(jambs()), "door, tiles go through"));
    }
    if area(|kind| matches!(kind, AreaKind::Fixture { raised: None, .. })) {
        found.push((field(color::FIXTURE_GROUND, color::FIXTURE, Some((1.55, false))), "fixture on the floor"));
    }
    if area(|kind| matches!(kind, AreaKind::Fixture { raised: Some(_), .. })) {
        let edge = item("rect").num("x", 0.0).num("y", -1.4).num("width", SAMPLE).num("height", 2.8);
        found
            .push((edge.line(color::FIXTURE, width::MEDIUM).set("stroke-dasharray", "1.8 1"), "fixture off the floor"));
    }
    if !room.rugs.is_empty() {
        let edge = item("rect").num("x", 0.0).num("y", -1.4).num("width", SAMPLE).num("height", 2.8);
        found.push((edge.line(color::RUG, width::MEDIUM).set("stroke-dasharray", "0.6 0.6"), "rug or flat furniture"));
    }
    if area(|kind| matches!(kind, AreaKind::Drill)) {
        found.push((field(color::PAPER, color::DRILL, Some((1.0, true))), AreaKind::Drill.word()));
    }
    if area(|kind| matches!(kind, AreaKind::Level { .. })) {
        found.push((field(color::LEVEL_GROUND, color::LEVEL, None), "another level"));
    }
    if room.areas.iter().any(|area| area.rises.is_some()) {
        let arrow = item("path").set("d", "M0.5 0H8.5M6.3 -0.9L8.5 0L6.3 0.9").line(color::LEVEL, width::MEDIUM);
        found.push((arrow, "stairs, the way up"));
    }
    if line(|kind| matches!(kind, LineKind::Partition(_))) {
        found.push((stroke(color::WALL, width::WALL, None), "partition"));
    }
    if line(|kind| matches!(kind, LineKind::Joint)) {
        found.push((stroke(color::JOINT, width::BROAD, Some("5 1.2 0.5 1.2")), "movement joint"));
    }
    if line(|kind| matches!(kind, LineKind::Pipe(_))) {
        found.push((item("g").with(stroke(color::PIPE, 1.1, None)).with(stroke(color::PAPER, 0.7, None)), "pipe"));
    }
    if room.record.iter().any(|record| record.marks().next().is_some()) {
        found.push((super::notes::square(p(4.5, 0.0), 1), "note or photograph"));
    }
    if view.ghost.is_some() {
        let dash = ghost::DASH.map(|length| number(length, 3)).join(" ");
        found.push((stroke(color::GREY, width::MEDIUM, Some(&dash)), "as it was before"));
    }
    found.extend(super::findings::samples(view.marks, SAMPLE));
    cables.into_iter().chain(found.into_iter().map(|(sample, words)| (sample, words.to_string()))).collect()
}

/// How many cables the legend tells apart.
const MOST_CABLES: usize = 6;

/// The cables, each as it is drawn.
fn cable_samples(view: &View<'_>) -> Vec<(Item, String)> {
    let cables = &view.room.cables;
    let sample = |index: usize| {
        let (shade, dash) = super::cable::style(index);
        let dash: Vec<String> = dash.iter().map(|length| number(*length, 3)).collect();
        let dash = (!dash.is_empty()).then(|| dash.join(" "));
        let arrow = item("path").set("d", "M5.6 0L3.4 -0.75L4 0L3.4 0.75Z").set("fill", shade);
        item("g").with(stroke(shade, width::CABLE, dash.as_deref())).with(arrow)
    };
    let marked = || {
        let mark = straight(p(4.5, -0.8), p(4.5, 0.8), color::CABLE, width::MEDIUM);
        (item("g").with(stroke(color::CABLE, width::CABLE, None)).with(mark), "metres from the joint".to_string())
    };
    let words = |name: &str| if cables.len() > 1 { format!("cable {name}") } else { "heating cable, way laid".into() };
    let own =
        cables.iter().enumerate().take(MOST_CABLES).map(|(index, cable)| (sample(index), words(&cable.name.text)));
    own.chain((!cables.is_empty() && view.figures).then(marked)).collect()
}

/// The legend in two columns, so wide, and its height, mm.
pub(super) fn legend(view: &View<'_>, wide: f64) -> (Item, f64) {
    let mut whole = group("legend");
    let found = entries(view);
    let rows = found.len().div_ceil(2);
    let column = wide / 2.0;
    for (index, (sample, words)) in found.into_iter().enumerate() {
        let (x, y) = ((index / rows.max(1)) as f64 * column, (index % rows.max(1)) as f64 * ENTRY + 1.6);
        whole.push(sample.set("transform", format!("translate({} {})", number(x, 3), number(y, 3))));
        let left = x + SAMPLE + 2.0;
        let words = lettering::shorten(&words, size::BODY, false, column - SAMPLE - 2.5);
        whole.push(lettering::line(&words, p(left, y + 0.85), size::BODY, false));
    }
    (whole, rows as f64 * ENTRY)
}

/// The scale bar and the arrow to the north, at the foot of the drawing.
pub(super) fn scale_bar(view: &View<'_>) -> Item {
    let sheet = &view.sheet;
    // The longest round length that takes no more than 50 mm of paper.
    let most = 50.0 * sheet.scale;
    let decade = 10f64.powf(most.log10().floor());
    let whole_length =
        [5.0, 2.0, 1.0].into_iter().map(|step| step * decade).find(|length| *length <= most).unwrap_or(decade);
    let long = whole_length / sheet.scale;
    // Beside the title block, or at the foot of the floor.
    let foot = if sheet.beside { sheet.title.top + FOOT } else { sheet.drawing.bottom };
    let (left, base) = (sheet.drawing.left + 19.0, foot - FOOT / 2.0 + 1.5);
    let mut bar = group("scale-bar").set("data-mm", number(whole_length, 3));
    for (index, ground) in [color::INK, color::PAPER].into_iter().enumerate() {
        let half = item("rect")
            .num("x", left + long / 2.0 * index as f64)
            .num("y", base)
            .num("width", long / 2.0)
            .num("height", 1.2);
        bar.push(half.line(color::INK, width::THIN).set("fill", ground));
    }
    let (unit, name) = if whole_length >= 1000.0 { (1000.0, " m") } else { (1.0, " mm") };
    for (share, tail) in [(0.0, ""), (0.5, ""), (1.0, name)] {
        let words = format!("{}{tail}", number(whole_length * share / unit, 3));
        let figures = number(whole_length * share / unit, 3);
        let x = left + long * share - lettering::width(&figures, size::SMALL, false) / 2.0;
        bar.push(lettering::line(&words, p(x, base - 0.9), size::SMALL, false));
    }
    let words = format!("1:{} · dimensions in mm", number(sheet.scale, 0));
    bar.push(lettering::line(&words, p(left + long + 9.0, base + 1.2), size::BODY, false));
    group("foot").with(bar).with(north(view, p(sheet.drawing.left + 5.5, base - 2.4)))
}

/// The arrow to the north round a point. Where the plan doesn't say how the building lies, it is the plan's own north.
fn north(view: &View<'_>, at: Point) -> Item {
    let needle = |points: [(f64, f64); 3]| path(&points.map(|(x, y)| at + p(x, y)), true);
    let outline = path(&[(0.0, -3.6), (1.8, 3.6), (0.0, 2.0), (-1.8, 3.6)].map(|(x, y)| at + p(x, y)), true);
    let arrow = item("g")
        .with(item("path").set("d", outline).line(color::INK, width::THIN).set("stroke-linejoin", "round"))
        .with(item("path").set("d", needle([(0.0, -3.6), (0.0, 2.0), (-1.8, 3.6)])).set("fill", color::INK));
    let own = group("north");
    let words = |text: &str, y: f64| lettering::line(text, p(at.x + 2.9, at.y + y), size::SMALL, false);
    match view.plan.north {
        None => own.with(arrow).with(words("plan", -1.2)).with(words("north", 1.7)),
        Some(angle) => {
            let turn = format!("rotate({} {} {})", number(angle, 3), number(at.x, 3), number(at.y, 3));
            let letter = lettering::line("N", p(at.x + 4.4, at.y - 0.6), size::HEADING, true);
            own.set("data-degrees", number(angle, 3)).with(arrow.set("transform", turn)).with(letter)
        }
    }
}

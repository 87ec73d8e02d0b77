//! The floor shaded by its surface temperature, with isotherms.

use std::fmt::Write as _;

use contour::ContourBuilder;
use geo::{Coord, LineString, Polygon, Simplify as _};

use super::View;
use super::canvas::{Frame, Item, group, item, number, pair, path};
use super::labels::{BARRED, Labels, Spot, Words};
use super::lettering::{self, size};
use super::palette as color;
use super::palette::width;
use crate::measure::temperature_map::{TemperatureMap, Warmth};
use crate::model::Point;

/// Where one colour gives way to the next and an isotherm is drawn, degC, the same on every sheet: whole numbers between which a floor that
/// is too warm and one that isn't tell apart.
pub const EDGES: [f64; 10] = [17.0, 19.0, 21.0, 23.0, 25.0, 27.0, 29.0, 31.0, 33.0, 35.0];

/// Colours below, between and above them: each darker than the one before, so that they rank in grey too, and all light enough for a
/// cable to show.
const RAMP: [&str; EDGES.len() + 1] = [
    "#FCFAF1", "#F9F3DF", "#F6EACB", "#F2DFB8", "#EDD2A6", "#E7C497", "#E0B58A", "#D8A57E", "#CE9473", "#C38269",
    "#B66F60",
];

/// The colour for a temperature, degC.
pub fn color(temperature: f64) -> &'static str {
    RAMP[EDGES.iter().filter(|edge| temperature >= **edge).count()]
}

/// How far a line may be moved that is drawn with fewer points, in cells.
const STRAIGHTENED: f64 = 0.1;

/// What is at least so warm, in cells; nothing where no floor is.
fn warmer(map: &TemperatureMap, edge: f64) -> Vec<Polygon<f64>> {
    let raster = map.raster();
    let builder = ContourBuilder::new(raster.columns, raster.rows, true);
    // It refuses nothing but a field of another size than its columns and rows.
    let found = builder.contours(map.cells(), &[edge]).unwrap_or_default();
    let polygons = found.into_iter().flat_map(|contour| contour.into_inner().0.0);
    polygons.map(|polygon| polygon.simplify(STRAIGHTENED)).collect()
}

/// The floor in its colours, the cooler ones below the warmer; in floor coordinates.
pub(super) fn floor(view: &View<'_>, map: &TemperatureMap) -> Item {
    let raster = map.raster();
    let outline = path(&view.room.corners, true);
    let clip = item("clipPath").set("id", "room").with(item("path").set("d", outline.clone()));
    let mut whole = group("heat").set("clip-path", "url(#room)").with(item("defs").with(clip));
    let coolest = map.cells().iter().copied().fold(f64::INFINITY, f64::min);
    whole.push(item("path").set("class", "warmth").set("d", outline).set("fill", color(coolest)));
    let line = view.sheet.floor(width::FINE);
    for edge in EDGES.into_iter().filter(|edge| *edge > coolest) {
        let mut data = String::new();
        for polygon in warmer(map, edge) {
            for ring in std::iter::once(polygon.exterior()).chain(polygon.interiors()) {
                ring_data(&mut data, ring, |Coord { x, y }| raster.point((x, y)));
            }
        }
        if data.is_empty() {
            break;
        }
        let own = item("path").set("class", "warmth").set("data-degC", number(edge, 1)).set("d", data);
        let own = own.set("fill", color(edge)).set("fill-rule", "evenodd");
        whole.push(own.set("stroke", color::GREY).set("stroke-width", number(line, 4)));
    }
    whole
}

fn ring_data(data: &mut String, ring: &LineString<f64>, place: impl Fn(Coord<f64>) -> Point) {
    // The last point of a ring is its first again.
    for (index, at) in ring.0.iter().take(ring.0.len().saturating_sub(1)).enumerate() {
        let _ = write!(data, "{}{}", if index == 0 { "M" } else { "L" }, pair(place(*at)));
    }
    data.push('Z');
}

/// How many isotherms of one temperature bear it, the longest first.
const MOST_NAMED: usize = 4;
/// How long one must be, mm of paper, for more than the longest to be named.
const NAMED: f64 = 25.0;
/// At how many places along it that is tried.
const TRIED: usize = 240;

/// The temperatures of the isotherms, and the warmest and the coolest place of the floor, on paper.
pub(super) fn labels(view: &View<'_>, map: &TemperatureMap, labels: &mut Labels) -> Item {
    let mut whole = group("isotherms");
    let free = view.measure.free_cells(map, 0.0);
    for (word, place) in [("warmest", map.warmest(&free)), ("coolest", map.coolest(&free))] {
        whole.extend(place.and_then(|place| mark(view, labels, word, place)));
    }
    let raster = map.raster();
    let on_floor = |at: Point| raster.cell_at(at).is_some_and(|cell| free[cell]);
    // Along the sides of the box what is warmer ends, and no isotherm runs.
    let within = |at: f64, most: usize| (1.0..most as f64 - 1.0).contains(&at);
    let coolest = map.cells().iter().copied().fold(f64::INFINITY, f64::min);
    for edge in EDGES.into_iter().filter(|edge| *edge > coolest) {
        let polygons = warmer(map, edge);
        let rings = polygons.iter().flat_map(|polygon| std::iter::once(polygon.exterior()).chain(polygon.interiors()));
        let mut rings: Vec<(f64, Vec<Point>)> = rings
            .map(|ring| {
                let places = spaced(ring).filter(|at| within(at.x, raster.columns) && within(at.y, raster.rows));
                let places = places.map(|Coord { x, y }| raster.point((x, y))).filter(|at| on_floor(*at));
                let places: Vec<Point> = places.map(|at| view.sheet.on_paper(at)).collect();
                (length(ring) * raster.cell.0 / view.sheet.scale, places)
            })
            .filter(|(_, places)| !places.is_empty())
            .collect();
        rings.sort_by(|a, b| b.0.total_cmp(&a.0));
        let words = Words::sized(&number(edge, 0), size::SMALL);
        for (rank, (long, places)) in rings.into_iter().take(MOST_NAMED).enumerate() {
            if rank > 0 && long < NAMED {
                break;
            }
            let (wide, high) = words.extent();
            let middle = places.get(places.len() / 2).copied();
            let spots = places.into_iter().map(|at| {
                let frame = Frame::new(at.x - wide / 2.0, at.y - high / 2.0, wide, high);
                Spot { frame, upright: false, leader: None, worse: 0.0 }
            });
            let on_line = labels.take(spots, BARRED - 1.0).map(|spot| words.draw(&spot, "isotherm"));
            // One of each temperature is named, beside its line where that has no room.
            let beside = || middle.filter(|_| rank == 0).and_then(|at| words.put_around(labels, at, "isotherm"));
            whole.extend(on_line.or_else(beside));
        }
    }
    whole
}

/// Places along a ring, evenly among its points and between them.
fn spaced(ring: &LineString<f64>) -> impl Iterator<Item = Coord<f64>> + '_ {
    let whole = length(ring);
    let mut next = 0.0;
    let step = whole / TRIED as f64;
    let mut along = 0.0;
    ring.lines().flat_map(move |line| {
        let own = line.delta().x.hypot(line.delta().y);
        let mut found = Vec::new();
        while next < along + own {
            found.push(line.start + line.delta() * ((next - along) / own));
            next += step;
        }
        along += own;
        found
    })
}

/// The length of a ring, in cells.
fn length(ring: &LineString<f64>) -> f64 {
    ring.lines().map(|line| line.delta().x.hypot(line.delta().y)).sum()
}

/// A cross at a place, and how warm it is there.
fn mark(view: &View<'_>, labels: &mut Labels, word: &str, place: Warmth) -> Option<Item> {
    let at = view.sheet.on_paper(place.at);
    let words = Words::sized(&format!("{word} {:.1} °C", place.temperature), size::SMALL);
    let arm = 1.1;
    let data = format!(
        "M{} {}H{}M{} {}V{}",
        number(at.x - arm, 3),
        number(at.y, 3),
        number(at.x + arm, 3),
        number(at.x, 3),
        number(at.y - arm, 3),
        number(at.y + arm, 3)
    );
    let cross = item("path").set("d", data).line(color::INK, width::CABLE);
    let named = words.put_around(labels, at, "extreme")?;
    Some(group(word).set("data-degC", number(place.temperature, 2)).with(cross).with(named))
}

/// The scale of colours, so wide, and its height, mm.
pub fn scale(wide: f64) -> (Item, f64) {
    let mut whole = group("heat-scale");
    let step = wide / RAMP.len() as f64;
    for (index, ground) in RAMP.iter().enumerate() {
        let left = step * index as f64;
        let field = item("rect").num("x", left).num("y", 0.0).num("width", step).num("height", 3.0);
        whole.push(field.set("fill", *ground).set("stroke", color::RULE).set("stroke-width", width::FINE.to_string()));
    }
    for (index, edge) in (1..).zip(EDGES) {
        let words = number(edge, 1);
        let left = step * f64::from(index) - lettering::width(&words, size::SMALL, false) / 2.0;
        whole.push(lettering::line(&words, Point { x: left, y: 5.6 }, size::SMALL, false));
    }
    (whole, 6.5)
}

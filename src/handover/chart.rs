//! A chart of a cable's resistance over the stages of the work, with the band that it should lie in.

use super::tables::{quantity, title};
use crate::draw::canvas::{Item, group, item, number, straight};
use crate::draw::lettering::{self, size};
use crate::draw::palette::{self, width};
use crate::measure::record::STAGES;
use crate::model::{Point, Reading};
use crate::quantity::Dimension;

/// The whole chart, mm.
const WIDE: f64 = 180.0;
const HIGH: f64 = 46.0;
/// Where readings are drawn, mm.
const LEFT: f64 = 2.0;
const RIGHT: f64 = 148.0;
const TOP: f64 = 5.0;
const BOTTOM: f64 = 38.0;
/// Ground of the band: light enough for what lies on it, and grey in grey.
const BAND: &str = "#E9E4EE";

/// What the chart's height stands for, ohm.
#[derive(Debug, Clone, Copy)]
struct Scale {
    low: f64,
    high: f64,
}

impl Scale {
    /// The band in the middle third; where there is none, what was read with a tenth round it.
    fn of(limits: Option<(f64, f64)>, readings: &[&Reading]) -> Option<Scale> {
        let (low, high) = match limits {
            Some((least, greatest)) => {
                let band = (greatest - least).max(greatest * 0.02);
                (least - band, greatest + band)
            }
            None => {
                let read = || readings.iter().map(|reading| reading.resistance);
                let (low, high) = (read().fold(f64::INFINITY, f64::min), read().fold(0.0, f64::max));
                (low * 0.9, high * 1.1)
            }
        };
        (low.is_finite() && high > low).then_some(Scale { low, high })
    }

    /// How high a resistance lies on paper, and whether the chart reaches that far.
    fn at(self, resistance: f64) -> (f64, bool) {
        let share = (resistance - self.low) / (self.high - self.low);
        (BOTTOM - share.clamp(0.0, 1.0) * (BOTTOM - TOP), (0.0..=1.0).contains(&share))
    }
}

fn p(x: f64, y: f64) -> Point {
    Point { x, y }
}

fn ohms(resistance: f64) -> String {
    quantity(resistance, Dimension::RESISTANCE)
}

/// The middle of a stage's column, mm.
fn middle(stage: usize) -> f64 {
    LEFT + (RIGHT - LEFT) * (stage as f64 + 0.5) / STAGES.len() as f64
}

/// The chart of a cable's readings, with the least and the greatest resistance to be expected, ohm.
pub(super) fn chart(cable: &str, limits: Option<(f64, f64)>, readings: &[&Reading]) -> String {
    let mut whole = item("svg")
        .set("xmlns", "http://www.w3.org/2000/svg")
        .set("viewBox", format!("0 0 {} {}", number(WIDE, 1), number(HIGH, 1)))
        .set("font-family", lettering::FAMILY)
        .set("fill", palette::INK)
        .set("role", "img")
        .with(item("title").text(&format!("Resistance of cable {cable} by stage")))
        .with(item("desc").text(&described(limits, readings)));
    let scale = Scale::of(limits, readings);
    if let (Some(scale), Some((least, greatest))) = (scale, limits) {
        whole = whole.with(band(scale, least, greatest));
    }
    whole = whole.with(frame());
    if let Some(scale) = scale {
        whole = whole.with(points(scale, readings));
    }
    whole.write()
}

/// What the chart shows, in words.
fn described(limits: Option<(f64, f64)>, readings: &[&Reading]) -> String {
    let band = match limits {
        Some((least, greatest)) => format!("Expected: {} to {}.", ohms(least), ohms(greatest)),
        None => "What to expect isn't known.".into(),
    };
    let read: Vec<String> =
        readings.iter().map(|reading| format!("{}: {}", title(reading.stage), ohms(reading.resistance))).collect();
    if read.is_empty() { format!("{band} Nothing read yet.") } else { format!("{band} {}.", read.join("; ")) }
}

fn band(scale: Scale, least: f64, greatest: f64) -> Item {
    let ((bottom, _), (top, _)) = (scale.at(least), scale.at(greatest));
    let ground = item("rect").num("x", LEFT).num("y", top).num("width", RIGHT - LEFT).num("height", bottom - top);
    let mut whole = group("band").with(ground.set("fill", BAND));
    for (y, word, limit) in [(top, "at most", greatest), (bottom, "at least", least)] {
        let edge = straight(p(LEFT, y), p(RIGHT, y), palette::CABLE, width::MEDIUM).set("stroke-dasharray", "2 1.2");
        whole.push(edge);
        whole.push(lettering::line(&format!("{word} {}", ohms(limit)), p(RIGHT + 1.5, y + 0.9), size::BODY, false));
    }
    whole
}

fn frame() -> Item {
    let mut whole = group("stages");
    whole.push(straight(p(LEFT, BOTTOM), p(RIGHT, BOTTOM), palette::INK, width::MEDIUM));
    for (index, stage) in STAGES.into_iter().enumerate() {
        let x = middle(index);
        whole.push(straight(p(x, BOTTOM), p(x, BOTTOM + 1.2), palette::INK, width::MEDIUM));
        let words = title(stage);
        let left = x - lettering::width(words, size::BODY, false) / 2.0;
        whole.push(lettering::line(words, p(left, BOTTOM + 4.6), size::BODY, false));
    }
    whole
}

/// A dot for each reading, or an arrow where the chart doesn't reach that far, each with what was read.
fn points(scale: Scale, readings: &[&Reading]) -> Item {
    let mut whole = group("readings");
    let mut ordered: Vec<&&Reading> = readings.iter().collect();
    ordered.sort_by_key(|reading| reading.stage);
    let spot = |reading: &Reading| {
        let (y, reached) = scale.at(reading.resistance);
        (p(middle(reading.stage as usize), y), reached)
    };
    for pair in ordered.windows(2) {
        whole.push(straight(spot(pair[0]).0, spot(pair[1]).0, palette::CABLE, width::THIN));
    }
    for reading in ordered {
        let (at, reached) = spot(reading);
        let mark = if reached {
            item("circle").num("cx", at.x).num("cy", at.y).num("r", 0.9)
        } else {
            let tip = if at.y > f64::midpoint(TOP, BOTTOM) { 1.8 } else { -1.8 };
            let corners = format!(
                "M{} {}h2.4L{} {}Z",
                number(at.x - 1.2, 3),
                number(at.y - tip, 3),
                number(at.x, 3),
                number(at.y, 3)
            );
            item("path").set("d", corners)
        };
        whole.push(mark.set("fill", palette::CABLE).set("data-ohm", number(reading.resistance, 3)));
        let words = ohms(reading.resistance);
        let left = at.x + 1.8;
        // Above the dot, or below where it is near the top.
        let y = if at.y < TOP + 4.0 { at.y + 3.4 } else { at.y - 1.2 };
        whole.push(lettering::haloed(lettering::line(&words, p(left, y), size::BODY, false)));
    }
    whole
}

//! The heated floor shaded by its surface temperature.

use super::View;
use super::cable::{bend_radius, rounded};
use super::canvas::{Item, group, item, number, path};
use super::lettering::{self, size};
use super::palette as color;
use super::palette::width;
use crate::model::Point;

/// Colours from cool to warm: each darker than the one before, so that they rank in grey too, and all light enough for a cable to show.
const RAMP: [&str; 6] = ["#F7F0D8", "#F2DDBD", "#EBC7A5", "#E1AF93", "#D49787", "#C4817F"];

/// The temperatures a sheet is shaded by, degC.
#[derive(Debug, Clone, PartialEq)]
pub struct Shading {
    /// Mean surface temperature over each of the room's cables, in their order; nothing where it can't be worked out.
    pub cables: Vec<Option<f64>>,
    /// What the scale runs from and to.
    pub range: (f64, f64),
}

impl Shading {
    /// Shades by the temperatures over a room's cables, degC; the scale runs over whole degrees round all of them.
    pub fn over(cables: Vec<Option<f64>>) -> Self {
        let known = || cables.iter().flatten().copied();
        let (low, high) =
            (known().fold(f64::INFINITY, f64::min).floor(), known().fold(f64::NEG_INFINITY, f64::max).ceil());
        let range = if low.is_finite() { (low, high.max(low + 1.0)) } else { (0.0, 1.0) };
        Shading { cables, range }
    }

    /// The colour for a temperature.
    pub fn color(&self, temperature: f64) -> &'static str {
        let share = (temperature - self.range.0) / (self.range.1 - self.range.0);
        let step = (share * RAMP.len() as f64).floor().clamp(0.0, (RAMP.len() - 1) as f64);
        RAMP[step as usize]
    }
}

/// The heated floor of each cable, which is what lies within half a pitch of it, in its colour; in floor coordinates.
pub(super) fn floor(view: &View<'_>, shading: &Shading) -> Item {
    let clip = item("clipPath").set("id", "room").with(item("path").set("d", path(&view.room.corners, true)));
    let mut whole = group("heat").set("clip-path", "url(#room)").with(item("defs").with(clip));
    for (index, (cable, temperature)) in view.room.cables.iter().zip(&shading.cables).enumerate() {
        let (Some(temperature), Some(pitch)) = (temperature, view.measure.pitch(index)) else { continue };
        let own = item("path")
            .set("class", "warmth")
            .set("d", rounded(&cable.runs, bend_radius(view, cable)))
            .line(shading.color(*temperature), pitch)
            .set("stroke-linecap", "round")
            .set("stroke-linejoin", "round")
            .set("data-degC", number(*temperature, 2));
        whole.push(own);
    }
    whole
}

/// The scale of colours, so wide, and its height, mm.
pub fn scale(shading: &Shading, wide: f64) -> (Item, f64) {
    let mut whole = group("heat-scale");
    let step = wide / RAMP.len() as f64;
    for (index, ground) in RAMP.iter().enumerate() {
        let left = step * index as f64;
        let field = item("rect").num("x", left).num("y", 0.0).num("width", step).num("height", 3.0);
        whole.push(field.set("fill", *ground).set("stroke", color::RULE).set("stroke-width", width::FINE.to_string()));
    }
    for (at, value) in [(0.0, shading.range.0), (wide, shading.range.1)] {
        let words = format!("{} °C", number(value, 1));
        let left = if at == 0.0 { 0.0 } else { wide - lettering::width(&words, size::SMALL, false) };
        whole.push(lettering::line(&words, Point { x: left, y: 5.6 }, size::SMALL, false));
    }
    (whole, 6.5)
}

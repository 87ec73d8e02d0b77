//! Heat in a heated floor: the steady two-dimensional temperature field of parallel cables in a layered slab.
//!
//! The field repeats with the pitch p and is symmetric about each cable, so it is a cosine series over the pitch. Each term is a
//! one-dimensional problem: through a layer of thickness d and conductivity k, the n-th term (κ = 2πn/p) obeys `T'' = κ²T`, and what
//! lies beyond a layer acts through its impedance Z (temperature over flux density) alone:
//! `Z' = Zc·(Z + Zc·tanh κd)/(Zc + Z·tanh κd)` with `Zc = 1/(kκ)`. A cable that gives q W per metre of its length drives each term with
//! `2q/p`, the mean with `q/p`. The series converges like `exp(-κd)` with d the cover of the cable; at the cable itself the part of
//! an endless homogeneous floor is summed in closed form.
//!
//! Units here are SI: metres, watts, degrees Celsius.

use std::f64::consts::TAU;

/// One layer of a slab.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SlabLayer {
    /// A solid: thickness (m) and conductivity (W/mK).
    Solid {
        /// m.
        thickness: f64,
        /// W/mK.
        conductivity: f64,
    },
    /// A thermal resistance without thickness, m2K/W.
    Resistance(f64),
}

/// What lies under a slab.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Below {
    /// A room of this temperature (degC), beyond the surface resistance downward of EN ISO 6946.
    Room(f64),
    /// A given temperature at the underside, degC.
    Temperature(f64),
}

/// Surface resistance for heat flow downward, m2K/W: EN ISO 6946.
pub const DOWNWARD_SURFACE_RESISTANCE: f64 = 0.17;

/// A slab with cables in it.
#[derive(Debug, Clone, PartialEq)]
pub struct Slab {
    /// Top first.
    pub layers: Vec<SlabLayer>,
    /// Which layer the cables lie in; a solid.
    pub cable_layer: usize,
    /// Height of their axes over that layer's underside, m.
    pub cable_height: f64,
    /// Outside radius of the cable, m.
    pub cable_radius: f64,
    /// What lies under it.
    pub below: Below,
    /// Temperature of the room above, degC.
    pub inside: f64,
}

/// The temperatures and flows of a heated slab.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SlabHeat {
    /// Mean temperature of the surface, degC.
    pub surface: f64,
    /// Over a cable, where it is warmest, degC.
    pub warmest: f64,
    /// Midway between two, where it is least warm, degC.
    pub coolest: f64,
    /// Given to the room above, W/m2.
    pub upward: f64,
    /// Lost below, W/m2.
    pub downward: f64,
    /// Mean temperature around the cable's sheath, degC.
    pub sheath: f64,
}

/// The mean flux density from a floor to its room, W/m2, by how much warmer than the room its surface is, K: EN 1264-2,
/// `q = 8.92·ΔT^1.1`. A floor colder than its room takes as much as one warmer by the same would give.
///
/// ```
/// use layrule::measure::heat::floor_output;
/// // EN 1264-2: 9 K gives 100 W/m2, 15 K gives 175 W/m2.
/// assert_eq!(floor_output(9.0).round(), 100.0);
/// assert_eq!(floor_output(15.0).round(), 175.0);
/// ```
pub fn floor_output(difference: f64) -> f64 {
    8.92 * difference.abs().powf(1.1) * difference.signum()
}

/// The most terms of the series that are summed.
const MOST_TERMS: u32 = 20_000;

/// One term of the field at the depth of the cable: temperatures over the flux density that drives it.
struct Term {
    /// At the cable.
    cable: f64,
    /// At the surface.
    surface: f64,
}

impl Slab {
    /// The steady state with cables of `power` (W per metre of cable) at a distance `pitch` (m) from each other.
    ///
    /// Nothing where the cable lies in no solid layer, or a size is not more than nothing.
    pub fn heat(&self, power: f64, pitch: f64) -> Option<SlabHeat> {
        let Some(SlabLayer::Solid { thickness, conductivity }) = self.layers.get(self.cable_layer).copied() else {
            return None;
        };
        let sizes = [pitch, self.cable_radius, thickness, conductivity];
        if sizes.iter().any(|size| *size <= 0.0) || !(0.0..=thickness).contains(&self.cable_height) {
            return None;
        }
        // The film coefficient depends on the surface's temperature only by the power 0.1, so that each step of the iteration leaves
        // about a tenth of the error.
        let mut film = 10.0;
        let mut mean = self.mean(power / pitch, film);
        for _ in 0..60 {
            let difference = mean.0 - self.inside;
            let next = if difference.abs() < 1e-9 { film } else { floor_output(difference) / difference };
            let settled = (next - film).abs() <= 1e-13 * film;
            film = next;
            mean = self.mean(power / pitch, film);
            if settled {
                break;
            }
        }
        let (surface, at_cable, upward, downward) = mean;
        let drive = 2.0 * power / pitch;
        let (mut ripple, mut dip, mut excess) = (0.0, 0.0, 0.0);
        for number in 1..=MOST_TERMS {
            let wave = TAU * f64::from(number) / pitch;
            let term = self.term(wave, film);
            // In an endless floor of the cable's layer the term would be 1/(2kκ).
            let reflected = drive * (term.cable - 0.5 / (conductivity * wave));
            let rise = drive * term.surface;
            ripple += rise;
            dip += if number % 2 == 0 { rise } else { -rise };
            excess += reflected;
            if rise.abs() < 1e-12 && reflected.abs() < 1e-12 {
                break;
            }
        }
        let near = -power / (TAU * conductivity) * (TAU * self.cable_radius / pitch).ln();
        Some(SlabHeat {
            surface,
            warmest: surface + ripple,
            coolest: surface + dip,
            upward,
            downward,
            sheath: at_cable + excess + near,
        })
    }

    /// The part of the cable's layer over it and under it, m.
    fn split(&self) -> (f64, f64) {
        match self.layers.get(self.cable_layer) {
            Some(SlabLayer::Solid { thickness, .. }) => (thickness - self.cable_height, self.cable_height),
            _ => (0.0, 0.0),
        }
    }

    /// The layers over the cable from the surface down, and those under it from the underside up.
    fn sides(&self) -> (Vec<SlabLayer>, Vec<SlabLayer>) {
        let (over, under) = self.split();
        let part = |thickness: f64| match self.layers[self.cable_layer] {
            SlabLayer::Solid { conductivity, .. } => SlabLayer::Solid { thickness, conductivity },
            other => other,
        };
        let mut top = self.layers[..self.cable_layer].to_vec();
        top.push(part(over));
        let mut bottom: Vec<SlabLayer> = self.layers[self.cable_layer + 1..].iter().rev().copied().collect();
        bottom.push(part(under));
        (top, bottom)
    }

    /// Mean temperatures of the surface and at the cable's depth, and the flux densities up and down, for a flux density driven in.
    fn mean(&self, drive: f64, film: f64) -> (f64, f64, f64, f64) {
        let resistance = |layers: &[SlabLayer]| -> f64 {
            let each = layers.iter().map(|layer| match layer {
                SlabLayer::Solid { thickness, conductivity } => thickness / conductivity,
                SlabLayer::Resistance(resistance) => *resistance,
            });
            each.sum()
        };
        let (top, bottom) = self.sides();
        let up = resistance(&top) + 1.0 / film;
        let (below, film_below) = match self.below {
            Below::Room(temperature) => (temperature, DOWNWARD_SURFACE_RESISTANCE),
            Below::Temperature(temperature) => (temperature, 0.0),
        };
        let down = (resistance(&bottom) + film_below).max(1e-12);
        let at_cable = (drive + self.inside / up + below / down) / (1.0 / up + 1.0 / down);
        let upward = (at_cable - self.inside) / up;
        (self.inside + upward / film, at_cable, upward, (at_cable - below) / down)
    }

    /// One term of the series, of wave number `wave` (1/m), for a unit of flux density driven in at the cable.
    fn term(&self, wave: f64, film: f64) -> Term {
        let (over, under) = self.split();
        let mut reaching = 1.0;
        let through = |impedance: f64, layer: SlabLayer, reaching: Option<&mut f64>| match layer {
            SlabLayer::Resistance(resistance) => {
                if let Some(reaching) = reaching {
                    *reaching *= impedance / (impedance + resistance);
                }
                impedance + resistance
            }
            SlabLayer::Solid { thickness, conductivity } => {
                let own = 1.0 / (conductivity * wave);
                let depth = wave * thickness;
                if let Some(reaching) = reaching {
                    *reaching /= depth.cosh() + own / impedance * depth.sinh();
                }
                let tanh = depth.tanh();
                own * (impedance + own * tanh) / (own + impedance * tanh)
            }
        };
        let part = |thickness: f64| match self.layers[self.cable_layer] {
            SlabLayer::Solid { conductivity, .. } => SlabLayer::Solid { thickness, conductivity },
            other => other,
        };
        let mut up = 1.0 / film;
        for layer in self.layers[..self.cable_layer].iter().copied().chain([part(over)]) {
            up = through(up, layer, Some(&mut reaching));
        }
        let mut down = match self.below {
            Below::Room(_) => DOWNWARD_SURFACE_RESISTANCE,
            Below::Temperature(_) => 0.0,
        };
        for layer in self.layers[self.cable_layer + 1..].iter().rev().copied().chain([part(under)]) {
            down = through(down, layer, None);
        }
        let cable = up * down / (up + down);
        Term { cable, surface: cable * reaching }
    }
}

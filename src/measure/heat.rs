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

impl SlabLayer {
    /// m2K/W.
    pub fn resistance(&self) -> f64 {
        match self {
            SlabLayer::Solid { thickness, conductivity } => thickness / conductivity,
            SlabLayer::Resistance(resistance) => *resistance,
        }
    }
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

/// Why a slab has no solution.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unsolved {
    /// The cable lies in no solid layer, or beyond the one it should lie in.
    NotInLayer,
    /// Something is no larger than nothing: a pitch, a radius, a thickness, a conductivity.
    NoSize,
    /// The series doesn't settle: the cable's axis lies on the edge of its layer, or too near to it for the pitch.
    NotSettled,
}

/// The most terms of the series that are summed.
const MOST_TERMS: u32 = 20_000;

/// Terms smaller than this are no longer counted, K.
const LEAST_TERM: f64 = 1e-11;

/// How often the film coefficient is worked out afresh; it settles in about fifteen.
const MOST_FILMS: u32 = 60;

/// Mean temperatures of the surface and at the cable's depth, degC, and the flux densities up and down, W/m2.
type Means = (f64, f64, f64, f64);

/// The resistance of some layers, m2K/W.
fn resistance(layers: &[SlabLayer]) -> f64 {
    layers.iter().map(SlabLayer::resistance).sum()
}

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
    /// # Errors
    /// Where there is none; see [`Unsolved`].
    pub fn heat(&self, power: f64, pitch: f64) -> Result<SlabHeat, Unsolved> {
        let conductivity = self.conductivity_round_cable()?;
        if pitch <= 0.0 || self.cable_radius <= 0.0 {
            return Err(Unsolved::NoSize);
        }
        let (film, mean) = self.settled(power / pitch);
        let (surface, at_cable, upward, downward) = mean;
        let drive = 2.0 * power / pitch;
        let (mut ripple, mut dip, mut excess) = (0.0, 0.0, 0.0);
        let mut settled = false;
        for number in 1..=MOST_TERMS {
            let wave = TAU * f64::from(number) / pitch;
            let term = self.term(wave, film);
            // In an endless floor of the cable's layer the term would be 1/(2kκ).
            let reflected = drive * (term.cable - 0.5 / (conductivity * wave));
            let rise = drive * term.surface;
            ripple += rise;
            dip += if number % 2 == 0 { rise } else { -rise };
            excess += reflected;
            if rise.abs() < LEAST_TERM && reflected.abs() < LEAST_TERM {
                settled = true;
                break;
            }
        }
        let near = -power / (TAU * conductivity) * (TAU * self.cable_radius / pitch).ln();
        let heat = SlabHeat {
            surface,
            warmest: surface + ripple,
            coolest: surface + dip,
            upward,
            downward,
            sheath: at_cable + excess + near,
        };
        let figures = [heat.warmest, heat.coolest, heat.upward, heat.downward, heat.sheath];
        if settled && figures.iter().all(|figure| figure.is_finite()) { Ok(heat) } else { Err(Unsolved::NotSettled) }
    }

    /// The flux density that the cables must give for `upward` (W/m2) to reach the room, W/m2.
    ///
    /// # Errors
    /// Where the cable lies in no solid layer.
    pub fn drive_for(&self, upward: f64) -> Result<f64, Unsolved> {
        self.conductivity_round_cable()?;
        let at_cable = self.at_cable_for(upward);
        let (below, down) = self.beneath();
        Ok(upward + (at_cable - below) / down)
    }

    /// The resistance between the cables and what lies below that would let `downward` (W/m2) through while `upward` (W/m2)
    /// goes to the room, and that there is, m2K/W.
    pub fn resistance_below_for(&self, upward: f64, downward: f64) -> (f64, f64) {
        let (below, down) = self.beneath();
        ((self.at_cable_for(upward) - below) / downward, down)
    }

    /// The mean temperature at the cables' depth when `upward` (W/m2) goes to the room, degC.
    fn at_cable_for(&self, upward: f64) -> f64 {
        let surface = self.inside + (upward.abs() / 8.92).powf(1.0 / 1.1) * upward.signum();
        surface + upward * resistance(&self.sides().0)
    }

    /// The temperature below, and the resistance to it from the cables' depth, m2K/W.
    fn beneath(&self) -> (f64, f64) {
        let (below, film) = match self.below {
            Below::Room(temperature) => (temperature, DOWNWARD_SURFACE_RESISTANCE),
            Below::Temperature(temperature) => (temperature, 0.0),
        };
        (below, (resistance(&self.sides().1) + film).max(1e-12))
    }

    /// The conductivity of the layer the cable lies in, W/mK.
    fn conductivity_round_cable(&self) -> Result<f64, Unsolved> {
        let Some(SlabLayer::Solid { thickness, conductivity }) = self.layers.get(self.cable_layer).copied() else {
            return Err(Unsolved::NotInLayer);
        };
        if thickness <= 0.0 || conductivity <= 0.0 {
            return Err(Unsolved::NoSize);
        }
        if !(0.0..=thickness).contains(&self.cable_height) {
            return Err(Unsolved::NotInLayer);
        }
        Ok(conductivity)
    }

    /// The film coefficient (W/m2K) that EN 1264-2 has for what comes out, and the means with it.
    ///
    /// It depends on the surface's temperature only by the power 0.1, so that each step leaves about a tenth of the error. Where the
    /// surface is as warm as the room to the last digits it never settles, and doesn't matter.
    fn settled(&self, drive: f64) -> (f64, Means) {
        let mut film = 10.0;
        let mut mean = self.mean(drive, film);
        for _ in 0..MOST_FILMS {
            let difference = mean.0 - self.inside;
            let next = if difference.abs() < 1e-9 { film } else { floor_output(difference) / difference };
            let settled = (next - film).abs() <= 1e-13 * film;
            film = next;
            mean = self.mean(drive, film);
            if settled {
                break;
            }
        }
        (film, mean)
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

    /// The means for a flux density driven in.
    fn mean(&self, drive: f64, film: f64) -> Means {
        let up = resistance(&self.sides().0) + 1.0 / film;
        let (below, down) = self.beneath();
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

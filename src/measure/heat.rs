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

use std::f64::consts::{LN_2, PI, TAU};

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

/// A layer as the terms of the series go through it, one after the other.
struct Passage {
    layer: SlabLayer,
    /// By how much the first term fades in it, and the present one.
    fading: (f64, f64),
}

impl Passage {
    /// Before the first term, whose wave number is `wave` (1/m).
    fn new(layer: SlabLayer, wave: f64) -> Self {
        let first = match layer {
            SlabLayer::Solid { thickness, .. } => (-wave * thickness).exp(),
            SlabLayer::Resistance(_) => 1.0,
        };
        Passage { layer, fading: (first, 1.0) }
    }

    /// The impedance that the next term, of wave number `wave` (1/m), meets before this layer where it meets `beyond` behind it, and the
    /// share of its temperature that gets through.
    fn next(&mut self, wave: f64, beyond: f64) -> (f64, f64) {
        match self.layer {
            SlabLayer::Resistance(resistance) => (beyond + resistance, beyond / (beyond + resistance)),
            SlabLayer::Solid { conductivity, .. } => {
                // The wave number of the n-th term is n times the first's, and so its fading the n-th power.
                self.fading.1 *= self.fading.0;
                let own = 1.0 / (conductivity * wave);
                // tanh, and what 1/(cosh + own/beyond·sinh) is without numbers that outgrow a float.
                let square = self.fading.1 * self.fading.1;
                let (sum, rest) = (1.0 + square, 1.0 - square);
                let through = 2.0 * beyond * self.fading.1 / (beyond * sum + own * rest);
                (own * (beyond * sum + own * rest) / (own * sum + beyond * rest), through)
            }
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
    /// How many terms of the series were summed.
    pub terms: u32,
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

/// The most terms of the series that are summed; those of a floor with a pitch of 200 mm and a cover of 5 mm are 200.
pub const MOST_TERMS: u32 = 4_000;

/// Terms smaller than this are no longer counted, K.
const LEAST_TERM: f64 = 1e-11;

/// How often the film coefficient is worked out afresh; it settles in three or four.
const MOST_FILMS: u32 = 30;

/// What is left of waves of the number `wave` (1/m) when heat is spread softly over a length `spread` (m): the longer they are, the nearer to
/// all, so that what lies farther off than a few times the length keeps its share to the last digits. `exp(−x)·(1 + x + x²/2 + x³/6)` with
/// `x = κ²s²/2`.
pub fn softness(wave: f64, spread: f64) -> f64 {
    let x = 0.5 * (wave * spread).powi(2);
    (-x).exp() * (1.0 + x * (1.0 + x * (0.5 + x / 6.0)))
}

/// What the terms of [`softness`] after its first add to the integral of it over κ: 1/2 + 1/4 + 1/6.
const SOFT_TERMS: f64 = 11.0 / 12.0;

/// The Euler-Mascheroni constant.
const EULER_MASCHERONI: f64 = 0.577_215_664_901_532_9;

/// From which wave number, 1/m, in what steps of its logarithm and how many, the heat of one cable is summed: up to 30 000/m.
const LEAST_WAVE: f64 = 0.1;
const WAVE_STEP: f64 = 0.025;
const SPREAD_STEPS: u32 = 505;

/// What may be left at the last of them, m K/W: more, and the sum doesn't settle.
const SPREAD_LEFT: f64 = 1e-3;

/// Mean temperatures (degC) and flux densities (W/m2).
struct Means {
    surface: f64,
    at_cable: f64,
    upward: f64,
    downward: f64,
}

/// A slab as its means see it: two resistances (m2K/W), from the cables' depth to the surface and to what lies below, and the
/// temperatures (degC) beyond them.
struct Bulk {
    inside: f64,
    up: f64,
    below: f64,
    down: f64,
}

impl Bulk {
    /// The means for a flux density driven in and a film coefficient over the surface.
    fn means(&self, drive: f64, film: f64) -> Means {
        let up = self.up + 1.0 / film;
        let at_cable = (drive + self.inside / up + self.below / self.down) / (1.0 / up + 1.0 / self.down);
        let upward = (at_cable - self.inside) / up;
        Means { surface: self.inside + upward / film, at_cable, upward, downward: (at_cable - self.below) / self.down }
    }

    /// The mean temperature at the cables' depth when `upward` (W/m2) goes to the room by EN 1264-2, degC.
    fn at_cable_for(&self, upward: f64) -> f64 {
        self.inside + (upward.abs() / 8.92).powf(1.0 / 1.1) * upward.signum() + upward * self.up
    }
}

/// One term of the field at the depth of the cable: temperatures over the flux density that drives it.
struct Term {
    /// At the cable.
    cable: f64,
    /// At the surface.
    surface: f64,
}

/// What a unit of flux density (W/m2) that swings along the floor with one wave number brings about, K. By reciprocity what the cables bring
/// about at the surface is what heat put in there brings about at the cables.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Response {
    /// At the cables' depth, by heat put in there.
    pub cable: f64,
    /// At the surface by heat put in at the cables' depth.
    pub across: f64,
    /// At the surface, by heat put in there.
    pub surface: f64,
}

/// A slab with no heat put in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unheated {
    /// At the cables' depth, degC.
    pub cable: f64,
    /// At the surface, degC.
    pub surface: f64,
}

impl Slab {
    /// What a flux density that swings along the floor with the wave number `wave` (1/m), or doesn't where that is 0, brings about under a
    /// film of `film` (W/m2K).
    pub fn response(&self, wave: f64, film: f64) -> Response {
        if wave <= 0.0 {
            let bulk = self.bulk();
            let up = bulk.up + 1.0 / film;
            let cable = up * bulk.down / (up + bulk.down);
            let beneath = bulk.up + bulk.down;
            return Response { cable, across: cable / (film * up), surface: beneath / (1.0 + film * beneath) };
        }
        let term = self.series(wave, film).next(wave);
        let (over, under) = self.split();
        let parts = [self.part(under), self.part(over)];
        let upward = self.under().iter().rev().copied().chain(parts).chain(self.over().iter().rev().copied());
        let underside = match self.below {
            Below::Room(_) => DOWNWARD_SURFACE_RESISTANCE,
            Below::Temperature(_) => 0.0,
        };
        let beneath = upward.fold(underside, |beyond, layer| Passage::new(layer, wave).next(wave, beyond).0);
        Response { cable: term.cable, across: term.surface, surface: beneath / (1.0 + film * beneath) }
    }

    /// The temperatures without heat put in, under a film of `film` (W/m2K).
    pub fn unheated(&self, film: f64) -> Unheated {
        let means = self.bulk().means(0.0, film);
        Unheated { cable: means.at_cable, surface: means.surface }
    }

    /// The flux density lost below where the cables' depth has a mean temperature of `at_cable` (degC), W/m2.
    pub fn lost_below(&self, at_cable: f64) -> f64 {
        let bulk = self.bulk();
        (at_cable - bulk.below) / bulk.down
    }

    /// By how much more a straight cable that gives 1 W/m warms the surface right over itself, and its own sheath, than if of its heat only
    /// the part were there that [`softness`] leaves; K, both.
    ///
    /// # Errors
    /// Where the cable's axis lies on the edge of its layer, or in none.
    pub fn beyond_soft(&self, spread: f64, film: f64) -> Result<(f64, f64), Unsolved> {
        let conductivity = self.conductivity_round_cable()?;
        if self.cable_radius <= 0.0 {
            return Err(Unsolved::NoSize);
        }
        // Trapezoids over the logarithm of the wave number, which serve from metres to parts of a millimetre.
        let (mut surface, mut sheath, mut last) = (0.0, 0.0, (0.0, 0.0));
        for step in 0..SPREAD_STEPS {
            let wave = LEAST_WAVE * (f64::from(step) * WAVE_STEP).exp();
            let lacking = (1.0 - softness(wave, spread)) * wave;
            let response = self.response(wave, film);
            last = (lacking * response.across, lacking * (response.cable - 0.5 / (conductivity * wave)));
            surface += last.0 * WAVE_STEP;
            sheath += last.1 * WAVE_STEP;
        }
        if last.0.abs() > SPREAD_LEFT || last.1.abs() > SPREAD_LEFT || !(surface + sheath).is_finite() {
            return Err(Unsolved::NotSettled);
        }
        // In an endless floor of the cable's layer: the integral of (cos κr − softness)/κ over all κ.
        let near =
            ((spread / self.cable_radius).ln() - 0.5 * (LN_2 + EULER_MASCHERONI) - SOFT_TERMS) / (2.0 * conductivity);
        Ok((surface / PI, (sheath + near) / PI))
    }

    /// The steady state with cables of `power` (W per metre of cable) at a distance `pitch` (m) from each other.
    ///
    /// # Errors
    /// Where there is none; see [`Unsolved`].
    pub fn heat(&self, power: f64, pitch: f64) -> Result<SlabHeat, Unsolved> {
        self.conductivity_round_cable()?;
        self.heat_by_film(power, pitch, self.settled_film(power / pitch))
    }

    /// The steady state with cables of `power` (W per metre of cable) at a distance `pitch` (m) from each other, where the film between
    /// surface and room has a coefficient of `film` (W/m2K), whatever the surface's temperature.
    ///
    /// # Errors
    /// Where there is none; see [`Unsolved`].
    pub fn heat_by_film(&self, power: f64, pitch: f64, film: f64) -> Result<SlabHeat, Unsolved> {
        let conductivity = self.conductivity_round_cable()?;
        if pitch <= 0.0 || self.cable_radius <= 0.0 || film <= 0.0 {
            return Err(Unsolved::NoSize);
        }
        let mean = self.bulk().means(power / pitch, film);
        let drive = 2.0 * power / pitch;
        let (mut ripple, mut dip, mut excess) = (0.0, 0.0, 0.0);
        let mut series = self.series(TAU / pitch, film);
        let mut terms = 0;
        loop {
            terms += 1;
            let wave = TAU * f64::from(terms) / pitch;
            let term = series.next(wave);
            // In an endless floor of the cable's layer the term would be 1/(2kκ).
            let reflected = drive * (term.cable - 0.5 / (conductivity * wave));
            let rise = drive * term.surface;
            ripple += rise;
            dip += if terms % 2 == 0 { rise } else { -rise };
            excess += reflected;
            if rise.abs() < LEAST_TERM && reflected.abs() < LEAST_TERM {
                break;
            }
            if terms == MOST_TERMS {
                return Err(Unsolved::NotSettled);
            }
        }
        let near = -power / (TAU * conductivity) * (TAU * self.cable_radius / pitch).ln();
        let heat = SlabHeat {
            surface: mean.surface,
            warmest: mean.surface + ripple,
            coolest: mean.surface + dip,
            upward: mean.upward,
            downward: mean.downward,
            sheath: mean.at_cable + excess + near,
            terms,
        };
        let figures = [heat.warmest, heat.coolest, heat.upward, heat.downward, heat.sheath];
        if figures.iter().all(|figure| figure.is_finite()) { Ok(heat) } else { Err(Unsolved::NotSettled) }
    }

    /// The steady state as by [`Slab::heat`] with something of a thermal resistance of `cover` (m2K/W) lying all over the surface. What is said of
    /// the surface is of the slab's own, below it.
    ///
    /// # Errors
    /// Where there is none; see [`Unsolved`].
    pub fn heat_below(&self, cover: f64, power: f64, pitch: f64) -> Result<SlabHeat, Unsolved> {
        let mut covered = self.clone();
        covered.layers.insert(0, SlabLayer::Resistance(cover));
        covered.cable_layer += 1;
        covered.conductivity_round_cable()?;
        let film = covered.settled_film(power / pitch);
        let heat = covered.heat_by_film(power, pitch, film)?;
        // What goes to the room at a place goes through the cover there.
        let below = |top: f64| top + cover * film * (top - self.inside);
        Ok(SlabHeat {
            surface: below(heat.surface),
            warmest: below(heat.warmest),
            coolest: below(heat.coolest),
            ..heat
        })
    }

    /// The flux density that the cables must give for `upward` (W/m2) to reach the room, W/m2.
    ///
    /// # Errors
    /// Where the cable lies in no solid layer.
    pub fn drive_for(&self, upward: f64) -> Result<f64, Unsolved> {
        self.conductivity_round_cable()?;
        let bulk = self.bulk();
        Ok(upward + (bulk.at_cable_for(upward) - bulk.below) / bulk.down)
    }

    /// The mean temperature of a surface that gives `upward` (W/m2) to the room by EN 1264-2, degC.
    pub fn surface_for(&self, upward: f64) -> f64 {
        self.inside + (upward.abs() / 8.92).powf(1.0 / 1.1) * upward.signum()
    }

    /// The resistance between the cables and what lies below that would let `downward` (W/m2) through while `upward` (W/m2)
    /// goes to the room, and that there is, m2K/W.
    pub fn resistance_below_for(&self, upward: f64, downward: f64) -> (f64, f64) {
        let bulk = self.bulk();
        ((bulk.at_cable_for(upward) - bulk.below) / downward, bulk.down)
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

    /// The film coefficient (W/m2K) that EN 1264-2 has for what comes out of a flux density driven in.
    ///
    /// It depends on the surface's temperature only by the power 0.1, so that each step leaves about a tenth of the error, and two steps
    /// tell where they lead (Aitken's delta-squared process). Where the surface is as warm as the room to the last digits it never settles,
    /// and doesn't matter.
    fn settled_film(&self, drive: f64) -> f64 {
        let bulk = self.bulk();
        let step = |film: f64| {
            let difference = bulk.means(drive, film).surface - self.inside;
            if difference.abs() < 1e-9 { film } else { floor_output(difference) / difference }
        };
        let mut film = 10.0;
        for _ in 0..MOST_FILMS {
            let first = step(film);
            let second = step(first);
            if (second - first).abs() <= 1e-13 * second {
                return second;
            }
            let led = film - (first - film).powi(2) / (second - 2.0 * first + film);
            film = if led > 0.0 && led.is_finite() { led } else { second };
        }
        film
    }

    /// The part of the cable's layer over it and under it, m.
    fn split(&self) -> (f64, f64) {
        match self.layers.get(self.cable_layer) {
            Some(SlabLayer::Solid { thickness, .. }) => (thickness - self.cable_height, self.cable_height),
            _ => (0.0, 0.0),
        }
    }

    /// A part of the cable's own layer.
    fn part(&self, thickness: f64) -> SlabLayer {
        match self.layers[self.cable_layer] {
            SlabLayer::Solid { conductivity, .. } => SlabLayer::Solid { thickness, conductivity },
            other => other,
        }
    }

    /// The layers over the cable from the surface down, without the cable's own.
    fn over(&self) -> &[SlabLayer] {
        &self.layers[..self.cable_layer]
    }

    /// The layers under the cable from its own down, without its own.
    fn under(&self) -> &[SlabLayer] {
        &self.layers[self.cable_layer + 1..]
    }

    /// What the means depend on.
    fn bulk(&self) -> Bulk {
        let resistance = |layers: &[SlabLayer]| layers.iter().map(SlabLayer::resistance).sum::<f64>();
        let (over, under) = self.split();
        let (below, film) = match self.below {
            Below::Room(temperature) => (temperature, DOWNWARD_SURFACE_RESISTANCE),
            Below::Temperature(temperature) => (temperature, 0.0),
        };
        Bulk {
            inside: self.inside,
            up: resistance(self.over()) + self.part(over).resistance(),
            below,
            down: (resistance(self.under()) + self.part(under).resistance() + film).max(1e-12),
        }
    }

    /// The terms of the field, the first of wave number `wave` (1/m).
    fn series(&self, wave: f64, film: f64) -> Series {
        let (over, under) = self.split();
        let up = self.over().iter().copied().chain([self.part(over)]);
        let down = self.under().iter().rev().copied().chain([self.part(under)]);
        Series {
            up: up.map(|layer| Passage::new(layer, wave)).collect(),
            surface: 1.0 / film,
            down: down.map(|layer| Passage::new(layer, wave)).collect(),
            underside: match self.below {
                Below::Room(_) => DOWNWARD_SURFACE_RESISTANCE,
                Below::Temperature(_) => 0.0,
            },
        }
    }
}

/// The terms of a field, one after the other.
struct Series {
    /// From the surface down to the cable, and the impedance beyond.
    up: Vec<Passage>,
    surface: f64,
    /// From the underside up to the cable, and the impedance beyond.
    down: Vec<Passage>,
    underside: f64,
}

impl Series {
    /// The next term, of wave number `wave` (1/m), for a unit of flux density driven in at the cable.
    fn next(&mut self, wave: f64) -> Term {
        let (mut up, mut reaching) = (self.surface, 1.0);
        for passage in &mut self.up {
            let passed = passage.next(wave, up);
            up = passed.0;
            reaching *= passed.1;
        }
        let mut down = self.underside;
        for passage in &mut self.down {
            down = passage.next(wave, down).0;
        }
        let cable = up * down / (up + down);
        Term { cable, surface: cable * reaching }
    }
}

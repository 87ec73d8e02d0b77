//! How long a floor takes to get warm: transient heat flow in one dimension through its layers, the cables' heat given evenly at their depth.
//!
//! Each layer is cut into slices with a heat capacity, between which resistances lie; time goes on in implicit steps (backward Euler), each
//! a two-hundredth of the time gone by, so that minutes and days are told equally well. Room and what lies below keep
//! their temperatures. Units here are SI: metres, watts, joules, seconds, degrees Celsius.

use super::heat::{Below, DOWNWARD_SURFACE_RESISTANCE, Slab, SlabLayer, floor_output};

/// Slices are no thicker, m …
const SLICE: f64 = 0.002;
/// … but for those of layers that would have more.
const MOST_SLICES: f64 = 100.0;

/// The first steps, s, and later ones as a share of the time gone by.
const FIRST_STEP: f64 = 1.0;
const STEP_SHARE: f64 = 0.005;

/// What lies over a floor's surface.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Film {
    /// A room, to which EN 1264-2 gives.
    Room,
    /// A film of this coefficient, W/m2K, whatever the temperature.
    Constant(f64),
}

/// A floor as it warms up.
#[derive(Debug, Clone)]
pub struct WarmingFloor {
    film: Film,
    inside: f64,
    below: f64,
    /// Heat capacity of each slice, top first, J/m2K, and its temperature, degC.
    capacities: Vec<f64>,
    temperatures: Vec<f64>,
    /// m2K/W, from the surface to the middle of the first slice, from middle to middle, and from the last to what lies below.
    resistances: Vec<f64>,
    /// The cables lie over this slice; and the resistances from them to the middles above and below.
    cables: usize,
    beside: (f64, f64),
    /// s since it was switched on.
    time: f64,
}

/// Why a floor's warming up can't be told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unwarmed {
    /// The heat capacity of this layer (an index) is not known.
    Capacity(usize),
    /// It never gets as warm as that.
    Never,
    /// It takes longer than [`LONGEST`].
    TooLong,
}

/// The longest that a floor is followed for, s: 60 days.
pub const LONGEST: f64 = 60.0 * 86_400.0;

impl WarmingFloor {
    /// A slab that has long been unheated, its layers with these heat capacities, J/m3K.
    ///
    /// # Errors
    /// Where a solid layer has none.
    pub fn unheated(slab: &Slab, capacities: &[Option<f64>], film: Film) -> Result<Self, Unwarmed> {
        let (mut slices, mut halves, mut between) = (Vec::new(), Vec::new(), vec![0.0]);
        let mut cables = None;
        for (index, layer) in slab.layers.iter().enumerate() {
            let (thickness, conductivity) = match layer {
                SlabLayer::Resistance(resistance) => {
                    *between.last_mut().unwrap_or(&mut 0.0) += resistance;
                    continue;
                }
                SlabLayer::Solid { thickness, conductivity } => (*thickness, *conductivity),
            };
            let capacity = capacities.get(index).copied().flatten().ok_or(Unwarmed::Capacity(index))?;
            let parts = if index == slab.cable_layer {
                vec![thickness - slab.cable_height, slab.cable_height]
            } else {
                vec![thickness]
            };
            for (part, thickness) in parts.into_iter().enumerate() {
                if index == slab.cable_layer && part == 1 {
                    // What resists between here and the next middle lies below the cables, and none of it above.
                    cables = Some((slices.len(), between.last().copied().unwrap_or(0.0)));
                }
                let count = (thickness / SLICE).ceil().min(MOST_SLICES);
                for _ in 0..count as usize {
                    let thickness = thickness / count;
                    slices.push(capacity * thickness);
                    halves.push(thickness / conductivity / 2.0);
                    between.push(0.0);
                }
            }
        }
        let (below, underside) = match slab.below {
            Below::Room(temperature) => (temperature, DOWNWARD_SURFACE_RESISTANCE),
            Below::Temperature(temperature) => (temperature, 0.0),
        };
        if let Some(last) = between.last_mut() {
            *last += underside;
        }
        let half = |slice: Option<&f64>| slice.copied().unwrap_or(0.0);
        let before = |slice: usize| slice.checked_sub(1).and_then(|slice| halves.get(slice));
        let resistances: Vec<f64> =
            between.iter().enumerate().map(|(at, pure)| half(before(at)) + pure + half(halves.get(at))).collect();
        let (cables, above) = cables.unwrap_or((0, 0.0));
        let above = above + half(before(cables));
        let mut floor = WarmingFloor {
            film,
            inside: slab.inside,
            below,
            temperatures: vec![slab.inside; slices.len()],
            capacities: slices,
            beside: (above, resistances.get(cables).copied().unwrap_or(0.0) - above),
            resistances,
            cables,
            time: 0.0,
        };
        // As it is after so long that no time matters, the film following the surface.
        for _ in 0..20 {
            floor.advance(f64::INFINITY, 0.0);
        }
        Ok(floor)
    }

    /// Goes on by a step (s) with so much given at the cables, W/m2.
    fn advance(&mut self, step: f64, give: f64) {
        let count = self.capacities.len();
        let film = match self.film {
            Film::Constant(film) => film,
            Film::Room => {
                let over = self.surface() - self.inside;
                if over.abs() < 1e-9 { 8.92 } else { floor_output(over) / over }
            }
        };
        let conductance = |at: usize| {
            let more = if at == 0 { 1.0 / film } else { 0.0 };
            1.0 / (self.resistances[at] + more).max(1e-12)
        };
        let (above, below) = self.beside;
        let share = if self.cables == 0 {
            0.0
        } else if self.cables == count {
            1.0
        } else {
            below / (above + below)
        };
        // The system's three diagonals, solved from the top down and back (Thomas).
        let mut upper = vec![0.0; count];
        let mut right = vec![0.0; count];
        for slice in 0..count {
            let (up, down) = (conductance(slice), conductance(slice + 1));
            let held = if step.is_finite() { self.capacities[slice] / step } else { 0.0 };
            let mut diagonal = held + up + down;
            let mut own = held * self.temperatures[slice];
            if slice == 0 {
                own += up * self.inside;
            }
            if slice + 1 == count {
                own += down * self.below;
            }
            if slice + 1 == self.cables {
                own += give * share;
            }
            if slice == self.cables {
                own += give * (1.0 - share);
            }
            if slice > 0 {
                diagonal -= up * upper[slice - 1];
                own += up * right[slice - 1];
            }
            upper[slice] = down / diagonal;
            right[slice] = own / diagonal;
        }
        for slice in (0..count).rev() {
            let below = if slice + 1 < count { upper[slice] * self.temperatures[slice + 1] } else { 0.0 };
            self.temperatures[slice] = right[slice] + below;
        }
        if step.is_finite() {
            self.time += step;
        }
    }

    /// Goes on to the next moment with so much given at the cables, W/m2.
    pub fn warm(&mut self, give: f64) {
        self.advance((self.time * STEP_SHARE).max(FIRST_STEP), give);
    }

    /// s since it was switched on.
    pub fn time(&self) -> f64 {
        self.time
    }

    /// The temperature of the surface, degC.
    pub fn surface(&self) -> f64 {
        let first = self.temperatures.first().copied().unwrap_or(self.inside);
        // The film settles in a few turns, since it hardly depends on the temperature.
        let mut surface = first;
        for _ in 0..6 {
            let over = surface - self.inside;
            let film = match self.film {
                Film::Constant(film) => film,
                Film::Room if over.abs() < 1e-9 => 8.92,
                Film::Room => floor_output(over) / over,
            };
            let inner = 1.0 / self.resistances.first().copied().unwrap_or(0.0).max(1e-12);
            surface = (inner * first + film * self.inside) / (inner + film);
        }
        surface
    }

    /// The mean temperature at the cables' depth with so much given there, W/m2, degC.
    pub fn at_cables(&self, give: f64) -> f64 {
        let (above, below) = self.beside;
        let over = self.cables.checked_sub(1).and_then(|slice| self.temperatures.get(slice)).copied();
        let under = self.temperatures.get(self.cables).copied();
        match (over, under) {
            (Some(over), Some(under)) => (over * below + under * above + give * above * below) / (above + below),
            (Some(over), None) => over + give * above,
            (None, Some(under)) => under + give * below,
            (None, None) => self.inside,
        }
    }
}

/// How long a slab that has long been unheated takes until its surface has a temperature (degC), given so much at its cables, W/m2; s. Its layers
/// have these heat capacities, J/m3K.
///
/// # Errors
/// Where a heat capacity is not known, it never gets as warm, or takes longer than [`LONGEST`].
pub fn time_to_warm(slab: &Slab, capacities: &[Option<f64>], give: f64, surface: f64) -> Result<f64, Unwarmed> {
    let mut floor = WarmingFloor::unheated(slab, capacities, Film::Room)?;
    // In the end a row of cables spread without end has the mean of any pitch.
    let end = slab.heat(give, 1.0).map_or(f64::INFINITY, |heat| heat.surface);
    if end <= surface {
        return Err(Unwarmed::Never);
    }
    let mut before = (0.0, floor.surface());
    while before.1 < surface {
        if before.0 > LONGEST {
            return Err(Unwarmed::TooLong);
        }
        floor.warm(give);
        let now = (floor.time(), floor.surface());
        if now.1 >= surface {
            return Ok(before.0 + (now.0 - before.0) * (surface - before.1) / (now.1 - before.1));
        }
        before = now;
    }
    Ok(0.0)
}

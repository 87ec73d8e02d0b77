//! The heat of a room's floor: its cables with their own spacing, power and radius, in the floor as the plan builds it.
//!
//! Each stretch of cable heats a strip of floor half way to its neighbours ([`super::strips`]), and all its power is accounted for: what is said
//! of a cable as a whole is of the mean width of its strips, what is said of a stretch of the width there. Units here are SI: metres,
//! watts, degrees Celsius.

use std::cell::OnceCell;
use std::collections::HashMap;
use std::rc::Rc;

use super::areas::{Margins, takes_floor};
use super::heat::{self, Slab, SlabHeat, SlabLayer, Unsolved};
use super::heat_up::{Unwarmed, time_to_warm};
use super::length;
use super::room::RoomMeasure;
use super::sensor::Beside;
use super::strips::{Stretch, Strips};
use super::temperature_map::{Line, NoMap, TemperatureMap};
use crate::geometry::{Piece, Point};
use crate::model::{AreaKind, Below, LayerBody};

/// Why a floor's heat can't be told. A cable is meant by its index.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unknown {
    /// The room gives no floor.
    Floor,
    /// The floor doesn't say in which layer the cable lies.
    CableLayer,
    /// The room doesn't say how warm it is.
    Inside,
    /// The room doesn't say what lies below the floor.
    Below,
    /// The room has no cable.
    Cable,
    /// This cable names no kit.
    Kit(usize),
    /// This cable has no parallel runs to take a pitch from.
    Pitch(usize),
    /// This cable's runs lie too thick for the floor that each heats to be told.
    Thick(usize),
    /// The kit of this cable gives no diameter.
    Diameter(usize),
    /// Rugs lie over more runs than are gone through.
    Rugs,
    /// There is no solution.
    Unsolved(Unsolved),
    /// The room's cables would take more than [`MOST_STEPS`].
    Steps,
    /// The floor is too large for a map of its temperature.
    TooLarge,
    /// The heat capacity of this layer (an index) is not known.
    Capacity(usize),
    /// At full power the floor gives its room less than this, which it loses.
    TooWeak,
    /// It takes longer to warm up than is followed.
    TooSlow,
}

/// The most terms times layers that are summed for one room: thousands of times what a room takes that can be built.
pub const MOST_STEPS: u64 = 3_000_000;

/// A radius for what doesn't depend on it where the kit gives none, m.
const ANY_RADIUS: f64 = 0.003;

/// Where the search for a pitch begins, m.
const LEAST_PITCH: f64 = 0.001;

/// What has been worked out, by what it is of.
type Known<K, V> = std::cell::RefCell<HashMap<K, Result<V, Unknown>>>;

/// What has been worked out of a room's heat.
#[derive(Debug, Default)]
pub struct Kept {
    slab: OnceCell<Result<Slab, Unknown>>,
    /// By cable and share of its output.
    cables: Known<(usize, u64), CableHeat>,
    /// By cable, share of its output and width of the strip.
    stretches: Known<(usize, u64, u64), SlabHeat>,
    /// By cable, width of the strip and resistance of what lies on it.
    below_rugs: Known<(usize, u64, u64), SlabHeat>,
    bare: OnceCell<Result<f64, Unknown>>,
    map: OnceCell<Result<Rc<TemperatureMap>, Unknown>>,
    steps: std::cell::Cell<u64>,
}

/// The heat of one cable's strip of floor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CableHeat {
    /// Temperatures and flows.
    pub slab: SlabHeat,
    /// Given by a metre of cable, W/m.
    pub power: f64,
    /// The mean width of the floor that it heats, m.
    pub width: f64,
    /// The floor it heats, m2.
    pub area: f64,
}

impl CableHeat {
    /// Given to the floor, W/m2.
    pub fn density(&self) -> f64 {
        self.power / self.width
    }
}

impl RoomMeasure<'_> {
    /// The floor as a slab; the cable's radius is filled in for each.
    fn slab(&self) -> Result<&Slab, Unknown> {
        self.heat.slab.get_or_init(|| self.build_slab()).as_ref().map_err(|unknown| *unknown)
    }

    fn build_slab(&self) -> Result<Slab, Unknown> {
        let floor = self.room.floor.as_ref().ok_or(Unknown::Floor)?;
        let (cable_layer, height) = floor.cable().ok_or(Unknown::CableLayer)?;
        let layers = floor.layers.iter().map(|layer| match &layer.body {
            LayerBody::Solid { thickness, conductivity, .. } => {
                SlabLayer::Solid { thickness: thickness / 1e3, conductivity: *conductivity }
            }
            LayerBody::Resistance(resistance) => SlabLayer::Resistance(*resistance),
        });
        Ok(Slab {
            layers: layers.collect(),
            cable_layer,
            cable_height: height / 1e3,
            cable_radius: ANY_RADIUS,
            below: match self.room.below.ok_or(Unknown::Below)? {
                Below::Room(temperature) => heat::Below::Room(temperature),
                Below::Ground(temperature) => heat::Below::Temperature(temperature),
            },
            inside: self.room.inside.ok_or(Unknown::Inside)?,
        })
    }

    /// The power of a metre of a cable, W/m.
    fn power_per_metre(&self, cable: usize) -> Result<f64, Unknown> {
        let laid = &self.room.cables[cable];
        let kit = laid.kit.and_then(|kit| self.plan.kits.get(kit)).ok_or(Unknown::Kit(cable))?;
        let power = self.power(laid).ok_or(Unknown::Kit(cable))?;
        Ok(power / (kit.length / 1e3))
    }

    /// The strips of floor that a cable heats; see [`RoomMeasure::strips`].
    ///
    /// # Errors
    /// Where it has no pitch, or lies too thick.
    pub fn strips_heated(&self, cable: usize) -> Result<Strips, Unknown> {
        self.pitch(cable).filter(|pitch| *pitch > 0.0).ok_or(Unknown::Pitch(cable))?;
        self.strips(cable).ok_or(Unknown::Thick(cable))
    }

    /// A cable's power (W/m), the mean width of the floor it heats (m), and how much that is if the whole kit lies so (m2).
    fn strip(&self, cable: usize) -> Result<(f64, f64, f64), Unknown> {
        let laid = &self.room.cables[cable];
        let power = self.power_per_metre(cable)?;
        let kit = laid.kit.and_then(|kit| self.plan.kits.get(kit)).ok_or(Unknown::Kit(cable))?;
        let width = self.strips_heated(cable)?.area / self.drawn_length(cable);
        Ok((power, width / 1e3, kit.length * width / 1e6))
    }

    /// The power a cable gives to each square metre of the floor that a stretch of it heats, W/m2.
    ///
    /// # Errors
    /// Where the plan doesn't say enough.
    pub fn stretch_density(&self, stretch: Stretch) -> Result<f64, Unknown> {
        Ok(self.power_per_metre(stretch.run.in_room())? / (stretch.width / 1e3))
    }

    /// The heat of the floor where a stretch lies, while its cable gives `share` of the heat that it can give to the room.
    ///
    /// # Errors
    /// Where the plan doesn't say enough, or there is no solution.
    pub fn stretch_heat(&self, stretch: Stretch, share: f64) -> Result<SlabHeat, Unknown> {
        let cable = stretch.run.in_room();
        let key = (cable, share.to_bits(), stretch.width.to_bits());
        if let Some(known) = self.heat.stretches.borrow().get(&key) {
            return *known;
        }
        let made = self.cable_heat(cable, share).and_then(|whole| {
            let mut slab = self.slab()?.clone();
            slab.cable_radius = self.radius(cable).unwrap_or(ANY_RADIUS);
            self.solve(&slab, whole.power, stretch.width / 1e3)
        });
        self.heat.stretches.borrow_mut().insert(key, made);
        made
    }

    /// The heat of the floor where a stretch lies while a thermostat holds the floor where its sensor's tip lies at a mean temperature of
    /// `limit` (degC). What leaves the floor at the tip then is told by EN 1264-2; for that the cables there give a share of their power, and
    /// the stretch's own cable, switched with them, gives the same share of its. Full power where that doesn't get the floor at the tip so
    /// warm.
    ///
    /// # Errors
    /// Where the plan doesn't say enough, or there is no solution; nothing where the tip lies between no runs.
    pub fn heat_while_held(&self, stretch: Stretch, sensor: usize, limit: f64) -> Result<Option<SlabHeat>, Unknown> {
        let Some(most) = self.sensor_density(sensor)? else { return Ok(None) };
        let cable = stretch.run.in_room();
        let mut slab = self.slab()?.clone();
        slab.cable_radius = self.radius(cable).unwrap_or(ANY_RADIUS);
        let given = slab.drive_for(heat::floor_output(limit - slab.inside)).map_err(Unknown::Unsolved)?;
        let power = self.power_per_metre(cable)? * (given / most).clamp(0.0, 1.0);
        self.solve(&slab, power, stretch.width / 1e3).map(Some)
    }

    /// The power given to the floor where a sensor's tip lies: that of the runs on both its sides over the width between them, W/m2.
    ///
    /// # Errors
    /// Where the plan doesn't say enough; nothing where the tip lies between no runs.
    pub fn sensor_density(&self, sensor: usize) -> Result<Option<f64>, Unknown> {
        let beside = self.neighbours(sensor);
        let (Some(nearest), Some(opposite)) = (beside.nearest, beside.opposite) else { return Ok(None) };
        let power = |side: Beside| self.power_per_metre(side.run.in_room());
        let width = (nearest.gap + opposite.gap) / 1e3;
        Ok(Some(f64::midpoint(power(nearest)?, power(opposite)?) / width))
    }

    /// The power a cable gives to each square metre of the floor it heats, W/m2.
    ///
    /// # Errors
    /// Where the plan doesn't say enough; so for the others.
    pub fn power_density(&self, cable: usize) -> Result<f64, Unknown> {
        self.strip(cable).map(|(power, pitch, _)| power / pitch)
    }

    /// A cable's heat while it gives `share` of the heat that it can give to the room; 1 is full power.
    ///
    /// # Errors
    /// Where the plan doesn't say enough, or there is no solution.
    pub fn cable_heat(&self, cable: usize, share: f64) -> Result<CableHeat, Unknown> {
        let key = (cable, share.to_bits());
        if let Some(known) = self.heat.cables.borrow().get(&key) {
            return *known;
        }
        let made = self.work_out(cable, share);
        self.heat.cables.borrow_mut().insert(key, made);
        made
    }

    fn work_out(&self, cable: usize, share: f64) -> Result<CableHeat, Unknown> {
        let (power, width, area) = self.strip(cable)?;
        let mut slab = self.slab()?.clone();
        slab.cable_radius = self.radius(cable).unwrap_or(ANY_RADIUS);
        let power = if share == 1.0 {
            power
        } else {
            let upward = self.cable_heat(cable, 1.0)?.slab.upward;
            slab.drive_for(upward * share).map_err(Unknown::Unsolved)? * width
        };
        Ok(CableHeat { slab: self.solve(&slab, power, width)?, power, width, area })
    }

    /// The heat of the floor where a stretch lies at full power, below something of a resistance of `cover` (m2K/W); the surface is the
    /// floor's own.
    ///
    /// # Errors
    /// Where the plan doesn't say enough, or there is no solution.
    pub fn heat_below(&self, stretch: Stretch, cover: f64) -> Result<SlabHeat, Unknown> {
        let cable = stretch.run.in_room();
        let key = (cable, stretch.width.to_bits(), cover.to_bits());
        if let Some(known) = self.heat.below_rugs.borrow().get(&key) {
            return *known;
        }
        let made = self.power_per_metre(cable).and_then(|power| {
            let mut slab = self.slab()?.clone();
            slab.cable_radius = self.radius(cable).unwrap_or(ANY_RADIUS);
            self.counted(&slab, || slab.heat_below(cover, power, stretch.width / 1e3))
        });
        self.heat.below_rugs.borrow_mut().insert(key, made);
        made
    }

    /// A slab's steady state.
    fn solve(&self, slab: &Slab, power: f64, pitch: f64) -> Result<SlabHeat, Unknown> {
        self.counted(slab, || slab.heat(power, pitch))
    }

    /// A steady state of a slab, as long as the room's steps last.
    fn counted(&self, slab: &Slab, solution: impl FnOnce() -> Result<SlabHeat, Unsolved>) -> Result<SlabHeat, Unknown> {
        if self.heat.steps.get() > MOST_STEPS {
            return Err(Unknown::Steps);
        }
        let heat = solution();
        let terms = heat.as_ref().map_or(heat::MOST_TERMS, |heat| heat.terms);
        self.heat.steps.set(self.heat.steps.get() + u64::from(terms) * (slab.layers.len() as u64 + 1));
        heat.map_err(Unknown::Unsolved)
    }

    /// The widest pitch (m) at which a cable that gives the floor the same power as this one would leave no more than `ripple` (K)
    /// between its warmest and its coolest surface at full power.
    ///
    /// # Errors
    /// Where the plan doesn't say enough, or there is no solution.
    pub fn even_pitch(&self, cable: usize, ripple: f64) -> Result<f64, Unknown> {
        let (power, pitch, _) = self.strip(cable)?;
        let density = power / pitch;
        let mut slab = self.slab()?.clone();
        slab.cable_radius = self.radius(cable).unwrap_or(ANY_RADIUS);
        let uneven =
            |pitch: f64| self.solve(&slab, density * pitch, pitch).map(|heat| heat.warmest - heat.coolest > ripple);
        // The ripple grows with the pitch. A tenth of a millimetre is nearer than anyone lays.
        let (mut even, mut wide) = (LEAST_PITCH, pitch.max(2.0 * LEAST_PITCH));
        while wide - even > 1e-4 {
            let middle = f64::midpoint(even, wide);
            if uneven(middle)? {
                wide = middle;
            } else {
                even = middle;
            }
        }
        Ok(even)
    }

    /// Half a cable's diameter, m.
    pub(super) fn radius(&self, cable: usize) -> Result<f64, Unknown> {
        let kit = self.room.cables[cable].kit.and_then(|kit| self.plan.kits.get(kit)).ok_or(Unknown::Kit(cable))?;
        kit.diameter.map(|diameter| diameter / 2e3).ok_or(Unknown::Diameter(cable))
    }

    /// The mean temperature of a cable's sheath at full power where a stretch lies, degC.
    ///
    /// # Errors
    /// Where the plan doesn't say enough, or there is no solution.
    pub fn sheath(&self, stretch: Stretch) -> Result<f64, Unknown> {
        self.radius(stretch.run.in_room())?;
        Ok(self.stretch_heat(stretch, 1.0)?.sheath)
    }

    /// How much more resistance under a cable would let no more than `share` of its heat below at full power, m2K/W; less than nothing
    /// where there is some to spare.
    ///
    /// # Errors
    /// Where the plan doesn't say enough.
    pub fn resistance_lacking(&self, cable: usize, share: f64) -> Result<f64, Unknown> {
        let density = self.power_density(cable)?;
        let (needed, there) = self.slab()?.resistance_below_for(density * (1.0 - share), density * share);
        Ok(needed - there)
    }

    /// Every cable's heat at full power; none of them where one can't be told.
    fn cables_heat(&self) -> Result<Vec<CableHeat>, Unknown> {
        if self.room.cables.is_empty() {
            return Err(Unknown::Cable);
        }
        (0..self.room.cables.len()).map(|cable| self.cable_heat(cable, 1.0)).collect()
    }

    /// What the cables give to the room and lose below at full power, W.
    ///
    /// # Errors
    /// Where the plan doesn't say enough, or there is no solution.
    pub fn heat_flows(&self) -> Result<(f64, f64), Unknown> {
        let cables = self.cables_heat()?;
        let sum = |flow: fn(&SlabHeat) -> f64| cables.iter().map(|cable| flow(&cable.slab) * cable.area).sum();
        Ok((sum(|slab| slab.upward), sum(|slab| slab.downward)))
    }

    /// The mean power given to the heated floor, W/m2.
    ///
    /// # Errors
    /// Where the plan doesn't say enough.
    pub fn mean_power_density(&self) -> Result<f64, Unknown> {
        if self.room.cables.is_empty() {
            return Err(Unknown::Cable);
        }
        let (mut power, mut area) = (0.0, 0.0);
        for cable in 0..self.room.cables.len() {
            let (each, pitch, heats) = self.strip(cable)?;
            power += each / pitch * heats;
            area += heats;
        }
        Ok(power / area)
    }

    /// The temperature that the floor's surface has where nothing heats it, degC.
    fn bare_surface(&self) -> Result<f64, Unknown> {
        *self.heat.bare.get_or_init(|| {
            // Without power the pitch doesn't matter.
            self.solve(self.slab()?, 0.0, 0.1).map(|heat| heat.surface)
        })
    }

    /// The mean temperature of the free floor's surface at full power, degC; nothing where the free floor can't be measured. What no
    /// cable heats of it has a temperature of its own.
    ///
    /// # Errors
    /// Where the plan doesn't say enough, or there is no solution.
    pub fn mean_surface(&self, margins: Margins) -> Result<Option<f64>, Unknown> {
        let cables = self.cables_heat()?;
        let Some(free) = self.free_area(margins).map(|area| area / 1e6) else { return Ok(None) };
        let heated: f64 = cables.iter().map(|cable| cable.area).sum();
        let warmth: f64 = cables.iter().map(|cable| cable.slab.surface * cable.area).sum();
        if heated >= free {
            return Ok(Some(warmth / heated));
        }
        Ok(Some((warmth + self.bare_surface()? * (free - heated)) / free))
    }

    /// The power given at the cables, over all the floor that they heat, for it to give `loss` (W) to the room, W/m2; and the mean
    /// temperature of its surface then, degC.
    fn drive_for_loss(&self, loss: f64) -> Result<(f64, f64), Unknown> {
        let cables = self.cables_heat()?;
        let upward = loss / cables.iter().map(|cable| cable.area).sum::<f64>();
        let drive = self.slab()?.drive_for(upward).map_err(Unknown::Unsolved)?;
        if drive > self.mean_power_density()? {
            return Err(Unknown::TooWeak);
        }
        Ok((drive, self.slab()?.surface_for(upward)))
    }

    /// What the cables take, in the mean over time, to make up for a room's heat loss (W) in the steady state, W.
    ///
    /// # Errors
    /// Where the plan doesn't say enough, there is no solution, or full power isn't enough.
    pub fn running_power(&self, loss: f64) -> Result<f64, Unknown> {
        let (drive, _) = self.drive_for_loss(loss)?;
        Ok(drive * self.cables_heat()?.iter().map(|cable| cable.area).sum::<f64>())
    }

    /// How long the floor takes at full power, its room and what lies below keeping their temperatures, from cold until the mean of its
    /// surface makes up for a room's heat loss (W), s; and the energy that its cables give meanwhile, J.
    ///
    /// # Errors
    /// Where the plan doesn't say enough, there is no solution, or it never gets as warm.
    pub fn heat_up(&self, loss: f64) -> Result<(f64, f64), Unknown> {
        let (_, surface) = self.drive_for_loss(loss)?;
        let floor = self.room.floor.as_ref().ok_or(Unknown::Floor)?;
        let capacities = floor.layers.iter().map(|layer| match layer.body {
            LayerBody::Solid { heat_capacity, .. } => heat_capacity.map(|capacity| capacity * 1e6),
            LayerBody::Resistance(_) => None,
        });
        let capacities: Vec<Option<f64>> = capacities.collect();
        let time = time_to_warm(self.slab()?, &capacities, self.mean_power_density()?, surface);
        let time = time.map_err(|unwarmed| match unwarmed {
            Unwarmed::Capacity(layer) => Unknown::Capacity(layer),
            Unwarmed::Never => Unknown::TooWeak,
            Unwarmed::TooLong => Unknown::TooSlow,
        })?;
        let (up, down) = self.heat_flows()?;
        Ok((time, time * (up + down)))
    }

    /// The temperature of the floor at every place at full power. It takes far longer than what is said of a cable or a stretch, and no rule
    /// asks for it.
    ///
    /// # Errors
    /// Where the plan doesn't say enough, there is no solution, or the floor is too large.
    pub fn temperature_map(&self) -> Result<Rc<TemperatureMap>, Unknown> {
        self.heat.map.get_or_init(|| self.work_out_map().map(Rc::new)).clone()
    }

    fn work_out_map(&self) -> Result<TemperatureMap, Unknown> {
        let slab = self.slab()?;
        if self.room.cables.is_empty() {
            return Err(Unknown::Cable);
        }
        let mut lines = Vec::new();
        for (index, cable) in self.room.cables.iter().enumerate() {
            let (power, radius) = (self.power_per_metre(index)?, self.radius(index).ok());
            let kit = cable.kit.and_then(|kit| self.plan.kits.get(kit));
            let bend_radius = kit.and_then(|kit| kit.bend_radius).unwrap_or(0.0);
            let path = length::rounded_line(&cable.runs, bend_radius);
            lines.extend(Piece::of_line(&path).map(|piece| Line { piece, power, radius }));
        }
        TemperatureMap::new(&self.room.corners, slab, &lines).map_err(|none| match none {
            NoMap::TooLarge => Unknown::TooLarge,
            NoMap::Unsolved(unsolved) => Unknown::Unsolved(unsolved),
        })
    }

    /// Which cells of a map lie on the free floor, up to the walls and to what stands on it: fixtures, but for those raised by
    /// `free_height` (mm) or more, and levels on which no cable starts.
    pub fn free_cells(&self, map: &TemperatureMap, free_height: f64) -> Vec<bool> {
        let mut free = map.inside().to_vec();
        let heated = self.heated_levels();
        let takes = |index: usize| takes_floor(&self.room.areas[index].kind, heated.contains(&index), free_height);
        let is_level = |index: &usize| matches!(self.room.areas[*index].kind, AreaKind::Level { .. });
        let (levels, others): (Vec<usize>, Vec<usize>) = (0..self.room.areas.len()).partition(is_level);
        // What stands on a level takes of its floor too.
        for index in levels {
            map.raster().mark(&self.room.areas[index].shape, &mut free, !takes(index));
        }
        for index in others.into_iter().filter(|index| takes(*index)) {
            map.raster().mark(&self.room.areas[index].shape, &mut free, false);
        }
        // A level that reaches beyond the walls is heated within them alone.
        free.iter_mut().zip(map.inside()).for_each(|(free, inside)| *free &= inside);
        free
    }

    /// The outside walls.
    fn outside_walls(&self) -> Vec<Piece> {
        let outside = (0..self.room.walls.len()).filter(|wall| self.room.walls[*wall].outside);
        outside.map(|wall| self.outline().edge(wall)).collect()
    }

    /// How far the room's farthest corner lies from its outside walls, mm; nothing in a room without one.
    pub fn floor_from_outside(&self) -> Option<f64> {
        let walls = self.outside_walls();
        let reach = |corner: &Point| {
            let each = walls.iter().map(|wall| wall.distance(*corner));
            each.fold(f64::INFINITY, f64::min)
        };
        (!walls.is_empty()).then(|| self.room.corners.iter().map(reach).fold(0.0, f64::max))
    }

    /// How far from the outside wall that it lies along a run of this cable reaches, the farthest of them, mm; nothing in a room without
    /// an outside wall.
    pub fn reach_from_outside(&self, cable: usize) -> Option<f64> {
        if self.room.evenly.is_some() {
            return self.floor_from_outside();
        }
        let walls = self.outside_walls();
        let runs = self.room.cables[cable].runs.iter().map(|run| {
            // The distance to one wall is convex along a run, so that its ends decide.
            let each = walls.iter().map(|wall| wall.distance(run.start).max(wall.distance(run.end)));
            each.fold(f64::INFINITY, f64::min)
        });
        (!walls.is_empty()).then(|| runs.fold(0.0, f64::max))
    }
}

//! What a room's floor comes to: areas, and heat.

use super::figures::*;
use super::{Kind, Part, Taken, Told, Value};
use crate::layout::kinds::FixtureKind;
use crate::measure::TOUCH;
use crate::measure::areas::Margins;
use crate::measure::floor_heat::Unknown;
use crate::measure::temperature_map::Warmth;
use crate::model::{Area, AreaKind, Below};
use crate::quantity::{Dimension, Quantity};
use crate::reasons;
use crate::takeoff::allowances::SurfaceLimits;
use crate::things::show_place;
use crate::worded::Worded as _;

impl Taken<'_, '_> {
    fn outlined(&self) -> Told<()> {
        self.whole(|| if self.room.corners.is_empty() { Err(self.gives_no("outline")) } else { Ok(()) })
    }

    /// The free area, mm2.
    fn free(&self, margins: Margins) -> Told<f64> {
        self.outlined()?;
        self.measure.free_area(margins).ok_or_else(|| reasons::too_intricate(self.room))
    }

    /// The area on which a floor is built up: the room less what stands on it, mm2.
    pub(super) fn built_area(&self) -> Told<f64> {
        self.free(Margins { clearance: 0.0, ..self.allowances.margins.clone()? })
    }

    fn heated(&self, margins: Margins) -> Told<f64> {
        self.free(margins)?;
        if self.room.cables.is_empty() {
            return Err(reasons::no_cable(self.room));
        }
        let without = (0..self.room.cables.len()).find(|cable| self.measure.pitch(*cable).is_none());
        if let Some(cable) = without {
            return Err(reasons::no_pitch(&self.room.cables[cable]));
        }
        self.measure.heated_area(margins).ok_or_else(|| reasons::too_intricate(self.room))
    }

    /// The areas of the cold patches, mm2, the largest first.
    fn cold(&self) -> Told<Vec<f64>> {
        let (reach, crumb) = self.allowances.cold.clone()?;
        let margins = self.allowances.margins.clone()?;
        self.outlined()?;
        if self.room.cables.is_empty() {
            return Err(reasons::no_cable(self.room));
        }
        let patches = self.measure.cold_patches(reach, margins);
        let patches = patches.as_ref().as_ref().ok_or_else(|| reasons::too_intricate(self.room))?;
        Ok(patches.iter().map(|outlined| outlined.patch.area).filter(|area| *area >= crumb).collect())
    }

    pub(super) fn heat<T>(&self, value: Result<T, Unknown>) -> Told<T> {
        value.map_err(|unknown| reasons::heat(self.plan, self.room, unknown))
    }
}

/// The areas of a room, and what stands on its floor.
pub(super) fn areas(taken: &Taken<'_, '_>) -> Vec<Part> {
    let mut part = Part::new(Kind::Areas, "");
    let margins = || taken.allowances.margins.clone();
    let room = || taken.outlined().map(|()| taken.measure.area());
    let free = || taken.free(margins()?);
    let heated = || taken.heated(margins()?);
    part.quantity(&ROOM_AREA, Dimension::AREA, room());
    part.quantity(&TAKEN_OFF, Dimension::AREA, room().and_then(|room| Ok(room - taken.built_area()?)));
    part.quantity(&FREE_HEIGHT, Dimension::LENGTH, margins().map(|margins| margins.free_height));
    part.quantity(&CLEARANCE, Dimension::LENGTH, margins().map(|margins| margins.clearance));
    part.quantity(&CLEARANCE_AREA, Dimension::AREA, taken.built_area().and_then(|built| Ok(built - free()?)));
    part.quantity(&FREE_AREA, Dimension::AREA, free());
    part.quantity(&HEATED_AREA, Dimension::AREA, heated());
    part.add(&HEATED_SHARE, heated().and_then(|heated| share(heated, free()?, "no floor is free")));
    part.quantity(&COLD_REACH, Dimension::LENGTH, taken.allowances.cold.clone().map(|(reach, _)| reach));
    let cold = taken.cold();
    part.add(&COLD_PATCHES, cold.clone().map(|cold| Value::Count(cold.len())));
    part.quantity(&COLD_AREA, Dimension::AREA, cold.clone().map(|cold| cold.iter().sum()));
    let largest = cold.and_then(|cold| cold.first().copied().ok_or_else(|| "there is no cold patch".into()));
    part.quantity(&LARGEST_COLD, Dimension::AREA, largest);
    let obstacles = taken.room.areas.iter().enumerate().filter(|(_, area)| area.kind != AreaKind::Drill);
    std::iter::once(part).chain(obstacles.map(|(index, area)| obstacle(taken, index, area))).collect()
}

/// One value over another, or why not.
pub(super) fn share(part: f64, whole: f64, none: &str) -> Told<Value> {
    if whole > 0.0 { Ok(Value::Share(part / whole)) } else { Err(none.into()) }
}

fn obstacle(taken: &Taken<'_, '_>, index: usize, area: &Area) -> Part {
    let mut part = Part::new(Kind::Obstacle, &area.name.text);
    let (what, free) = match &area.kind {
        AreaKind::Fixture { kind, raised, .. } => {
            let kind = kind.map_or(area.kind.word(), FixtureKind::word);
            let free = taken.allowances.margins.clone().map(|margins| {
                let clear = area.kind.clear_below();
                clear.is_some_and(|clear| clear >= margins.free_height - TOUCH).then_some("left free: it is raised")
            });
            (raised.map_or_else(|| kind.to_string(), |raised| format!("{kind}, raised {}", length(raised))), free)
        }
        AreaKind::Drill => (area.kind.word().into(), Ok(Some("left free"))),
        AreaKind::Level { height } => {
            let heated = taken.measure.heated_levels().contains(&index);
            let word = area.kind.word();
            let what = height.map_or_else(|| word.to_string(), |height| format!("{word} at {}", length(height)));
            (what, Ok(heated.then_some("left free: a cable starts on it")))
        }
    };
    part.words(&OBSTACLE_KIND, Ok(what));
    part.quantity(&OBSTACLE_AREA, Dimension::AREA, Ok(area.shape.area()));
    part.words(&OBSTACLE_COUNTS, free.map(|free| free.unwrap_or("taken off").to_string()));
    part
}

fn length(length: f64) -> String {
    Quantity::new(length, Dimension::LENGTH).show(0)
}

/// What the map of a room's floor tells.
fn mapped(taken: &Taken<'_, '_>, part: &mut Part) {
    let map = taken.outlined().and_then(|()| taken.heat(taken.measure.temperature_map()));
    let map = map.and_then(|map| {
        let free = taken.measure.free_cells(&map, taken.allowances.margins.clone()?.free_height);
        Ok((map, free))
    });
    let none = || "no floor is free".to_string();
    let mut place = |what, at, warmth: Told<Warmth>| {
        part.quantity(what, Dimension::TEMPERATURE, warmth.clone().map(|warmth| warmth.temperature));
        part.words(at, warmth.map(|warmth| show_place(warmth.at)));
    };
    let known = || map.as_ref().map_err(Clone::clone);
    place(&WARMEST, &WARMEST_AT, known().and_then(|(map, free)| map.warmest(free).ok_or_else(none)));
    place(&COOLEST, &COOLEST_AT, known().and_then(|(map, free)| map.coolest(free).ok_or_else(none)));
    let no_diameter = || "no kit of its cables gives a diameter".to_string();
    place(&HOTTEST_SHEATH, &HOTTEST_AT, known().and_then(|(map, _)| map.hottest_sheath().ok_or_else(no_diameter)));
    let inside = taken.room.inside.ok_or_else(|| taken.gives_no("inside temperature"));
    let limits = || taken.allowances.surface.clone();
    let mut over = |what, limit: Told<f64>| {
        let share = known().and_then(|(map, free)| map.share_over(free, limit?).ok_or_else(none));
        part.add(what, share.map(Value::Share));
    };
    let above = |limit: fn(SurfaceLimits) -> f64| inside.clone().and_then(|inside| Ok(inside + limit(limits()?)));
    over(&OVER_OCCUPIED, above(|limits| limits.occupied));
    over(&OVER_EDGE, above(|limits| limits.edge));
    over(&OVER_TIMBER, limits().map(|limits| limits.timber));
    over(&OVER_GREATEST, limits().map(|limits| limits.greatest));
    let cell = known().map(|(map, _)| map.raster().cell).map(|(wide, high)| wide.max(high));
    part.quantity(&MAP_CELL, Dimension::LENGTH, cell);
}

/// The heat of a room's floor.
pub(super) fn heat(taken: &Taken<'_, '_>) -> Part {
    let mut part = Part::new(Kind::Heat, "");
    let given = |value: Option<f64>, what: &str| value.ok_or_else(|| taken.gives_no(what));
    part.quantity(&INSIDE, Dimension::TEMPERATURE, given(taken.room.inside, "inside temperature"));
    let below = taken.room.below.map(|below| match below {
        Below::Room(temperature) | Below::Ground(temperature) => temperature,
    });
    let no_below = || reasons::heat(taken.plan, taken.room, Unknown::Below);
    part.quantity(&BELOW, Dimension::TEMPERATURE, below.ok_or_else(no_below));
    let whole = |value: Result<f64, Unknown>| taken.whole(|| taken.heat(value));
    let density = whole(taken.measure.mean_power_density().map(|density| density / 1e6));
    part.quantity(&ROOM_DENSITY, Dimension::POWER_PER_AREA, density);
    let surface = taken.outlined().and_then(|()| {
        let mean = taken.heat(taken.measure.mean_surface(taken.allowances.margins.clone()?))?;
        mean.ok_or_else(|| reasons::too_intricate(taken.room))
    });
    part.quantity(&ROOM_SURFACE, Dimension::TEMPERATURE, surface);
    mapped(taken, &mut part);
    let flows = taken.whole(|| taken.heat(taken.measure.heat_flows()));
    part.quantity(&HEAT_OUTPUT, Dimension::POWER, flows.clone().map(|flows| flows.0));
    part.quantity(&HEAT_BELOW, Dimension::POWER, flows.clone().map(|flows| flows.1));
    let downward = |(up, down): (f64, f64)| share(down, up + down, "no heat is given");
    part.add(&ROOM_DOWNWARD, flows.clone().and_then(downward));
    let loss = given(taken.room.heat_loss, "heat loss");
    part.quantity(&HEAT_LOSS, Dimension::POWER, loss.clone());
    let running = loss.clone().and_then(|loss| whole(taken.measure.running_power(loss)));
    part.quantity(&RUNNING_POWER, Dimension::POWER, running);
    let heat_up = loss.clone().and_then(|loss| taken.whole(|| taken.heat(taken.measure.heat_up(loss))));
    part.quantity(&HEAT_UP_TIME, Dimension::TIME, heat_up.clone().map(|(time, _)| time));
    part.quantity(&HEAT_UP_ENERGY, Dimension::ENERGY, heat_up.map(|(_, energy)| energy));
    part.add(&HEAT_COVER, loss.and_then(|loss| share(flows?.0, loss, "no heat is lost")));
    part
}

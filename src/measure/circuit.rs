//! The circuit that feeds heating cables: design current, what a conductor carries, voltage drop, preferred ratings.

use super::electricity;
use super::room::RoomMeasure;
use crate::model::{Cable, Conductor, Insulation, Junction, Method, Room, Thermostat};

/// Cross-sections that the tables below know, mm2.
pub const SECTIONS: [f64; 6] = [1.5, 2.5, 4.0, 6.0, 10.0, 16.0];

/// Resistance at 20 degC of plain copper conductors of [`SECTIONS`], classes 1 and 2, ohm/km: IEC 60228, tables 1 and 2.
const RESISTANCES: [f64; 6] = [12.1, 7.41, 4.61, 3.08, 1.83, 1.15];

/// How much the resistance of copper grows for each K over 20 degC, as a share of it: rule of thumb for temperatures of use.
const GROWTH: f64 = 0.003_93;

/// Preferred rated currents of circuit-breakers, A: IEC 60898-1.
pub const PREFERRED_RATINGS: [f64; 13] =
    [6.0, 10.0, 13.0, 16.0, 20.0, 25.0, 32.0, 40.0, 50.0, 63.0, 80.0, 100.0, 125.0];

/// Other ratings that circuit-breakers are made for, A: IEC 60898-1, as recalled.
pub const OTHER_RATINGS: [f64; 5] = [1.0, 2.0, 3.0, 4.0, 8.0];

/// Ratings of the fuses of connection units, A: BS 1362.
pub const FUSE_RATINGS: [f64; 3] = [3.0, 5.0, 13.0];

/// The ambient temperature that capacities are tabulated for, degC: IEC 60364-5-52, 523.
pub const REFERENCE_AMBIENT: f64 = 30.0;

/// Sections and currents nearer than this share are the same.
const SAME: f64 = 1e-9;

/// Capacities of two loaded copper conductors of [`SECTIONS`] at 30 degC, A.
///
/// Source: IEC 60364-5-52:2009, tables B.52.2 (PVC) and B.52.3 (XLPE, EPR). Recalled, not looked up.
fn capacities(method: Method, insulation: Insulation) -> [f64; 6] {
    match (insulation, method) {
        (Insulation::Pvc, Method::A1) => [14.5, 19.5, 26.0, 34.0, 46.0, 61.0],
        (Insulation::Pvc, Method::A2) => [14.0, 18.5, 25.0, 32.0, 43.0, 57.0],
        (Insulation::Pvc, Method::B1) => [17.5, 24.0, 32.0, 41.0, 57.0, 76.0],
        (Insulation::Pvc, Method::B2) => [16.5, 23.0, 30.0, 38.0, 52.0, 69.0],
        (Insulation::Pvc, Method::C) => [19.5, 27.0, 36.0, 46.0, 63.0, 85.0],
        (Insulation::Xlpe, Method::A1) => [19.0, 26.0, 35.0, 45.0, 61.0, 81.0],
        (Insulation::Xlpe, Method::A2) => [18.5, 25.0, 33.0, 42.0, 57.0, 76.0],
        (Insulation::Xlpe, Method::B1) => [23.0, 31.0, 42.0, 54.0, 75.0, 100.0],
        (Insulation::Xlpe, Method::B2) => [22.0, 30.0, 40.0, 51.0, 69.0, 91.0],
        (Insulation::Xlpe, Method::C) => [24.0, 33.0, 45.0, 58.0, 80.0, 107.0],
    }
}

/// Factors on the capacity by ambient air temperature, from 10 degC in steps of 5 K.
///
/// Source: IEC 60364-5-52:2009, table B.52.14. Recalled, not looked up.
fn ambient_factors(insulation: Insulation) -> &'static [f64] {
    match insulation {
        Insulation::Pvc => &[1.22, 1.17, 1.12, 1.06, 1.0, 0.94, 0.87, 0.79, 0.71, 0.61, 0.5],
        Insulation::Xlpe => &[1.15, 1.12, 1.08, 1.04, 1.0, 0.96, 0.91, 0.87, 0.82, 0.76, 0.71, 0.65, 0.58, 0.5, 0.41],
    }
}

/// Factors on the capacity of so many circuits that lie bunched.
///
/// Source: IEC 60364-5-52:2009, table B.52.17, item 1. Recalled, not looked up.
const GROUPED: [(f64, f64); 12] = [
    (1.0, 1.0),
    (2.0, 0.8),
    (3.0, 0.7),
    (4.0, 0.65),
    (5.0, 0.6),
    (6.0, 0.57),
    (7.0, 0.54),
    (8.0, 0.52),
    (9.0, 0.5),
    (12.0, 0.45),
    (16.0, 0.41),
    (20.0, 0.38),
];

/// Factors on the capacity of a conductor that runs in thermal insulation, by that length, mm; beyond the last, half.
///
/// Source: BS 7671, table 52.2; IEC 60364-5-52, 523.9, has the half. Recalled, not looked up.
const IN_INSULATION: [(f64, f64); 5] = [(0.0, 1.0), (50.0, 0.88), (100.0, 0.78), (200.0, 0.63), (400.0, 0.51)];

/// The factor on a conductor's capacity for how it lies: bunched with others, and in thermal insulation. Between two tabulated values the
/// lesser counts; nothing where more circuits lie bunched than the table goes.
fn lying_factor(conductor: &Conductor) -> Option<f64> {
    let next = |table: &[(f64, f64)], value: f64| {
        table.iter().find(|(known, _)| value <= known + SAME).map(|(_, factor)| *factor)
    };
    Some(next(&GROUPED, conductor.grouped)? * next(&IN_INSULATION, conductor.in_insulation).unwrap_or(0.5))
}

/// What a conductor carries for good where and as it lies, Iz, at an ambient temperature (degC), A; nothing where no table says.
pub fn carries(conductor: &Conductor, ambient: f64) -> Option<f64> {
    carries_with(conductor.section, conductor, ambient)
}

fn carries_with(section: f64, conductor: &Conductor, ambient: f64) -> Option<f64> {
    Some(capacity(section, conductor.method, conductor.insulation, ambient)? * lying_factor(conductor)?)
}

/// The temperature of a fully loaded conductor, degC: IEC 60364-5-52, table 52.1.
pub fn operating_temperature(insulation: Insulation) -> f64 {
    match insulation {
        Insulation::Pvc => 70.0,
        Insulation::Xlpe => 90.0,
    }
}

/// The factor on a conductor's capacity at an ambient temperature, degC: that of the next tabulated temperature upwards; nothing where
/// it is hotter than the table goes.
pub fn ambient_factor(ambient: f64, insulation: Insulation) -> Option<f64> {
    let step = ((ambient - 10.0) / 5.0 - SAME).ceil().max(0.0);
    ambient_factors(insulation).get(step as usize).copied()
}

fn position(section: f64) -> Option<usize> {
    SECTIONS.iter().position(|known| (known - section).abs() <= SAME * known)
}

/// What a conductor of a cross-section (mm2) carries for good at an ambient temperature (degC), A; nothing where no table says.
///
/// ```
/// use layrule::measure::circuit::capacity;
/// use layrule::model::{Insulation, Method};
/// assert_eq!(capacity(2.5, Method::C, Insulation::Pvc, 30.0), Some(27.0));
/// ```
pub fn capacity(section: f64, method: Method, insulation: Insulation, ambient: f64) -> Option<f64> {
    Some(capacities(method, insulation)[position(section)?] * ambient_factor(ambient, insulation)?)
}

/// The resistance of one conductor of a cross-section (mm2) at a temperature (degC), ohm/mm; nothing for other sections than
/// [`SECTIONS`].
pub fn resistance(section: f64, temperature: f64) -> Option<f64> {
    Some(RESISTANCES[position(section)?] / 1e6 * (1.0 + GROWTH * (temperature - 20.0)))
}

/// The voltage that is lost on the way out and back at a current (A), V: `2·R·L·I`, with the resistance of a fully loaded conductor.
pub fn voltage_drop(conductor: &Conductor, current: f64) -> Option<f64> {
    drop_with(conductor.section, conductor, current)
}

fn drop_with(section: f64, conductor: &Conductor, current: f64) -> Option<f64> {
    Some(2.0 * resistance(section, operating_temperature(conductor.insulation))? * conductor.length * current)
}

/// The least tabulated cross-section that carries a current (A), installed as this one, mm2.
pub fn section_for_current(conductor: &Conductor, ambient: f64, current: f64) -> Option<f64> {
    let carries = |section: f64| carries_with(section, conductor, ambient).unwrap_or(0.0) >= current;
    SECTIONS.into_iter().find(|section| carries(*section))
}

/// The least tabulated cross-section on which no more than `most` (V) is lost at a current (A), mm2.
pub fn section_for_drop(conductor: &Conductor, current: f64, most: f64) -> Option<f64> {
    SECTIONS.into_iter().find(|section| drop_with(*section, conductor, current).is_some_and(|lost| lost <= most))
}

fn is_one_of(ratings: &[f64], rating: f64) -> bool {
    ratings.iter().any(|own| (own - rating).abs() <= SAME * own)
}

/// Whether breakers are made for a rated current (A): [`PREFERRED_RATINGS`] and [`OTHER_RATINGS`].
pub fn is_breaker_rating(rating: f64) -> bool {
    is_one_of(&PREFERRED_RATINGS, rating) || is_one_of(&OTHER_RATINGS, rating)
}

/// Whether a rated current (A) is one of [`FUSE_RATINGS`].
pub fn is_fuse_rating(rating: f64) -> bool {
    is_one_of(&FUSE_RATINGS, rating)
}

/// The least of [`FUSE_RATINGS`] of a current (A) or more.
pub fn fuse_rating(current: f64) -> Option<f64> {
    FUSE_RATINGS.into_iter().find(|rating| *rating >= current * (1.0 - SAME))
}

/// The least preferred rating of a current (A) or more.
pub fn preferred_rating(current: f64) -> Option<f64> {
    PREFERRED_RATINGS.into_iter().find(|rating| *rating >= current * (1.0 - SAME))
}

/// Why a supply's design current isn't known.
#[derive(Debug, Clone, Copy)]
pub enum NoLoad<'a> {
    /// Something in this room could not be read.
    Incomplete(&'a Room),
    /// This cable's kit isn't known.
    NoKit(&'a Cable),
}

/// The design current of a supply (an index), A: that of every cable on it, in whatever room.
///
/// # Errors
/// What is not known of what it feeds.
pub fn design_current<'a>(rooms: &[RoomMeasure<'a>], supply: usize) -> Result<f64, NoLoad<'a>> {
    let mut total = 0.0;
    for (room, thermostat) in fed(rooms, supply) {
        if room.room.incomplete.is_some() {
            return Err(NoLoad::Incomplete(room.room));
        }
        for index in room.cables_of(thermostat) {
            let cable = &room.room.cables[index];
            total += room.current(cable).ok_or(NoLoad::NoKit(cable))?;
        }
    }
    Ok(total)
}

/// The least index of the junction boxes that one (an index) is wired together with, over others too; its own where it is with none.
pub fn first_wired(boxes: &[Junction], own: usize) -> usize {
    let mut together = vec![own];
    let mut next = 0;
    while let Some(&one) = together.get(next) {
        next += 1;
        for (index, other) in boxes.iter().enumerate() {
            let joined = other.wired == Some(one) || boxes[one].wired == Some(index);
            if joined && !together.contains(&index) {
                together.push(index);
            }
        }
    }
    together.into_iter().min().unwrap_or(own)
}

/// The thermostats (indexes) that a supply feeds, each with its room.
pub fn fed<'r, 'a>(
    rooms: &'r [RoomMeasure<'a>],
    supply: usize,
) -> impl Iterator<Item = (&'r RoomMeasure<'a>, usize)> + use<'r, 'a> {
    rooms.iter().flat_map(move |room| {
        let thermostats = room.room.thermostats.iter().enumerate();
        thermostats.filter(move |(_, own)| own.supply == Some(supply)).map(move |(index, _)| (room, index))
    })
}

/// The least and the greatest resistance that a reading of several cables in parallel may show, ohm: each its kit's resistance with the
/// kit's tolerance, or with `usual`, shares below and above, where its maker gives none. Nothing for no cables.
pub fn expected_resistance<'k>(
    kits: impl Iterator<Item = &'k crate::model::Kit> + Clone,
    usual: (f64, f64),
) -> Option<(f64, f64)> {
    let band = |kit: &crate::model::Kit| kit.tolerance.unwrap_or((-usual.0, usual.1));
    let least = electricity::in_parallel(kits.clone().map(|kit| kit.resistance * (1.0 + band(kit).0)))?;
    let greatest = electricity::in_parallel(kits.map(|kit| kit.resistance * (1.0 + band(kit).1)))?;
    Some((least, greatest))
}

impl<'a> RoomMeasure<'a> {
    /// The cables that a thermostat switches, by index.
    pub fn cables_of(&self, thermostat: usize) -> impl Iterator<Item = usize> + '_ {
        self.room
            .cables
            .iter()
            .enumerate()
            .filter(move |(_, cable)| cable.thermostat == Some(thermostat))
            .map(|(index, _)| index)
    }

    /// The thermostat that switches a cable.
    pub fn thermostat_of(&self, cable: &Cable) -> Option<&'a Thermostat> {
        self.room.thermostats.get(cable.thermostat?)
    }

    /// The voltage a cable works at, V: its supply's, or what its kit is rated for.
    pub fn voltage(&self, cable: &Cable) -> Option<f64> {
        let supply = self.thermostat_of(cable).and_then(|thermostat| self.plan.supplies.get(thermostat.supply?));
        supply
            .and_then(|supply| supply.voltage.as_ref().map(|own| own.value))
            .or_else(|| Some(self.plan.kits.get(cable.kit?)?.voltage))
    }

    /// A cable's power at its voltage, W.
    pub fn power(&self, cable: &Cable) -> Option<f64> {
        let kit = self.plan.kits.get(cable.kit?)?;
        Some(electricity::power_at(kit.output, kit.voltage, self.voltage(cable)?))
    }

    /// A cable's current, A: `P/U`.
    pub fn current(&self, cable: &Cable) -> Option<f64> {
        Some(self.power(cable)? / self.voltage(cable)?)
    }
}

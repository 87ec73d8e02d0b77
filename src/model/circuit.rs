//! What feeds and switches heating cables: supplies, junction boxes, thermostats, contactors.

use super::name::{Name, Stated};
use crate::geometry::Point;
use crate::layout::kinds::{RcdType, UtilizationCategory};
use crate::source::Place;
use crate::worded::Worded;

/// A supply: what a thermostat is fed from.
#[derive(Debug, Clone, PartialEq)]
pub struct Supply {
    /// Its name.
    pub name: Name,
    /// Nominal voltage, V.
    pub voltage: Option<Stated<f64>>,
    /// Rated residual current of its RCD, A.
    pub rcd: Option<Stated<f64>>,
    /// The type of that RCD, where the plan gives it.
    pub rcd_type: Option<RcdType>,
    /// Rated current of its breaker, A.
    pub breaker: Option<Stated<f64>>,
    /// Its conductor.
    pub conductor: Option<Stated<Conductor>>,
    /// Ambient temperature of the conductor, degC.
    pub ambient: Option<Stated<f64>>,
    /// Rated current of the fuse in its connection unit, A.
    pub fuse: Option<Stated<f64>>,
    /// Where it says that it is safety extra-low voltage.
    pub selv: Option<Place>,
    /// The share of its voltage that is lost before it.
    pub before: Option<f64>,
}

/// The conductor of a supply; copper.
#[derive(Debug, Clone, PartialEq)]
pub struct Conductor {
    /// Cross-section, mm2.
    pub section: f64,
    /// Length one way, mm.
    pub length: f64,
    /// How it is installed.
    pub method: Method,
    /// What it is insulated with; where the plan doesn't say, PVC, which carries less.
    pub insulation: Insulation,
    /// Circuits that lie bunched, itself counted; 1 where it lies alone.
    pub grouped: f64,
    /// For how long it runs in thermal insulation, mm.
    pub in_insulation: f64,
}

/// A reference method of installation of IEC 60364-5-52, table B.52.1.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Method {
    /// Single conductors in conduit in a thermally insulated wall.
    A1,
    /// A cable in conduit in a thermally insulated wall.
    A2,
    /// Single conductors in conduit on a wall.
    B1,
    /// A cable in conduit on a wall.
    B2,
    /// A cable on a wall.
    C,
}

impl Worded for Method {
    const WORDS: &'static [(Method, &'static str)] =
        &[(Method::A1, "A1"), (Method::A2, "A2"), (Method::B1, "B1"), (Method::B2, "B2"), (Method::C, "C")];
}

/// What a conductor is insulated with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Insulation {
    /// PVC, for 70 degC at the conductor.
    Pvc,
    /// XLPE or EPR, for 90 degC at the conductor.
    Xlpe,
}

impl Worded for Insulation {
    const WORDS: &'static [(Insulation, &'static str)] = &[(Insulation::Pvc, "pvc"), (Insulation::Xlpe, "xlpe")];
}

/// A junction box.
#[derive(Debug, Clone, PartialEq)]
pub struct Junction {
    /// Its name.
    pub name: Name,
    /// Where on the floor plan.
    pub at: Point,
    /// Height over the floor, mm: its own, or that of a thermostat at the same point, where one of them is given.
    pub height: Option<f64>,
    /// The second digit of its IP code, which tells the water that it keeps out, where the plan gives one.
    pub water_protection: Option<u8>,
    /// The box (an index) that it is wired together with.
    pub wired: Option<usize>,
    /// The statement.
    pub place: Place,
}

/// A thermostat.
#[derive(Debug, Clone, PartialEq)]
pub struct Thermostat {
    /// Its name.
    pub name: Name,
    /// Where on the floor plan.
    pub at: Point,
    /// Height over the floor, mm.
    pub height: Option<f64>,
    /// Rated current, A.
    pub rated: f64,
    /// How warm it lets the floor get, degC.
    pub limit: Option<f64>,
    /// The most that the breaker or fuse before it may be rated, A, where the plan gives it.
    pub behind: Option<f64>,
    /// What feeds it: an index into the plan's supplies.
    pub supply: Option<usize>,
    /// The supply that it names, where there is none of that name or it could not be read.
    pub unknown_supply: Option<String>,
    /// The statement.
    pub place: Place,
}

/// A contactor.
#[derive(Debug, Clone, PartialEq)]
pub struct Contactor {
    /// Its name.
    pub name: Name,
    /// Rated current, A.
    pub rated: f64,
    /// What load that is for, where the plan says.
    pub category: Option<UtilizationCategory>,
    /// The thermostat that works it (an index).
    pub thermostat: usize,
    /// The statement.
    pub place: Place,
}

impl Insulation {
    /// The hottest air that a conductor so insulated carries current in for good, degC: IEC 60364-5-52:2009, table B.52.14. Recalled, not looked up.
    pub fn hottest_ambient(self) -> f64 {
        match self {
            Insulation::Pvc => 60.0,
            Insulation::Xlpe => 80.0,
        }
    }
}

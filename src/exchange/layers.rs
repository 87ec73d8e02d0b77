//! The layers of a drawing that the program writes, and how each looks.

use crate::model::{AreaKind, LineKind};

/// How the things of a layer look.
#[derive(Debug, PartialEq)]
pub struct Look {
    /// The layer's name, or what it begins with.
    pub name: &'static str,
    /// Its colour, by the index that DXF has for colours; none of a cable's is orange or black.
    pub color: u8,
    /// Its line type, of [`LINE_TYPES`].
    pub line_type: &'static str,
    /// The width of its lines, 1/100 mm, of the widths that DXF knows.
    pub weight: i16,
}

const fn look(name: &'static str, color: u8, line_type: &'static str, weight: i16) -> Look {
    Look { name, color, line_type, weight }
}

const SOLID: &str = "CONTINUOUS";
const DASHED: &str = "LAYRULE-DASHED";
const DOTTED: &str = "LAYRULE-DOTTED";
const DASH_DOT: &str = "LAYRULE-DASH-DOT";

/// Line types: name, what they look like, and their dashes (gaps below nothing), mm of floor.
pub const LINE_TYPES: [(&str, &str, &[f64]); 3] = [
    (DASHED, "__ __ __ __", &[120.0, -60.0]),
    (DOTTED, "- - - - - -", &[20.0, -30.0]),
    (DASH_DOT, "___ . ___ .", &[180.0, -50.0, 0.0, -50.0]),
];

/// Outlines of rooms.
pub const WALLS: Look = look("ROOM-WALLS", 7, SOLID, 50);
/// Thresholds of doors.
pub const DOORS: Look = look("DOORS", 8, SOLID, 35);
/// Fixtures.
pub const FIXTURES: Look = look("FIXTURES", 9, SOLID, 25);
/// Where the floor will be drilled.
pub const DRILLS: Look = look("DRILL-ZONES", 33, DASHED, 18);
/// Levels and stairs.
pub const LEVELS: Look = look("LEVELS", 93, SOLID, 18);
/// Rugs and flat furniture.
pub const RUGS: Look = look("RUGS", 43, DASHED, 18);
/// Movement joints.
pub const JOINTS: Look = look("JOINTS", 8, DASH_DOT, 25);
/// Pipes.
pub const PIPES: Look = look("PIPES", 155, DASH_DOT, 35);
/// Partitions.
pub const PARTITIONS: Look = look("PARTITIONS", 7, SOLID, 35);
/// Shower heads.
pub const SHOWER_HEADS: Look = look("SHOWER-HEADS", 155, SOLID, 18);
/// Heating cable, a layer each.
pub const CABLE: Look = look("CABLE", 212, SOLID, 35);
/// Cold tails, a layer for those of each cable.
pub const TAIL: Look = look("TAIL", 150, DASHED, 25);
/// Sensors in their conduits.
pub const SENSORS: Look = look("SENSORS", 132, DOTTED, 25);
/// Thermostats and junction boxes.
pub const BOXES: Look = look("BOXES", 7, SOLID, 25);
/// What is written.
pub const TEXT: Look = look("TEXT", 8, SOLID, 18);

/// The block of a junction box.
pub const JUNCTION: &str = "JUNCTION-BOX";
/// The block of a thermostat.
pub const THERMOSTAT: &str = "THERMOSTAT";
/// The block of a sensor's tip.
pub const TIP: &str = "SENSOR-TIP";

/// The layer of a part of the floor.
pub fn of_area(kind: &AreaKind) -> &'static Look {
    match kind {
        AreaKind::Fixture { .. } => &FIXTURES,
        AreaKind::Drill => &DRILLS,
        AreaKind::Level { .. } => &LEVELS,
    }
}

/// The layer of a line on or in the floor.
pub fn of_line(kind: &LineKind) -> &'static Look {
    match kind {
        LineKind::Joint => &JOINTS,
        LineKind::Pipe(_) => &PIPES,
        LineKind::Door { .. } => &DOORS,
        LineKind::Partition(_) => &PARTITIONS,
    }
}

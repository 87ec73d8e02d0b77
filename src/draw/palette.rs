//! Colours and line widths. Every meaning has a line style or a symbol of its own besides its colour, and no two colours that may lie side by
//! side are of one lightness, so that a drawing copied in grey still reads.

/// Text and thin lines.
pub const INK: &str = "#2B2B33";
/// Dimensions, leaders, what is said by the way.
pub const GREY: &str = "#6A6A74";
/// Frames and rules of tables.
pub const RULE: &str = "#9A9AA4";
/// The paper.
pub const PAPER: &str = "#FFFFFF";
/// Walls inside the building, and towards the outside.
pub const WALL: &str = "#CFCFD4";
/// As [`WALL`], towards the outside.
pub const OUTSIDE_WALL: &str = "#93939C";
/// Heating cable: solid.
pub const CABLE: &str = "#7A2E5D";
/// How the cables of a room are told apart, one after the other: their shades, and the dashes of their lines, mm of paper; the first is solid.
pub const CABLES: [(&str, &[f64]); 3] = [(CABLE, &[]), ("#A7588C", &[5.5, 0.7]), ("#4B1638", &[5.5, 0.7, 0.7, 0.7])];
/// Mesh of a mat, under its cable.
pub const MAT: &str = "#EADDE5";
/// Cold tail: dashed.
pub const TAIL: &str = "#4A6C8C";
/// Sensor in its conduit: dotted.
pub const SENSOR: &str = "#1F7A74";
/// Fixtures: hatched one way.
pub const FIXTURE: &str = "#85807A";
/// Ground under a fixture's hatch.
pub const FIXTURE_GROUND: &str = "#F4F2EF";
/// Drill zones: hatched both ways.
pub const DRILL: &str = "#5E4A1E";
/// Rugs and flat furniture: an edge of short dashes.
pub const RUG: &str = "#A08A60";
/// Ground of another level.
pub const LEVEL_GROUND: &str = "#EBF0EA";
/// Edge of another level.
pub const LEVEL: &str = "#54705A";
/// Joints: long dashes and dots.
pub const JOINT: &str = "#3C3C44";
/// What findings speak of on the floor: thick, or shaded.
pub const FAULT: &str = "#A3331F";
/// Pipes: a double line.
pub const PIPE: &str = "#77808A";

/// Widths on paper, mm, out of the series of ISO 128-2: 0.13 0.18 0.25 0.35 0.5 0.7.
pub mod width {
    /// Hatching, dimension lines.
    pub const FINE: f64 = 0.13;
    /// Edges of fixtures, frames within the sheet.
    pub const THIN: f64 = 0.18;
    /// Tails and conduits.
    pub const MEDIUM: f64 = 0.25;
    /// Heating cable.
    pub const CABLE: f64 = 0.35;
    /// Room outline, sheet frame.
    pub const BROAD: f64 = 0.5;
    /// What is at fault.
    pub const THICK: f64 = 1.0;
    /// Wall band beside the outline.
    pub const WALL: f64 = 1.6;
}

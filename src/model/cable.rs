//! Heating cables and the kits that they come in.

use super::name::Name;
use crate::geometry::{Piece, Point};
use crate::source::Place;

/// A heating cable kit: a cable of fixed length with its cold tail.
#[derive(Debug, Clone, PartialEq)]
pub struct Kit {
    /// Its name.
    pub name: Name,
    /// What its maker calls it.
    pub title: Option<String>,
    /// Power at the rated voltage, W.
    pub output: f64,
    /// Rated voltage, V.
    pub voltage: f64,
    /// Length of the heating part, mm.
    pub length: f64,
    /// Cold resistance, ohm; where the maker gives none, that of output and voltage.
    pub resistance: f64,
    /// Least and most that the resistance may differ by, as shares, where the maker says.
    pub tolerance: Option<(f64, f64)>,
    /// Outside diameter, mm.
    pub diameter: Option<f64>,
    /// Least bending radius, mm.
    pub bend_radius: Option<f64>,
    /// Length of the cold tail, mm.
    pub tail: Option<f64>,
    /// Whether it has an earthed screen.
    pub earthed_screen: Option<bool>,
    /// Its conductors: two, joined at the far end, or one, so that both ends have a cold tail.
    pub cores: u8,
    /// The mat that it is held on, where it is one.
    pub mat: Option<Mat>,
}

/// A mat: a cable held on a mesh at one spacing. The mesh is cut and turned to fit the floor, the cable never.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mat {
    /// Across, mm.
    pub width: f64,
    /// Along, mm.
    pub length: f64,
    /// From run to run of its cable, mm.
    pub spacing: f64,
}

impl Mat {
    /// The floor that it heats, mm2.
    pub fn area(self) -> f64 {
        self.width * self.length
    }
}

/// A heating cable.
#[derive(Debug, Clone, PartialEq)]
pub struct Cable {
    /// Its name.
    pub name: Name,
    /// Its kit: an index into the plan's kits.
    pub kit: Option<usize>,
    /// The kit that it names, where there is none of that name or it could not be read.
    pub unknown_kit: Option<String>,
    /// The junction box its cold tail comes from (an index) …
    pub junction: Option<usize>,
    /// … and the tail's route on the floor from there to the cable's start; empty where none is drawn.
    pub tail: Vec<Point>,
    /// Where the tail is drawn.
    pub tail_place: Place,
    /// The cable (an index) from whose far end the tail comes, where it comes from no junction box.
    pub tail_from: Option<usize>,
    /// The joints (indices among the room's lines) that its tail crosses in a sleeve.
    pub sleeves: Vec<usize>,
    /// The cold tail of its far end, where that has one.
    pub second_tail: Option<SecondTail>,
    /// The thermostat it is switched by (an index).
    pub thermostat: Option<usize>,
    /// The statement of its start.
    pub start: Place,
    /// Its straight pieces.
    pub runs: Vec<Run>,
    /// The statement.
    pub place: Place,
}

/// The cold tail of a cable's far end.
#[derive(Debug, Clone, PartialEq)]
pub struct SecondTail {
    /// The junction box it comes from (an index) …
    pub junction: Option<usize>,
    /// … and its route on the floor from there to the cable's far end.
    pub route: Vec<Point>,
    /// The joints (indices among the room's lines) that it crosses in a sleeve.
    pub sleeves: Vec<usize>,
    /// The statement.
    pub place: Place,
}

/// One straight piece of a cable.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Run {
    /// Where it starts.
    pub start: Point,
    /// Where it ends.
    pub end: Point,
    /// Length of cable laid before it, mm.
    pub before: f64,
    /// The statement that lays it.
    pub place: Place,
}

impl Run {
    /// The piece that it is.
    pub fn piece(&self) -> Piece {
        Piece::new(self.start, self.end)
    }

    /// Its length, mm.
    pub fn length(&self) -> f64 {
        self.piece().length()
    }
}

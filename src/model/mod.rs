//! A plan resolved: names looked up, quantities worked out, paths walked. Lengths and coordinates are in mm, every other
//! value in the unit its field names. Everything knows the place in the text it came from.
//!
//! The files here hold what a plan comes to, as data; [`load`] reads it with the files that it uses, [`resolve`] makes it out of their trees.

mod area;
mod cable;
mod circuit;
mod deviation;
mod drawing;
pub mod fault;
mod floor;
mod kits;
pub mod length;
mod line;
pub mod load;
pub mod materials;
mod name;
mod plan;
mod record;
pub mod resolve;
mod room;
mod sensor;
pub mod shape;
pub mod uses;
pub mod values;

pub use crate::geometry::Point;
pub use area::{Area, AreaKind, Rug};
pub use cable::{Cable, Kit, Mat, Run, SecondTail};
pub use circuit::{Conductor, Contactor, Insulation, Junction, Method, Supply, Thermostat};
pub use deviation::Deviation;
pub use drawing::{By, TitleBlock};
pub use floor::{Below, Floor, Layer, LayerBody};
pub use kits::Kits;
pub use line::{Line, LineKind, Swing};
pub use name::{Name, Stated};
pub(crate) use name::{Named, names};
pub use plan::{NamedValue, Plan};
pub use record::{
    InsulationTest, Label, MeasuredBy, Note, Photo, RcdTest, Reading, Record, ScreedKind, Screeded, ScreenTest,
    SensorReading, Stage,
};
pub use room::{Bonding, Room, ShowerHead, Wall};
pub use sensor::Sensor;
pub use shape::Shape;

macro_rules! named {
    ($($type:ident),*) => {
        $(impl Named for $type {
            fn name(&self) -> &Name {
                &self.name
            }
        })*
    };
}

named!(Kit, Supply, Room, Area, Rug, Line, ShowerHead, Junction, Thermostat, Contactor, Cable, Sensor);

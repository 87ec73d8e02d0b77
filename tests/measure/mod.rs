//! Measurements against what others compute.

mod cover;
mod heat_up;
mod invariance;
mod lent;
mod published;
mod reference_geometry;
mod reference_heat;
mod rings;
mod route;
mod shortcuts;
mod spacing;
mod spirals;
mod temperature_map;

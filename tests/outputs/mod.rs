//! What the faces show.

mod compare;
mod drawing;
mod drawing_overlaps;
mod drawing_sheets;
mod exchange;
mod handover;
mod order;
mod places;
mod reports;
mod scripts;
mod sizing;
mod takeoff;
mod walls;
mod watch;

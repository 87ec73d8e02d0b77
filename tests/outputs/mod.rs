//! What the faces show.

mod compare;
mod drawing;
mod drawing_overlaps;
mod drawing_sheets;
mod handover;
mod order;
mod places;
mod reports;
mod sizing;
mod takeoff;
mod watch;

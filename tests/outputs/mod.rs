//! What the faces show.

mod compare;
mod drawing;
mod handover;
mod order;
mod places;
mod reports;
mod sizing;
mod takeoff;
mod watch;

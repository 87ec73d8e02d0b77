//! What the faces show.

mod drawing;
mod handover;
mod reports;
mod sizing;
mod takeoff;
mod watch;

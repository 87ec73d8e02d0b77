//! What the faces show.

mod drawing;
mod handover;
mod reports;
mod takeoff;
mod watch;

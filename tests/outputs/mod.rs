//! What the faces show.

mod drawing;
mod handover;
mod order;
mod reports;
mod takeoff;
mod watch;

//! What the faces show.

mod compare;
mod drawing;
mod exchange;
mod handover;
mod order;
mod reports;
mod scripts;
mod sizing;
mod takeoff;
mod watch;

//! What lengths are compared to, mm, from the coarsest to the finest: each says what it allows for, and the assertions below hold them to
//! one another.
//!
//! Coordinates reach to a kilometre, and floats hold sixteen digits of them: a coordinate is good to 1e-10 mm, and what is reckoned
//! from a few of them to about [`ALIKE`].

/// Lengths nearer than this are the same to whoever reads a plan: it is what things that touch may lie apart.
pub const TOUCH: f64 = 1e-3;

/// Points nearer than this are one but for rounding, where lines that hardly part are crossed and shares of them lose digits.
pub const SAME: f64 = 1e-6;

/// How much what covers a floor is widened by at least, and less than twice as much at the most, so that no two edges quite coincide. It
/// changes an area by a few millionths of its edges' length, and no length that anyone is told.
pub const WIDENING: f64 = 1e-6;

/// By how much two radii may differ that were one before they were [widened](WIDENING).
pub const WIDENED: f64 = 2.0 * WIDENING;

/// Distances that differ by less are alike but for rounding; so much a box is widened by that must hold what lies just at its edge.
pub const ALIKE: f64 = 1e-9;

/// What a distance reckoned from a few coordinates may miss by rounding.
pub const ROUNDING: f64 = 1e-9;

// What anyone reads off a plan lies far above all that the reckoning itself may add …
const _: () = assert!(100.0 * SAME <= TOUCH && 100.0 * WIDENED <= TOUCH);
// … points that are one lie farther apart than rounding sets them …
const _: () = assert!(100.0 * ROUNDING <= SAME && ALIKE >= ROUNDING);
// … and what is widened stays apart from its neighbour by more than rounding, since no two are widened alike.
const _: () = assert!(100.0 * ROUNDING <= WIDENING);

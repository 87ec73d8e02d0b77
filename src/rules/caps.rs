//! How much of a rule pack is read; what is beyond is told of and left.

/// The largest rule pack that is read, bytes: more than a thousand rules.
pub const LARGEST: usize = 1024 * 1024;

/// The most limits that a rule may have: each finding shows them all.
pub const MOST_LIMITS: usize = 64;

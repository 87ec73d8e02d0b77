//! How much of a text is read, in either language; what is beyond is told of and left.

/// How deep parentheses and braces may nest.
pub const DEEPEST_NESTING: usize = 32;

/// The longest line that is read, bytes: far more than anyone writes, and a bound on what it costs to tell columns.
pub const LONGEST_LINE: usize = 64 * 1024;

/// How many signs of arithmetic, commas and parentheses a text may hold. A parser keeps hundreds of bytes for each.
pub const MOST_SIGNS: usize = 300_000;

//! When laying cables is to have done.

use std::time::Instant;

/// When to have done: at a time, or sooner where somebody says so.
#[derive(Clone, Copy)]
pub struct Until<'u> {
    /// The time.
    pub time: Instant,
    /// Whether what is laid is no longer wanted.
    pub stop: &'u dyn Fn() -> bool,
}

impl Until<'_> {
    /// Whether to end here.
    pub fn is_over(self) -> bool {
        (self.stop)() || Instant::now() >= self.time
    }
}

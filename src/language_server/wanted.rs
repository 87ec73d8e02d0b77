//! Whether what is being worked out is still of use to the editor, asked by whoever works it out at every point where it could stop.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};

use lsp_server::ErrorCode;

use super::server::Refusal;

/// What makes work be left off: a change of what it is worked out from, or its request taken back.
#[derive(Debug, Clone, Default)]
pub struct Wanted {
    /// How many changes there have been, counted by who tells of them.
    pub changes: Arc<AtomicU64>,
    /// Of how many of these who works it out has been told.
    pub told: u64,
    /// Whether a change is a reason to leave off.
    pub heeds_changes: bool,
    /// Set by who hears that the request is no longer wanted.
    pub taken_back: Arc<AtomicBool>,
}

impl Wanted {
    /// Whether something has been changed of which who works it out is yet to be told, so that what comes out is of no use.
    pub fn overtaken(&self) -> bool {
        self.heeds_changes && self.changes.load(Ordering::Relaxed) != self.told
    }

    /// Whether to stop.
    pub fn left_off(&self) -> bool {
        self.taken_back.load(Ordering::Relaxed) || self.overtaken()
    }

    /// Why what was asked for is not answered; nothing where it is still wanted.
    pub fn refusal(&self) -> Option<Refusal> {
        if self.taken_back.load(Ordering::Relaxed) {
            return Some(cancelled());
        }
        self.overtaken().then(overtaken)
    }
}

/// That a request was taken back.
pub fn cancelled() -> Refusal {
    (ErrorCode::RequestCanceled, "cancelled".into())
}

/// That a change has made a request useless.
pub fn overtaken() -> Refusal {
    (ErrorCode::ContentModified, "the text has been changed meanwhile".into())
}

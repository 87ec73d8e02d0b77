//! The newest view, and those who wait for a newer one.

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

use serde::Serialize;

use super::Seen;
use super::view::View;

/// What the page is told, as JSON.
#[derive(Serialize)]
struct Told<'v> {
    version: u64,
    /// Why the view is not of the text as it is now.
    problem: Option<&'v str>,
    /// Whether the view is of an older text, which could be read.
    stale: bool,
    view: Option<&'v View>,
}

#[derive(Default)]
struct Held {
    version: u64,
    view: Option<View>,
    problem: Option<String>,
    stale: bool,
    /// Whether a view is held that was of a plan without faults.
    whole: bool,
    json: Arc<str>,
}

/// The newest view.
#[derive(Default)]
pub(super) struct Board {
    held: Mutex<Held>,
    changed: Condvar,
}

impl Board {
    fn held(&self) -> MutexGuard<'_, Held> {
        self.held.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Shows what a reading saw. A plan with faults takes the place of no plan without.
    pub(super) fn show(&self, seen: Seen) {
        let mut held = self.held();
        let (view, problem, whole) = match seen {
            Seen::Whole(view) => (Some(view), None, true),
            Seen::Partly(view, problem) => (Some(view), Some(problem), false),
            Seen::Nothing(problem) => (None, Some(problem), false),
        };
        let keeps = !whole && (held.whole || view.is_none());
        let stale = keeps && held.view.is_some();
        let same = held.problem == problem && held.stale == stale && (keeps || held.view == view);
        if same && held.version > 0 {
            return;
        }
        if !keeps {
            held.view = view;
            held.whole = whole;
        }
        held.problem = problem;
        held.stale = stale;
        held.version += 1;
        let told = Told {
            version: held.version,
            problem: held.problem.as_deref(),
            stale: held.stale,
            view: held.view.as_ref(),
        };
        // Writing plain structures to memory doesn't fail.
        held.json = serde_json::to_string(&told).unwrap_or_default().into();
        self.changed.notify_all();
    }

    /// The page with what is shown now.
    pub(super) fn page(&self) -> String {
        let held = self.held();
        super::plain::page(held.view.as_ref(), held.problem.as_deref())
    }

    /// Wakes all who wait, so that they see whether they were cut off.
    pub(super) fn wake(&self) {
        // Whoever is about to wait has the lock until it does.
        drop(self.held());
        self.changed.notify_all();
    }

    /// What is shown now, once there is anything newer than `after`; nothing where that takes longer than `patience`, or the one who waits
    /// was `cut` off.
    pub(super) fn newer(&self, after: u64, patience: Duration, cut: &AtomicBool) -> Option<Arc<str>> {
        let until = Instant::now() + patience;
        let mut held = self.held();
        while held.version <= after {
            if cut.load(Ordering::Acquire) {
                return None;
            }
            let left = until.checked_duration_since(Instant::now())?;
            held = self.changed.wait_timeout(held, left).unwrap_or_else(PoisonError::into_inner).0;
        }
        Some(Arc::clone(&held.json))
    }
}

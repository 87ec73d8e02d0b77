//! Waits until a file is saved.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::mpsc::{RecvTimeoutError, channel};
use std::time::{Duration, Instant, SystemTime};

use notify::{RecursiveMode, Watcher as _};

/// How often files are looked at, for file systems that tell of no change.
const LOOK: Duration = Duration::from_millis(700);
/// How long nothing may happen before a file is read: programs save in several steps.
const QUIET: Duration = Duration::from_millis(60);
/// How long that is waited for at the most.
const LONGEST: Duration = Duration::from_millis(600);

/// What tells one state of a file from another; nothing for one that isn't there.
pub(super) type Stamp = Option<(u64, Option<SystemTime>)>;

/// The states of files.
pub(super) fn stamps(files: &[PathBuf]) -> Vec<Stamp> {
    let stamp = |file: &PathBuf| {
        let known = std::fs::metadata(file).ok()?;
        Some((known.len(), known.modified().ok()))
    };
    files.iter().map(stamp).collect()
}

/// Waits until one of the files is in another state than it was `before`: saved, made or removed.
pub(super) fn wait(files: &[PathBuf], before: &[Stamp]) {
    let (sender, events) = channel();
    let told = notify::recommended_watcher(move |event: notify::Result<notify::Event>| {
        // Reading a file is no change of it; and there is no one left to tell once a change was seen.
        if event.is_ok_and(|event| !event.kind.is_access()) {
            let _ = sender.send(());
        }
    });
    // Folders are watched, since most editors save by putting a new file in the old one's place. Where that can't be done, looking has to do.
    let folders: BTreeSet<&Path> = files.iter().filter_map(|file| file.parent()).collect();
    let _watcher = told.map(|mut watcher| {
        for folder in folders {
            let _ = watcher.watch(folder, RecursiveMode::NonRecursive);
        }
        watcher
    });
    while stamps(files) == before {
        match events.recv_timeout(LOOK) {
            Ok(()) => settle(&events),
            Err(RecvTimeoutError::Timeout) => {}
            Err(RecvTimeoutError::Disconnected) => std::thread::sleep(LOOK),
        }
    }
    settle(&events);
}

/// Waits until nothing happens any more.
fn settle(events: &std::sync::mpsc::Receiver<()>) {
    let until = Instant::now() + LONGEST;
    while events.recv_timeout(QUIET).is_ok() && Instant::now() < until {}
}

//! Shows a plan in a browser and keeps it fresh as its files are saved: a page on a loopback address of this machine.
//!
//! ```text
//! files ─changes→ reload ─View→ Board ─server→ page
//! ```
//!
//! `changes` waits for a file to be saved, `view` is what the page shows, `board` holds the newest one and wakes who waits for it,
//! `server` gives it out by HTTP, `request` says what may be asked, `plain` is the page without script. `page.html`, `page.css` and `page.js` are the page.

mod board;
mod changes;
mod plain;
mod request;
mod server;
pub mod view;

use std::net::TcpListener;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::PathBuf;
use std::sync::Arc;

use board::Board;
use view::View;

/// What came of reading a plan once more: what to show, and which files that depends on.
pub struct Reading {
    /// What to show.
    pub seen: Seen,
    /// The files that it came from, whether they are there or not.
    pub files: Vec<PathBuf>,
}

/// What a reading saw.
pub enum Seen {
    /// A plan that could be read whole.
    Whole(View),
    /// A plan with faults: as far as it goes, and what is wrong.
    Partly(View, String),
    /// Nothing, for this reason.
    Nothing(String),
}

/// Serves the page from `listener` until the program ends, reading the plan with `read` at the start and whenever one of its files is saved.
/// `died` is called should one of the threads that do so ever end, since the page is then not what it seems to be.
///
/// # Errors
/// When the system gives no thread for it.
pub fn watch(
    listener: TcpListener,
    mut read: impl FnMut() -> Reading + Send + 'static,
    died: impl Fn() + Send + Sync + 'static,
) -> std::io::Result<()> {
    let died: Arc<dyn Fn() + Send + Sync> = Arc::new(died);
    let (serving, reloading) = (Alarm(Arc::clone(&died)), Alarm(died));
    let board = Arc::new(Board::default());
    let served = Arc::clone(&board);
    let port = listener.local_addr()?.port();
    let thread = |name: &str| std::thread::Builder::new().name(name.into());
    thread("serve").spawn(move || {
        let _alarm = serving;
        server::serve(&listener, port, &served);
    })?;
    thread("reload").spawn(move || {
        let _alarm = reloading;
        let mut files = Vec::new();
        loop {
            let before = changes::stamps(&files);
            // Should it ever fail, the page says so, and the next save is read all the same.
            let reading = catch_unwind(AssertUnwindSafe(&mut read)).unwrap_or_else(|_| Reading {
                seen: Seen::Nothing("this plan can't be shown; that is a fault of layrule's own".into()),
                files: files.clone(),
            });
            board.show(reading.seen);
            // Where it has come to depend on other files it is read again: one of them may have been saved meanwhile.
            if files == reading.files {
                changes::wait(&files, &before);
            }
            files = reading.files;
        }
    })?;
    Ok(())
}

/// Tells that the thread has ended that it belongs to, however it did.
struct Alarm(Arc<dyn Fn() + Send + Sync>);

impl Drop for Alarm {
    fn drop(&mut self) {
        (self.0)();
    }
}

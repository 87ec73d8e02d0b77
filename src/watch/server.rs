//! Gives the page out by HTTP/1.1: one answer a connection, a thread each, no more of them than [`MOST_CONNECTIONS`].
//!
//! Whoever is slow is cut off by a deadline, and sooner where too many are: the one that came first makes room for the one that comes, so
//! that no number of slow clients keeps another out.

use std::collections::VecDeque;
use std::io::{Read as _, Write as _};
use std::net::{Shutdown, TcpListener, TcpStream};
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

use super::board::Board;
use super::request::{Asked, LONGEST_HEAD, Refused, parse};

/// The most connections, and so threads, at a time.
const MOST_CONNECTIONS: usize = 48;
/// How many more threads there may be, of connections just cut off.
const GOING: usize = 8;
/// How long a request may take to come in.
const LONGEST_REQUEST: Duration = Duration::from_secs(5);
/// How long a piece of an answer may take to go out.
const LONGEST_PIECE: Duration = Duration::from_secs(5);

const STYLE: &str = include_str!("page.css");
const SCRIPT: &str = include_str!("page.js");
const ICON: &str = include_str!("icon.svg");

/// What every answer bears: its own script and style and nothing else, no frame round it, nothing kept, nothing given to other sites.
const GUARDS: &str = "Content-Security-Policy: default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; img-src 'self'; base-uri 'none'; \
form-action 'none'; frame-ancestors 'none'\r\nX-Content-Type-Options: nosniff\r\nReferrer-Policy: no-referrer\r\nCache-Control: no-store\r\n\
Cross-Origin-Resource-Policy: same-origin\r\nCross-Origin-Opener-Policy: same-origin\r\nConnection: close\r\n";

/// The connections there are, in the order they came, and how many threads answer, those that were just cut off among them.
#[derive(Default)]
struct Connections {
    open: Mutex<VecDeque<Connection>>,
    threads: AtomicUsize,
}

struct Connection {
    stream: TcpStream,
    /// Whether it was cut off.
    cut: Arc<AtomicBool>,
}

impl Connections {
    fn open(&self) -> MutexGuard<'_, VecDeque<Connection>> {
        self.open.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Takes one more, and cuts off the first where that is one too many.
    fn enter(self: &Arc<Self>, stream: &TcpStream, board: &Board) -> std::io::Result<Entered> {
        let own = Connection { stream: stream.try_clone()?, cut: Arc::default() };
        let entered = Entered { connections: Arc::clone(self), cut: Arc::clone(&own.cut) };
        let mut open = self.open();
        if open.len() >= MOST_CONNECTIONS
            && let Some(first) = open.pop_front()
        {
            first.cut.store(true, Ordering::Release);
            // It may have gone by itself.
            let _ = first.stream.shutdown(Shutdown::Both);
            board.wake();
        }
        open.push_back(own);
        self.threads.fetch_add(1, Ordering::AcqRel);
        Ok(entered)
    }

    /// Waits until those that were cut off have gone, but for a few.
    fn calm_down(&self) {
        while self.threads.load(Ordering::Acquire) > MOST_CONNECTIONS + GOING {
            std::thread::sleep(Duration::from_millis(1));
        }
    }
}

/// A connection that was let in. It is counted for as long as this is there, however the thread that has it ends.
struct Entered {
    connections: Arc<Connections>,
    /// Whether it was cut off.
    cut: Arc<AtomicBool>,
}

impl Drop for Entered {
    fn drop(&mut self) {
        self.connections.open().retain(|known| !Arc::ptr_eq(&known.cut, &self.cut));
        self.connections.threads.fetch_sub(1, Ordering::AcqRel);
    }
}

/// Answers whoever connects, for as long as the program runs.
pub(super) fn serve(listener: &TcpListener, port: u16, board: &Arc<Board>) {
    let connections = Arc::new(Connections::default());
    for stream in listener.incoming() {
        let entered = stream.and_then(|stream| Ok((connections.enter(&stream, board)?, stream)));
        let Ok((entered, stream)) = entered else {
            // The system is out of something; it may have it again in a moment.
            std::thread::sleep(Duration::from_millis(50));
            continue;
        };
        let shown = Arc::clone(board);
        let answering = std::thread::Builder::new().name("answer".into()).stack_size(256 * 1024);
        // Whoever goes away before the answer has no one to be told, and whoever gets no thread is let go.
        let _ = answering.spawn(move || answer(stream, port, &shown, &entered.cut));
        connections.calm_down();
    }
}

fn answer(mut stream: TcpStream, port: u16, board: &Board, cut: &AtomicBool) -> std::io::Result<()> {
    stream.set_write_timeout(Some(LONGEST_PIECE))?;
    let (asked, head_only) = match read(&mut stream, port) {
        Ok(request) => request,
        Err(None) => return Ok(()),
        Err(Some(refused)) => {
            let allow = if refused == Refused::Method { "Allow: GET, HEAD\r\n" } else { "" };
            let text = format!("{}\n", refused.status());
            return send(&mut stream, refused.status(), "text/plain; charset=utf-8", allow, &text, false);
        }
    };
    let (newer, page);
    let (kind, body) = match asked {
        Asked::Page => {
            page = board.page();
            ("text/html; charset=utf-8", &*page)
        }
        Asked::Style => ("text/css; charset=utf-8", STYLE),
        Asked::Script => ("text/javascript; charset=utf-8", SCRIPT),
        Asked::Icon => ("image/svg+xml", ICON),
        Asked::Newer(after, patience) => match board.newer(after, patience, cut) {
            Some(json) => {
                newer = json;
                ("application/json", &*newer)
            }
            None => return send(&mut stream, "204 No Content", "application/json", "", "", true),
        },
    };
    send(&mut stream, "200 OK", kind, "", body, head_only)
}

/// Reads a request; nothing where it doesn't come in time, or its sender goes away.
fn read(stream: &mut TcpStream, port: u16) -> Result<(Asked, bool), Option<Refused>> {
    let until = Instant::now() + LONGEST_REQUEST;
    let mut head = [0; LONGEST_HEAD];
    let mut filled = 0;
    loop {
        let left = until.checked_duration_since(Instant::now()).filter(|left| !left.is_zero()).ok_or(None)?;
        stream.set_read_timeout(Some(left)).map_err(|_| None)?;
        match stream.read(&mut head[filled..]) {
            Ok(0) => return Err((filled > 0).then_some(Refused::Garbage)),
            Ok(count) => filled += count,
            Err(error) if error.kind() == std::io::ErrorKind::Interrupted => continue,
            Err(_) => return Err(None),
        }
        if let Some(request) = parse(&head[..filled], port).map_err(Some)? {
            return Ok(request);
        }
    }
}

fn send(
    stream: &mut TcpStream,
    status: &str,
    kind: &str,
    more: &str,
    body: &str,
    head_only: bool,
) -> std::io::Result<()> {
    let length = body.len();
    let head = format!("HTTP/1.1 {status}\r\nContent-Type: {kind}\r\nContent-Length: {length}\r\n{more}{GUARDS}\r\n");
    stream.write_all(head.as_bytes())?;
    if !head_only {
        stream.write_all(body.as_bytes())?;
    }
    stream.flush()?;
    stream.shutdown(Shutdown::Write)
}

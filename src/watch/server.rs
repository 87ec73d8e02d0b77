//! Gives the page out by HTTP/1.1: one answer a connection, a thread each, no more of them than [`MOST_CONNECTIONS`].
//!
//! Whoever is slow is cut off by a deadline, and sooner where too many are: the one that came first makes room for the one that comes, so
//! that no number of slow clients keeps another out.

use std::collections::VecDeque;
use std::io::{Read as _, Write as _};
use std::net::{Shutdown, TcpListener, TcpStream};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

use super::board::Board;
use super::request::{Asked, LONGEST_HEAD, Refused, parse};

/// The most connections, and so threads, at a time.
const MOST_CONNECTIONS: usize = 48;
/// How long a request may take to come in.
const LONGEST_REQUEST: Duration = Duration::from_secs(5);
/// How long a piece of an answer may take to go out.
const LONGEST_PIECE: Duration = Duration::from_secs(5);

const PAGE: &str = include_str!("page.html");
const STYLE: &str = include_str!("page.css");
const SCRIPT: &str = include_str!("page.js");
const ICON: &str = include_str!("icon.svg");

/// What every answer bears: its own script and style and nothing else, no frame round it, nothing kept, nothing given to other sites.
const GUARDS: &str = "Content-Security-Policy: default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; img-src 'self'; base-uri 'none'; \
form-action 'none'; frame-ancestors 'none'\r\nX-Content-Type-Options: nosniff\r\nReferrer-Policy: no-referrer\r\nCache-Control: no-store\r\n\
Cross-Origin-Resource-Policy: same-origin\r\nCross-Origin-Opener-Policy: same-origin\r\nConnection: close\r\n";

/// The connections there are, in the order they came.
#[derive(Default)]
struct Connections {
    open: Mutex<(u64, VecDeque<(u64, TcpStream)>)>,
}

impl Connections {
    /// Takes one more, and cuts off the first where that is one too many. Gives the number to let it go by.
    fn enter(&self, stream: &TcpStream) -> std::io::Result<u64> {
        let own = stream.try_clone()?;
        let mut open = self.open.lock().unwrap_or_else(PoisonError::into_inner);
        open.0 += 1;
        let number = open.0;
        if open.1.len() >= MOST_CONNECTIONS
            && let Some((_, first)) = open.1.pop_front()
        {
            // It may have gone by itself.
            let _ = first.shutdown(Shutdown::Both);
        }
        open.1.push_back((number, own));
        Ok(number)
    }

    fn leave(&self, number: u64) {
        let mut open = self.open.lock().unwrap_or_else(PoisonError::into_inner);
        open.1.retain(|(known, _)| *known != number);
    }
}

/// Answers whoever connects, for as long as the program runs.
pub(super) fn serve(listener: &TcpListener, port: u16, board: &Arc<Board>) {
    let connections = Arc::new(Connections::default());
    for stream in listener.incoming() {
        let entered = stream.and_then(|stream| Ok((connections.enter(&stream)?, stream)));
        let Ok((number, stream)) = entered else {
            // The system is out of something; it may have it again in a moment.
            std::thread::sleep(Duration::from_millis(50));
            continue;
        };
        let (own, shown) = (Arc::clone(&connections), Arc::clone(board));
        let answering = std::thread::Builder::new().name("answer".into()).stack_size(256 * 1024);
        let begun = answering.spawn(move || {
            // Whoever goes away before the answer has no one to be told.
            let _ = answer(stream, port, &shown);
            own.leave(number);
        });
        if begun.is_err() {
            connections.leave(number);
        }
    }
}

fn answer(mut stream: TcpStream, port: u16, board: &Board) -> std::io::Result<()> {
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
    let newer;
    let (kind, body) = match asked {
        Asked::Page => ("text/html; charset=utf-8", PAGE),
        Asked::Style => ("text/css; charset=utf-8", STYLE),
        Asked::Script => ("text/javascript; charset=utf-8", SCRIPT),
        Asked::Icon => ("image/svg+xml", ICON),
        Asked::Newer(after, patience) => match board.newer(after, patience) {
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

//! What may be asked of the server, and who may ask it.

use std::time::Duration;

/// The longest head of a request that is read, bytes.
pub(super) const LONGEST_HEAD: usize = 8 * 1024;
/// The most header lines.
const MOST_HEADERS: usize = 64;

/// What is asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Asked {
    Page,
    Style,
    Script,
    Icon,
    /// What is shown, once it is newer than this version.
    Newer(u64, Duration),
}

/// How long an asker waits for something newer.
const PATIENCE: Duration = Duration::from_secs(20);

/// Why a request is refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Refused {
    /// It is no HTTP.
    Garbage,
    /// It is too long.
    TooLong,
    /// It names another host: the page of another site, whose name was made to mean this machine.
    Stranger,
    /// It would do something else than read.
    Method,
    /// There is nothing there.
    Unknown,
}

impl Refused {
    /// Status and reason.
    pub(super) fn status(self) -> &'static str {
        match self {
            Refused::Garbage => "400 Bad Request",
            Refused::Stranger => "403 Forbidden",
            Refused::Unknown => "404 Not Found",
            Refused::Method => "405 Method Not Allowed",
            Refused::TooLong => "431 Request Header Fields Too Large",
        }
    }
}

/// What the head of a request asks for, and whether only for the head of the answer; nothing where the head isn't whole yet.
pub(super) fn parse(head: &[u8], port: u16) -> Result<Option<(Asked, bool)>, Refused> {
    let mut headers = [httparse::EMPTY_HEADER; MOST_HEADERS];
    let mut request = httparse::Request::new(&mut headers);
    match request.parse(head) {
        Ok(httparse::Status::Complete(_)) => {}
        Ok(httparse::Status::Partial) if head.len() >= LONGEST_HEAD => return Err(Refused::TooLong),
        Ok(httparse::Status::Partial) => return Ok(None),
        Err(httparse::Error::TooManyHeaders) => return Err(Refused::TooLong),
        Err(_) => return Err(Refused::Garbage),
    }
    let mut hosts = request.headers.iter().filter(|header| header.name.eq_ignore_ascii_case("host"));
    match (hosts.next(), hosts.next()) {
        (Some(host), None) if is_own(host.value, port) => {}
        (Some(_), None) => return Err(Refused::Stranger),
        _ => return Err(Refused::Garbage),
    }
    let head_only = match request.method {
        Some("GET") => false,
        Some("HEAD") => true,
        _ => return Err(Refused::Method),
    };
    Ok(Some((asked(request.path.unwrap_or_default())?, head_only)))
}

/// Whether a host is what this server is called on its own machine.
fn is_own(host: &[u8], port: u16) -> bool {
    ["127.0.0.1", "localhost"].iter().any(|name| {
        let with_port = format!("{name}:{port}");
        host.eq_ignore_ascii_case(with_port.as_bytes()) || (port == 80 && host.eq_ignore_ascii_case(name.as_bytes()))
    })
}

fn asked(target: &str) -> Result<Asked, Refused> {
    match target {
        "/" => Ok(Asked::Page),
        "/page.css" => Ok(Asked::Style),
        "/page.js" => Ok(Asked::Script),
        "/icon.svg" => Ok(Asked::Icon),
        "/view" => Ok(Asked::Newer(0, PATIENCE)),
        _ => {
            let after = target.strip_prefix("/view?after=").and_then(|after| after.parse().ok());
            after.map(|after| Asked::Newer(after, PATIENCE)).ok_or(Refused::Unknown)
        }
    }
}

//! Messages in and out. What comes in may be anything: what is no message is told of, and reading goes on behind it.

use std::io::{BufRead, BufReader, Read, Write};
use std::sync::mpsc::Sender;

use lsp_server::{ErrorCode, Message};
use percent_encoding::{AsciiSet, CONTROLS, utf8_percent_encode};
use serde_json::{Value, json};

/// The largest message that is read, in bytes: the largest file with every character escaped.
const LARGEST_MESSAGE: u64 = 6 * crate::source::LARGEST_FILE + 1024 * 1024;

/// The most values in one message, by the commas in it.
const MOST_VALUES: usize = 1_000_000;

/// The longest line of a header that is looked at.
const LONGEST_HEADER: u64 = 4096;

/// What the server is handed: by an editor, or by the thread that checks.
#[derive(Debug)]
pub enum Incoming {
    /// A message.
    Message(Message),
    /// Something that is none: the answer to it.
    Garbage(Value),
    /// What the thread that checks has to say to the editor.
    Outgoing(Message),
    /// The end.
    End,
}

/// Reads messages until the end, and hands each on; stops early where no one listens.
pub fn read(input: impl Read, queue: &Sender<Incoming>) {
    let mut input = BufReader::new(input);
    loop {
        let incoming = match next(&mut input) {
            Ok(Some(incoming)) => incoming,
            // A stream that can't be read any further has ended too.
            Ok(None) | Err(_) => Incoming::End,
        };
        let end = matches!(incoming, Incoming::End);
        if queue.send(incoming).is_err() || end {
            return;
        }
    }
}

fn next(input: &mut impl BufRead) -> std::io::Result<Option<Incoming>> {
    loop {
        let Some(length) = next_length(input)? else { return Ok(None) };
        if length > LARGEST_MESSAGE {
            std::io::copy(&mut input.take(length), &mut std::io::sink())?;
            let message = format!("a message of {length} bytes is larger than the {LARGEST_MESSAGE} that are read");
            return Ok(Some(garbage(ErrorCode::InvalidRequest, &message, Value::Null)));
        }
        let mut bytes = Vec::new();
        input.take(length).read_to_end(&mut bytes)?;
        if (bytes.len() as u64) < length {
            return Ok(None);
        }
        // Each value takes many times the bytes that it is written with.
        if bytes.iter().filter(|byte| **byte == b',').count() > MOST_VALUES {
            let message = format!("a message of more than {MOST_VALUES} values is not read");
            return Ok(Some(garbage(ErrorCode::InvalidRequest, &message, Value::Null)));
        }
        let value: Value = match serde_json::from_slice(&bytes) {
            Ok(mut value) => {
                escape_uris(&mut value);
                value
            }
            Err(error) => return Ok(Some(garbage(ErrorCode::ParseError, &format!("no JSON: {error}"), Value::Null))),
        };
        let asks = value.get("id").is_some() && value.get("method").is_some();
        let id = value.get("id").filter(|id| id.is_number() || id.is_string()).cloned();
        let answers = value.is_object() && value.get("method").is_none();
        match serde_json::from_value(value) {
            // A request of which the number can't be read is no notification.
            Ok(Message::Notification(_)) if asks => {
                let message = "a request's `id` is a whole number of 32 bits or a text";
                return Ok(Some(garbage(ErrorCode::InvalidRequest, message, id.unwrap_or(Value::Null))));
            }
            Ok(message) => return Ok(Some(Incoming::Message(message))),
            // An answer that can't be read is itself answered by nothing.
            Err(_) if answers => {}
            Err(error) => {
                let message = format!("no message of the protocol: {error}");
                return Ok(Some(garbage(ErrorCode::InvalidRequest, &message, id.unwrap_or(Value::Null))));
            }
        }
    }
}

/// What must not stand in a URI as it is (RFC 3986) and yet does in what some clients send: blanks, and letters beyond ASCII with them.
const RAW: &AsciiSet =
    &CONTROLS.add(b' ').add(b'"').add(b'<').add(b'>').add(b'\\').add(b'^').add(b'`').add(b'{').add(b'|').add(b'}');

/// Escapes what a client left raw in the URIs of a message. serde_json bounds how deep a message nests.
fn escape_uris(value: &mut Value) {
    match value {
        Value::Object(members) => {
            for (key, member) in members {
                match member {
                    Value::String(uri) if key == "uri" || key == "rootUri" => {
                        *uri = utf8_percent_encode(uri, RAW).to_string();
                    }
                    other => escape_uris(other),
                }
            }
        }
        Value::Array(list) => list.iter_mut().for_each(escape_uris),
        _ => {}
    }
}

/// The length of the next message; none at the end. Lines that belong to no header are passed over up to the next one, which may follow
/// them on the same line.
fn next_length(input: &mut impl BufRead) -> std::io::Result<Option<u64>> {
    const LENGTH: &str = "content-length:";
    let mut length = None;
    let mut line = Vec::new();
    loop {
        // Of a line too long to be a header, the end is kept: a header may begin in it.
        let cut = if line.ends_with(b"\n") { line.len() } else { line.len().saturating_sub(LENGTH.len()) };
        line.drain(..cut);
        if input.by_ref().take(LONGEST_HEADER).read_until(b'\n', &mut line)? == 0 {
            return Ok(None);
        }
        if !line.ends_with(b"\n") {
            continue;
        }
        let line = String::from_utf8_lossy(&line).trim().to_ascii_lowercase();
        match (line.rfind(LENGTH), length) {
            (Some(at), _) => length = line[at + LENGTH.len()..].trim().parse::<u64>().ok(),
            (None, Some(length)) if line.is_empty() => return Ok(Some(length)),
            (None, _) => {}
        }
    }
}

/// The answer to what is no message.
fn garbage(code: ErrorCode, message: &str, id: Value) -> Incoming {
    Incoming::Garbage(json!({ "jsonrpc": "2.0", "id": id, "error": { "code": code as i32, "message": message } }))
}

/// Writes a message that is JSON already.
///
/// # Errors
/// When it can't be written.
pub fn write_value(output: &mut impl Write, value: &Value) -> std::io::Result<()> {
    let text = value.to_string();
    write!(output, "Content-Length: {}\r\n\r\n{text}", text.len())?;
    output.flush()
}

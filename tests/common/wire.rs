//! Messages to and from a language server, framed as its protocol wants them: what the tests and the measurement of its speed share.

use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::process::{Child, ChildStdin, Command, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::time::Duration;

use serde_json::{Value, json};

/// A server that runs, and the way to it and back.
pub(crate) struct Wire {
    pub child: Child,
    input: Option<ChildStdin>,
    messages: Receiver<Value>,
}

impl Wire {
    /// Starts a server and reads what it says.
    pub(crate) fn start(command: &mut Command) -> Wire {
        let mut child = command.stdin(Stdio::piped()).stdout(Stdio::piped()).spawn().expect("the program runs");
        let mut output = BufReader::new(child.stdout.take().expect("its output"));
        let (sender, messages) = channel();
        std::thread::spawn(move || {
            loop {
                let mut length = 0;
                loop {
                    let mut line = String::new();
                    if output.read_line(&mut line).unwrap_or(0) == 0 {
                        return;
                    }
                    match line.trim().split_once(": ") {
                        Some(("Content-Length", value)) => length = value.parse().expect("a length"),
                        _ if line.trim().is_empty() => break,
                        _ => panic!("no header: {line}"),
                    }
                }
                let mut bytes = vec![0; length];
                output.read_exact(&mut bytes).expect("as long as it says");
                let message: Value = serde_json::from_slice(&bytes).expect("JSON");
                assert_eq!(message["jsonrpc"], "2.0");
                if sender.send(message).is_err() {
                    return;
                }
            }
        });
        let input = child.stdin.take();
        Wire { child, input, messages }
    }

    pub(crate) fn write(&mut self, bytes: &[u8]) {
        let input = self.input.as_mut().expect("still open");
        input.write_all(bytes).and_then(|()| input.flush()).expect("it reads");
    }

    pub(crate) fn send(&mut self, message: &Value) {
        self.write(&framed(message));
    }

    pub(crate) fn say(&mut self, method: &str, parameters: Value) {
        self.send(&json!({ "jsonrpc": "2.0", "method": method, "params": parameters }));
    }

    /// The next message; none where it takes longer, or there is no more.
    pub(crate) fn next(&self, patience: Duration) -> Option<Value> {
        self.messages.recv_timeout(patience).ok()
    }

    /// Says nothing any more.
    pub(crate) fn close(&mut self) {
        drop(self.input.take());
    }
}

impl Drop for Wire {
    fn drop(&mut self) {
        self.close();
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// A message with its header.
pub(crate) fn framed(message: &Value) -> Vec<u8> {
    let text = message.to_string();
    format!("Content-Length: {}\r\n\r\n{text}", text.len()).into_bytes()
}

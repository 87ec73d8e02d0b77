//! The thread that checks: it tells of findings as texts change, and answers what takes a check. It works on files of its own, as the server
//! tells it of them, so that an editor is answered meanwhile; a check that a change overtakes is left off.

use std::collections::{BTreeMap, HashMap, VecDeque};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::time::{Duration, Instant};

use lsp_server::{ErrorCode, Message, Notification, Request, RequestId};
use lsp_types::notification::{self as notice, Notification as _};
use lsp_types::request::{self, Request as _};
use lsp_types::{Diagnostic, PublishDiagnosticsParams, Uri};
use serde_json::Value;

use super::diagnostics;
use super::documents::Document;
use super::laying::{self, Job};
use super::server::{Refusal, on, response, safely};
use super::transport::Incoming;
use super::wanted::cancelled;
use super::workspace::{Shared, Workspace};

/// What the server hands over.
#[derive(Debug)]
pub enum Task {
    /// A text was opened or changed, or closed.
    Text(PathBuf, Option<Document>),
    /// These folders are open now.
    Folders(Vec<PathBuf>),
    /// Files changed that no one holds open.
    Files,
    /// A request that takes a check, and whether it has been taken back.
    Asked(Request, Arc<AtomicBool>),
}

impl Task {
    /// Whether what has been checked before may be of no use after it.
    pub fn changes(&self) -> bool {
        matches!(self, Task::Text(..) | Task::Folders(_) | Task::Files)
    }
}

/// How long findings may wait for the last of many changes.
const LONGEST_WAIT: Duration = Duration::from_millis(500);

/// Begins the thread. It ends once nothing more can be handed to it.
pub fn begin(shared: Shared, editor: Sender<Incoming>) -> Sender<Task> {
    let (tasks, receiver) = channel();
    std::thread::spawn(move || {
        let workspace = Workspace::from(shared);
        let (published, queue) = (HashMap::new(), VecDeque::new());
        let laying = laying::begin(editor.clone());
        let mut checking =
            Checking { workspace, editor, laying, changed: None, elsewhere: false, asks_all: false, published, queue };
        checking.serve(&receiver);
    });
    tasks
}

struct Checking {
    workspace: Workspace,
    editor: Sender<Incoming>,
    /// Where cables are laid.
    laying: Sender<Job>,
    /// Since when something has changed whose findings are not told of.
    changed: Option<Instant>,
    /// Whether more than the one text that is open has changed.
    elsewhere: bool,
    /// Whether the editor has asked for what is wrong in all files.
    asks_all: bool,
    /// What was told last, file by file: of what URI and version.
    published: HashMap<PathBuf, (Uri, Option<i32>, Vec<Diagnostic>)>,
    queue: VecDeque<Task>,
}

impl Checking {
    fn serve(&mut self, tasks: &Receiver<Task>) {
        loop {
            self.queue.extend(tasks.try_iter());
            if let Some(since) = self.changed {
                let waited = since.elapsed() > LONGEST_WAIT;
                let known = !self.queue.iter().any(Task::changes);
                if known && (self.queue.is_empty() || waited) {
                    // Who types on and on is told of what was found a moment ago.
                    self.workspace.wanted.heeds_changes = !waited;
                    self.workspace.wanted.taken_back = Arc::default();
                    self.publish();
                    continue;
                }
            }
            let task = match self.queue.pop_front() {
                Some(task) => task,
                None => match tasks.recv() {
                    Ok(task) => task,
                    Err(_) => return,
                },
            };
            if task.changes() {
                self.workspace.wanted.told += 1;
                self.changed.get_or_insert_with(Instant::now);
                let others = self.workspace.documents.open.len() > 1;
                self.elsewhere |= others || !matches!(task, Task::Text(..));
            }
            match task {
                Task::Text(path, Some(document)) => drop(self.workspace.documents.open.insert(path, document)),
                Task::Text(path, None) => {
                    self.workspace.documents.open.remove(&path);
                    self.workspace.forget(&path);
                }
                Task::Folders(folders) => self.workspace.folders = folders,
                Task::Asked(request, taken_back) => self.answer(request, taken_back),
                Task::Files => {}
            }
        }
    }

    fn say(&self, message: impl Into<Message>) {
        // A server that has ended listens to no one.
        let _ = self.editor.send(Incoming::Outgoing(message.into()));
    }

    fn answer(&mut self, asked: Request, taken_back: Arc<AtomicBool>) {
        let id = asked.id.clone();
        if taken_back.load(Ordering::Relaxed) {
            return self.say(response(id, Err(cancelled())));
        }
        let wanted = &mut self.workspace.wanted;
        (wanted.taken_back, wanted.heeds_changes) = (taken_back, true);
        self.asks_all |= asked.method == request::WorkspaceDiagnosticRequest::METHOD;
        if asked.method == request::ExecuteCommand::METHOD {
            return self.lay(asked);
        }
        let workspace = &mut self.workspace;
        let mut answer = safely(|| answer(workspace, asked));
        if let Some(refusal) = self.workspace.wanted.refusal() {
            answer = Err(refusal);
        }
        self.say(response(id, answer));
    }

    /// Hands a room to where its cables are laid, from where the answer comes.
    fn lay(&mut self, asked: Request) {
        let id = asked.id.clone();
        let workspace = &mut self.workspace;
        let job = catch_unwind(AssertUnwindSafe(|| laying::job(workspace, asked)));
        match job.unwrap_or_else(|_| Err((ErrorCode::InternalError, "this could not be answered".into()))) {
            // It goes on until no one can hand it anything.
            Ok(job) => drop(self.laying.send(job)),
            Err(refusal) => self.say(response(id, Err(refusal))),
        }
    }

    /// Has an editor ask anew for what a change elsewhere may have altered, as far as it can be told to.
    fn ask_anew(&mut self) {
        if !std::mem::take(&mut self.elsewhere) {
            return;
        }
        let client = self.workspace.client;
        let methods = [
            (client.asks && client.asks_anew, request::WorkspaceDiagnosticRefresh::METHOD),
            (client.hints_anew, request::InlayHintRefreshRequest::METHOD),
        ];
        for (_, method) in methods.into_iter().filter(|(can, _)| *can) {
            self.say(Request::new(RequestId::from(method.to_string()), method.into(), Value::Null));
        }
    }

    /// Tells of the findings in every file for which they, or its version, are others than told last.
    fn publish(&mut self) {
        let asks = self.workspace.client.asks;
        let workspace = &mut self.workspace;
        let found = catch_unwind(AssertUnwindSafe(|| match asks && self.asks_all {
            true => BTreeMap::new(),
            false => {
                let files = diagnostics::in_sight(workspace);
                diagnostics::all(workspace, files)
            }
        }));
        if self.workspace.wanted.overtaken() {
            return;
        }
        self.changed = None;
        self.ask_anew();
        let Ok(mut found) = found else { return };
        // What an editor asks for it needn't be told.
        found.retain(|path, _| !asks || !self.workspace.documents.open.contains_key(path));
        for path in self.published.keys() {
            found.entry(path.clone()).or_default();
        }
        for (path, list) in found {
            let document = self.workspace.documents.open.get(&path).filter(|_| !asks);
            let version = document.map(|document| document.version);
            let before = self.published.get(&path);
            if list.is_empty() && version.is_none() && before.is_none() {
                continue;
            }
            // What is closed is taken back by the name it was told under.
            let uri = match (document, before) {
                (Some(document), _) => Some(document.uri.clone()),
                (None, Some((uri, ..))) => Some(uri.clone()),
                (None, None) => self.workspace.documents.uri(&path),
            };
            let Some(uri) = uri else { continue };
            let told = (uri, version, list);
            if before == Some(&told) {
                continue;
            }
            let params = PublishDiagnosticsParams::new(told.0.clone(), told.2.clone(), version);
            self.say(Notification::new(notice::PublishDiagnostics::METHOD.into(), params));
            if told.2.is_empty() && version.is_none() {
                self.published.remove(&path);
            } else {
                self.published.insert(path, told);
            }
        }
    }
}

/// Whether a request takes a check, so that it is answered here.
pub fn answers(method: &str) -> bool {
    matches!(
        method,
        request::HoverRequest::METHOD
            | request::CodeActionRequest::METHOD
            | request::ExecuteCommand::METHOD
            | request::InlayHintRequest::METHOD
            | request::DocumentDiagnosticRequest::METHOD
            | request::WorkspaceDiagnosticRequest::METHOD
    )
}

fn answer(workspace: &mut Workspace, request: Request) -> Result<Value, Refusal> {
    match request.method.as_str() {
        request::HoverRequest::METHOD => on::<request::HoverRequest>(workspace, request, super::hover::hover),
        request::InlayHintRequest::METHOD => on::<request::InlayHintRequest>(workspace, request, super::inlay::hints),
        request::DocumentDiagnosticRequest::METHOD => {
            on::<request::DocumentDiagnosticRequest>(workspace, request, super::pulled::document)
        }
        request::WorkspaceDiagnosticRequest::METHOD => {
            on::<request::WorkspaceDiagnosticRequest>(workspace, request, super::pulled::workspace)
        }
        _ => on::<request::CodeActionRequest>(workspace, request, super::actions::actions),
    }
}

//! The conversation with an editor: from `initialize` to `exit`. What can be answered from texts alone is answered at once, each request by the
//! file of its feature; what takes a check is handed to [`checking`], a thread of its own.

use std::collections::VecDeque;
use std::io::{Read, Write};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::time::Duration;

use lsp_server::{ErrorCode, Message, Notification, Request, RequestId, Response};
use lsp_types::notification::{self as notice, Notification as _};
use lsp_types::request::{self, Request as _};
use lsp_types::{
    DidChangeTextDocumentParams, DidChangeWatchedFilesRegistrationOptions, DidChangeWorkspaceFoldersParams,
    DidCloseTextDocumentParams, DidOpenTextDocumentParams, FileSystemWatcher, GlobPattern, InitializeResult,
    Registration, RegistrationParams, ServerInfo, Uri, WorkspaceFolder,
};
use serde::de::DeserializeOwned;
use serde_json::Value;

use super::checking::{self, Task};
use super::client::{Client, part};
use super::documents::{Document, Language, path_of};
use super::positions::Text;
use super::transport::{self, Incoming};
use super::wanted::cancelled;
use super::workspace::Workspace;
use crate::rules::packs::RuleSet;

/// What whoever starts the server decides.
#[derive(Debug, Clone)]
pub struct Options {
    /// The rules that come with the program.
    pub built_in: Arc<RuleSet>,
    /// The day on which deviations are judged; today where none is given.
    pub date: Option<jiff::civil::Date>,
    /// The folder that is open where the editor names none.
    pub folder: PathBuf,
}

/// Serves an editor until it leaves, and says whether it had asked for a shutdown, as it should.
///
/// # Errors
/// When the editor can't be written to.
pub fn run(input: impl Read + Send + 'static, output: impl Write, options: Options) -> std::io::Result<bool> {
    let (sender, receiver) = channel();
    let editor = sender.clone();
    std::thread::spawn(move || transport::read(input, &editor));
    let mut workspace = Workspace::new(Arc::clone(&options.built_in));
    workspace.today = options.date;
    let mut server = Server {
        output,
        options,
        phase: Phase::Begun,
        workspace,
        incoming: sender,
        checking: None,
        asked: Vec::new(),
        queue: VecDeque::new(),
    };
    server.serve(&receiver)?;
    Ok(server.phase == Phase::ShutDown)
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Phase {
    Begun,
    Initialized,
    ShutDown,
}

struct Server<W> {
    output: W,
    options: Options,
    phase: Phase,
    workspace: Workspace,
    /// Where the thread that checks is heard.
    incoming: Sender<Incoming>,
    /// What that thread is to do, once there is one.
    checking: Option<Sender<Task>>,
    /// The requests handed to it that it hasn't answered, each with how it is taken back.
    asked: Vec<(RequestId, Arc<AtomicBool>)>,
    queue: VecDeque<Incoming>,
}

/// How long what was asked before the end may take to be answered.
const LONGEST_FAREWELL: Duration = Duration::from_secs(2);

/// Why a request is answered with an error.
pub(super) type Refusal = (ErrorCode, String);

/// The answer as a message.
pub(super) fn response(id: RequestId, answer: Result<Value, Refusal>) -> Response {
    match answer {
        Ok(value) => Response { id, response_result: Ok(value) },
        Err((code, message)) => Response::new_err(id, code as i32, message),
    }
}

/// What a feature can't cope with must not take the editor's unsaved texts with it.
pub(super) fn safely(answer: impl FnOnce() -> Result<Value, Refusal>) -> Result<Value, Refusal> {
    let answer = catch_unwind(AssertUnwindSafe(answer));
    answer.unwrap_or_else(|_| Err((ErrorCode::InternalError, "this could not be answered".into())))
}

/// The request that a notification takes back.
fn takes_back(note: &Notification) -> Option<RequestId> {
    let id = (note.method == notice::Cancel::METHOD).then(|| note.params.get("id"))??;
    serde_json::from_value(id.clone()).ok()
}

impl<W: Write> Server<W> {
    fn serve(&mut self, receiver: &Receiver<Incoming>) -> std::io::Result<()> {
        loop {
            self.queue.extend(receiver.try_iter());
            let incoming = match self.queue.pop_front() {
                Some(incoming) => incoming,
                None => receiver.recv().unwrap_or(Incoming::End),
            };
            match incoming {
                Incoming::End => break,
                Incoming::Garbage(answer) => transport::write_value(&mut self.output, &answer)?,
                Incoming::Outgoing(message) => self.pass_on(message)?,
                Incoming::Message(Message::Notification(note)) if note.method == notice::Exit::METHOD => break,
                Incoming::Message(Message::Notification(note)) => self.notified(note)?,
                Incoming::Message(Message::Request(request)) => self.asked(request)?,
                Incoming::Message(Message::Response(_)) => {}
            }
        }
        // What was asked before the end is answered.
        self.checking = None;
        while !self.asked.is_empty() {
            match self.queue.pop_front().map_or_else(|| receiver.recv_timeout(LONGEST_FAREWELL), Ok) {
                Ok(Incoming::Outgoing(message)) => self.pass_on(message)?,
                Ok(_) => {}
                Err(_) => break,
            }
        }
        Ok(())
    }

    /// Sends on what the thread that checks has to say.
    fn pass_on(&mut self, message: Message) -> std::io::Result<()> {
        if let Message::Response(response) = &message {
            // What was taken back has been answered.
            let Some(at) = self.asked.iter().position(|(id, _)| *id == response.id) else { return Ok(()) };
            self.asked.remove(at);
        }
        self.send(message)
    }

    /// Hands something to the thread that checks; a change makes it leave off what that overtakes.
    fn tell(&mut self, task: Task) {
        if let Some(tasks) = &self.checking {
            if task.changes() {
                self.workspace.wanted.changes.fetch_add(1, Ordering::Relaxed);
            }
            // It goes on until no one can hand it anything.
            let _ = tasks.send(task);
        }
    }

    fn send(&mut self, message: impl Into<Message>) -> std::io::Result<()> {
        message.into().write(&mut self.output)
    }

    fn asked(&mut self, request: Request) -> std::io::Result<()> {
        let id = request.id.clone();
        let answer = match (self.phase, request.method.as_str()) {
            _ if self.is_cancelled(&id) => Err(cancelled()),
            (Phase::Begun, request::Initialize::METHOD) => self.initialize(request.params),
            (Phase::Begun, _) => Err((ErrorCode::ServerNotInitialized, "`initialize` comes first".into())),
            (Phase::ShutDown, _) => Err((ErrorCode::InvalidRequest, "the server has been shut down".into())),
            (Phase::Initialized, request::Initialize::METHOD) => {
                Err((ErrorCode::InvalidRequest, "the server is initialized already".into()))
            }
            (Phase::Initialized, request::Shutdown::METHOD) => {
                self.phase = Phase::ShutDown;
                Ok(Value::Null)
            }
            (Phase::Initialized, method) if checking::answers(method) => {
                let taken_back = Arc::default();
                self.asked.push((id, Arc::clone(&taken_back)));
                self.tell(Task::Asked(request, taken_back));
                return Ok(());
            }
            (Phase::Initialized, _) => {
                let workspace = &mut self.workspace;
                safely(|| answer(workspace, request))
            }
        };
        self.send(response(id, answer))
    }

    /// Whether a request that is about to be answered has been taken back meanwhile.
    fn is_cancelled(&self, id: &RequestId) -> bool {
        self.queue.iter().any(|incoming| match incoming {
            Incoming::Message(Message::Notification(note)) => takes_back(note).as_ref() == Some(id),
            _ => false,
        })
    }

    fn initialize(&mut self, params: Value) -> Result<Value, Refusal> {
        if !params.get("capabilities").is_some_and(Value::is_object) {
            return Err((ErrorCode::InvalidParams, "`initialize` says what the client can: `capabilities`".into()));
        }
        // Only what is used is read, so that a client may say what this server has never heard of.
        let folders: Vec<WorkspaceFolder> = part(&params, "/workspaceFolders");
        let root: Option<Uri> = part(&params, "/rootUri");
        let named: Vec<Uri> = match folders.is_empty() {
            false => folders.into_iter().map(|folder| folder.uri).collect(),
            true => root.into_iter().collect(),
        };
        self.workspace.folders = named.iter().map(|uri| path_of(uri, &self.options.folder)).collect();
        if self.workspace.folders.is_empty() {
            self.workspace.folders.push(self.options.folder.clone());
        }
        self.workspace.home = self.workspace.folders.first().cloned().unwrap_or_default();
        self.workspace.client = Client::of(&params);
        self.checking = Some(checking::begin(self.workspace.shared(), self.incoming.clone()));
        self.phase = Phase::Initialized;
        let result = InitializeResult {
            capabilities: super::capabilities::capabilities(self.workspace.client),
            server_info: Some(ServerInfo { name: "layrule".into(), version: Some(env!("CARGO_PKG_VERSION").into()) }),
        };
        write(result)
    }

    fn notified(&mut self, note: Notification) -> std::io::Result<()> {
        if self.phase != Phase::Initialized {
            return Ok(());
        }
        match note.method.as_str() {
            notice::Initialized::METHOD => return self.watch(),
            notice::DidOpenTextDocument::METHOD => self.with(note.params, Self::opened),
            notice::DidChangeTextDocument::METHOD => self.with(note.params, Self::edited),
            notice::DidCloseTextDocument::METHOD => self.with(note.params, Self::closed),
            notice::DidChangeWorkspaceFolders::METHOD => self.with(note.params, Self::folders_changed),
            notice::DidSaveTextDocument::METHOD | notice::DidChangeWatchedFiles::METHOD => self.tell(Task::Files),
            notice::Cancel::METHOD => {
                let id = takes_back(&note);
                if let Some(at) = self.asked.iter().position(|(own, _)| Some(own) == id.as_ref()) {
                    // Whoever is at it sees that at the next point where it could stop; the editor needn't wait for that.
                    let (id, taken_back) = self.asked.remove(at);
                    taken_back.store(true, Ordering::Relaxed);
                    return self.send(response(id, Err(cancelled())));
                }
            }
            _ => {}
        }
        Ok(())
    }

    /// Does something with the parameters of a notification; there is no one to tell of those that make no sense.
    fn with<P: DeserializeOwned>(&mut self, params: Value, act: fn(&mut Self, P)) {
        if let Ok(params) = serde_json::from_value(params) {
            act(self, params);
        }
    }

    fn path(&self, uri: &Uri) -> PathBuf {
        self.workspace.path_of(uri)
    }

    fn opened(&mut self, params: DidOpenTextDocumentParams) {
        let item = params.text_document;
        let path = self.path(&item.uri);
        let language = Language::of(&path).or(match item.language_id.as_str() {
            "layrule" => Some(Language::Layout),
            "layrule-rule" => Some(Language::Rules),
            _ => None,
        });
        let text = Arc::new(Text::new(item.text));
        let document = Document { uri: item.uri, version: item.version, text, language };
        self.workspace.documents.open.insert(path.clone(), document.clone());
        self.tell(Task::Text(path, Some(document)));
    }

    fn edited(&mut self, params: DidChangeTextDocumentParams) {
        let path = self.path(&params.text_document.uri);
        let encoding = self.workspace.client.encoding;
        let Some(document) = self.workspace.documents.open.get_mut(&path) else { return };
        document.version = params.text_document.version;
        for change in params.content_changes {
            document.text = Arc::new(Text::new(document.text.changed(encoding, change.range, &change.text)));
        }
        let document = document.clone();
        self.tell(Task::Text(path, Some(document)));
    }

    fn closed(&mut self, params: DidCloseTextDocumentParams) {
        let path = self.path(&params.text_document.uri);
        self.workspace.documents.open.remove(&path);
        self.workspace.forget(&path);
        self.tell(Task::Text(path, None));
    }

    fn folders_changed(&mut self, params: DidChangeWorkspaceFoldersParams) {
        let paths = |folders: Vec<lsp_types::WorkspaceFolder>, own: &Path| -> Vec<PathBuf> {
            folders.iter().map(|folder| path_of(&folder.uri, own)).collect()
        };
        let removed = paths(params.event.removed, &self.options.folder);
        let added = paths(params.event.added, &self.options.folder);
        self.workspace.folders.retain(|folder| !removed.contains(folder));
        self.workspace.folders.extend(added);
        self.tell(Task::Folders(self.workspace.folders.clone()));
    }

    /// Asks an editor that can to say when files change that it doesn't hold.
    fn watch(&mut self) -> std::io::Result<()> {
        if !self.workspace.client.watches {
            return Ok(());
        }
        let watchers = ["**/*.lay", "**/*.rule", "**/layrule.toml"]
            .map(|glob| FileSystemWatcher { glob_pattern: GlobPattern::String(glob.into()), kind: None });
        let options = DidChangeWatchedFilesRegistrationOptions { watchers: watchers.to_vec() };
        let registration = Registration {
            id: "files".into(),
            method: notice::DidChangeWatchedFiles::METHOD.into(),
            register_options: serde_json::to_value(options).ok(),
        };
        let params = RegistrationParams { registrations: vec![registration] };
        let id = RequestId::from("files".to_string());
        self.send(Request::new(id, request::RegisterCapability::METHOD.into(), params))
    }
}

fn read<P: DeserializeOwned>(params: Value) -> Result<P, Refusal> {
    serde_json::from_value(params).map_err(|error| (ErrorCode::InvalidParams, error.to_string()))
}

fn write(result: impl serde::Serialize) -> Result<Value, Refusal> {
    serde_json::to_value(result).map_err(|error| (ErrorCode::InternalError, error.to_string()))
}

/// Answers a request by the feature of its method.
pub(super) fn on<R: request::Request>(
    workspace: &mut Workspace,
    request: Request,
    answer: fn(&mut Workspace, R::Params) -> Result<R::Result, String>,
) -> Result<Value, Refusal> {
    let result = answer(workspace, read(request.params)?);
    write(result.map_err(|message| (ErrorCode::RequestFailed, message))?)
}

fn answer(workspace: &mut Workspace, request: Request) -> Result<Value, Refusal> {
    match request.method.as_str() {
        request::Completion::METHOD => on::<request::Completion>(workspace, request, super::completion::completion),
        request::GotoDefinition::METHOD => {
            on::<request::GotoDefinition>(workspace, request, super::definition::definition)
        }
        request::References::METHOD => on::<request::References>(workspace, request, super::definition::references),
        request::PrepareRenameRequest::METHOD => {
            on::<request::PrepareRenameRequest>(workspace, request, super::rename::prepare)
        }
        request::Rename::METHOD => on::<request::Rename>(workspace, request, super::rename::rename),
        request::DocumentSymbolRequest::METHOD => {
            on::<request::DocumentSymbolRequest>(workspace, request, super::symbols::symbols)
        }
        request::FoldingRangeRequest::METHOD => {
            on::<request::FoldingRangeRequest>(workspace, request, super::folding::folding)
        }
        request::SemanticTokensFullRequest::METHOD => {
            on::<request::SemanticTokensFullRequest>(workspace, request, super::tokens::full)
        }
        request::SemanticTokensRangeRequest::METHOD => {
            on::<request::SemanticTokensRangeRequest>(workspace, request, super::tokens::range)
        }
        request::DocumentHighlightRequest::METHOD => {
            on::<request::DocumentHighlightRequest>(workspace, request, super::highlights::highlights)
        }
        request::DocumentLinkRequest::METHOD => {
            on::<request::DocumentLinkRequest>(workspace, request, super::links::links)
        }
        request::SelectionRangeRequest::METHOD => {
            on::<request::SelectionRangeRequest>(workspace, request, super::selection::selections)
        }
        request::SignatureHelpRequest::METHOD => {
            on::<request::SignatureHelpRequest>(workspace, request, super::forms::signature)
        }
        request::WorkspaceSymbolRequest::METHOD => {
            on::<request::WorkspaceSymbolRequest>(workspace, request, super::symbols::everywhere)
        }
        request::Formatting::METHOD => on::<request::Formatting>(workspace, request, super::formatting::formatting),
        method => Err((ErrorCode::MethodNotFound, format!("`{method}` is not served"))),
    }
}

//! The conversation with an editor: from `initialize` to `exit`, each message handed to the file of its feature.

use std::collections::{HashMap, VecDeque};
use std::io::{Read, Write};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};

use lsp_server::{ErrorCode, Message, Notification, Request, RequestId, Response};
use lsp_types::notification::{self as notice, Notification as _};
use lsp_types::request::{self, Request as _};
use lsp_types::{
    Diagnostic, DiagnosticTag, DidChangeTextDocumentParams, DidChangeWatchedFilesRegistrationOptions,
    DidChangeWorkspaceFoldersParams, DidCloseTextDocumentParams, DidOpenTextDocumentParams, FileSystemWatcher,
    GlobPattern, InitializeResult, PositionEncodingKind, PublishDiagnosticsParams, Registration, RegistrationParams,
    ServerInfo, Uri, WorkspaceFolder,
};
use serde::de::DeserializeOwned;
use serde_json::Value;

use super::diagnostics::{self, Shown};
use super::documents::{Document, Language, path_of};
use super::positions::{Encoding, Text};
use super::transport::{self, Incoming};
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

/// How long findings may wait for the last of many changes.
const LONGEST_WAIT: Duration = Duration::from_millis(500);

/// Serves an editor until it leaves, and says whether it had asked for a shutdown, as it should.
///
/// # Errors
/// When the editor can't be written to.
pub fn run(input: impl Read + Send + 'static, output: impl Write, options: Options) -> std::io::Result<bool> {
    let (sender, receiver) = channel();
    // Reads on while a check is going on, so that what has been typed meanwhile is known once it is done.
    std::thread::spawn(move || transport::read(input, &sender));
    let mut workspace = Workspace::new(Arc::clone(&options.built_in));
    workspace.today = options.date;
    let mut server = Server {
        output,
        options,
        phase: Phase::Begun,
        workspace,
        shown: Shown::default(),
        watches: false,
        changed: None,
        published: HashMap::new(),
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
    shown: Shown,
    /// Whether the editor can watch files.
    watches: bool,
    /// Since when something has changed whose findings are not told of.
    changed: Option<Instant>,
    /// What was told last, file by file: of what URI and version.
    published: HashMap<PathBuf, (Uri, Option<i32>, Vec<Diagnostic>)>,
    queue: VecDeque<Incoming>,
}

/// Why a request is answered with an error.
type Refusal = (ErrorCode, String);

impl<W: Write> Server<W> {
    fn serve(&mut self, receiver: &Receiver<Incoming>) -> std::io::Result<()> {
        loop {
            self.queue.extend(receiver.try_iter());
            let waited = self.changed.is_some_and(|since| since.elapsed() > LONGEST_WAIT);
            if self.changed.is_some() && (self.queue.is_empty() || waited) {
                self.publish()?;
                continue;
            }
            let incoming = match self.queue.pop_front() {
                Some(incoming) => incoming,
                None => receiver.recv().unwrap_or(Incoming::End),
            };
            match incoming {
                Incoming::End => return Ok(()),
                Incoming::Garbage(answer) => transport::write_value(&mut self.output, &answer)?,
                Incoming::Message(Message::Notification(note)) if note.method == notice::Exit::METHOD => return Ok(()),
                Incoming::Message(Message::Notification(note)) => self.notified(note)?,
                Incoming::Message(Message::Request(request)) => self.asked(request)?,
                Incoming::Message(Message::Response(_)) => {}
            }
        }
    }

    fn send(&mut self, message: impl Into<Message>) -> std::io::Result<()> {
        message.into().write(&mut self.output)
    }

    fn asked(&mut self, request: Request) -> std::io::Result<()> {
        let id = request.id.clone();
        let answer = match (self.phase, request.method.as_str()) {
            _ if self.is_cancelled(&id) => Err((ErrorCode::RequestCanceled, "cancelled".to_string())),
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
            (Phase::Initialized, _) => {
                let workspace = &mut self.workspace;
                // What a feature can't cope with must not take the editor's unsaved texts with it.
                let answer = catch_unwind(AssertUnwindSafe(|| answer(workspace, request)));
                answer.unwrap_or_else(|_| Err((ErrorCode::InternalError, "this could not be answered".into())))
            }
        };
        self.send(match answer {
            Ok(value) => Response { id, response_result: Ok(value) },
            Err((code, message)) => Response::new_err(id, code as i32, message),
        })
    }

    /// Whether a request that is about to be answered has been taken back meanwhile.
    fn is_cancelled(&self, id: &RequestId) -> bool {
        let wanted = serde_json::to_value(id).unwrap_or_default();
        self.queue.iter().any(|incoming| match incoming {
            Incoming::Message(Message::Notification(note)) => {
                note.method == notice::Cancel::METHOD && note.params.get("id") == Some(&wanted)
            }
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
        let encodings: Vec<PositionEncodingKind> = part(&params, "/capabilities/general/positionEncodings");
        let utf8 = encodings.contains(&PositionEncodingKind::UTF8);
        self.workspace.encoding = if utf8 { Encoding::Utf8 } else { Encoding::Utf16 };
        self.shown = shown(&params);
        self.watches = part(&params, "/capabilities/workspace/didChangeWatchedFiles/dynamicRegistration");
        self.phase = Phase::Initialized;
        let result = InitializeResult {
            capabilities: super::capabilities::capabilities(self.workspace.encoding),
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
            notice::DidSaveTextDocument::METHOD | notice::DidChangeWatchedFiles::METHOD => {}
            _ => return Ok(()),
        }
        self.changed.get_or_insert_with(Instant::now);
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
        self.workspace.documents.open.insert(path, Document { uri: item.uri, version: item.version, text, language });
    }

    fn edited(&mut self, params: DidChangeTextDocumentParams) {
        let path = self.path(&params.text_document.uri);
        let encoding = self.workspace.encoding;
        let Some(document) = self.workspace.documents.open.get_mut(&path) else { return };
        document.version = params.text_document.version;
        for change in params.content_changes {
            document.text = Arc::new(Text::new(document.text.changed(encoding, change.range, &change.text)));
        }
    }

    fn closed(&mut self, params: DidCloseTextDocumentParams) {
        let path = self.path(&params.text_document.uri);
        self.workspace.documents.open.remove(&path);
        self.workspace.forget(&path);
    }

    fn folders_changed(&mut self, params: DidChangeWorkspaceFoldersParams) {
        let paths = |folders: Vec<lsp_types::WorkspaceFolder>, own: &Path| -> Vec<PathBuf> {
            folders.iter().map(|folder| path_of(&folder.uri, own)).collect()
        };
        let removed = paths(params.event.removed, &self.options.folder);
        let added = paths(params.event.added, &self.options.folder);
        self.workspace.folders.retain(|folder| !removed.contains(folder));
        self.workspace.folders.extend(added);
    }

    /// Asks an editor that can to say when files change that it doesn't hold.
    fn watch(&mut self) -> std::io::Result<()> {
        if !self.watches {
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

    /// Tells of the findings in every file for which they, or its version, are others than told last.
    fn publish(&mut self) -> std::io::Result<()> {
        self.changed = None;
        let (workspace, shown) = (&mut self.workspace, self.shown);
        let Ok(mut found) = catch_unwind(AssertUnwindSafe(|| diagnostics::all(workspace, shown))) else {
            return Ok(());
        };
        for path in self.published.keys() {
            found.entry(path.clone()).or_default();
        }
        for (path, list) in found {
            let document = self.workspace.documents.open.get(&path);
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
            self.send(Notification::new(notice::PublishDiagnostics::METHOD.into(), params))?;
            if told.2.is_empty() && version.is_none() {
                self.published.remove(&path);
            } else {
                self.published.insert(path, told);
            }
        }
        Ok(())
    }
}

/// What of a finding an editor says it can show.
/// A part of what a client says of itself; what isn't there, or is of another shape, is as if not said.
fn part<T: DeserializeOwned + Default>(said: &Value, pointer: &str) -> T {
    said.pointer(pointer).and_then(|value| serde_json::from_value(value.clone()).ok()).unwrap_or_default()
}

fn shown(said: &Value) -> Shown {
    const CAN: &str = "/capabilities/textDocument/publishDiagnostics";
    let tags: Vec<Value> = part(said, &format!("{CAN}/tagSupport/valueSet"));
    Shown {
        related: part(said, &format!("{CAN}/relatedInformation")),
        links: part(said, &format!("{CAN}/codeDescriptionSupport")),
        unneeded: tags
            .iter()
            .any(|tag| serde_json::to_value(DiagnosticTag::UNNECESSARY).is_ok_and(|known| known == *tag)),
    }
}

fn read<P: DeserializeOwned>(params: Value) -> Result<P, Refusal> {
    serde_json::from_value(params).map_err(|error| (ErrorCode::InvalidParams, error.to_string()))
}

fn write(result: impl serde::Serialize) -> Result<Value, Refusal> {
    serde_json::to_value(result).map_err(|error| (ErrorCode::InternalError, error.to_string()))
}

/// Answers a request by the feature of its method.
fn on<R: request::Request>(
    workspace: &mut Workspace,
    request: Request,
    answer: fn(&mut Workspace, R::Params) -> Result<R::Result, String>,
) -> Result<Value, Refusal> {
    let result = answer(workspace, read(request.params)?);
    write(result.map_err(|message| (ErrorCode::RequestFailed, message))?)
}

fn answer(workspace: &mut Workspace, request: Request) -> Result<Value, Refusal> {
    match request.method.as_str() {
        request::HoverRequest::METHOD => on::<request::HoverRequest>(workspace, request, super::hover::hover),
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
        request::Formatting::METHOD => on::<request::Formatting>(workspace, request, super::formatting::formatting),
        request::CodeActionRequest::METHOD => {
            on::<request::CodeActionRequest>(workspace, request, super::actions::actions)
        }
        method => Err((ErrorCode::MethodNotFound, format!("`{method}` is not served"))),
    }
}

//! Lays the cables of a room when an editor asks for it. That takes a while, so it is done on a thread of its own, one room after the other; the
//! change is sent with the version of the text that it is made to. A change of any text, or the request taken back, has it left off.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use std::sync::Arc;
use std::sync::mpsc::{Receiver, Sender, channel};
use std::time::{Duration, Instant};

use lsp_server::{ErrorCode, Message, Notification, Request, RequestId};
use lsp_types::notification::{self as notice, Notification as _};
use lsp_types::request::{self, Request as _};
use lsp_types::{
    ApplyWorkspaceEditParams, CodeAction, CodeActionKind, CodeActionOrCommand, Command, ExecuteCommandParams,
    MessageType, ShowMessageParams, Uri,
};
use serde::{Deserialize, Serialize};
use serde_json::Value;

use super::client::Client;
use super::edits::edit_of;
use super::formatting::difference;
use super::server::{Refusal, response};
use super::transport::Incoming;
use super::wanted::{Wanted, overtaken};
use super::workspace::{Source, Workspace};
use crate::measure::plan::Measured;
use crate::model::load::Library;
use crate::model::resolve::resolve;
use crate::route::{self, Asked, Outcome, Routed, Setting, Stop, text};
use crate::rules::packs::RuleSet;
use crate::source::{Memory, Span};
use crate::text::quoted;

/// What an editor has executed to have cables laid.
pub const COMMAND: &str = "layrule.lay";

/// What it is given.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
struct Offer {
    uri: Uri,
    /// The version of the text that it was offered for, where it is open.
    version: Option<i32>,
    /// The room's name.
    room: String,
}

/// Offers to lay the cables without a way whose blocks are touched, those of a room together.
pub fn offered(workspace: &Workspace, source: &Source, touches: impl Fn(Span) -> bool) -> Vec<CodeActionOrCommand> {
    if !workspace.client.applies {
        return Vec::new();
    }
    let Some(uri) = workspace.documents.uri(&source.path) else { return Vec::new() };
    let version = workspace.documents.open.get(&source.path).map(|document| document.version);
    let rooms = text::rooms_of(&source.layout().tree, source.read());
    let touched = rooms.into_iter().filter(|room| room.unlaid.iter().any(|cable| touches(cable.span)));
    let actions = touched.filter_map(|room| {
        let cables = quoted(room.unlaid.iter().map(|cable| cable.name.as_str()), "and");
        let title = format!("Lay {} {cables}", if room.unlaid.len() == 1 { "cable" } else { "cables" });
        let wanted = serde_json::to_value(Offer { uri: uri.clone(), version, room: room.name }).ok()?;
        Some(CodeActionOrCommand::CodeAction(CodeAction {
            title: title.clone(),
            kind: Some(CodeActionKind::QUICKFIX),
            command: Some(Command { title, command: COMMAND.into(), arguments: Some(vec![wanted]) }),
            ..CodeAction::default()
        }))
    });
    actions.collect()
}

/// A room whose cables are to be laid, with all that this takes.
pub struct Job {
    id: RequestId,
    uri: Uri,
    version: Option<i32>,
    room: String,
    source: Arc<Source>,
    client: Client,
    /// The files of the plan; what its own is called.
    texts: Memory,
    name: String,
    rules: Arc<RuleSet>,
    today: jiff::civil::Date,
    wanted: Wanted,
}

/// What an editor asks for.
///
/// # Errors
/// Where that isn't known here, or no longer as it was.
pub fn job(workspace: &mut Workspace, asked: Request) -> Result<Job, Refusal> {
    let refused = |why: &str| (ErrorCode::InvalidParams, why.to_string());
    let params: ExecuteCommandParams =
        serde_json::from_value(asked.params).map_err(|error| refused(&error.to_string()))?;
    let wanted = params.arguments.into_iter().next().and_then(|wanted| serde_json::from_value::<Offer>(wanted).ok());
    let Some(offer) = wanted.filter(|_| params.command == COMMAND) else {
        return Err(refused("this isn't what `layrule.lay` is offered with"));
    };
    let path = workspace.path_of(&offer.uri);
    let version = workspace.documents.open.get(&path).map(|document| document.version);
    if offer.version != version || workspace.wanted.overtaken() {
        return Err(overtaken());
    }
    let unreadable = || refused("this plan can't be read");
    let source = workspace.source(&path).map_err(|_| unreadable())?;
    let analysis = workspace.analysis(&path).ok_or_else(unreadable)?;
    let sources = &analysis.plan().sources;
    let (name, ..) = sources.own().ok_or_else(unreadable)?;
    Ok(Job {
        id: asked.id,
        uri: offer.uri,
        version,
        room: offer.room,
        source,
        client: workspace.client,
        texts: sources.texts(),
        name: name.to_string(),
        rules: Arc::clone(&analysis.rules),
        today: workspace.today(),
        wanted: workspace.wanted.clone(),
    })
}

/// Begins the thread. It ends once nothing more can be handed to it.
pub fn begin(editor: Sender<Incoming>) -> Sender<Job> {
    let (jobs, receiver): (_, Receiver<Job>) = channel();
    std::thread::spawn(move || {
        for job in receiver {
            // A server that has ended listens to no one.
            let say = |message: Message| drop(editor.send(Incoming::Outgoing(message)));
            let answer = catch_unwind(AssertUnwindSafe(|| job.done(&say)));
            let failed = || Err((ErrorCode::InternalError, "this could not be laid".into()));
            say(response(job.id.clone(), answer.unwrap_or_else(|_| failed())).into());
        }
    });
    jobs
}

impl Job {
    /// Lays the cables, and sends the change, or what stands in the way.
    fn done(&self, say: &dyn Fn(Message)) -> Result<Value, Refusal> {
        let before = self.source.read();
        let routed = match self.wanted.refusal() {
            None => self.routed(before),
            Some(why) => return Err(why),
        };
        if let Some(why) = self.wanted.refusal() {
            return Err(why);
        }
        if let Some(stop) = stopped(&routed) {
            let message = format!("{}; {}", stop.reason, stop.advice);
            let params = ShowMessageParams { typ: MessageType::WARNING, message };
            say(Notification::new(notice::ShowMessage::METHOD.into(), params).into());
            return Ok(Value::Null);
        }
        let after = route::in_form(before, routed.text);
        let end = self.source.text.position(self.client.encoding, before.len());
        let Some(edit) = difference(before, &after, end) else { return Ok(Value::Null) };
        let edit = edit_of(self.client, [(self.uri.clone(), self.version, vec![edit])]);
        let params = ApplyWorkspaceEditParams { label: Some(format!("Lay cables in room {}", self.room)), edit };
        let id = RequestId::from(format!("lay {}", self.id));
        say(Request::new(id, request::ApplyWorkspaceEdit::METHOD.into(), params).into());
        Ok(Value::Null)
    }

    fn routed(&self, before: &str) -> Routed {
        let library = Library::new(&self.texts, "", "");
        let read =
            |text: &str| Measured::new(resolve(library.load_text(self.location(), &self.name, text.to_string())));
        let until = Instant::now() + Duration::from_secs_f64(route::USUAL_TIME);
        let asked = Asked { room: Some(self.room.clone()), ..Asked::by(until) };
        let stop = || self.wanted.left_off();
        route::route(before, &asked, &Setting { read: &read, rules: &self.rules, today: self.today, stop: &stop })
    }

    fn location(&self) -> &Path {
        &self.source.layout().source.location
    }
}

/// What stands in the way of laying; also where nothing was to be laid.
fn stopped(routed: &Routed) -> Option<Stop> {
    match routed.rooms.first() {
        Some((_, Outcome::Stopped(stop))) => Some(stop.clone()),
        Some((_, Outcome::Laid(_))) => None,
        None => Some(route::stop("this room has no cable to be laid", "name its kit and nothing of its way")),
    }
}

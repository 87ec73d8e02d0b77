//! What an editor says that it can, as far as that is heeded.

use lsp_types::{DiagnosticTag, PositionEncodingKind};
use serde::de::DeserializeOwned;
use serde_json::Value;

use super::diagnostics::Shown;
use super::positions::Encoding;

/// All of it.
#[derive(Debug, Clone, Copy, Default)]
pub struct Client {
    /// How it counts positions.
    pub encoding: Encoding,
    /// Whether it can watch files.
    pub watches: bool,
    /// Whether texts can be filled in, place by place.
    pub fills_in: bool,
    /// Whether it makes changes that it is sent.
    pub applies: bool,
    /// Whether changes may name the version of the text that they are made to.
    pub versions: bool,
    /// Whether it asks for findings, so that it needn't be told of them.
    pub asks: bool,
    /// Whether it can be told to ask for findings anew.
    pub asks_anew: bool,
    /// Whether it can be told to ask anew for what stands beside statements.
    pub hints_anew: bool,
    /// What of a finding it can show.
    pub shown: Shown,
}

impl Client {
    /// As `initialize` says.
    pub fn of(params: &Value) -> Client {
        let encodings: Vec<PositionEncodingKind> = part(params, "/capabilities/general/positionEncodings");
        let utf8 = encodings.contains(&PositionEncodingKind::UTF8);
        Client {
            encoding: if utf8 { Encoding::Utf8 } else { Encoding::Utf16 },
            watches: part(params, "/capabilities/workspace/didChangeWatchedFiles/dynamicRegistration"),
            fills_in: part(params, "/capabilities/textDocument/completion/completionItem/snippetSupport"),
            applies: part(params, "/capabilities/workspace/applyEdit"),
            versions: part(params, "/capabilities/workspace/workspaceEdit/documentChanges"),
            asks: params.pointer("/capabilities/textDocument/diagnostic").is_some_and(Value::is_object),
            asks_anew: part(params, "/capabilities/workspace/diagnostics/refreshSupport"),
            hints_anew: part(params, "/capabilities/workspace/inlayHint/refreshSupport"),
            shown: shown(params),
        }
    }
}

/// A part of what a client says of itself; what isn't there, or is of another shape, is as if not said.
pub fn part<T: DeserializeOwned + Default>(said: &Value, pointer: &str) -> T {
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

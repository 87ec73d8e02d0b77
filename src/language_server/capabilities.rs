//! What the server tells an editor that it can do.

use lsp_types::{
    CodeActionKind, CodeActionOptions, CodeActionProviderCapability, CompletionOptions, DiagnosticOptions,
    DiagnosticServerCapabilities, DocumentLinkOptions, ExecuteCommandOptions, FoldingRangeProviderCapability,
    HoverProviderCapability, OneOf, PositionEncodingKind, RenameOptions, SaveOptions, SelectionRangeProviderCapability,
    SemanticTokensFullOptions, SemanticTokensOptions, ServerCapabilities, SignatureHelpOptions,
    TextDocumentSyncCapability, TextDocumentSyncKind, TextDocumentSyncOptions, TextDocumentSyncSaveOptions,
    WorkDoneProgressOptions, WorkspaceFoldersServerCapabilities, WorkspaceServerCapabilities,
};

use super::actions::FIX_ALL;
use super::client::Client;
use super::laying::COMMAND;
use super::positions::Encoding;
use super::tokens;

/// All of it.
pub fn capabilities(client: Client) -> ServerCapabilities {
    let no_progress = WorkDoneProgressOptions::default();
    ServerCapabilities {
        position_encoding: Some(match client.encoding {
            Encoding::Utf8 => PositionEncodingKind::UTF8,
            Encoding::Utf16 => PositionEncodingKind::UTF16,
        }),
        text_document_sync: Some(TextDocumentSyncCapability::Options(TextDocumentSyncOptions {
            open_close: Some(true),
            change: Some(TextDocumentSyncKind::INCREMENTAL),
            save: Some(TextDocumentSyncSaveOptions::SaveOptions(SaveOptions { include_text: Some(false) })),
            ..TextDocumentSyncOptions::default()
        })),
        hover_provider: Some(HoverProviderCapability::Simple(true)),
        completion_provider: Some(CompletionOptions {
            trigger_characters: Some(vec![".".into(), "\"".into(), "{".into()]),
            ..CompletionOptions::default()
        }),
        definition_provider: Some(OneOf::Left(true)),
        references_provider: Some(OneOf::Left(true)),
        rename_provider: Some(OneOf::Right(RenameOptions {
            prepare_provider: Some(true),
            work_done_progress_options: no_progress,
        })),
        document_symbol_provider: Some(OneOf::Left(true)),
        document_formatting_provider: Some(OneOf::Left(true)),
        folding_range_provider: Some(FoldingRangeProviderCapability::Simple(true)),
        semantic_tokens_provider: Some(
            SemanticTokensOptions {
                work_done_progress_options: no_progress,
                legend: tokens::legend(),
                range: Some(true),
                full: Some(SemanticTokensFullOptions::Bool(true)),
            }
            .into(),
        ),
        code_action_provider: Some(CodeActionProviderCapability::Options(CodeActionOptions {
            code_action_kinds: Some(vec![CodeActionKind::QUICKFIX, FIX_ALL]),
            work_done_progress_options: no_progress,
            resolve_provider: Some(false),
        })),
        document_highlight_provider: Some(OneOf::Left(true)),
        document_link_provider: Some(DocumentLinkOptions {
            resolve_provider: Some(false),
            work_done_progress_options: no_progress,
        }),
        execute_command_provider: client
            .applies
            .then(|| ExecuteCommandOptions { commands: vec![COMMAND.into()], work_done_progress_options: no_progress }),
        inlay_hint_provider: Some(OneOf::Left(true)),
        selection_range_provider: Some(SelectionRangeProviderCapability::Simple(true)),
        signature_help_provider: Some(SignatureHelpOptions {
            trigger_characters: Some(vec![" ".into(), ",".into()]),
            retrigger_characters: None,
            work_done_progress_options: no_progress,
        }),
        workspace_symbol_provider: Some(OneOf::Left(true)),
        // An editor that asks is told of what it has open only when it asks.
        diagnostic_provider: client.asks.then(|| {
            DiagnosticServerCapabilities::Options(DiagnosticOptions {
                identifier: Some("layrule".into()),
                inter_file_dependencies: true,
                workspace_diagnostics: true,
                work_done_progress_options: no_progress,
            })
        }),
        workspace: Some(WorkspaceServerCapabilities {
            workspace_folders: Some(WorkspaceFoldersServerCapabilities {
                supported: Some(true),
                change_notifications: Some(OneOf::Left(true)),
            }),
            file_operations: None,
        }),
        ..ServerCapabilities::default()
    }
}

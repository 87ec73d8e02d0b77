//! What stands beside the statements that lay cable: how long what they lay is, and how much of the cable is laid by then.

use lsp_types::{InlayHint, InlayHintLabel, InlayHintParams, InlayHintTooltip};

use super::documents::Language;
use super::workspace::Workspace;
use crate::model::Run;
use crate::model::length::{saved_by_rounding, turns};
use crate::source::FileId;

/// The most hints of one answer: more than a screen shows.
const MOST_HINTS: usize = 2_000;

/// `textDocument/inlayHint`.
///
/// # Errors
/// Never: where no cable is laid, nothing is said.
pub fn hints(workspace: &mut Workspace, params: InlayHintParams) -> Result<Option<Vec<InlayHint>>, String> {
    let path = workspace.path_of(&params.text_document.uri);
    if workspace.language(&path) != Some(Language::Layout) {
        return Ok(None);
    }
    let (Ok(source), Some(analysis)) = (workspace.source(&path), workspace.analysis(&path)) else { return Ok(None) };
    let offset = |position| source.text.offset(workspace.client.encoding, position);
    let wanted = offset(params.range.start)..offset(params.range.end).saturating_add(1);
    let plan = analysis.plan();
    let mut hints = Vec::new();
    for cable in plan.rooms.iter().flat_map(|room| &room.cables) {
        let kit = cable.kit.and_then(|kit| plan.kits.get(kit));
        let bend_radius = kit.and_then(|kit| kit.bend_radius).unwrap_or(0.0);
        // Corners are rounded, each told with the run that it leads into: as what is laid is told everywhere.
        let mut rounded = vec![0.0; cable.runs.len()];
        turns(&cable.runs)
            .for_each(|turn| rounded[turn.run + 1] = saved_by_rounding(std::iter::once(turn), bend_radius));
        let (mut laid, mut reached) = (0.0, 0usize);
        // The runs of one statement stand together.
        for runs in cable.runs.chunk_by(|a, b| a.place == b.place) {
            let saved: f64 = rounded[reached..reached + runs.len()].iter().sum();
            let own = runs.iter().map(Run::length).sum::<f64>() - saved;
            (laid, reached) = (laid + own, reached + runs.len());
            let place = runs[0].place;
            if place.file != FileId(0) || !wanted.contains(&place.span.end()) || hints.len() == MOST_HINTS {
                continue;
            }
            let of = kit.map_or_else(String::new, |kit| format!(" of {}", metres(kit.length)));
            let what = if runs.len() == 1 { "this run is".into() } else { format!("these {} runs are", runs.len()) };
            hints.push(InlayHint {
                position: source.text.position(workspace.client.encoding, place.span.end()),
                label: InlayHintLabel::String(format!("{}, {} laid", metres(own), metres(laid))),
                kind: None,
                text_edits: None,
                tooltip: Some(InlayHintTooltip::String(format!(
                    "{what} {} long; here {}{of} of cable `{}` are laid",
                    metres(own),
                    metres(laid),
                    cable.name.text
                ))),
                padding_left: Some(true),
                padding_right: None,
                data: None,
            });
        }
    }
    Ok(Some(hints))
}

/// So much cable, as it is measured off.
fn metres(length: f64) -> String {
    format!("{:.2} m", length / 1e3)
}

//! Resolves lines on and in the floor: joints, pipes and partitions. Doors are resolved along their walls.

use super::resolver::Resolver;
use super::room::Draft;
use crate::layout::kinds::PipeKind;
use crate::layout::tree::{self, LineExpr};
use crate::model::fault::Fault;
use crate::model::{Line, LineKind, Point};
use crate::quantity::Dimension;
use crate::worded::Worded as _;

/// Whether a line of points has no direction somewhere.
pub(super) fn goes_nowhere(points: &[Point]) -> bool {
    points.len() < 2 || points.windows(2).any(|pair| pair[0] == pair[1])
}

impl Resolver {
    /// `joint NAME …`, `pipe NAME …`, `partition NAME …`
    pub(super) fn line(&mut self, item: &tree::Line, draft: &mut Draft) {
        let place = self.place(item.span);
        let Some(points) = self.points(&item.points) else { return };
        let kind = match &item.kind {
            LineExpr::Joint => LineKind::Joint,
            // What a pipe is called says what runs in it, unless the plan does.
            LineExpr::Pipe(said) => LineKind::Pipe(PipeKind::of_word(&said.as_ref().unwrap_or(&item.name).text)),
            LineExpr::Partition(height) => {
                LineKind::Partition(height.as_ref().and_then(|height| self.positive(height, Dimension::LENGTH)))
            }
        };
        let name = self.name(&item.name);
        if goes_nowhere(&points) {
            self.fault(place, Fault::LineGoesNowhere { kind: kind.named(), name: name.text });
            return;
        }
        let lines = &mut draft.room.lines;
        if self.is_free(kind.named(), &name, lines.iter().filter(|line| line.kind.named() == kind.named())) {
            lines.push(Line { name, kind, points, swing: None, place });
        }
    }
}

//! Resolves deviations from rules.

use super::resolver::Resolver;
use super::room::Draft;
use crate::layout::kinds::Kind;
use crate::layout::tree;
use crate::model::Deviation;
use crate::model::fault::Fault;

impl Resolver {
    /// `deviation RULE KIND NAME "reason" until DATE`
    pub(super) fn deviation(&mut self, item: &tree::Deviation, draft: &mut Draft) {
        let until = item.until.as_ref().map(|word| self.date(word));
        // What holds to a day that can't be read holds to none.
        if until.is_some_and(|date| date.is_none()) {
            return;
        }
        if item.reason.text.trim().is_empty() {
            self.fault(self.place(item.reason.span), Fault::NoReason);
            return;
        }
        let target = item.target.as_ref().map(|(kind, word)| (Kind::of_target(&kind.text), word));
        let target = match target {
            None => None,
            // A kind that the grammar lets through and no one knows must not widen the deviation to the room.
            Some((None, _)) => return,
            Some((Some(kind), word)) => {
                let known = draft.room.names(kind);
                if !known.contains(&word.text.as_str()) {
                    self.unknown(kind, word, &known);
                }
                Some((kind, word.text.clone()))
            }
        };
        draft.room.deviations.push(Deviation {
            rule: self.name(&item.rule),
            target,
            reason: item.reason.text.clone(),
            until: until.flatten(),
            place: self.place(item.span),
        });
    }
}

//! Boxes few enough to be looked through one after another.
//!
//! Pieces come in the order they are laid, and neighbours in it are neighbours on the floor: a box around each group of them tells at once
//! that none of the group is near.

use super::index::{Corners, box_around, boxes_meet};

/// How many boxes make a group.
const GROUP: usize = 8;

/// Boxes in the order they were given.
#[derive(Debug, Default)]
pub(super) struct Boxes {
    each: Vec<Corners>,
    groups: Vec<Corners>,
}

impl Boxes {
    /// Keeps them, and a box around each group of them.
    pub(super) fn new(boxes: impl Iterator<Item = Corners>) -> Self {
        let each: Vec<Corners> = boxes.collect();
        let around = |group: &[Corners]| group.iter().copied().reduce(box_around);
        let groups = each.chunks(GROUP).filter_map(around).collect();
        Boxes { each, groups }
    }

    /// The places of those from `first` on that meet a box, in order.
    pub(super) fn near(&self, wanted: Corners, first: usize) -> impl Iterator<Item = usize> + '_ {
        let mut at = first;
        std::iter::from_fn(move || {
            while let Some(own) = self.each.get(at) {
                if at.is_multiple_of(GROUP) && !boxes_meet(&self.groups[at / GROUP], &wanted) {
                    at += GROUP;
                    continue;
                }
                at += 1;
                if boxes_meet(own, &wanted) {
                    return Some(at - 1);
                }
            }
            None
        })
    }
}

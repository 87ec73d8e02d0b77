//! A check that is no longer wanted ends soon, by how often it asks whether it still is.

use std::cell::Cell;

use layrule::checker::untried_until;
use layrule::measure::plan::Measured;

use crate::common::{RULES, TODAY, plan};

/// How often a check of many runs asks, where it is told from some time on that nobody wants it.
fn asked(told_from: usize) -> usize {
    let text = "room r {\n  outline (0, 0) (5000, 0) (5000, 90000) (0, 90000)\n  cable a {\n    start (100, 100)\n    loops 400 of 3900 east, stepping 20 north\n  }\n}\n";
    let asked = Cell::new(0);
    let stop = || {
        asked.set(asked.get() + 1);
        asked.get() > told_from
    };
    untried_until(&Measured::new(plan(text)), &RULES, TODAY, &stop);
    asked.get()
}

/// How often it asks once it was told, at the most: what it does in one go asks by itself.
const MORE: usize = 4;

#[test]
fn a_check_asks_often_and_ends_where_it_is_told() {
    let whole = asked(usize::MAX);
    assert!(whole >= RULES.rules.len(), "{whole} times");
    for share in [0, 1, whole / 4, whole / 2, whole - 10] {
        let in_all = asked(share);
        assert!(in_all <= share + MORE, "{in_all} times, told from {share} of {whole} on");
    }
}

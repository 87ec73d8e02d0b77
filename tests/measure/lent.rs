//! What is measured of one plan and lent to another is what would be measured of that.

use layrule::checker;
use layrule::measure::plan::Measured;

use crate::common::{RULES, TODAY, plan};
use crate::varied;

/// Changes to plans as they vary: of what floor and runs don't hang on, and of what they do.
const CHANGES: [(&str, &str); 9] = [
    ("sensor s from t (", "sensor s from t (333, 222) ("),
    ("  output ", "  output 1"),
    ("  tail 20 m", "  tail 1 m"),
    ("tile        10 mm", "tile        14 mm"),
    ("inside     21 degC", "inside     17 degC"),
    ("column circle", "column raised 150 circle"),
    ("outline  (0, 0)", "outline  (-40, -30)"),
    ("    start  (", "    start  (1"),
    ("    run    north 9", "    run    north 8"),
];

#[test]
fn what_is_lent_is_what_would_be_measured() {
    let mut made = [0; CHANGES.len()];
    for number in 0..18 {
        let text = varied::plan(number);
        let known = Measured::new(plan(&text));
        // All that rules ask for is measured then.
        checker::untried(&known, &RULES, TODAY);
        for ((from, to), made) in CHANGES.iter().zip(&mut made) {
            let changed = text.replacen(from, to, 1);
            if changed == text {
                continue;
            }
            *made += 1;
            let anew = checker::untried(&Measured::new(plan(&changed)), &RULES, TODAY);
            let lent = checker::untried(&Measured::like(plan(&changed), &known), &RULES, TODAY);
            assert_eq!(lent.findings, anew.findings, "plan {number}, {to}");
            assert_eq!(lent.unchecked, anew.unchecked, "plan {number}, {to}");
        }
    }
    assert!(made.iter().all(|made| *made > 0), "{made:?}");
}

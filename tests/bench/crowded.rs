//! Plans of one thing in great numbers, by how many there are of it: what checking them costs should grow hardly faster than their number.

use std::fmt::Write as _;

/// What there is much of, how many at first, and the plan of so many.
type Kind = (&'static str, usize, fn(usize) -> String);

/// All that is counted.
pub(crate) const KINDS: [Kind; 4] = [
    ("runs of a cable, each at fault", 1_000, runs_at_fault),
    ("fixtures", 450, fixtures),
    ("cables", 100, cables),
    ("corners of an outline", 2_500, corners),
];

const KIT: &str =
    "kit k {\n  output 440 W at 230 V\n  length 44 m\n  diameter 6 mm\n  bend-radius 25 mm\n  tail 3 m\n}\n";

/// Rows so near to each other, and so near to the walls at both ends, that there is a fault at each.
fn runs_at_fault(runs: usize) -> String {
    let height = runs / 2 * 30 + 200;
    format!(
        "{KIT}room hall {{\n  outline (0, 0) (1000, 0) (1000, {height}) (0, {height})\n  cable a {{\n    kit k\n    start (20, 100)\n    \
         loops {} of 960 east, stepping 30 north\n  }}\n}}\n",
        runs / 2
    )
}

/// A square hall with columns all over, and a cable up and down between them. No room may hold more than 2000 statements.
fn fixtures(count: usize) -> String {
    let side = (count as f64).sqrt().ceil() as usize;
    let width = side * 400 + 400;
    let mut text = format!("{KIT}room hall {{\n  outline (0, 0) ({width}, 0) ({width}, {width}) (0, {width})\n");
    for number in 0..count {
        let (x, y) = (number % side * 400 + 300, number / side * 400 + 300);
        let _ = writeln!(text, "  fixture f{number} column rect ({x}, {y}) ({}, {})", x + 100, y + 100);
    }
    // Up and down between two rows of columns each.
    let _ = write!(
        text,
        "  cable a {{\n    kit k\n    start (150, 150)\n    loops {} of {} north, stepping 400 east\n  }}\n}}\n",
        side + 1,
        width - 300
    );
    text
}

/// Cables side by side, ten runs each.
fn cables(count: usize) -> String {
    let side = (count as f64).sqrt().ceil() as usize;
    let (width, height) = (side * 1100 + 100, side * 900 + 100);
    let mut text = format!("{KIT}room hall {{\n  outline (0, 0) ({width}, 0) ({width}, {height}) (0, {height})\n");
    for number in 0..count {
        let (x, y) = (number % side * 1100 + 100, number / side * 900 + 100);
        let _ = write!(
            text,
            "  cable c{number} {{\n    kit k\n    start ({x}, {y})\n    loops 10 of 1000 east, stepping 80 north\n  }}\n"
        );
    }
    text.push_str("}\n");
    text
}

/// A hall whose south wall is all bays, and a cable along it. No outline may have more than 10,000 corners.
fn corners(count: usize) -> String {
    let bays = (count - 3) / 4;
    let width = bays * 400;
    let mut text = format!("{KIT}room hall {{\n  outline ({width}, 150) ({width}, 2000) (0, 2000)\n");
    for bay in 0..bays {
        let x = bay * 400;
        let _ = writeln!(text, "    ({x}, 150) ({x}, 0) ({0}, 0) ({0}, 150)", x + 200);
    }
    let _ = write!(
        text,
        "  cable a {{\n    kit k\n    start (100, 250)\n    loops 10 of {} east, stepping 100 north\n  }}\n}}\n",
        width - 200
    );
    text
}

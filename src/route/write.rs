//! Writes a cable's way as the statements of a plan.

use crate::geometry::tolerance::TOUCH;
use crate::geometry::{Point, distance};
use crate::layout::tree::Heading;
use crate::worded::Worded as _;

/// A straight piece as a statement tells it.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Told {
    /// Along an axis: which way and how far, mm.
    Along(Heading, f64),
    /// To a point.
    To(Point),
}

/// A number to a tenth of a millimetre, without what says nothing.
pub fn number(value: f64) -> String {
    let tenths = (value * 10.0).round() + 0.0;
    if tenths % 10.0 == 0.0 { format!("{}", tenths / 10.0) } else { format!("{:.1}", tenths / 10.0) }
}

/// A point as a plan has it.
pub fn point(point: Point) -> String {
    format!("({}, {})", number(point.x), number(point.y))
}

/// Points as a plan has them.
pub fn points(line: &[Point]) -> String {
    line.iter().map(|one| point(*one)).collect::<Vec<_>>().join(" ")
}

/// The lines `start …`, `loops …` and `run …` that lay a cable along a line of points: parallel runs of one length as loops.
pub fn path(line: &[Point]) -> Vec<String> {
    let Some(start) = line.first() else { return Vec::new() };
    let told: Vec<Told> = line.windows(2).map(|pair| told(pair[0], pair[1])).collect();
    let mut lines = vec![format!("start  {}", point(*start))];
    let mut at = 0;
    while at < told.len() {
        let count = loops(&told[at..]);
        match (count, told[at]) {
            (3.., Told::Along(heading, length)) => {
                if let Told::Along(stepping, pitch) = told[at + 1] {
                    lines.push(format!(
                        "loops  {count} of {} {}, stepping {} {}",
                        number(length),
                        heading.word(),
                        number(pitch),
                        stepping.word()
                    ));
                }
                at += 2 * count - 1;
            }
            (_, Told::Along(heading, length)) => {
                lines.push(format!("run    {} {}", heading.word(), number(length)));
                at += 1;
            }
            (_, Told::To(end)) => {
                lines.push(format!("run    to {}", point(end)));
                at += 1;
            }
        }
    }
    lines
}

fn told(from: Point, to: Point) -> Told {
    let step = to - from;
    let heading = match (step.x.abs() <= TOUCH, step.y.abs() <= TOUCH) {
        (true, false) if step.y > 0.0 => Heading::North,
        (true, false) => Heading::South,
        (false, true) if step.x > 0.0 => Heading::East,
        (false, true) => Heading::West,
        _ => return Told::To(to),
    };
    Told::Along(heading, distance(from, to))
}

/// How many parallel runs of one length, one step apart, some pieces begin with.
fn loops(told: &[Told]) -> usize {
    let [Told::Along(heading, length), Told::Along(stepping, pitch), ..] = told else { return 1 };
    let opposite = |one: Heading, other: Heading| {
        matches!(
            (one, other),
            (Heading::East, Heading::West)
                | (Heading::West, Heading::East)
                | (Heading::North, Heading::South)
                | (Heading::South, Heading::North)
        )
    };
    let alike = |a: f64, b: f64| (a - b).abs() <= TOUCH;
    if opposite(*heading, *stepping) || heading == stepping || pitch > length {
        return 1;
    }
    let mut count = 1;
    while let [Told::Along(step, apart), Told::Along(way, long), ..] = told[2 * count - 1..] {
        let back = if count % 2 == 1 { opposite(way, *heading) } else { way == *heading };
        if step != *stepping || !alike(apart, *pitch) || !back || !alike(long, *length) {
            break;
        }
        count += 1;
        if told.len() < 2 * count - 1 {
            break;
        }
    }
    count
}

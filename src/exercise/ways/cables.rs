//! How a cable is laid, written wrong: one number, one row, one heading; and the room it is laid in.

use super::{Way, forgotten, mistyped, word};
use crate::exercise::site::{Change, Line, Site, What, point, whole};
use crate::layout::tree::{CableEntry, Heading, LoopCount, RoomEntry};
use crate::model::Point;
use crate::source::Span;
use crate::worded::Worded as _;

pub(super) const WAYS: &[Way] = &[
    Way {
        name: "start-moved",
        does: "where a cable starts is drawn beside its place",
        aims: &[
            "wall-clearance",
            "fixture-clearance",
            "doorway",
            "drill-zone",
            "spacing",
            "off-floor",
            "sensor-crossed",
            "cold-patch",
        ],
        changes: start_moved,
    },
    Way {
        name: "run-mistyped",
        does: "the length of a run is mistyped",
        aims: &[
            "off-floor",
            "laid-length",
            "fixture-overlap",
            "cold-patch",
            "spacing",
            "even-spacing",
            "crossing",
            "wall-clearance",
            "fixture-clearance",
            "doorway",
            "wide-spacing",
            "bend-radius",
            "drill-zone",
            "stove-clearance",
        ],
        changes: |site, changes| {
            let runs = |what: &What<'_>| {
                matches!(what, What::Cable(CableEntry::Run(..) | CableEntry::RunTo(..) | CableEntry::RunReach(..)))
            };
            mistyped(site, changes, runs, |_| true);
        },
    },
    Way {
        name: "loop-length-mistyped",
        does: "the length of loops is mistyped",
        aims: &[
            "laid-length",
            "off-floor",
            "fixture-overlap",
            "drill-zone",
            "fixture-clearance",
            "crossing",
            "doorway",
            "even-spacing",
            "single-level",
            "spacing",
            "wall-clearance",
            "sensor-crossed",
            "wide-spacing",
            "sensor-between-runs",
            "sensor-depth",
            "cold-patch",
            "under-partition",
        ],
        changes: |site, changes| mistyped(site, changes, loops, |after| after != "loops" && after != "stepping"),
    },
    Way {
        name: "spacing-mistyped",
        does: "the spacing of loops is mistyped",
        aims: &[
            "off-floor",
            "laid-length",
            "power-density",
            "sensor-place",
            "mat-area",
            "doorway",
            "surface-temperature",
            "wall-clearance",
            "even-spacing",
            "bend-radius",
            "spacing",
            "sensor-crossed",
            "even-warmth",
            "cold-patch",
        ],
        changes: |site, changes| mistyped(site, changes, loops, |after| after == "stepping"),
    },
    Way {
        name: "spacing-mistaken",
        does: "loops are laid at another spacing than the rest",
        aims: &["spacing", "even-spacing"],
        changes: spacing_mistaken,
    },
    Way {
        name: "rows-miscounted",
        does: "the rows of loops are miscounted",
        aims: &[
            "laid-length",
            "off-floor",
            "fixture-overlap",
            "sensor-place",
            "wall-clearance",
            "crossing",
            "cold-patch",
            "drill-zone",
            "even-spacing",
            "doorway",
            "bend-radius",
            "single-level",
            "spacing",
            "fixture-clearance",
            "sensor-between-runs",
            "sensor-crossed",
            "under-partition",
        ],
        changes: rows_miscounted,
    },
    Way {
        name: "row-forgotten",
        does: "a run is forgotten",
        aims: &[
            "crossing",
            "bend-radius",
            "laid-length",
            "even-spacing",
            "spacing",
            "fixture-overlap",
            "off-floor",
            "drill-zone",
        ],
        changes: |site, changes| {
            let runs = |what: &What<'_>| {
                matches!(what, What::Cable(CableEntry::Run(..) | CableEntry::RunTo(..) | CableEntry::RunReach(..)))
            };
            forgotten(site, changes, runs);
        },
    },
    Way {
        name: "heading-mistaken",
        does: "one heading is taken for the other",
        aims: &[
            "cold-patch",
            "crossing",
            "off-floor",
            "fixture-overlap",
            "sensor-place",
            "tail-crossing",
            "sensor-between-runs",
            "even-spacing",
            "cold-joint",
            "sensor-depth",
            "doorway",
            "sensor-crossed",
            "spacing",
            "wall-clearance",
            "bend-radius",
            "even-warmth",
            "movement-joint",
            "wide-spacing",
            "drill-zone",
            "pipe-clearance",
            "under-partition",
        ],
        changes: heading_mistaken,
    },
    Way {
        name: "value-mistyped",
        does: "a value that others go by is mistyped",
        aims: &[
            "laid-length",
            "off-floor",
            "fixture-overlap",
            "even-warmth",
            "sensor-place",
            "fixture-clearance",
            "sensor-between-runs",
            "wall-clearance",
            "power-density",
            "spacing",
            "cold-patch",
            "even-spacing",
            "single-level",
            "doorway",
            "wide-spacing",
            "bend-radius",
            "sensor-reach",
            "sensor-crossed",
            "cold-joint",
            "sensor-depth",
            "crossing",
            "tail-crossing",
            "under-partition",
        ],
        changes: |site, changes| {
            let lets = |what: &What<'_>| matches!(what, What::Let(_) | What::Room(RoomEntry::Let(_)));
            mistyped(site, changes, lets, |_| true);
        },
    },
    Way {
        name: "outline-mistyped",
        does: "a length of the outline is mistyped",
        aims: &[
            "kit-size",
            "off-floor",
            "bay-size",
            "wall-clearance",
            "cold-patch",
            "doorway",
            "bay-corner",
            "bay-proportion",
            "mat-size",
        ],
        changes: |site, changes| {
            mistyped(site, changes, |what| matches!(what, What::Room(RoomEntry::Outline(_))), |_| true)
        },
    },
    Way { name: "cable-forgotten", does: "a cable is forgotten", aims: &["no-cable"], changes: cable_forgotten },
];

fn loops(what: &What<'_>) -> bool {
    matches!(what, What::Cable(CableEntry::Loops(_)))
}

/// The start, and with it the end of the tail that is joined on there, some way aside.
fn start_moved(site: &Site<'_>, changes: &mut Vec<Change>) {
    for line in &site.lines {
        let What::Cable(CableEntry::Start(start, _)) = line.what else { continue };
        let own = |other: &&Line<'_>| (other.room, other.cable) == (line.room, line.cable);
        let tail = site.lines.iter().filter(own).find_map(|other| match other.what {
            What::Cable(CableEntry::Tail(tail)) => tail.points.last(),
            _ => None,
        });
        let at = line
            .room
            .zip(line.cable)
            .and_then(|(room, cable)| Some(site.measure(room)?.room.cables.get(cable)?.runs.first()?.start));
        let Some(at) = at else { continue };
        for by in [15.0, 25.0, 40.0, 60.0, 100.0] {
            for way in [(1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)] {
                let moved = point(at + Point { x: way.0 * by, y: way.1 * by });
                let spans = std::iter::once(start.span).chain(tail.map(|last| last.span));
                let edits = spans.map(|span| site.edit(span, moved.as_str())).collect();
                changes.push(Change {
                    edits,
                    said: format!("the start drawn {by} mm beside its place"),
                    size: by / 1000.0,
                });
            }
        }
    }
}

/// Another spacing of one set of loops than the cable has.
fn spacing_mistaken(site: &Site<'_>, changes: &mut Vec<Change>) {
    for line in &site.lines {
        let What::Cable(CableEntry::Loops(loops)) = line.what else { continue };
        let Some(spacing) = site.spacing(line) else { continue };
        for share in [0.35, 0.42, 0.6, 0.72, 1.3, 1.5] {
            let wrong = whole(spacing * share);
            let said = format!("a spacing of {wrong} written for `{}`", site.text(loops.pitch.span));
            let edits = vec![site.edit(loops.pitch.span, wrong)];
            changes.push(Change { edits, said, size: (share - 1.0_f64).abs() });
        }
    }
}

/// One row or two too many or too few.
fn rows_miscounted(site: &Site<'_>, changes: &mut Vec<Change>) {
    for line in &site.lines {
        let What::Cable(CableEntry::Loops(loops)) = line.what else { continue };
        let LoopCount::Counted(count) = &loops.count else { continue };
        let Ok(rows) = site.text(count.span).parse::<i64>() else { continue };
        for by in [-4, -3, -2, -1, 1, 2].into_iter().filter(|by| rows + by > 0) {
            let edits = vec![site.edit(count.span, (rows + by).to_string())];
            let size = by.abs() as f64 / rows as f64;
            changes.push(Change { edits, said: format!("{} rows counted for {rows}", rows + by), size });
        }
    }
}

/// The places of the headings of a statement of a cable.
fn headings(site: &Site<'_>, line: Span) -> Vec<(Span, Heading)> {
    let text = site.text(line);
    let found = Heading::WORDS.iter().flat_map(|(heading, word)| {
        let places = text.match_indices(word).filter(|(at, _)| {
            let before = text[..*at].chars().next_back();
            let after = text[at + word.len()..].chars().next();
            let apart = |c: Option<char>| !c.is_some_and(crate::language::is_word);
            apart(before) && apart(after)
        });
        places
            .map(|(at, _)| (Span::new(line.start() + at..line.start() + at + word.len()), *heading))
            .collect::<Vec<_>>()
    });
    found.collect()
}

fn heading_mistaken(site: &Site<'_>, changes: &mut Vec<Change>) {
    for line in
        site.lines.iter().filter(|line| matches!(line.what, What::Cable(CableEntry::Run(..) | CableEntry::Loops(_))))
    {
        for (place, heading) in headings(site, line.span) {
            let other = match heading {
                Heading::East => Heading::West,
                Heading::West => Heading::East,
                Heading::North => Heading::South,
                Heading::South => Heading::North,
            };
            word(site, changes, place, other.word());
        }
    }
}

fn cable_forgotten(site: &Site<'_>, changes: &mut Vec<Change>) {
    for line in &site.lines {
        let What::Room(RoomEntry::Cable(cable)) = line.what else { continue };
        let Some(block) = site.block(line.span) else { continue };
        let said = format!("cable `{}` left out", cable.name.text);
        changes.push(Change { edits: vec![site.without(block)], said, size: 1.0 });
    }
}
